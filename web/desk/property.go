package desk

import (
	"cmp"
	"context"
	"net/http"
	"time"

	"github.com/google/uuid"

	"swardbook/store"
	"swardbook/web/page"
)

type propertyStore interface {
	Client(ctx context.Context, id string) (store.Client, error)
	AddZone(ctx context.Context, z store.Zone) error
	AddVisit(ctx context.Context, v store.Visit) error
}

// Property is a property's page.
func (d *Desk) Property(w http.ResponseWriter, r *http.Request) error {
	return d.drawProperty(w, r, http.StatusOK, page.Form{}, page.Form{})
}

func (d *Desk) drawProperty(w http.ResponseWriter, r *http.Request, status int, zoneForm, visitForm page.Form) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	p, err := d.db.Property(r.Context(), r.PathValue("property"))
	if err != nil {
		return err
	}
	c, err := d.db.Client(r.Context(), p.Client)
	if err != nil {
		return err
	}
	v := page.PropertyView{
		ID: p.ID, Client: c.Name, ClientTo: "/desk/clients/" + c.ID, System: a.words.T("system.say." + cmp.Or(p.System, "unknown")), Cautions: p.Cautions,
		Area: areaLabel(a), ZoneForm: zoneForm, VisitForm: visitForm, Today: d.now().In(a.place).Format(time.DateOnly),
	}
	if day, err := time.Parse(time.DateOnly, cmp.Or(visitForm.V("back"), r.URL.Query().Get("day"))); err == nil {
		v.Today = day.Format(time.DateOnly)
		v.Back = v.Today
	}
	v.Archived = d.archivedSays(a, later(p.Archived, c.Archived))
	done, err := d.workOf(r.Context(), p.ID)
	if err != nil {
		return err
	}
	v.Off = d.offSays(a, done)
	if v.People, err = d.crew(r.Context(), a); err != nil {
		return err
	}
	if v.Past, err = d.past(r, a, p.ID); err != nil {
		return err
	}
	f, err := d.frame(r, a, "clients", p.Address)
	if err != nil {
		return err
	}
	f.CSS = append(f.CSS, "past.css")
	return page.Write(w, r, status, page.Property(f, v))
}

// crew are the people a visit can be given to.
func (d *Desk) crew(ctx context.Context, a asking) ([]page.Choice, error) {
	people, err := d.db.People(ctx, true)
	out := []page.Choice{{Label: a.words.T("person.nobody")}}
	for _, p := range people {
		out = append(out, page.Choice{Value: p.ID, Label: p.Name})
	}
	return out, err
}

// AddZone takes in a further zone.
func (d *Desk) AddZone(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, err := d.db.Property(r.Context(), r.PathValue("property"))
	if err != nil {
		return err
	}
	z, there := readZone(a, &form, "name", "area")
	if !there {
		form.Say("name", a.words.T("zone.name.need"))
	}
	if form.Bad() {
		return d.drawProperty(w, r, http.StatusUnprocessableEntity, form, page.Form{})
	}
	z.ID, z.Property, z.Created = uuid.NewString(), p.ID, d.now()
	return done(w, r, d.db.AddZone(r.Context(), z), "/desk/properties/"+p.ID, "zone")
}

// AddVisit plans a visit.
func (d *Desk) AddVisit(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, err := d.db.Property(r.Context(), r.PathValue("property"))
	if err != nil {
		return err
	}
	v := store.Visit{
		ID: uuid.NewString(), Property: p.ID, Crew: form.V("crew"), Day: form.V("day"), Why: form.V("why"), Ask: form.V("ask"), State: store.Planned, Changed: d.now(),
	}
	if err := d.readVisit(r.Context(), a, &form, &v); err != nil {
		return err
	}
	if form.Bad() {
		return d.drawProperty(w, r, http.StatusUnprocessableEntity, page.Form{}, form)
	}
	to := "/desk/properties/" + p.ID
	if form.V("back") != "" {
		to = "/desk/days?day=" + v.Day
	}
	return done(w, r, d.db.AddVisit(r.Context(), v), to, "visit")
}

// readVisit checks what was typed of a visit and puts it last on its day sheet.
func (d *Desk) readVisit(ctx context.Context, a asking, form *page.Form, v *store.Visit) error {
	if _, err := time.Parse(time.DateOnly, v.Day); err != nil {
		form.Say("day", a.words.T("visit.day.need"))
		return nil
	}
	if v.Why != "complaint" && v.Why != "routine" {
		form.Say("why", a.words.T("visit.kind.need"))
	}
	if v.Crew == "" {
		return nil
	}
	if _, err := d.db.Person(ctx, v.Crew); store.KindOf(err) == store.NotFound && err != nil {
		form.Say("crew", a.words.T("visit.crew.need"))
		return nil
	} else if err != nil {
		return err
	}
	sheet, err := d.db.Visits(ctx, store.VisitFilter{Crew: v.Crew, FromDay: v.Day, ToDay: v.Day})
	for _, x := range sheet {
		v.Order = max(v.Order, x.Order)
	}
	v.Order++
	return err
}
