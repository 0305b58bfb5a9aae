package main

import (
	"crypto/tls"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// secured is how the site speaks https by itself, and who answers at the plain address beside it. Both are nil when a proxy
// does, or nobody.
func (c *config) secured(log *slog.Logger) (*tls.Config, http.Handler, error) {
	switch {
	case c.cert != "":
		pair, err := loadPair(c.cert, c.key, log)
		if err != nil {
			return nil, nil, err
		}
		return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: pair.get, NextProtos: []string{"h2", "http/1.1"}}, toHTTPS(c.addr), nil
	case c.acme.hosts != "":
		m := c.acme.manager(filepath.Join(c.data, "certificates"))
		own := m.TLSConfig()
		own.MinVersion = tls.VersionTLS12
		own.GetCertificate = told(m.GetCertificate, m.HostPolicy, log)
		return own, m.HTTPHandler(toHTTPS(c.addr)), nil
	}
	return nil, nil, nil
}

// manager fetches and renews certificates for the named hosts only: whoever points another name at this machine gets none, and
// can't use up what the authority allows.
func (a acmeConfig) manager(cache string) *autocert.Manager {
	m := &autocert.Manager{
		Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(cache), HostPolicy: autocert.HostWhitelist(commas(a.hosts)...), Email: a.mail,
	}
	if a.url != "" {
		m.Client = &acme.Client{DirectoryURL: a.url}
	}
	return m
}

// told notes why the authority gave no certificate for one of our own names; what strangers ask for is nobody's fault and not noted.
func told(get func(*tls.ClientHelloInfo) (*tls.Certificate, error), ours autocert.HostPolicy, log *slog.Logger) func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	return func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
		cert, err := get(hello)
		if err != nil && ours(hello.Context(), hello.ServerName) == nil {
			log.Error("no certificate for our name", "name", hello.ServerName, "error", err)
		}
		return cert, err
	}
}

// pair is a certificate with its key that is read anew when its files change, so that whoever renews them need not restart us.
type pair struct {
	cert, key string
	log       *slog.Logger

	mu     sync.Mutex
	have   *tls.Certificate
	stamp  [2]time.Time
	looked time.Time
}

// pairAge is how long a certificate is used before its files are looked at again.
const pairAge = 30 * time.Second

func loadPair(cert, key string, log *slog.Logger) (*pair, error) {
	p := &pair{cert: cert, key: key, log: log}
	if err := p.load(); err != nil {
		return nil, fmt.Errorf("the certificate can't be used: %w", err)
	}
	return p, nil
}

// get returns the certificate for a new connection. Files that can't be read now leave the one that was read before.
func (p *pair) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if time.Since(p.looked) > pairAge {
		if err := p.load(); err != nil {
			p.log.Error("the new certificate can't be used; the one before is", "error", err)
		}
	}
	return p.have, nil
}

func (p *pair) load() error {
	p.looked = time.Now()
	var stamp [2]time.Time
	for i, path := range []string{p.cert, p.key} {
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		stamp[i] = info.ModTime()
	}
	if p.have != nil && stamp == p.stamp {
		return nil
	}
	read, err := tls.LoadX509KeyPair(p.cert, p.key)
	if err != nil {
		return err
	}
	p.have, p.stamp = &read, stamp
	return nil
}

// toHTTPS leads a browser to the same page over https. Only reading is led on: what a form sends would have been seen already.
func toHTTPS(addr string) http.Handler {
	_, port, _ := net.SplitHostPort(addr)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			http.Error(w, "Use https.", http.StatusBadRequest)
			return
		}
		host := r.Host
		if name, _, err := net.SplitHostPort(host); err == nil {
			host = name
		}
		if port != "443" {
			host = net.JoinHostPort(host, port)
		}
		http.Redirect(w, r, "https://"+host+r.URL.RequestURI(), http.StatusMovedPermanently)
	})
}
