package web

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"runtime/debug"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"swardbook/store"
)

type noteKey struct{}

// note is what the one log line of a request will say, besides what the request itself shows.
type note struct {
	id  string // request id, also shown on error pages
	who string // person id
	err error
}

// noteOf returns the note of r; an own empty one outside the log.
func noteOf(r *http.Request) *note {
	if n, ok := r.Context().Value(noteKey{}).(*note); ok {
		return n
	}
	return &note{}
}

// logged writes one line a request: what was asked for (the pattern, never the address itself), how it went, who asked.
func (s *server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n := &note{id: requestID()}
		w.Header().Set("X-Request-Id", n.id)
		ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		began := time.Now()
		r = r.WithContext(context.WithValue(r.Context(), noteKey{}, n))
		next.ServeHTTP(ww, r)
		took, status := time.Since(began), max(ww.Status(), 200)
		s.watch.Request(r.Method, pattern(r), status, took, n.id)
		level := slog.LevelInfo
		if ww.Status() >= 500 {
			level = slog.LevelError
		}
		attrs := []slog.Attr{
			slog.String("method", r.Method), slog.String("route", pattern(r)), slog.Int("status", status),
			slog.Duration("took", took), slog.String("id", n.id), slog.String("who", n.who),
		}
		if n.err != nil {
			attrs = append(attrs, fault(n.err)...)
		}
		s.log.LogAttrs(r.Context(), level, "request", attrs...)
	})
}

// fault is what the log says of an error: all of it where the fault is ours; else only its kind, since the sentence may name a
// person and the person has read it.
func fault(err error) []slog.Attr {
	kind := store.KindOf(err)
	if kind == store.Internal {
		return []slog.Attr{slog.Any("err", err)}
	}
	attrs := []slog.Attr{slog.String("kind", statuses[kind].name)}
	var e *store.Error
	if errors.As(err, &e) && e.Err != nil {
		attrs = append(attrs, slog.Any("cause", e.Err))
	}
	return attrs
}

// RequestID is the id of the request that ctx belongs to, "" when it belongs to none.
func RequestID(ctx context.Context) string {
	if n, ok := ctx.Value(noteKey{}).(*note); ok {
		return n.id
	}
	return ""
}

// recovered answers a panic like any fault of ours. The stack goes to the log, never to the browser.
func (s *server) recovered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			v := recover()
			if v == nil {
				return
			}
			if v == http.ErrAbortHandler {
				panic(v)
			}
			s.answer(w, r, fmt.Errorf("panic: %v\n%s", v, debug.Stack()))
		}()
		next.ServeHTTP(w, r)
	})
}

func pattern(r *http.Request) string {
	if c := chi.RouteContext(r.Context()); c != nil {
		if p := c.RoutePattern(); p != "" {
			return p
		}
	}
	return "none"
}

func requestID() string {
	raw := make([]byte, 6)
	rand.Read(raw) // never fails
	return hex.EncodeToString(raw)
}
