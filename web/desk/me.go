package desk

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/go-chi/httprate"

	"swardbook/store"
	"swardbook/web/page"
	"swardbook/web/pass"
)

type factorStore interface {
	Factor(ctx context.Context, person string) (store.Factor, error)
	Factors(ctx context.Context) ([]string, error)
	BeginFactor(ctx context.Context, person string, secret []byte) error
	ConfirmFactor(ctx context.Context, person string, step int64, recovery [][]byte) error
	RenewRecovery(ctx context.Context, person string, recovery [][]byte) error
	DropFactor(ctx context.Context, person string) error
}

// newProofs counts the passcodes typed by one person who is signed in: a browser left open must not be a place to guess.
func newProofs() *httprate.RateLimiter {
	return httprate.NewRateLimiter(10, 15*time.Minute, httprate.WithResponseHeaders(httprate.ResponseHeaders{RetryAfter: "Retry-After"}))
}

// Me is how whoever asks signs in: their second factor, and signing out everywhere.
func (d *Desk) Me(w http.ResponseWriter, r *http.Request) error {
	return d.drawMe(w, r, http.StatusOK, page.MeView{})
}

func (d *Desk) drawMe(w http.ResponseWriter, r *http.Request, status int, v page.MeView) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	factor, err := d.db.Factor(r.Context(), a.who.ID)
	if err != nil && store.KindOf(err) != store.NotFound {
		return err
	}
	v.On, v.Left = factor.On(), factor.Left
	if v.On {
		v.Since = moment(factor.Since, a.place)
	}
	if v.Confirm && factor.Secret != nil {
		firm, err := d.db.Firm(r.Context())
		if err != nil {
			return err
		}
		v.Secret = spaced(pass.SecretText(factor.Secret))
		if v.Path, v.Side, err = drawCode(pass.SecretURL(factor.Secret, firm.Name, a.who.Name)); err != nil {
			return err
		}
	}
	f, err := d.frame(r, a, "me", a.words.T("me.title"))
	if err != nil {
		return err
	}
	f.CSS = []string{"house.css"}
	w.Header().Set("Cache-Control", "no-store")
	return page.Write(w, r, status, page.Me(f, v))
}

// spaced is a long text in groups of four, as people copy it.
func spaced(text string) string {
	var b strings.Builder
	for i, c := range text {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(c)
	}
	return b.String()
}

// proven asks for the passcode of whoever is signed in once more; when it is wrong, the page says so.
func (d *Desk) proven(w http.ResponseWriter, r *http.Request, which string) (ok bool, err error) {
	a, form, err := d.posted(r)
	if err != nil {
		return false, err
	}
	status := http.StatusUnprocessableEntity
	if d.guesses.OnLimit(w, r, a.who.ID) {
		status = http.StatusTooManyRequests
		form.Say("passcode", a.words.T("me.slow"))
	} else if ok, err = pass.Check(r.Context(), a.who.Hash, form.Values.Get("passcode")); err != nil || ok {
		return ok, err
	}
	form.Say("passcode", a.words.T("me.wrong"))
	return false, d.drawMe(w, r, status, page.MeView{Bad: which, Form: form})
}

// BeginSecond shows a new secret to be read by an authenticator.
func (d *Desk) BeginSecond(w http.ResponseWriter, r *http.Request) error {
	if ok, err := d.proven(w, r, "begin"); !ok {
		return err
	}
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	if err := d.db.BeginFactor(r.Context(), a.who.ID, pass.NewSecret()); err != nil {
		return err
	}
	return d.drawMe(w, r, http.StatusOK, page.MeView{Confirm: true})
}

// ConfirmSecond puts the second factor in force when its first code is right, and shows the recovery codes, once.
func (d *Desk) ConfirmSecond(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	factor, err := d.db.Factor(r.Context(), a.who.ID)
	if err != nil {
		return err
	}
	step, ok := pass.Step(factor.Secret, form.V("code"), d.now())
	if !ok {
		form.Say("code", a.words.T("second.wrong"))
		return d.drawMe(w, r, http.StatusUnprocessableEntity, page.MeView{Confirm: true, Form: form})
	}
	codes, hashes := pass.NewRecovery()
	if err := d.db.ConfirmFactor(r.Context(), a.who.ID, step, hashes); err != nil {
		return err
	}
	return d.drawMe(w, r, http.StatusOK, page.MeView{Codes: codes})
}

// RenewRecovery shows new recovery codes; those from before work no more.
func (d *Desk) RenewRecovery(w http.ResponseWriter, r *http.Request) error {
	if ok, err := d.proven(w, r, "renew"); !ok {
		return err
	}
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	factor, err := d.db.Factor(r.Context(), a.who.ID)
	if err != nil {
		return err
	}
	if !factor.On() {
		return store.Errorf(store.Conflict, "%s", a.words.T("me.second.notyet"))
	}
	codes, hashes := pass.NewRecovery()
	if err := d.db.RenewRecovery(r.Context(), a.who.ID, hashes); err != nil {
		return err
	}
	return d.drawMe(w, r, http.StatusOK, page.MeView{Codes: codes})
}

// EndSecond lets whoever asks sign in with the passcode alone again.
func (d *Desk) EndSecond(w http.ResponseWriter, r *http.Request) error {
	if ok, err := d.proven(w, r, "off"); !ok {
		return err
	}
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return done(w, r, d.db.DropFactor(r.Context(), a.who.ID), "/desk/me", "second-off")
}

// DropSecond is for the owner, when somebody lost their authenticator and their recovery codes.
func (d *Desk) DropSecond(w http.ResponseWriter, r *http.Request) error {
	return done(w, r, d.db.DropFactor(r.Context(), r.PathValue("person")), "/desk/people", "second-off")
}
