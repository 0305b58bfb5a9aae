package main

import (
	"context"
	"crypto/tls"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"swardbook/store/backup"
)

// starting runs the whole program in this process on a port of its own, until stop is called.
func starting(t *testing.T, addr, data string, args ...string) (stop func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() {
		ended <- run(ctx, append([]string{"serve", "-quiet", "-addr", addr, "-data", data}, args...), func(string) string { return "" }, nil, io.Discard, io.Discard)
	}()
	var last error
	for until := time.Now().Add(30 * time.Second); time.Now().Before(until); time.Sleep(10 * time.Millisecond) {
		select {
		case err := <-ended:
			t.Fatalf("the server ended: %v", err)
		default:
		}
		if _, last = commanded(t, "", "health", "-addr", addr); last == nil {
			return func() error { cancel(); return <-ended }
		}
		if _, last = commanded(t, "", "health", "-addr", addr, "-https"); last == nil {
			return func() error { cancel(); return <-ended }
		}
	}
	t.Fatalf("never ready: %v", last)
	return nil
}

func freeAddr(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

func got(t *testing.T, client *http.Client, url string) (int, string) {
	t.Helper()
	res, err := client.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(raw)
}

// TestAHouseOfItsOwn starts the program as a firm would, over https with its own certificate, and looks at all its doors.
func TestAHouseOfItsOwn(t *testing.T) {
	dir := t.TempDir()
	cert, key, pool := certificate(t, dir, "lawns.example")
	site, plain, numbers := freeAddr(t), freeAddr(t), freeAddr(t)
	data, disk := filepath.Join(dir, "data"), filepath.Join(dir, "disk")
	stop := starting(t, site, data, "-cert", cert, "-key", key, "-http", plain, "-metrics", numbers, "-backups", disk, "-slow", "1ns")

	secure := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, ServerName: "lawns.example"}}}
	code, _ := got(t, secure, "https://"+site+"/setup")
	if code != 200 {
		t.Errorf("setup over https: %d", code)
	}
	if code, text := got(t, secure, "http://"+plain+"/healthz"); code != 200 || !strings.HasPrefix(text, "ok") {
		t.Errorf("the plain address does not lead to https: %d %s", code, text)
	}
	code, text := got(t, http.DefaultClient, "http://"+numbers+"/metrics")
	for _, line := range []string{"swardbook_database_bytes", "swardbook_backup_age_seconds", `swardbook_requests_total{method="GET",route="/setup",status="2xx"} 1`, `swardbook_slow_queries_total{method="Empty"}`} {
		if code != 200 || !strings.Contains(text, line) {
			t.Errorf("%d: no %s", code, line)
		}
	}
	if _, text := got(t, secure, "https://"+site+"/metrics"); strings.Contains(text, "swardbook_requests_total") {
		t.Error("anybody reads the measurements")
	}
	for until := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		if list, err := backup.List(disk); err == nil && len(list) == 1 {
			break
		} else if time.Now().After(until) {
			t.Fatalf("no backup was made: %v %v", list, err)
		}
	}
	secure.CloseIdleConnections()
	http.DefaultClient.CloseIdleConnections()
	if err := stop(); err != nil {
		t.Error(err)
	}
	if _, err := commanded(t, "", "health", "-addr", site, "-https"); err == nil {
		t.Error("ready after its end")
	}
}
