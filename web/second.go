package web

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"net/http"
	"sync"
	"time"

	"github.com/go-chi/httprate"

	"swardbook/store"
	"swardbook/web/page"
	"swardbook/web/pass"
)

// Factors are the second things that people sign in with.
type Factors interface {
	Factor(ctx context.Context, person string) (store.Factor, error)
	UseFactor(ctx context.Context, person string, step int64) error
	UseRecovery(ctx context.Context, person string, hash []byte) error
}

// Of a million codes three count at a time: ten tries in a quarter of an hour leave a guesser who knows the passcode three chances in a
// thousand a day.
const (
	secondTries  = 10
	secondWindow = 15 * time.Minute
	secondLife   = 5 * time.Minute // between passcode and code
	mostHalf     = 1000            // people between the two at once
)

// half is a sign-in that has the passcode and lacks the second factor.
type half struct {
	who     store.Person
	next    string
	expires time.Time
}

// halves keeps them by a token that only the page knows. They are gone with the program: one signs in anew.
type halves struct {
	mu    sync.Mutex
	by    map[string]half
	tries *httprate.RateLimiter // by person
}

func newHalves() *halves {
	return &halves{by: map[string]half{}, tries: httprate.NewRateLimiter(secondTries, secondWindow, httprate.WithResponseHeaders(httprate.ResponseHeaders{RetryAfter: "Retry-After"}))}
}

func (h *halves) add(now time.Time, who store.Person, next string) (token string, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for t, p := range h.by {
		if !p.expires.After(now) {
			delete(h.by, t)
		}
	}
	if len(h.by) >= mostHalf {
		return "", store.Errorf(store.Busy, "Too many people are signing in at once. Try again in a few minutes.")
	}
	raw := make([]byte, 24)
	rand.Read(raw) // never fails
	token = base64.RawURLEncoding.EncodeToString(raw)
	h.by[token] = half{who, next, now.Add(secondLife)}
	return token, nil
}

func (h *halves) of(now time.Time, token string) (half, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	p, ok := h.by[token]
	return p, ok && p.expires.After(now)
}

func (h *halves) drop(token string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.by, token)
}

// welcome signs in whoever showed who they are, after a code where they set one up.
func (s *server) welcome(w http.ResponseWriter, r *http.Request, who store.Person, next string) error {
	f, err := s.db.Factor(r.Context(), who.ID)
	if err != nil && store.KindOf(err) != store.NotFound {
		return err
	}
	if err == nil && f.On() {
		token, err := s.halves.add(s.now(), who, next)
		if err != nil {
			return err
		}
		return s.drawSecond(w, r, http.StatusOK, page.Form{}, token)
	}
	return s.letIn(w, r, who, next)
}

func (s *server) letIn(w http.ResponseWriter, r *http.Request, who store.Person, next string) error {
	if err := s.startSession(w, r, who.ID); err != nil {
		return err
	}
	noteOf(r).who = who.ID
	http.Redirect(w, r, afterSignIn(next, who.Role), http.StatusSeeOther)
	return nil
}

func (s *server) drawSecond(w http.ResponseWriter, r *http.Request, status int, form page.Form, token string) error {
	words := s.words(r)
	w.Header().Set("Cache-Control", "no-store")
	form.Values.Del("code")
	return page.Write(w, r, status, page.Second(page.Frame{W: words, Title: words.T("second.title")}, form, token))
}

// second takes the code. Whoever waited too long begins again.
func (s *server) second(w http.ResponseWriter, r *http.Request) error {
	form, err := page.ReadForm(s.words(r), r)
	if err != nil {
		return err
	}
	words, token := s.words(r), form.V("token")
	p, ok := s.halves.of(s.now(), token)
	if !ok {
		again := page.Form{}
		again.Say("name", words.T("second.late"))
		return s.drawSignIn(w, r, http.StatusUnprocessableEntity, again, "")
	}
	if s.tries.address.OnLimit(w, r, addressOf(r)) || s.halves.tries.OnLimit(w, r, p.who.ID) {
		form.Say("code", words.T("second.slow"))
		return s.drawSecond(w, r, http.StatusTooManyRequests, form, token)
	}
	say, err := s.prove(r.Context(), p.who.ID, form.V("code"), words)
	if err != nil {
		return err
	}
	if say != "" {
		form.Say("code", say)
		return s.drawSecond(w, r, http.StatusUnprocessableEntity, form, token)
	}
	s.halves.drop(token)
	return s.letIn(w, r, p.who, p.next)
}

// prove spends a code of the authenticator or a recovery code; say is what was wrong with it.
func (s *server) prove(ctx context.Context, person, typed string, words page.Words) (say string, err error) {
	if pass.IsRecovery(typed) {
		return refused(s.db.UseRecovery(ctx, person, pass.RecoveryHash(typed)))
	}
	f, err := s.db.Factor(ctx, person)
	if err != nil {
		return "", err
	}
	step, ok := pass.Step(f.Secret, typed, s.now())
	if !ok {
		return words.T("second.wrong"), nil
	}
	return refused(s.db.UseFactor(ctx, person, step))
}

// refused is the sentence of an error that says a code does not count.
func refused(err error) (say string, other error) {
	if err != nil && store.KindOf(err) == store.SignIn {
		return sentence(err), nil
	}
	return "", err
}

// signOutEverywhere ends every session of whoever asks, this one too.
func (s *server) signOutEverywhere(w http.ResponseWriter, r *http.Request) error {
	if err := s.db.EndSessionsOf(r.Context(), noteOf(r).who); err != nil {
		return err
	}
	s.setCookie(w, r, "", -time.Second)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}
