package desk

import (
	"context"
	"net/http"
	"slices"

	"swardbook/store"
	"swardbook/web/page"
)

type visitStore interface {
	Visit(ctx context.Context, id string) (store.Visit, error)
	Property(ctx context.Context, id string) (store.Property, error)
	Zones(ctx context.Context, property string) ([]store.Zone, error)
	Readings(ctx context.Context, visit string) ([]store.Reading, error)
	LatestDiagnoses(ctx context.Context, visit string) ([]store.Diagnosis, error)
}

// wrongForms are forms of the visit page that came back with something wrong.
type wrongForms struct {
	back     page.Form
	overrule page.Form
	cause    string // the overruling's cause
	zone     string
}

// Visit is a visit's page with one zone open.
func (d *Desk) Visit(w http.ResponseWriter, r *http.Request) error {
	return d.drawVisit(w, r, http.StatusOK, wrongForms{zone: r.URL.Query().Get("zone")})
}

func (d *Desk) drawVisit(w http.ResponseWriter, r *http.Request, status int, wrong wrongForms) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	o, err := d.opened(r.Context(), r.PathValue("visit"))
	if err != nil {
		return err
	}
	v := d.visitView(a, o)
	if err := d.visitWork(r.Context(), a, o, &v); err != nil {
		return err
	}
	v.Back = wrong.back
	if v.Next, err = d.nextVisit(r.Context(), a, o.visit.ID); err != nil {
		return err
	}
	if v.Shared, err = d.sharedView(r.Context(), a, o, &v.Notes); err != nil {
		return err
	}
	if i := o.pick(wrong.zone); i >= 0 {
		v.Zones[i].Open = true
		z, err := d.zoneView(r.Context(), a, o, o.states[i], wrong, &v.Notes)
		if err != nil {
			return err
		}
		v.Zone = &z
	}
	f, err := d.frame(r, a, "needs", o.property.Address+", "+shortDay(o.visit.Day))
	if err != nil {
		return err
	}
	f.Modules = append(f.Modules, "photo.js")
	return page.Write(w, r, status, page.Visit(f, v))
}

// opened is one visit with everything its page speaks of.
type opened struct {
	visit    store.Visit
	property store.Property
	names    names
	states   []zoneState
	reviews  []store.Review
	readings []store.Reading
}

func (d *Desk) opened(ctx context.Context, id string) (o opened, err error) {
	if o.visit, err = d.db.Visit(ctx, id); err != nil {
		return o, err
	}
	if o.property, err = d.db.Property(ctx, o.visit.Property); err != nil {
		return o, err
	}
	if o.names, err = d.names(ctx); err != nil {
		return o, err
	}
	if o.states, err = d.zoneStates(ctx, o.visit); err != nil {
		return o, err
	}
	if o.readings, err = d.db.Readings(ctx, id); err != nil {
		return o, err
	}
	o.reviews, err = d.db.Reviews(ctx, id)
	return o, err
}

// pick is the zone asked for, else the one that most wants a person; -1 without zones.
func (o opened) pick(zone string) int {
	best := -1
	for i, s := range o.states {
		if s.zone.ID == zone {
			return i
		}
		if best < 0 || s.rank() < o.states[best].rank() {
			best = i
		}
	}
	return best
}

func (d *Desk) visitView(a asking, o opened) page.VisitView {
	v := page.VisitView{
		ID: o.visit.ID, Address: o.property.Address, Property: "/desk/properties/" + o.property.ID,
		Client: o.names.clientOf(o.property.ID), ClientTo: "/desk/clients/" + o.property.Client,
		Day: day(o.visit.Day), Crew: o.names.person(o.visit.Crew, a.words), State: stateReason(o.visit.State, a.words),
		Why: a.words.T("kind." + o.visit.Why), Ask: o.visit.Ask, Cautions: o.property.Cautions,
		CanSign: o.visit.State == store.HandedIn, CanBack: o.visit.State == store.HandedIn,
	}
	if o.visit.State == store.SentBack {
		v.SentWhy = o.visit.SentWhy
	}
	if !o.visit.HandedIn.IsZero() {
		v.HandedIn = a.words.T("visit.handed", "when", moment(o.visit.HandedIn, a.place))
	}
	for _, s := range o.states {
		v.Zones = append(v.Zones, page.ZoneTab{URL: zoneURL(o.visit.ID, s.zone.ID), Name: s.zone.Name, Mark: s.tab(a, d)})
	}
	for _, r := range o.reviews {
		if line := o.reviewLine(a, r); line != "" {
			v.Reviews = append(v.Reviews, line)
		}
	}
	return v
}

func (s zoneState) tab(a asking, d *Desk) page.Reason {
	kind := map[int]string{rankDispute: "stop", rankCantTell: "ask", rankChanged: "ask"}[s.rank()]
	if kind == "stop" {
		return page.Reason{Kind: kind, Say: a.words.T("visit.disputed")}
	}
	return page.Reason{Kind: kind, Say: s.mark(a.words, d.know())}
}

func zoneURL(visit, zone string) string { return "/desk/visits/" + visit + "?zone=" + zone }

// reviewLine tells a review that belongs to the whole visit; overrulings stand at their cause.
func (o opened) reviewLine(a asking, r store.Review) string {
	if r.Kind != "sign off" && r.Kind != "send back" {
		return ""
	}
	return a.words.T("review."+r.Kind, "who", o.names.person(r.By, a.words), "when", moment(r.At, a.place), "reason", r.Reason)
}

// zoneView draws one zone: what was seen, why, what to do.
func (d *Desk) zoneView(ctx context.Context, a asking, o opened, s zoneState, wrong wrongForms, notes *page.Notes) (page.ZoneView, error) {
	z := page.ZoneView{ID: s.zone.ID, Name: s.zone.Name}
	z.Area = notes.Of(s.zone.Name, area(s.zone.AreaSqFt, a.firm, a.words), areaWorking(a, s.zone))
	if err := d.seen(ctx, a, o, &z, notes); err != nil {
		return z, err
	}
	answers, err := d.answers(ctx, o.visit.ID)
	if err != nil {
		return z, err
	}
	found, ok := answers[s.zone.ID]
	if !ok {
		z.Why.Pending = true
		z.Do.Wait = a.words.T("do.pending")
		return z, nil
	}
	said := overrulings(o.reviews, s.zone.ID)
	how, err := d.reckoned(ctx, o, s.zone.ID, found)
	if err != nil {
		return z, err
	}
	z.Why = d.whyView(a, o, how, said, notes)
	if wrong.overrule.Bad() {
		z.Why.PutBack(wrong.cause, wrong.overrule)
	}
	z.Do, err = d.doView(ctx, a, o, s, found, notes)
	return z, err
}

// overrulings are the newest judgement of each cause in a zone.
func overrulings(reviews []store.Review, zone string) map[string]store.Review {
	out := map[string]store.Review{}
	ordered := slices.Clone(reviews)
	slices.SortStableFunc(ordered, func(a, b store.Review) int { return a.At.Compare(b.At) })
	for _, r := range ordered {
		if r.Kind == "overrule" && r.Zone == zone {
			out[r.Cause] = r
		}
	}
	return out
}
