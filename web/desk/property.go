package desk

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/web/page"
)

type propertyStore interface {
	Client(ctx context.Context, id string) (store.Client, error)
	AddZone(ctx context.Context, z store.Zone) error
	AddVisit(ctx context.Context, v store.Visit) error
}

// across is how many visits the picture of a property shows, the newest ones.
const across = 8

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
	v.Archived = d.archivedSays(a, later(p.Archived, c.Archived))
	done, err := d.workOf(r.Context(), p.ID)
	if err != nil {
		return err
	}
	v.Off = d.offSays(a, done)
	if v.People, err = d.crew(r.Context(), a); err != nil {
		return err
	}
	if err := d.history(r.Context(), a, p, &v); err != nil {
		return err
	}
	for i := range v.Visits {
		v.Visits[i].Applied = done.onVisit(strings.TrimPrefix(v.Visits[i].URL, "/desk/visits/"))
	}
	f, err := d.frame(r, a, "clients", p.Address)
	if err != nil {
		return err
	}
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

// history draws zones down and visits across: what led, and every number that was measured.
func (d *Desk) history(ctx context.Context, a asking, p store.Property, v *page.PropertyView) error {
	visits, err := d.db.Visits(ctx, store.VisitFilter{Property: p.ID})
	if err != nil {
		return err
	}
	slices.SortStableFunc(visits, func(a, b store.Visit) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Order, b.Order)) })
	v.Earlier = max(0, len(visits)-across)
	visits = visits[v.Earlier:]
	zones, err := d.db.Zones(ctx, p.ID)
	if err != nil {
		return err
	}
	zones = slices.DeleteFunc(zones, func(z store.Zone) bool { return !z.Archived.IsZero() })
	walks := make([]walk, len(visits))
	for i, x := range visits {
		v.Visits = append(v.Visits, page.VisitCol{URL: "/desk/visits/" + x.ID, Day: shortDay(x.Day), State: a.words.T("state." + string(x.State))})
		if walks[i], err = d.walk(ctx, x); err != nil {
			return err
		}
	}
	for _, z := range zones {
		v.Zones = append(v.Zones, d.zoneHistory(a, z, walks))
	}
	return nil
}

// walk is one visit in the picture.
type walk struct {
	visit    store.Visit
	readings []store.Reading
	answers  map[string]diagnosed
}

func (d *Desk) walk(ctx context.Context, v store.Visit) (w walk, err error) {
	w.visit = v
	if v.State == store.Planned {
		return w, nil
	}
	if w.readings, err = d.db.Readings(ctx, v.ID); err != nil {
		return w, err
	}
	w.answers, err = d.answers(ctx, v.ID)
	return w, err
}

func (d *Desk) zoneHistory(a asking, z store.Zone, walks []walk) page.ZoneHistory {
	h := page.ZoneHistory{Name: z.Name, Area: area(z.AreaSqFt, a.firm, a.words)}
	here := make([]map[string][]store.Reading, len(walks))
	for i, x := range walks {
		here[i] = ofZone(x.readings, z.ID)
		s := zoneState{zone: z, touched: len(here[i]) > 0}
		if found, ok := x.answers[z.ID]; ok {
			s.answer, s.lead = &found.answer, leading(found.answer)
		}
		cell := s.mark(a.words, d.know())
		if x.visit.State == store.Planned {
			cell = ""
		}
		h.Leads = append(h.Leads, cell)
	}
	for _, c := range d.know().Bundle.Checks {
		if line, ok := historyLine(a, c, here); ok {
			h.Lines = append(h.Lines, line)
		}
	}
	return h
}

// historyLine is one measured check over the visits; false when it was never measured here.
func historyLine(a asking, c checks.Check, here []map[string][]store.Reading) (page.HistoryLine, bool) {
	line := page.HistoryLine{Check: c.Label.In(a.words.Lang), Cells: make([]string, len(here))}
	if c.Kind != checks.Measure && c.Kind != checks.Repeated && c.Kind != checks.Count {
		return line, false
	}
	points := make([]float64, len(here))
	n := 0
	for i, readings := range here {
		points[i] = math.NaN()
		r, ok := currentOf(readings[c.ID])
		if !ok {
			continue
		}
		if v, problems := checks.Read(c, r.Typed); !hasProblem(problems) && len(v.Numbers) > 0 {
			points[i] = mean(v.Numbers)
			line.Cells[i] = number(points[i], c.Decimals) + " " + unitLabel(c, "", a.words.Lang)
			n++
		}
	}
	line.Line, line.Ends = drawing(points, a.words)
	return line, n > 0
}

// The drawing of a line of numbers.
const (
	drawWide = 120.0
	drawHigh = 28.0
	drawEdge = 4.0
)

// drawing places the numbers that are there from left to right, the least at the foot and the most at the head.
func drawing(points []float64, w page.Words) (line, says string) {
	low, high, n := math.Inf(1), math.Inf(-1), 0
	for _, x := range points {
		if !math.IsNaN(x) {
			low, high, n = min(low, x), max(high, x), n+1
		}
	}
	if n < 2 {
		return "", ""
	}
	var out []string
	for i, x := range points {
		if math.IsNaN(x) {
			continue
		}
		across := drawEdge + (drawWide-2*drawEdge)*float64(i)/float64(len(points)-1)
		up := drawHigh / 2
		if high > low {
			up = drawHigh - drawEdge - (drawHigh-2*drawEdge)*(x-low)/(high-low)
		}
		out = append(out, fmt.Sprintf("%.1f,%.1f", across, up))
	}
	return strings.Join(out, " "), w.T("property.line.say", "low", number(low, 2), "high", number(high, 2))
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
	return done(w, r, d.db.AddVisit(r.Context(), v), "/desk/properties/"+p.ID, "visit")
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
