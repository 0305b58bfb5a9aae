package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/page"
)

// Which visits are offered for a record: those of so many days about it, and so many of them.
const (
	placeDays = 60
	mostPlace = 60
)

// placeURL leads to the question where a record belongs; "" for those to which that is no answer.
func placeURL(x store.Aside) string {
	lost := x.Reason == intake.UnknownVisit || x.Reason == intake.UnknownZone
	if !lost || x.Kind != "reading" && x.Kind != "application" {
		return ""
	}
	return "/desk/aside/" + x.ID + "/place"
}

// AskPlace asks a manager where a record belongs that came with an unknown visit or zone.
func (d *Desk) AskPlace(w http.ResponseWriter, r *http.Request) error {
	return d.drawPlace(w, r, http.StatusOK, r.URL.Query().Get("visit"), page.Form{})
}

func (d *Desk) drawPlace(w http.ResponseWriter, r *http.Request, status int, visit string, form page.Form) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	x, err := d.placing(r.Context(), a, r.PathValue("op"))
	if err != nil {
		return err
	}
	names, err := d.names(r.Context())
	if err != nil {
		return err
	}
	v := page.PlaceView{URL: placeURL(x), Row: d.asideRow(r.Context(), a, names, x), Form: form}
	if v.Visits, err = d.placeVisits(r.Context(), a, names, x); err != nil {
		return err
	}
	if slices.ContainsFunc(v.Visits, func(c page.Choice) bool { return c.Value == visit && visit != "" }) {
		v.Visit = visit
		if v.Parts, err = d.placeParts(r.Context(), a, x, visit); err != nil {
			return err
		}
	}
	f, err := d.frame(r, a, "needs", a.words.T("aside.place.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.PlaceAside(f, v))
}

// placing is an open record to which a place is an answer.
func (d *Desk) placing(ctx context.Context, a asking, id string) (store.Aside, error) {
	x, err := d.aside(ctx, a, id)
	if err == nil && placeURL(x) == "" {
		err = store.Errorf(store.Invalid, "%s", a.words.T("aside.cannot"))
	}
	return x, err
}

// placeVisits are visits of about the day of the record, the nearest first.
func (d *Desk) placeVisits(ctx context.Context, a asking, names names, x store.Aside) ([]page.Choice, error) {
	at, err := time.Parse(time.RFC3339, x.At)
	if err != nil {
		at = x.Received
	}
	at = at.In(a.place)
	list, err := d.db.Visits(ctx, store.VisitFilter{FromDay: at.AddDate(0, 0, -placeDays).Format(time.DateOnly), ToDay: at.AddDate(0, 0, placeDays).Format(time.DateOnly)})
	if err != nil {
		return nil, err
	}
	list = slices.DeleteFunc(list, func(v store.Visit) bool { return v.State == store.SignedOff && x.Kind == "reading" })
	away := func(v store.Visit) float64 {
		day, _ := time.Parse(time.DateOnly, v.Day)
		return max(day.Sub(at).Hours(), at.Sub(day).Hours())
	}
	slices.SortStableFunc(list, func(p, q store.Visit) int { return cmp.Compare(away(p), away(q)) })
	out := []page.Choice{{Label: a.words.T("aside.place.none")}}
	for _, v := range list[:min(mostPlace, len(list))] {
		out = append(out, page.Choice{Value: v.ID, Label: names.address(v.Property) + ", " + shortDay(v.Day) + ", " + names.person(v.Crew, a.words)})
	}
	return out, nil
}

// placed is a record of something put down as it was sent, with the zones that have to be named.
type placed struct {
	body  map[string]any
	zones []map[string]any
}

func readPlaced(x store.Aside) (p placed, err error) {
	var raw struct {
		Body map[string]any `json:"body"`
	}
	if err := json.Unmarshal(x.Raw, &raw); err != nil {
		return p, err
	}
	p.body = raw.Body
	list, _ := raw.Body["zones"].([]any)
	for _, z := range list {
		if zone, ok := z.(map[string]any); ok {
			p.zones = append(p.zones, zone)
		}
	}
	return p, nil
}

func sentText(m map[string]any, name string) string { s, _ := m[name].(string); return s }

// putDownSays is a record of something put down in short, as it was sent.
func putDownSays(x store.Aside) string {
	p, err := readPlaced(x)
	if err != nil {
		return ""
	}
	var amounts []string
	for _, z := range p.zones {
		amounts = append(amounts, strings.TrimSpace(sentText(z, "typed")+" "+sentText(p.body, "unit")))
	}
	return sentText(p.body, "name") + ": " + strings.Join(amounts, ", ")
}

// placeParts are the questions for zones: one for a reading, one for each zone of something put down.
func (d *Desk) placeParts(ctx context.Context, a asking, x store.Aside, visit string) ([]page.PlacePart, error) {
	v, err := d.db.Visit(ctx, visit)
	if err != nil {
		return nil, err
	}
	zones, err := d.db.Zones(ctx, v.Property)
	if err != nil {
		return nil, err
	}
	choices := []page.Choice{{Label: a.words.T("aside.place.none")}}
	for _, z := range zones {
		choices = append(choices, page.Choice{Value: z.ID, Label: z.Name})
	}
	known := func(id string) string {
		if slices.ContainsFunc(zones, func(z store.Zone) bool { return z.ID == id }) {
			return id
		}
		return ""
	}
	if x.Kind == "reading" {
		return []page.PlacePart{{Name: "zone.0", Says: a.words.T("aside.place.reading"), Zones: choices, Value: known(x.Zone)}}, nil
	}
	p, err := readPlaced(x)
	var out []page.PlacePart
	for i, z := range p.zones {
		out = append(out, page.PlacePart{Name: "zone." + strconv.Itoa(i), Says: sentText(p.body, "name") + " " + sentText(z, "typed") + " " + sentText(p.body, "unit"), Zones: choices, Value: known(sentText(z, "zone"))})
	}
	return out, err
}

// PlaceAside takes a record in where a manager says it belongs; what the phone sent stays as it was.
func (d *Desk) PlaceAside(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	x, err := d.placing(r.Context(), a, r.PathValue("op"))
	if err != nil {
		return err
	}
	visit := form.V("visit")
	parts, err := d.placeParts(r.Context(), a, x, visit)
	if err != nil {
		return err
	}
	for _, p := range parts {
		if !slices.ContainsFunc(p.Zones, func(c page.Choice) bool { return c.Value == form.V(p.Name) && c.Value != "" }) {
			form.Say(p.Name, a.words.T("aside.place.need"))
		}
	}
	if form.V("why") == "" {
		form.Say("why", a.words.T("aside.why.need"))
	}
	if c, ok := d.know().Check(x.Check); x.Kind == "reading" && !form.Bad() {
		if _, problems := checks.Read(c, x.Typed); !ok || hasProblem(problems) {
			form.Say("why", a.words.T("aside.cannot"))
		}
	}
	if form.Bad() {
		return d.drawPlace(w, r, http.StatusUnprocessableEntity, visit, form)
	}
	if err := d.place(r, a, x, visit, form); err != nil {
		return err
	}
	return back(w, r, "/desk/aside", "placed")
}

// place makes the reading, or the further record of something put down, in the name of whoever recorded it.
func (d *Desk) place(r *http.Request, a asking, x store.Aside, visit string, form page.Form) error {
	ctx, why := r.Context(), form.V("why")
	if x.Kind == "reading" {
		if err := d.db.PlaceAside(ctx, x.ID, visit, form.V("zone.0"), "", a.who.ID, why); err != nil {
			return err
		}
		d.intake.Queue(visit, form.V("zone.0"))
		return nil
	}
	p, err := readPlaced(x)
	if err != nil {
		return err
	}
	for i, z := range p.zones {
		z["zone"] = form.V("zone." + strconv.Itoa(i))
	}
	p.body["visit"], p.body["zones"] = visit, p.zones
	id, aside, err := d.intake.RecordFor(ctx, intake.Sender{Person: a.who, Agent: r.UserAgent()}, x.Author, x.At, x.Kind, p.body)
	switch {
	case err != nil:
		return err
	case aside != "":
		return store.Errorf(store.Conflict, "%s", aside)
	}
	return d.db.PlaceAside(ctx, x.ID, visit, "", id, a.who.ID, why)
}
