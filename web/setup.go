package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/store"
	"swardbook/web/page"
	"swardbook/web/pass"
)

// Beginning makes the first firm and its owner.
type Beginning interface {
	Empty(ctx context.Context) (bool, error)
	CreateFirm(ctx context.Context, firm store.Firm, owner store.Person) error
}

// begun leads every page of an empty database to its beginning.
func (s *server) begun(next http.Handler) http.Handler {
	return s.catch(func(w http.ResponseWriter, r *http.Request) error {
		if s.started.Load() || isAPI(r) || open(r.URL.Path) {
			next.ServeHTTP(w, r)
			return nil
		}
		empty, err := s.empty(r.Context())
		if err != nil {
			return err
		}
		if empty {
			http.Redirect(w, r, "/setup", http.StatusSeeOther)
			return nil
		}
		next.ServeHTTP(w, r)
		return nil
	})
}

// open says which paths answer before there is a firm.
func open(path string) bool {
	return path == "/setup" || path == "/healthz" || path == "/readyz" || path == "/manifest.webmanifest" || path == "/sw.js" || strings.HasPrefix(path, "/static/")
}

// empty remembers that the beginning is over; people are never taken out again.
func (s *server) empty(ctx context.Context) (bool, error) {
	if s.started.Load() {
		return false, nil
	}
	empty, err := s.db.Empty(ctx)
	if err == nil && !empty {
		s.started.Store(true)
	}
	return empty, err
}

func (s *server) setupPage(w http.ResponseWriter, r *http.Request) error {
	empty, err := s.empty(r.Context())
	if err != nil {
		return err
	}
	if !empty {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	return s.drawSetup(w, r, http.StatusOK, page.Form{})
}

func (s *server) drawSetup(w http.ResponseWriter, r *http.Request, status int, form page.Form) error {
	words := s.words(r)
	return page.Write(w, r, status, page.Setup(page.Frame{W: words, Title: words.T("setup.title")}, form))
}

// setup makes the firm and its owner and signs the owner in.
func (s *server) setup(w http.ResponseWriter, r *http.Request) error {
	form, err := page.ReadForm(s.words(r), r)
	if err != nil {
		return err
	}
	if empty, err := s.empty(r.Context()); err != nil || !empty {
		if err != nil {
			return err
		}
		return store.Errorf(store.Conflict, "%s", s.words(r).T("setup.done"))
	}
	firm, owner := readSetup(s.words(r), &form)
	if form.Bad() {
		return s.drawSetup(w, r, http.StatusUnprocessableEntity, form)
	}
	if err := s.db.CreateFirm(r.Context(), firm, owner); err != nil {
		return err
	}
	s.started.Store(true)
	if err := s.startSession(w, r, owner.ID); err != nil {
		return err
	}
	http.Redirect(w, r, "/desk/", http.StatusSeeOther)
	return nil
}

// readSetup reads the firm and its owner and notes at each input what is wrong with it.
func readSetup(words page.Words, form *page.Form) (store.Firm, store.Person) {
	firm := store.Firm{Name: form.V("firm"), Units: form.V("units"), Zone: form.V("zone")}
	owner := store.Person{ID: uuid.NewString(), Name: form.V("name"), Role: store.Owner, Lang: "en", Active: true}
	if firm.Name == "" {
		form.Say("firm", words.T("setup.firm.need"))
	}
	if firm.Units != "us" && firm.Units != "metric" {
		form.Say("units", words.T("setup.units.need"))
	}
	if firm.Zone == "" {
		firm.Zone = page.TimeZones[0]
	}
	if _, err := time.LoadLocation(firm.Zone); err != nil {
		form.Say("zone", words.T("setup.zone.need"))
	}
	if owner.Name == "" {
		form.Say("name", words.T("person.name.need"))
	}
	owner.Hash = form.Passcode(words, pass.Hash)
	return firm, owner
}
