package desk

import (
	"context"
	"net/http"

	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/web/page"
)

type asideStore interface {
	Asides(ctx context.Context, f store.AsideFilter) ([]store.Aside, error)
	SettleAside(ctx context.Context, id, how, by, why string) error
	PlaceAside(ctx context.Context, id, visit, zone, record, by, why string) error
}

func (d *Desk) openAsides(ctx context.Context) ([]store.Aside, error) {
	return d.db.Asides(ctx, store.AsideFilter{Open: true})
}

func (d *Desk) asideRows(ctx context.Context, a asking, names names) ([]page.AsideRow, error) {
	list, err := d.openAsides(ctx)
	if err != nil {
		return nil, err
	}
	rows := make([]page.AsideRow, len(list))
	for i, x := range list {
		rows[i] = d.asideRow(ctx, a, names, x)
	}
	return rows, nil
}

func (d *Desk) asideRow(ctx context.Context, a asking, names names, x store.Aside) page.AsideRow {
	row := page.AsideRow{
		ID: x.ID, URL: "/desk/aside#a-" + x.ID, Detail: x.Detail, Typed: x.Typed, Who: names.person(x.Author, a.words), When: stamp(x.At),
		What: a.words.T("aside.kind.other"), Why: a.words.T("set." + x.Reason), Place: a.words.T("aside.nowhere"), CanTake: d.canTake(ctx, x), Placing: placeURL(x),
	}
	if key := "aside.kind." + x.Kind; a.words.Has(key) {
		row.What = a.words.T(key)
	}
	if x.Kind == "application" {
		row.Typed = putDownSays(x)
	}
	if c, ok := d.know().Check(x.Check); ok {
		row.What = c.Label.In(a.words.Lang)
	}
	v, err := d.db.Visit(ctx, x.Visit)
	if err != nil {
		return row
	}
	row.Place, row.Visit = names.address(v.Property)+", "+shortDay(v.Day), zoneURL(v.ID, x.Zone)
	if zone, ok := d.zoneOf(ctx, v.Property, x.Zone); ok {
		row.Place = names.address(v.Property) + ", " + zone.Name + ", " + shortDay(v.Day)
	}
	return row
}

func (d *Desk) zoneOf(ctx context.Context, property, id string) (store.Zone, bool) {
	zones, err := d.db.Zones(ctx, property)
	if err != nil {
		return store.Zone{}, false
	}
	for _, z := range zones {
		if z.ID == id {
			return z, true
		}
	}
	return store.Zone{}, false
}

// canTake reports whether a record can count as it stands: a reading that its check can read, of a visit and zone we have.
func (d *Desk) canTake(ctx context.Context, x store.Aside) bool {
	c, ok := d.know().Check(x.Check)
	if !ok || x.Kind != "reading" {
		return false
	}
	if _, problems := checks.Read(c, x.Typed); hasProblem(problems) {
		return false
	}
	v, err := d.db.Visit(ctx, x.Visit)
	if err != nil {
		return false
	}
	_, ok = d.zoneOf(ctx, v.Property, x.Zone)
	return ok
}

func hasProblem(list []checks.Problem) bool {
	for _, p := range list {
		if !p.Ask {
			return true
		}
	}
	return false
}

// Asides lists what was recorded and could not be taken in.
func (d *Desk) Asides(w http.ResponseWriter, r *http.Request) error {
	return d.drawAsides(w, r, http.StatusOK, page.AsideView{})
}

func (d *Desk) drawAsides(w http.ResponseWriter, r *http.Request, status int, v page.AsideView) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	names, err := d.names(r.Context())
	if err != nil {
		return err
	}
	if v.Rows, err = d.asideRows(r.Context(), a, names); err != nil {
		return err
	}
	f, err := d.frame(r, a, "needs", a.words.T("aside.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Asides(f, v))
}

// SettleAside takes a record in or leaves it out; either way it stays recorded, and the reason with it.
func (d *Desk) SettleAside(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	x, err := d.aside(r.Context(), a, r.PathValue("op"))
	if err != nil {
		return err
	}
	how, why := form.V("how"), form.V("why")
	switch {
	case why == "":
		form.Say("why", a.words.T("aside.why.need"))
	case how == "taken" && !d.canTake(r.Context(), x), how != "taken" && how != "left":
		form.Say("why", a.words.T("aside.cannot"))
	}
	if form.Bad() {
		return d.drawAsides(w, r, http.StatusUnprocessableEntity, page.AsideView{Bad: x.ID, Form: form})
	}
	if err := d.db.SettleAside(r.Context(), x.ID, how, a.who.ID, why); err != nil {
		return err
	}
	if how == "taken" {
		d.intake.Queue(x.Visit, x.Zone)
	}
	return back(w, r, "/desk/aside", how)
}

func (d *Desk) aside(ctx context.Context, a asking, id string) (store.Aside, error) {
	list, err := d.openAsides(ctx)
	if err != nil {
		return store.Aside{}, err
	}
	for _, x := range list {
		if x.ID == id {
			return x, nil
		}
	}
	return store.Aside{}, store.Errorf(store.NotFound, "%s", a.words.T("aside.settled"))
}
