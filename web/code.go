package web

import (
	"context"
	"crypto/sha256"
	"net/http"

	"swardbook/store"
	"swardbook/web/page"
)

// Codes lets a phone sign in once without a passcode. It is given the SHA-256 of a code, never the code.
type Codes interface {
	UseCode(ctx context.Context, codeHash []byte) (store.Person, error)
}

func (s *server) codePage(w http.ResponseWriter, r *http.Request) error {
	return s.drawCode(w, r, http.StatusOK, "")
}

func (s *server) drawCode(w http.ResponseWriter, r *http.Request, status int, wrong string) error {
	words := s.words(r)
	f := page.Frame{W: words, Title: words.T("code.title"), Modules: []string{"code.js"}}
	return page.Write(w, r, status, page.UseCode(f, wrong))
}

// useCode signs in whoever a code was made for. It is pressed by a person, so that no page can sign a browser in unseen.
func (s *server) useCode(w http.ResponseWriter, r *http.Request) error {
	form, err := page.ReadForm(s.words(r), r)
	if err != nil {
		return err
	}
	if s.tries.address.OnLimit(w, r, addressOf(r)) {
		return s.drawCode(w, r, http.StatusTooManyRequests, s.words(r).T("code.slow"))
	}
	sum := sha256.Sum256([]byte(form.V("code")))
	who, err := s.db.UseCode(r.Context(), sum[:])
	if store.KindOf(err) == store.SignIn && err != nil {
		return s.drawCode(w, r, http.StatusUnprocessableEntity, sentence(err))
	}
	if err != nil {
		return err
	}
	return s.welcome(w, r, who, "")
}
