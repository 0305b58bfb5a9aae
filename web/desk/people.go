package desk

import (
	"context"
	"net/http"
	"slices"

	"github.com/google/uuid"

	"swardbook/store"
	"swardbook/web/page"
	"swardbook/web/pass"
)

type peopleStore interface {
	People(ctx context.Context, active bool) ([]store.Person, error)
	Person(ctx context.Context, id string) (store.Person, error)
	AddPerson(ctx context.Context, p store.Person) error
	SetPasscode(ctx context.Context, id, hash string) error
	EndSessionsOf(ctx context.Context, person string) error
	SavePerson(ctx context.Context, p store.Person) error
}

// People lists who may sign in.
func (d *Desk) People(w http.ResponseWriter, r *http.Request) error {
	return d.drawPeople(w, r, http.StatusOK, page.PeopleView{})
}

func (d *Desk) drawPeople(w http.ResponseWriter, r *http.Request, status int, v page.PeopleView) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	all, err := d.db.People(r.Context(), false)
	if err != nil {
		return err
	}
	second, err := d.db.Factors(r.Context())
	if err != nil {
		return err
	}
	for _, p := range all {
		v.Rows = append(v.Rows, page.PersonRow{ID: p.ID, Name: p.Name, Role: a.words.T("role." + string(p.Role)), Active: p.Active, Second: slices.Contains(second, p.ID)})
	}
	f, err := d.frame(r, a, "people", a.words.T("desk.people"))
	if err != nil {
		return err
	}
	f.CSS = []string{"house.css"}
	return page.Write(w, r, status, page.People(f, v))
}

// AddPerson takes a new person in.
func (d *Desk) AddPerson(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p := store.Person{ID: uuid.NewString(), Name: form.V("name"), Role: store.Role(form.V("role")), Lang: form.V("lang"), Active: true}
	if p.Name == "" {
		form.Say("name", a.words.T("person.name.need"))
	}
	if p.Role.Rank() == 0 {
		form.Say("role", a.words.T("person.role.need"))
	}
	if p.Lang != "es" {
		p.Lang = "en"
	}
	p.Hash = form.Passcode(a.words, pass.Hash)
	if !form.Bad() {
		err = d.db.AddPerson(r.Context(), p)
		if store.KindOf(err) != store.Conflict || err == nil {
			return done(w, r, err, "/desk/people", "person")
		}
		form.Say("name", a.words.T("person.name.taken"))
	}
	return d.drawPeople(w, r, http.StatusUnprocessableEntity, page.PeopleView{Add: form})
}

// ResetPasscode gives a person a new passcode; their sessions end.
func (d *Desk) ResetPasscode(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, err := d.db.Person(r.Context(), r.PathValue("person"))
	if err != nil {
		return err
	}
	hash := form.Passcode(a.words, pass.Hash)
	if form.Bad() {
		return d.drawPeople(w, r, http.StatusUnprocessableEntity, page.PeopleView{Bad: p.ID, Reset: form})
	}
	if err := d.db.SetPasscode(r.Context(), p.ID, hash); err != nil {
		return err
	}
	return done(w, r, d.db.EndSessionsOf(r.Context(), p.ID), "/desk/people", "passcode")
}

// posted reads who asks and what was typed.
func (d *Desk) posted(r *http.Request) (asking, page.Form, error) {
	a, err := d.asking(r)
	if err != nil {
		return a, page.Form{}, err
	}
	form, err := page.ReadForm(a.words, r)
	return a, form, err
}

// done leads back to path unless err.
func done(w http.ResponseWriter, r *http.Request, err error, path, flash string) error {
	if err != nil {
		return err
	}
	return back(w, r, path, flash)
}
