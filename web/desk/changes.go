package desk

import (
	"cmp"
	"context"
	"net/http"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/web/page"
)

type changeStore interface {
	SaveClient(ctx context.Context, c store.Client) error
	SaveProperty(ctx context.Context, p store.Property) error
	SaveZone(ctx context.Context, z store.Zone) error
	Zone(ctx context.Context, id string) (store.Zone, error)
	ArchiveClient(ctx context.Context, id string, back bool) error
	ArchiveProperty(ctx context.Context, id string, back bool) error
	ArchiveZone(ctx context.Context, id string, back bool) error
	LastDays(ctx context.Context) (map[string]string, error)
}

// archivedSays tells since when something is archived; "" when it is at work.
func (d *Desk) archivedSays(a asking, at time.Time) string {
	if at.IsZero() {
		return ""
	}
	return a.words.T("archived.since", "day", moment(at, a.place))
}

// later is the later of two moments.
func later(x, y time.Time) time.Time {
	if x.After(y) {
		return x
	}
	return y
}

// archivedLast orders what is archived behind what is at work.
func archivedLast(p store.Property) int {
	if p.Archived.IsZero() {
		return 0
	}
	return 1
}

// ChangeClient draws the form of a client.
func (d *Desk) ChangeClient(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawChangeClient(w, r, a, http.StatusOK, page.Form{})
}

func (d *Desk) drawChangeClient(w http.ResponseWriter, r *http.Request, a asking, status int, form page.Form) error {
	c, err := d.db.Client(r.Context(), r.PathValue("client"))
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "clients", a.words.T("change.of", "what", c.Name))
	if err != nil {
		return err
	}
	v := page.ChangeClientView{Form: form, ID: c.ID, Name: c.Name, Phone: c.Phone, Email: c.Email, Note: c.Note, Photos: string(c.Photos), Archived: d.archivedSays(a, c.Archived)}
	return page.Write(w, r, status, page.ChangeClient(f, v))
}

// SaveClient takes in what was changed of a client.
func (d *Desk) SaveClient(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	c := store.Client{ID: r.PathValue("client"), Name: form.V("name"), Phone: form.V("phone"), Email: form.V("email"), Note: form.V("note"), Photos: readConsent(form)}
	if c.Name == "" {
		form.Say("name", a.words.T("client.name.need"))
	}
	sayLong(a, &form, "name", "phone", "email")
	if form.Bad() {
		return d.drawChangeClient(w, r, a, http.StatusUnprocessableEntity, form)
	}
	return done(w, r, d.db.SaveClient(r.Context(), c), "/desk/clients/"+c.ID, "changed")
}

// longestLine is the most a name, an address or a number to ring may have, in bytes.
const longestLine = 300

// sayLong says at an input of one line that it is too long to be one.
func sayLong(a asking, form *page.Form, inputs ...string) {
	for _, name := range inputs {
		if len(form.V(name)) > longestLine {
			form.Say(name, a.words.T("input.long", "n", longestLine))
		}
	}
}

// howArchived reads which way a press goes, and what the next page says.
func howArchived(form page.Form) (back bool, flash string) {
	if form.V("how") == "back" {
		return true, "unarchived"
	}
	return false, "archived"
}

// ArchiveClient takes a client out of the lists or back in.
func (d *Desk) ArchiveClient(w http.ResponseWriter, r *http.Request) error {
	_, form, err := d.posted(r)
	if err != nil {
		return err
	}
	back, flash := howArchived(form)
	return done(w, r, d.db.ArchiveClient(r.Context(), r.PathValue("client"), back), "/desk/clients/"+r.PathValue("client"), flash)
}

// wrongZone is a form of one zone that came back with something wrong.
type wrongZone struct {
	zone string
	form page.Form
}

// ChangeProperty draws the forms of a property and its zones.
func (d *Desk) ChangeProperty(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawChangeProperty(w, r, a, http.StatusOK, r.PathValue("property"), page.Form{}, wrongZone{})
}

func (d *Desk) drawChangeProperty(w http.ResponseWriter, r *http.Request, a asking, status int, id string, form page.Form, bad wrongZone) error {
	p, err := d.db.Property(r.Context(), id)
	if err != nil {
		return err
	}
	zones, err := d.db.Zones(r.Context(), p.ID)
	if err != nil {
		return err
	}
	v := page.ChangePropertyView{Form: form, ID: p.ID, Address: p.Address, System: p.System, Region: p.Region, Cautions: strings.Join(p.Cautions, "\n"), Archived: d.archivedSays(a, p.Archived)}
	for _, z := range zones {
		row := page.ChangeZone{ID: z.ID, Name: z.Name, Area: filled(shownArea(z.AreaSqFt, a.firm)), Label: areaLabel(a), Archived: d.archivedSays(a, z.Archived)}
		if bad.zone == z.ID {
			row.Form = bad.form
		}
		v.Zones = append(v.Zones, row)
	}
	f, err := d.frame(r, a, "clients", a.words.T("change.of", "what", p.Address))
	if err != nil {
		return err
	}
	f.CSS = []string{"office.css"}
	return page.Write(w, r, status, page.ChangeProperty(f, v))
}

// shownArea is an area in the firm's unit, to a tenth.
func shownArea(sqft float64, firm store.Firm) float64 {
	if firm.Units == "metric" {
		sqft *= squareMetre
	}
	return float64(int64(sqft*10+0.5)) / 10
}

// SaveProperty takes in what was changed of a property.
func (d *Desk) SaveProperty(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p := store.Property{ID: r.PathValue("property"), Address: form.V("address"), System: form.V("system"), Region: form.V("region"), Cautions: lines(form.V("cautions"))}
	if p.Address == "" {
		form.Say("address", a.words.T("property.address.need"))
	}
	if p.System != "present" && p.System != "none" {
		p.System = ""
	}
	sayLong(a, &form, "address", "region")
	if form.Bad() {
		return d.drawChangeProperty(w, r, a, http.StatusUnprocessableEntity, p.ID, form, wrongZone{})
	}
	return done(w, r, d.db.SaveProperty(r.Context(), p), "/desk/properties/"+p.ID, "changed")
}

// ArchiveProperty takes a property out of the lists or back in.
func (d *Desk) ArchiveProperty(w http.ResponseWriter, r *http.Request) error {
	_, form, err := d.posted(r)
	if err != nil {
		return err
	}
	back, flash := howArchived(form)
	return done(w, r, d.db.ArchiveProperty(r.Context(), r.PathValue("property"), back), "/desk/properties/"+r.PathValue("property"), flash)
}

// SaveZone takes in a zone's new name and area. What was put down before keeps the area it was recorded with.
func (d *Desk) SaveZone(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	was, err := d.db.Zone(r.Context(), r.PathValue("zone"))
	if err != nil {
		return err
	}
	z, there := readZone(a, &form, "name", "area")
	if !there {
		form.Say("name", a.words.T("zone.name.need"))
	}
	sayLong(a, &form, "name")
	if form.Bad() {
		return d.drawChangeProperty(w, r, a, http.StatusUnprocessableEntity, was.Property, page.Form{}, wrongZone{was.ID, form})
	}
	z.ID = was.ID
	if form.V("area") == filled(shownArea(was.AreaSqFt, a.firm)) {
		z.AreaSqFt = was.AreaSqFt // shown to a tenth, not changed
	}
	return done(w, r, d.db.SaveZone(r.Context(), z), "/desk/properties/"+was.Property+"/change", "changed")
}

// ArchiveZone takes a zone out of the lists or back in.
func (d *Desk) ArchiveZone(w http.ResponseWriter, r *http.Request) error {
	_, form, err := d.posted(r)
	if err != nil {
		return err
	}
	z, err := d.db.Zone(r.Context(), r.PathValue("zone"))
	if err != nil {
		return err
	}
	back, flash := howArchived(form)
	return done(w, r, d.db.ArchiveZone(r.Context(), z.ID, back), "/desk/properties/"+z.Property+"/change", flash)
}

// ChangePerson draws the form of a person.
func (d *Desk) ChangePerson(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawChangePerson(w, r, a, http.StatusOK, page.Form{})
}

func (d *Desk) drawChangePerson(w http.ResponseWriter, r *http.Request, a asking, status int, form page.Form) error {
	p, err := d.db.Person(r.Context(), r.PathValue("person"))
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "people", a.words.T("change.of", "what", p.Name))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.ChangePerson(f, page.ChangePersonView{Form: form, ID: p.ID, Name: p.Name, Role: string(p.Role), Lang: cmp.Or(p.Lang, "en")}))
}

// SavePerson takes in a person's new name, role and language.
func (d *Desk) SavePerson(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p := store.Person{ID: r.PathValue("person"), Name: form.V("name"), Role: store.Role(form.V("role")), Lang: form.V("lang")}
	if p.Name == "" {
		form.Say("name", a.words.T("person.name.need"))
	}
	if p.Role.Rank() == 0 {
		form.Say("role", a.words.T("person.role.need"))
	}
	if p.Lang != "es" {
		p.Lang = "en"
	}
	sayLong(a, &form, "name")
	if !form.Bad() {
		err = d.db.SavePerson(r.Context(), p)
		if err == nil || store.KindOf(err) != store.Conflict {
			return done(w, r, err, "/desk/people", "changed")
		}
		d.sayConflict(r.Context(), a, &form, p)
	}
	return d.drawChangePerson(w, r, a, http.StatusUnprocessableEntity, form)
}

// sayConflict says at the input what keeps a person from being changed: a name that is taken, or being the only owner.
func (d *Desk) sayConflict(ctx context.Context, a asking, form *page.Form, p store.Person) {
	if other, err := d.db.People(ctx, true); err == nil {
		for _, x := range other {
			if x.ID != p.ID && strings.EqualFold(strings.TrimSpace(x.Name), p.Name) {
				form.Say("name", a.words.T("person.name.taken"))
				return
			}
		}
	}
	form.Say("role", a.words.T("person.only.owner"))
}
