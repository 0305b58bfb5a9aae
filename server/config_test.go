package main

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"flag"
	"io"
	"log/slog"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// quietly is a terminal with an environment of its own.
func quietly(env map[string]string) terminal {
	return terminal{func(name string) string { return env[name] }, strings.NewReader(""), io.Discard, io.Discard}
}

// settled is what a server is started with by a line, an environment and a file.
func settled(t *testing.T, args []string, env map[string]string, file string) (config, error) {
	t.Helper()
	if file != "" {
		path := filepath.Join(t.TempDir(), "swardbook.conf")
		if err := os.WriteFile(path, []byte(file), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append([]string{"-config", path}, args...)
	}
	var c config
	fs := flag.NewFlagSet("serve", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	c.flagsOf(fs)
	if err := settle(fs, args, quietly(env)); err != nil {
		return c, err
	}
	return c, c.check()
}

func TestTheLineGoesBeforeTheEnvironmentAndThatBeforeTheFile(t *testing.T) {
	file := "# where\n data = /from/file\naddr = \"127.0.0.1:1\"\n\nbackup-keep=3\n"
	env := map[string]string{"SWARDBOOK_ADDR": "127.0.0.1:2", "SWARDBOOK_BACKUP_KEEP": "4", "SWARDBOOK_TLS": "true"}
	c, err := settled(t, []string{"-backup-keep", "5"}, env, file)
	if err != nil {
		t.Fatal(err)
	}
	if c.data != "/from/file" || c.addr != "127.0.0.1:2" || c.backupKeep != 5 || !c.tls || c.backupEvery != 24*time.Hour {
		t.Errorf("%+v", c)
	}
}

func TestSettingsThatContradictAreRefused(t *testing.T) {
	for _, c := range []struct {
		args, file, says string
	}{
		{"-clock 2026-08-27T09:00:00-04:00", "", "-demo"},
		{"-cert a.pem", "", "its key"},
		{"-cert a.pem -key b.pem -acme lawns.example", "", "choose one"},
		{"-tls -acme lawns.example", "", "Leave -tls out"},
		{"-http :80", "", "-http leads"},
		{"-backup-keep 0", "", "keep no backup"},
		{"-proxies nearby", "", `"nearby" is neither`},
		{"-addr 8080", "", "not an address"},
		{"-addr 0.0.0.0:8080", "", "passcodes"},
		{"-addr :8080", "", "passcodes"},
		{"-addr 192.168.1.20:8080", "", "passcodes"},
		{"", "backup_keep = 3\n", `:1: there is no setting "backup_keep"`},
		{"", "addr = 127.0.0.1:1\naddr = 127.0.0.1:2\n", "a second time"},
		{"", "addr\n", "line 1"},
		{"", "\nbackup-keep = many\n", ":2: backup-keep"},
		{"", "config = other\n", "no setting"},
	} {
		_, err := settled(t, strings.Fields(c.args), nil, c.file)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q with file %q: %v, want %q", c.args, c.file, err, c.says)
		}
	}
	if _, err := settled(t, nil, map[string]string{"SWARDBOOK_BACKUP_EVERY": "daily"}, ""); err == nil || !strings.Contains(err.Error(), "SWARDBOOK_BACKUP_EVERY") {
		t.Errorf("%v does not name the variable", err)
	}
}

func TestPlainHTTPLeavesThisMachineOnlyWhenToldSo(t *testing.T) {
	for _, line := range []string{"", "-addr localhost:0", "-addr [::1]:8080", "-addr 0.0.0.0:80 -tls", "-addr :80 -plain", "-addr :443 -acme lawns.example", "-addr :443 -cert a -key b -http :80"} {
		if _, err := settled(t, strings.Fields(line), nil, ""); err != nil {
			t.Errorf("%q: %v", line, err)
		}
	}
}

func TestProxiesAreNetworks(t *testing.T) {
	got, err := prefixes(" 10.1.2.3/8, 127.0.0.1,::1 ,")
	if err != nil || strings.Join(got, " ") != "10.0.0.0/8 127.0.0.1/32 ::1/128" {
		t.Errorf("%v %v", got, err)
	}
}

func FuzzReadSettings(f *testing.F) {
	for _, text := range []string{"", "a=b", "# x\n\n-a = \"b c\" ", "a", "=b", "a=1\na=2", "\uFEFFaddr=:1\r\n"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		list, err := readSettings(strings.NewReader(text))
		if err != nil {
			return
		}
		for _, s := range list {
			if s.name == "" || s.name != strings.TrimSpace(s.name) || s.n < 1 {
				t.Errorf("%q: %+v", text, s)
			}
		}
	})
}

func TestASecondServerOnOneFolderIsRefused(t *testing.T) {
	dir := t.TempDir()
	release, err := lockData(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := lockData(dir); err == nil || !strings.Contains(err.Error(), "another server (process ") {
		t.Errorf("a second lock: %v", err)
	}
	if err := run(t.Context(), []string{"-data", dir, "-addr", "127.0.0.1:0"}, func(string) string { return "" }, nil, io.Discard, io.Discard); err == nil || !strings.Contains(err.Error(), "works on") {
		t.Errorf("a second server: %v", err)
	}
	if err := release(); err != nil {
		t.Fatal(err)
	}
	again, err := lockData(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := again(); err != nil {
		t.Error(err)
	}
}

// certificate writes a certificate for localhost with its key and returns their paths and a pool that trusts it.
func certificate(t *testing.T, dir, name string) (cert, key string, pool *x509.CertPool) {
	t.Helper()
	secret, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	form := &x509.Certificate{
		SerialNumber: big.NewInt(time.Now().UnixNano()), Subject: pkix.Name{CommonName: name}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(90 * 24 * time.Hour),
		DNSNames: []string{name}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	der, err := x509.CreateCertificate(rand.Reader, form, form, &secret.PublicKey, secret)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := x509.MarshalECPrivateKey(secret)
	if err != nil {
		t.Fatal(err)
	}
	certPEM, keyPEM := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: raw})
	cert, key = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	for path, text := range map[string][]byte{cert: certPEM, key: keyPEM, filepath.Join(dir, name): append(keyPEM, certPEM...)} {
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	pool = x509.NewCertPool()
	pool.AppendCertsFromPEM(certPEM)
	return cert, key, pool
}

func silent() *slog.Logger { return slog.New(slog.DiscardHandler) }

// serving serves a handler at a door until the test ends.
func serving(t *testing.T, handler http.Handler, secured *tls.Config) door {
	t.Helper()
	d, err := openDoor("test", "addr", "127.0.0.1:0", handler, secured)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- serveUntil(ctx, silent(), d) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	return d
}

func TestOwnCertificateIsServedAndReadAnew(t *testing.T) {
	dir := t.TempDir()
	cert, key, pool := certificate(t, dir, "lawns.example")
	p, err := loadPair(cert, key, silent())
	if err != nil {
		t.Fatal(err)
	}
	d := serving(t, http.NotFoundHandler(), &tls.Config{GetCertificate: p.get, NextProtos: []string{"h2", "http/1.1"}})
	dial := func(pool *x509.CertPool) error {
		c, err := tls.Dial("tcp", d.Addr().String(), &tls.Config{RootCAs: pool, ServerName: "lawns.example", NextProtos: []string{"h2"}})
		if err != nil {
			return err
		}
		if got := c.ConnectionState().NegotiatedProtocol; got != "h2" {
			t.Errorf("speaks %q", got)
		}
		return c.Close()
	}
	if err := dial(pool); err != nil {
		t.Fatal(err)
	}
	_, _, fresh := certificate(t, dir, "lawns.example")
	p.mu.Lock()
	p.looked, p.stamp = time.Time{}, [2]time.Time{} // long ago, and other files
	p.mu.Unlock()
	if err := dial(fresh); err != nil {
		t.Errorf("the renewed certificate is not served: %v", err)
	}
	if err := os.WriteFile(cert, []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	p.mu.Lock()
	p.looked, p.stamp = time.Time{}, [2]time.Time{}
	p.mu.Unlock()
	if err := dial(fresh); err != nil {
		t.Errorf("a torn file took away the certificate there was: %v", err)
	}
	if _, err := loadPair(cert, key, silent()); err == nil {
		t.Error("a server starts with a torn certificate")
	}
}

func TestFetchedCertificatesAreForTheNamedHostsOnly(t *testing.T) {
	dir := t.TempDir()
	c := config{data: dir, addr: "127.0.0.1:8443", acme: acmeConfig{hosts: "lawns.example, desk.lawns.example", url: "http://127.0.0.1:1/none"}}
	cache := filepath.Join(dir, "certificates")
	if err := os.Mkdir(cache, 0o700); err != nil {
		t.Fatal(err)
	}
	_, _, pool := certificate(t, cache, "lawns.example") // as it was fetched before
	secured, plain, err := c.secured(silent())
	if err != nil {
		t.Fatal(err)
	}
	d := serving(t, http.NotFoundHandler(), secured)
	conn, err := tls.Dial("tcp", d.Addr().String(), &tls.Config{RootCAs: pool, ServerName: "lawns.example"})
	if err != nil {
		t.Fatal(err)
	}
	_ = conn.Close()
	if _, err := tls.Dial("tcp", d.Addr().String(), &tls.Config{InsecureSkipVerify: true, ServerName: "other.example"}); err == nil {
		t.Error("another host was given a certificate")
	}
	w := httptest.NewRecorder()
	plain.ServeHTTP(w, httptest.NewRequest("GET", "http://lawns.example/field/?a=b", nil))
	if got := w.Header().Get("Location"); w.Code != 301 || got != "https://lawns.example:8443/field/?a=b" {
		t.Errorf("plain http: %d %s", w.Code, got)
	}
	w = httptest.NewRecorder()
	plain.ServeHTTP(w, httptest.NewRequest("POST", "http://lawns.example/sign-in", nil))
	if w.Code != 400 {
		t.Errorf("a form over plain http: %d", w.Code)
	}
	if files, _ := os.ReadDir(cache); len(files) < 3 {
		t.Errorf("the cache is not in the data folder: %v", files)
	}
}

func TestStoppingFinishesRequests(t *testing.T) {
	began, goOn := make(chan struct{}), make(chan struct{})
	d, err := openDoor("test", "addr", "127.0.0.1:0", http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		close(began)
		<-goOn
		if r.Context().Err() != nil {
			http.Error(w, "cut", 500)
		}
		_, _ = io.WriteString(w, "whole")
	}), nil)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- serveUntil(ctx, silent(), d) }()
	got := make(chan string, 1)
	go func() {
		res, err := http.Get(d.url())
		if err != nil {
			got <- err.Error()
			return
		}
		defer res.Body.Close()
		raw, _ := io.ReadAll(res.Body)
		got <- string(raw)
	}()
	<-began
	stop()
	select {
	case err := <-ended:
		t.Fatalf("ended with a request under way: %v", err)
	case <-time.After(50 * time.Millisecond):
	}
	if c, err := net.DialTimeout("tcp", d.Addr().String(), time.Second); err == nil {
		_ = c.Close()
		t.Error("still takes new connections")
	}
	close(goOn)
	if text := <-got; text != "whole" {
		t.Errorf("the request under way got %q", text)
	}
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// TestAnOldCertificateIsUsedForHalfAMinute keeps a busy server from asking the disk at each connection.
func TestAnOldCertificateIsUsedForHalfAMinute(t *testing.T) {
	dir := t.TempDir()
	cert, key, _ := certificate(t, dir, "lawns.example")
	synctest.Test(t, func(t *testing.T) {
		p, err := loadPair(cert, key, silent())
		if err != nil {
			t.Fatal(err)
		}
		first := p.looked
		time.Sleep(pairAge / 2)
		if _, _ = p.get(nil); p.looked != first {
			t.Error("looked too early")
		}
		time.Sleep(pairAge)
		if _, _ = p.get(nil); p.looked == first {
			t.Error("never looked again")
		}
	})
}
