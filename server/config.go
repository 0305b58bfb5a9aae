package main

import (
	"errors"
	"flag"
	"fmt"
	"net"
	"net/netip"
	"path/filepath"
	"strings"
	"time"
)

// config is everything a server is started with.
type config struct {
	addr    string
	data    string
	demo    bool
	clock   string
	quiet   bool
	know    string // folder of the firm's own knowledge
	slow    time.Duration
	metrics string

	tls     bool // a proxy in front speaks https
	plain   bool
	proxies string
	cert    string
	key     string
	acme    acmeConfig
	http    string

	backups     string
	backupEvery time.Duration
	backupKeep  int
}

// acmeConfig says which certificates to ask an authority for.
type acmeConfig struct{ hosts, mail, url string }

const serveUsage = `Serves phones and desks from one data folder. On the first start with an empty database the first browser is led through
naming the firm and its owner; with -demo an invented firm is filled in instead.

Phones need https (or a page opened on this very machine). Three ways: -cert and -key with a certificate of your own, -acme with
one fetched and renewed by itself, or a proxy with a certificate in front and -tls. Plain http is served to this machine only,
unless -tls or -plain says otherwise.

Every flag may also stand in the environment (-backup-keep as SWARDBOOK_BACKUP_KEEP) or in the file named by -config; the line
goes before the environment, the environment before the file.`

// flagsOf names every setting of a server once: its flag, its default and what it does.
func (c *config) flagsOf(fs *flag.FlagSet) {
	fs.StringVar(&c.addr, "addr", "127.0.0.1:8080", "address to listen on")
	fs.StringVar(&c.data, "data", "./data", "folder of the database and the photos")
	fs.BoolVar(&c.demo, "demo", false, "fill an empty database with an invented firm")
	fs.StringVar(&c.clock, "clock", "", "with -demo only: let the clock start here, such as 2026-08-27T09:00:00-04:00, to see another season")
	fs.BoolVar(&c.quiet, "quiet", false, "log warnings and errors only")
	fs.DurationVar(&c.slow, "slow", 250*time.Millisecond, "log what the database took longer for than this; 0 logs none")
	fs.StringVar(&c.metrics, "metrics", "", "address for measurements in Prometheus' form, such as 127.0.0.1:9090; none when empty")

	fs.BoolVar(&c.tls, "tls", false, "a proxy in front speaks https: mark cookies secure")
	fs.BoolVar(&c.plain, "plain", false, "serve plain http to other machines too: for trying things out, phones can't work like this")
	fs.StringVar(&c.proxies, "proxies", "", "addresses or networks (10.0.0.0/8), by commas, of the proxies whose X-Forwarded-For is believed")
	fs.StringVar(&c.cert, "cert", "", "file with your own certificate and its chain, PEM; read anew when it changes")
	fs.StringVar(&c.key, "key", "", "file with the key of -cert, PEM")
	fs.StringVar(&c.acme.hosts, "acme", "", "host names, by commas, to fetch certificates for; port 443, or 80 by -http, must be reachable from outside")
	fs.StringVar(&c.acme.mail, "acme-mail", "", "where the authority may write when a certificate has a fault")
	fs.StringVar(&c.acme.url, "acme-url", "", "directory of another authority than Let's Encrypt; -acme accepts the authority's terms")
	fs.StringVar(&c.http, "http", "", "with -cert or -acme: a further address, such as :80, that leads browsers to https")

	fs.StringVar(&c.backups, "backups", "", "folder for backups, best on another disk; `backups` in the data folder when empty")
	fs.DurationVar(&c.backupEvery, "backup-every", 24*time.Hour, "how often to make one; 0 makes none. A demo makes none unless -backups is given")
	fs.IntVar(&c.backupKeep, "backup-keep", 14, "how many of them to keep; the oldest go first")
}

// check refuses settings that contradict one another, before anything is opened.
func (c *config) check() error {
	switch {
	case c.clock != "" && !c.demo:
		return errors.New("-clock goes with -demo only: a real firm's records carry the real time")
	case (c.cert == "") != (c.key == ""):
		return errors.New("-cert and -key go together: a certificate needs its key")
	case c.cert != "" && c.acme.hosts != "":
		return errors.New("-cert brings a certificate, -acme fetches one: choose one of them")
	case c.tls && c.ownTLS():
		return errors.New("-tls says that a proxy speaks https; with -cert or -acme this program does. Leave -tls out")
	case c.http != "" && !c.ownTLS():
		return errors.New("-http leads browsers to https, so it goes with -cert or -acme only")
	case c.backupKeep < 1:
		return fmt.Errorf("-backup-keep %d would keep no backup; -backup-every 0 makes none", c.backupKeep)
	case c.backupEvery < 0 || c.slow < 0:
		return errors.New("-backup-every and -slow can't be less than 0")
	}
	if _, err := prefixes(c.proxies); err != nil {
		return err
	}
	return c.checkPlain()
}

// checkPlain keeps passcodes off the wire: plain http leaves this machine only when somebody said so.
func (c *config) checkPlain() error {
	host, _, err := net.SplitHostPort(c.addr)
	if err != nil {
		return fmt.Errorf("-addr %q is not an address such as 127.0.0.1:8080: %w", c.addr, err)
	}
	if c.ownTLS() || c.tls || c.plain || loopback(host) {
		return nil
	}
	return fmt.Errorf("%s can be reached from other machines, and plain http would show them passcodes. "+
		"Give -cert and -key or -acme, or say -tls when a proxy in front speaks https, or -plain to do it all the same", c.addr)
}

func (c *config) ownTLS() bool { return c.cert != "" || c.acme.hosts != "" }

// backupFolder is where scheduled backups go, "" when there are none.
func (c *config) backupFolder() string {
	if c.backupEvery == 0 || c.demo && c.backups == "" {
		return ""
	}
	return or(c.backups, filepath.Join(c.data, "backups"))
}

func loopback(host string) bool {
	ip, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && ip.IsLoopback()
}

// prefixes reads addresses and networks by commas and returns them as networks.
func prefixes(text string) (list []string, err error) {
	for _, one := range commas(text) {
		if ip, err := netip.ParseAddr(one); err == nil {
			list = append(list, netip.PrefixFrom(ip, ip.BitLen()).String())
			continue
		}
		p, err := netip.ParsePrefix(one)
		if err != nil {
			return nil, fmt.Errorf("-proxies: %q is neither an address nor a network such as 10.0.0.0/8", one)
		}
		list = append(list, p.Masked().String())
	}
	return list, nil
}

// commas splits at commas and drops what is empty.
func commas(text string) (list []string) {
	for one := range strings.SplitSeq(text, ",") {
		if one = strings.TrimSpace(one); one != "" {
			list = append(list, one)
		}
	}
	return list
}
