package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// authority is an ACME server for tests (RFC 8555) that asks the given port for the proof of a name, as an authority on the internet asks port 443.
type authority struct {
	directory string
	trusted   string // its own certificate, in a file
	roots     *x509.CertPool
}

// startAuthority runs Debian's test authority with a resolver that leads every name to this machine. The proof is asked of the port of proof.
func startAuthority(t *testing.T, proof string) authority {
	t.Helper()
	var paths [2]string
	for i, name := range []string{"pebble", "pebble-challtestsrv"} {
		path, err := exec.LookPath(name)
		if err != nil && os.Getenv("CI") != "" {
			t.Fatal(err)
		} else if err != nil {
			t.Skipf("no %s here: sh .ci/setup installs it", name)
		}
		paths[i] = path
	}
	dir := t.TempDir()
	cert, key, own := certificate(t, dir, "localhost")
	listen, manage, names := freeAddress(t), freeAddress(t), freeAddress(t)
	_, port, err := net.SplitHostPort(proof)
	if err != nil {
		t.Fatal(err)
	}
	settings := filepath.Join(dir, "settings.json")
	text := fmt.Sprintf(`{"pebble": {"listenAddress": %q, "managementListenAddress": %q, "certificate": %q, "privateKey": %q, "httpPort": 1, "tlsPort": %s}}`, listen, manage, cert, key, port)
	if err := os.WriteFile(settings, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	running(t, nil, paths[1], "-dns01", names, "-http01", "", "-https01", "", "-tlsalpn01", "", "-management", freeAddress(t), "-defaultIPv4", "127.0.0.1", "-defaultIPv6", "")
	waitFor(t, "the resolver", 20*time.Second, func() (bool, bool) {
		c, err := net.DialTimeout("tcp", names, time.Second)
		if err == nil {
			_ = c.Close()
		}
		return true, err == nil
	})
	running(t, []string{"PEBBLE_VA_NOSLEEP=1", "PEBBLE_WFE_NONCEREJECT=0"}, paths[0], "-config", settings, "-dnsserver", names)
	_, at, _ := net.SplitHostPort(listen)
	_, managed, _ := net.SplitHostPort(manage)
	a := authority{directory: "https://localhost:" + at + "/dir", trusted: cert, roots: x509.NewCertPool()}
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: own}}}
	raw := waitFor(t, "the authority's root", 20*time.Second, func() ([]byte, bool) {
		res, err := client.Get("https://localhost:" + managed + "/roots/0")
		if err != nil {
			return nil, false
		}
		defer res.Body.Close()
		raw, err := io.ReadAll(res.Body)
		return raw, err == nil && res.StatusCode == http.StatusOK
	})
	if !a.roots.AppendCertsFromPEM(raw) {
		t.Fatalf("no root: %.200s", raw)
	}
	return a
}

// freeAddress is an address of this machine at which nothing listens now.
func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// running starts a program that is ended with the test.
func running(t *testing.T, env []string, name string, args ...string) {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), env...)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
}

// TestACertificateIsFetched has the program ask an authority for a certificate, prove that the name is its own, and serve with what it got;
// started anew it asks for nothing.
func TestACertificateIsFetched(t *testing.T) {
	o := buildOffice(t)
	o.layIn()
	a := startAuthority(t, o.addr)
	serve := func(directory string) *exec.Cmd {
		cmd := exec.Command(o.binary, "serve", "-data", o.data, "-addr", o.addr, "-acme", "lawns.example", "-acme-url", directory)
		cmd.Env = append(os.Environ(), "SSL_CERT_FILE="+a.trusted)
		cmd.Stdout, cmd.Stderr = &o.log, &o.log
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		waitFor(t, "the office", 30*time.Second, func() (bool, bool) { return true, o.listens() })
		return cmd
	}
	o.cmd = serve(a.directory)
	t.Cleanup(o.stop)
	client := &http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{DisableKeepAlives: true, TLSClientConfig: &tls.Config{RootCAs: a.roots, ServerName: "lawns.example"}}}
	serial := func() string {
		t.Helper()
		req, err := http.NewRequest("GET", "https://"+o.addr+"/readyz", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Host = "lawns.example"
		res, err := client.Do(req)
		if err != nil {
			t.Fatalf("%v\n%s", err, o.log.String())
		}
		defer res.Body.Close()
		if res.StatusCode != http.StatusOK {
			t.Fatalf("over the fetched certificate: %s", res.Status)
		}
		return res.TLS.PeerCertificates[0].SerialNumber.String()
	}
	first := serial()
	o.stop()
	o.cmd = serve("https://localhost:1/nobody")
	if again := serial(); again != first {
		t.Errorf("a certificate that was kept is asked for again: %s, %s", first, again)
	}
	if _, err := tls.Dial("tcp", o.addr, &tls.Config{RootCAs: a.roots, ServerName: "other.example"}); err == nil {
		t.Error("a name that is not ours was served")
	}
	for line := range strings.Lines(o.log.String()) {
		var entry struct{ Level, Msg string }
		if json.Unmarshal([]byte(line), &entry) == nil && entry.Level == "ERROR" {
			t.Errorf("a fault in the log: %s", line)
		}
	}
}
