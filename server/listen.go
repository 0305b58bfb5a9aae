package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	"golang.org/x/net/netutil"
)

// What one connection may take, and how many there may be at once. A request's own limits are in package web; these end a
// client that sends its headers drop by drop or keeps a connection without a word.
const (
	headerTime  = 10 * time.Second
	idleTime    = 2 * time.Minute
	headerBytes = 32 << 10
	connections = 2000
	finishTime  = 30 * time.Second
)

// door is one address that is listened on, and who answers there.
type door struct {
	net.Listener
	name    string
	handler http.Handler
	tls     *tls.Config // nil: plain
}

// openDoor listens on an address.
func openDoor(name, flag, addr string, handler http.Handler, secured *tls.Config) (door, error) {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return door{}, fmt.Errorf("can't listen on %s: %w (another program may use it; choose with -%s)", addr, err, flag)
	}
	return door{netutil.LimitListener(l, connections), name, handler, secured}, nil
}

// url is how the door is reached from this machine.
func (d door) url() string {
	if d.tls != nil {
		return "https://" + d.Addr().String()
	}
	return "http://" + d.Addr().String()
}

func (d door) server(ctx context.Context, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler: d.handler, TLSConfig: d.tls, ReadHeaderTimeout: headerTime, IdleTimeout: idleTime, MaxHeaderBytes: headerBytes,
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) },
		ErrorLog:    slog.NewLogLogger(log.Handler(), slog.LevelDebug), // broken handshakes, each with somebody's address
	}
}

// serveUntil serves at every door until ctx ends or a door breaks, then lets requests under way finish.
func serveUntil(ctx context.Context, log *slog.Logger, doors ...door) error {
	broken := make(chan error, len(doors))
	servers := make([]*http.Server, len(doors))
	for i, d := range doors {
		s := d.server(ctx, log)
		servers[i] = s
		go func() {
			if d.tls != nil {
				broken <- s.ServeTLS(d.Listener, "", "")
			} else {
				broken <- s.Serve(d.Listener)
			}
		}()
	}
	var err error
	select {
	case err = <-broken:
	case <-ctx.Done():
	}
	limit, cancel := context.WithTimeout(context.WithoutCancel(ctx), finishTime)
	defer cancel()
	for _, s := range servers {
		if left := s.Shutdown(limit); left != nil { // the time is over: connections that still talk are cut
			err = errors.Join(err, s.Close())
			log.Warn("requests were cut when the server ended", "after", finishTime)
		}
	}
	if cause := context.Cause(ctx); errors.Is(cause, errDisk) {
		err = errors.Join(cause, err)
	}
	return err
}
