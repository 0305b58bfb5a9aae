package main

import (
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"time"
)

const healthUsage = `Asks a server on this machine whether it is ready, and ends with an error when it is not: for a container's health check, where there
is no other program to ask with.

  swardbook health
  swardbook health -addr 0.0.0.0:8443 -https`

// health asks the server's own door. Whose certificate it shows does not matter: it is asked on this machine whether it lives.
func health(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "health", healthUsage)
	addr := fs.String("addr", "127.0.0.1:8080", "the address it listens on")
	secure := fs.Bool("https", false, "it speaks https itself")
	if err := settle(fs, args, t); err != nil {
		return err
	}
	host, port, err := net.SplitHostPort(*addr)
	if err != nil {
		return fmt.Errorf("-addr %q is not an address such as 127.0.0.1:8080: %w", *addr, err)
	}
	if host == "" || host == "0.0.0.0" || host == "::" { // listens everywhere, so here too
		host = "127.0.0.1"
	}
	scheme := "http"
	if *secure {
		scheme = "https"
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, scheme+"://"+net.JoinHostPort(host, port)+"/readyz", nil)
	if err != nil {
		return err
	}
	client := http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, DisableKeepAlives: true}}
	answer, err := client.Do(r)
	if err != nil {
		return fmt.Errorf("the server does not answer: %w", err)
	}
	defer answer.Body.Close()
	said, _ := io.ReadAll(io.LimitReader(answer.Body, 100))
	if answer.StatusCode != http.StatusOK || strings.TrimSpace(string(said)) != "ready" {
		return fmt.Errorf("the server is not ready: %s", answer.Status)
	}
	fmt.Fprintln(t.stdout, "ready")
	return nil
}
