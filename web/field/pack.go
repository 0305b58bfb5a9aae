package field

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"
	"time"

	"swardbook/diagnose"
	"swardbook/store"
	"swardbook/store/geo"
	"swardbook/web/route"
)

// DB is what the phone's side asks of the database.
type DB interface {
	Feed
	Firm(ctx context.Context) (store.Firm, error)
	Visits(ctx context.Context, f store.VisitFilter) ([]store.Visit, error)
	Property(ctx context.Context, id string) (store.Property, error)
	Client(ctx context.Context, id string) (store.Client, error)
	Zones(ctx context.Context, property string) ([]store.Zone, error)
	Readings(ctx context.Context, visit string) ([]store.Reading, error)
	LatestDiagnoses(ctx context.Context, visit string) ([]store.Diagnosis, error)
	Changed(marks ...store.Mark) int64
	Weather(ctx context.Context, from, to string) ([]store.WeatherDay, error)
	workDB
}

// History of a property that a phone carries along, and how long a visit that was never handed in stays on the day sheet.
const (
	lastVisits = 3
	openDays   = 30
	topCauses  = 3
)

const dayForm = "2006-01-02"

// Person is who is signed in, as the phone keeps it.
type Person struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Role string `json:"role"`
	Lang string `json:"lang"`
}

func personOf(p store.Person) Person {
	return Person{ID: p.ID, Name: p.Name, Role: string(p.Role), Lang: p.Lang}
}

// me says who is signed in.
func (f *Field) me(w http.ResponseWriter, r *http.Request) error {
	from, err := sender(r)
	if err != nil {
		return err
	}
	return answer(w, http.StatusOK, personOf(from.Person))
}

// Packet is everything one person needs for a day without signal.
type Packet struct {
	Epoch      string      `json:"epoch"`
	Seq        int64       `json:"seq"`
	Person     Person      `json:"person"`
	Firm       Firm        `json:"firm"`
	Now        string      `json:"now"`
	Edition    string      `json:"edition"`
	Days       []string    `json:"days"`
	Visits     []Visit     `json:"visits"`
	Properties []Property  `json:"properties"`
	Clients    []Client    `json:"clients"`
	Zones      []Zone      `json:"zones"`
	Readings   []Reading   `json:"readings"`
	Diagnoses  []Diagnosis `json:"diagnoses"`
	Rain       []Rain      `json:"rain"`
	Work
}

// Firm is the firm as phones know it.
type Firm struct {
	Name  string `json:"name"`
	Units string `json:"units"`
}

// Visit is one visit in the packet, of these days or before.
type Visit struct {
	ID       string `json:"id"`
	Property string `json:"property"`
	Crew     string `json:"crew"`
	Day      string `json:"day"`
	Order    int    `json:"order"`
	Why      string `json:"why"`
	Ask      string `json:"ask"`
	State    string `json:"state"`
	SentWhy  string `json:"sent_why"`
	// Courses tell by zone what went before, for visits of these days.
	Courses map[string]diagnose.Course `json:"courses,omitempty"`
}

// Property is one address in the packet.
type Property struct {
	ID       string   `json:"id"`
	Client   string   `json:"client"`
	Address  string   `json:"address"`
	System   string   `json:"system"`
	Region   string   `json:"region"`
	Cautions []string `json:"cautions"`
}

// Client is who pays, by name only: a phone may be lost. With it goes what the client said of photos, "" when nobody asked.
type Client struct {
	ID     string        `json:"id"`
	Name   string        `json:"name"`
	Photos store.Consent `json:"photos"`
}

// Zone is a part of a lawn in the packet.
type Zone struct {
	ID       string  `json:"id"`
	Property string  `json:"property"`
	Name     string  `json:"name"`
	AreaSqFt float64 `json:"area_sqft"`
	Shape    *Shape  `json:"shape,omitempty"` // nil: it is not drawn
}

// Shape is a zone on the sketch of its property, geo.SketchSide units square with north up: its corners as SVG has them, and where its name goes.
type Shape struct {
	Points string  `json:"points"`
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
}

// Reading is one answer that the office has.
type Reading struct {
	Seq     int64  `json:"seq"`
	ID      string `json:"id"`
	Visit   string `json:"visit"`
	Zone    string `json:"zone"`
	Check   string `json:"check"`
	Typed   string `json:"typed"`
	Edition string `json:"edition"`
	Author  string `json:"author"`
	Device  string `json:"device"`
	At      string `json:"at"`
	Stamp   string `json:"stamp"`
	Base    int64  `json:"base"`
	Current bool   `json:"current"`
	Dispute bool   `json:"dispute"`
}

// Diagnosis is what the office's engine thought, its first causes only.
type Diagnosis struct {
	Visit   string  `json:"visit"`
	Zone    string  `json:"zone"`
	Edition string  `json:"edition"`
	Made    string  `json:"made"`
	Verdict string  `json:"verdict"`
	Causes  []Cause `json:"causes"`
}

// Cause is one cause with its likelihood.
type Cause struct {
	ID         string  `json:"id"`
	Likelihood float64 `json:"likelihood"`
	Role       string  `json:"role"`
}

// pack serves the day packet. Its tag leaves out the time and the feed number, so that it changes only with what is in it.
func (f *Field) pack(w http.ResponseWriter, r *http.Request) error {
	who, ok := route.Person(r.Context())
	if !ok {
		return store.Errorf(store.SignIn, "Sign in to get the day sheet.")
	}
	p, err := f.packet(r.Context(), who)
	if err != nil {
		return err
	}
	body, tag, err := sealed(p)
	if err != nil {
		return err
	}
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", "private, no-cache")
	if tagged(r, tag) {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	return answerPacked(w, r, body)
}

// sealed is a packet as it travels, and its tag.
func sealed(p Packet) (body []byte, tag string, err error) {
	now, seq := p.Now, p.Seq
	p.Now, p.Seq = "", 0
	if body, err = json.Marshal(p); err != nil {
		return nil, "", err
	}
	sum := sha256.Sum256(body)
	// Both stand before any list, and no text of a person can look like them: a quotation mark inside one is escaped.
	body = bytes.Replace(body, []byte(`"seq":0`), fmt.Appendf(nil, `"seq":%d`, seq), 1)
	body = bytes.Replace(body, []byte(`"now":""`), fmt.Appendf(nil, `"now":%q`, now), 1)
	return body, fmt.Sprintf("%q", hex.EncodeToString(sum[:12])), nil
}

// packet gathers the packet. The feed number is read first: what comes while the rest is read comes again with the feed.
func (f *Field) packet(ctx context.Context, who store.Person) (Packet, error) {
	firm, err := f.db.Firm(ctx)
	if err != nil {
		return Packet{}, err
	}
	now := f.now()
	g := gatherer{ctx: ctx, db: f.db, blocks: &f.blocks, seen: map[string]bool{}, p: Packet{
		Person: personOf(who), Firm: Firm{Name: firm.Name, Units: firm.Units}, Now: now.UTC().Format("2006-01-02T15:04:05.000Z"),
		Edition: f.know().Edition, Days: daysOf(now, firm.Zone), Visits: []Visit{}, Properties: []Property{}, Clients: []Client{},
		Zones: []Zone{}, Readings: []Reading{}, Diagnoses: []Diagnosis{}, Work: Work{Steps: []Step{}},
	}}
	if g.p.Epoch, err = f.db.Epoch(ctx); err != nil {
		return Packet{}, err
	}
	if g.p.Seq, err = f.db.Seq(ctx); err != nil {
		return Packet{}, err
	}
	if g.p.Rain, err = rain(ctx, f.db, g.p.Days[0]); err != nil {
		return Packet{}, err
	}
	sheet, err := sheetOf(ctx, f.db, who, g.p.Days)
	if err != nil {
		return Packet{}, err
	}
	for _, v := range sheet {
		if err := g.visit(v); err != nil {
			return Packet{}, err
		}
	}
	if err := f.courses(ctx, sheet, g.p.Visits); err != nil {
		return Packet{}, err
	}
	return g.p, g.work()
}

// courses adds what went before to the visits of the day sheet.
func (f *Field) courses(ctx context.Context, sheet []store.Visit, to []Visit) error {
	for _, v := range sheet {
		found, err := f.intake.Courses(ctx, v)
		if err != nil {
			return err
		}
		if i := slices.IndexFunc(to, func(x Visit) bool { return x.ID == v.ID }); i >= 0 {
			to[i].Courses = found
		}
	}
	return nil
}

// daysOf are today and tomorrow where the firm is.
func daysOf(now time.Time, zone string) []string {
	if place, err := time.LoadLocation(zone); err == nil {
		now = now.In(place)
	}
	return []string{now.Format(dayForm), now.AddDate(0, 0, 1).Format(dayForm)}
}

// sheetOf lists the visits that a person has on these days, and earlier ones that were begun or sent back and still wait.
func sheetOf(ctx context.Context, db DB, who store.Person, days []string) ([]store.Visit, error) {
	first, last := days[0], days[len(days)-1]
	day, err := time.Parse(dayForm, first)
	if err != nil {
		return nil, err
	}
	all, err := db.Visits(ctx, store.VisitFilter{
		Crew: who.ID, Nobodys: who.Role.May(store.Manager), FromDay: day.AddDate(0, 0, -openDays).Format(dayForm), ToDay: last, AtWork: true,
	})
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(v store.Visit) bool {
		open := v.State == store.UnderWay || v.State == store.SentBack
		return !concerns(who, v) || v.Day < first && !open
	}), nil
}

// concerns reports whether a visit is on a person's day sheet: their own, and for those who assign visits also what nobody has yet.
func concerns(who store.Person, v store.Visit) bool {
	return v.Crew == who.ID || v.Crew == "" && who.Role.May(store.Manager)
}

// gatherer fills a packet, everything once.
type gatherer struct {
	ctx    context.Context
	db     DB
	blocks *blocks
	seen   map[string]bool
	put    []putDown
	p      Packet
}

func (g *gatherer) first(key string) bool {
	if g.seen[key] {
		return false
	}
	g.seen[key] = true
	return true
}

// visit takes a visit with its place, and the last visits there before it.
func (g *gatherer) visit(v store.Visit) error {
	if err := g.one(v); err != nil {
		return err
	}
	if !g.first("property " + v.Property) {
		return nil
	}
	place, err := g.placeOf(v.Property)
	if err != nil {
		return err
	}
	g.place(place)
	n := 0
	for _, old := range place.visits {
		if old.ID == v.ID || old.Day >= v.Day {
			continue
		}
		if n++; n > lastVisits {
			break
		}
		if err := g.one(old); err != nil {
			return err
		}
	}
	return nil
}

// one takes a single visit with its readings and diagnoses.
func (g *gatherer) one(v store.Visit) error {
	if !g.first("visit " + v.ID) {
		return nil
	}
	g.p.Visits = append(g.p.Visits, Visit{
		ID: v.ID, Property: v.Property, Crew: v.Crew, Day: v.Day, Order: v.Order, Why: v.Why, Ask: v.Ask, State: string(v.State), SentWhy: v.SentWhy,
	})
	readings, err := g.readingsOf(v)
	if err != nil {
		return err
	}
	b, err := g.saidOf(v)
	if err != nil {
		return err
	}
	g.p.Readings, g.p.Diagnoses = append(g.p.Readings, readings...), append(g.p.Diagnoses, b.diagnoses...)
	for _, s := range b.steps { // what is kept of a visit stays as signed
		if s.Step, err = g.saidIn(s.Step); err != nil {
			return err
		}
		g.p.Steps = append(g.p.Steps, s)
	}
	return nil
}

// shortened keeps what a phone shows of a diagnosis. One that can't be read shows nothing rather than stop the day sheet.
func shortened(d store.Diagnosis) Diagnosis {
	short := Diagnosis{Visit: d.Visit, Zone: d.Zone, Edition: d.Edition, Made: d.Made.UTC().Format(time.RFC3339), Causes: []Cause{}}
	var a struct { // the rest of an answer is ten times as much
		Verdict string  `json:"verdict"`
		Causes  []Cause `json:"causes"`
	}
	if json.Unmarshal(d.Answer, &a) != nil {
		return short
	}
	short.Verdict = a.Verdict
	short.Causes = append(short.Causes, a.Causes[:min(topCauses, len(a.Causes))]...)
	return short
}

// shapesOf draws the outlines of zones at work to one scale; an outline that can't be read is none, and the day goes on without it.
func shapesOf(zones []store.Zone) map[string]*Shape {
	var drawn []string
	var rings []geo.Ring
	for _, z := range zones {
		if ring, err := geo.ParseRing(z.Outline); err == nil && len(ring) > 0 && z.Archived.IsZero() {
			drawn, rings = append(drawn, z.ID), append(rings, ring)
		}
	}
	out := map[string]*Shape{}
	sketch, _ := geo.Draw(rings)
	for i, s := range sketch.Shapes {
		out[drawn[i]] = &Shape{Points: s.Points, X: math.Round(s.X), Y: math.Round(s.Y)}
	}
	return out
}

// place takes a property with its client and zones.
func (g *gatherer) place(b placeBlock) {
	g.p.Properties = append(g.p.Properties, b.property)
	if g.first("client " + b.client.ID) {
		g.p.Clients = append(g.p.Clients, b.client)
	}
	shapes := shapesOf(b.zones)
	for _, z := range b.zones {
		if !z.Archived.IsZero() && !slices.ContainsFunc(g.p.Readings, func(r Reading) bool { return r.Zone == z.ID }) {
			continue // but a zone that this visit has readings of stays until it is handed in
		}
		g.p.Zones = append(g.p.Zones, Zone{ID: z.ID, Property: z.Property, Name: z.Name, AreaSqFt: z.AreaSqFt, Shape: shapes[z.ID]})
	}
	g.put = append(g.put, b.put...)
}
