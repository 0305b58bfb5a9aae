package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"time"

	"swardbook/store"
	"swardbook/web/route"
)

// A session lives this long after it was last renewed; it is renewed at most once a day.
const (
	sessionLife  = 90 * 24 * time.Hour
	sessionRenew = 24 * time.Hour
)

// Sessions keeps who is signed in. It is given the SHA-256 of a token, never the token.
type Sessions interface {
	AddSession(ctx context.Context, tokenHash []byte, personID, agent string, ttl time.Duration) error
	Session(ctx context.Context, tokenHash []byte) (store.Session, error)
	RenewSession(ctx context.Context, tokenHash []byte, ttl time.Duration) error
	EndSession(ctx context.Context, tokenHash []byte) error
	EndSessionsOf(ctx context.Context, person string) error
}

// cookieName is the session's cookie. Over TLS the name itself forbids other hosts and paths to set it.
func cookieName(secure bool) string {
	if secure {
		return "__Host-swardbook"
	}
	return "swardbook"
}

func (s *server) secure(r *http.Request) bool { return s.tls || r.TLS != nil }

// token returns the hash of the session token that came with r; nil when none did.
func (s *server) token(r *http.Request) (raw string, hash []byte) {
	c, err := r.Cookie(cookieName(s.secure(r)))
	if err != nil || c.Value == "" {
		return "", nil
	}
	sum := sha256.Sum256([]byte(c.Value))
	return c.Value, sum[:]
}

func (s *server) setCookie(w http.ResponseWriter, r *http.Request, value string, life time.Duration) {
	http.SetCookie(w, &http.Cookie{
		Name: cookieName(s.secure(r)), Value: value, Path: "/", MaxAge: int(life.Seconds()),
		Secure: s.secure(r), HttpOnly: true, SameSite: http.SameSiteLaxMode,
	})
}

// startSession signs person in with a token made now, and ends the session that the browser had before.
func (s *server) startSession(w http.ResponseWriter, r *http.Request, personID string) error {
	if _, old := s.token(r); old != nil {
		if err := s.db.EndSession(r.Context(), old); err != nil && store.KindOf(err) != store.NotFound {
			return err
		}
	}
	raw := make([]byte, 32)
	rand.Read(raw) // never fails
	value := base64.RawURLEncoding.EncodeToString(raw)
	sum := sha256.Sum256([]byte(value))
	if err := s.db.AddSession(r.Context(), sum[:], personID, r.UserAgent(), sessionLife); err != nil {
		return err
	}
	s.setCookie(w, r, value, sessionLife)
	return nil
}

// withPerson finds out who is asking. A session that ended is nobody; a database that cannot answer is an error.
func (s *server) withPerson(next http.Handler) http.Handler {
	return s.catch(func(w http.ResponseWriter, r *http.Request) error {
		value, hash := s.token(r)
		if hash == nil {
			next.ServeHTTP(w, r)
			return nil
		}
		session, err := s.db.Session(r.Context(), hash)
		if kind := store.KindOf(err); err != nil && (kind == store.NotFound || kind == store.SignIn) {
			next.ServeHTTP(w, r)
			return nil
		}
		if err != nil {
			return err
		}
		if s.now().Sub(session.Seen) > sessionRenew {
			if err := s.db.RenewSession(r.Context(), hash, sessionLife); err != nil {
				return err
			}
			s.setCookie(w, r, value, sessionLife)
		}
		noteOf(r).who = session.Person.ID
		ctx := store.WithActor(route.WithPerson(r.Context(), session.Person), session.Person.ID)
		next.ServeHTTP(w, r.WithContext(ctx))
		return nil
	})
}
