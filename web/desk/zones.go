package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/web/page"
)

// How soon a zone wants a person, worst first.
const (
	rankDispute = iota
	rankUnmoved
	rankCantTell
	rankChanged
	rankFine
)

// zoneState is one zone of a visit in short.
type zoneState struct {
	zone    store.Zone
	checks  []string         // checks whose readings disagree
	answer  *diagnose.Answer // nil: nothing is diagnosed yet
	lead    string           // the leading cause, "" when none leads
	before  string           // the cause that led at the last visit
	touched bool             // something was recorded here
	unmoved *noResponse      // a step that should have worked by now; nil: none
}

func (z zoneState) rank() int {
	switch {
	case len(z.checks) > 0:
		return rankDispute
	case z.unmoved != nil:
		return rankUnmoved
	case z.answer != nil && z.answer.Verdict == diagnose.CantTell:
		return rankCantTell
	case z.changed():
		return rankChanged
	}
	return rankFine
}

func (z zoneState) changed() bool { return z.before != "" && z.lead != "" && z.before != z.lead }

// zoneStates looks at every zone of the visit's property. What it finds is kept until something there is written: the first page
// asks for every visit that waits.
func (d *Desk) zoneStates(ctx context.Context, v store.Visit) ([]zoneState, error) {
	previous, _, err := d.visitBefore(ctx, v)
	if err != nil {
		return nil, err
	}
	mark := d.db.Changed(store.PropertyMark(v.Property), store.VisitMark(v.ID), store.SaidMark(v.ID), store.SaidMark(previous.ID))
	list, err := d.zoning.Get(v.ID+" "+v.Day+" "+d.know().Edition, mark, func() ([]zoneState, error) { return d.lookAtZones(ctx, v) })
	return slices.Clone(list), err
}

func (d *Desk) lookAtZones(ctx context.Context, v store.Visit) ([]zoneState, error) {
	zones, err := d.db.Zones(ctx, v.Property)
	if err != nil {
		return nil, err
	}
	readings, err := d.db.Readings(ctx, v.ID)
	if err != nil {
		return nil, err
	}
	answers, err := d.answers(ctx, v.ID)
	if err != nil {
		return nil, err
	}
	before, err := d.leadsBefore(ctx, v)
	if err != nil {
		return nil, err
	}
	out := make([]zoneState, 0, len(zones))
	for _, z := range zones {
		s := zoneState{zone: z, before: before[z.ID]}
		if a, ok := answers[z.ID]; ok {
			s.answer, s.lead = &a.answer, leading(a.answer)
		}
		s.checks, s.touched = disputes(readings, z.ID)
		if s.answer == nil && !s.touched && !z.Archived.IsZero() {
			continue // archived, and nothing was seen there on this visit
		}
		out = append(out, s)
	}
	return out, d.withoutResponse(ctx, v, out)
}

// disputes are the checks of a zone with current readings that disagree, and whether anything was recorded there.
func disputes(readings []store.Reading, zone string) (list []string, touched bool) {
	for _, r := range readings {
		if r.Zone != zone {
			continue
		}
		touched = true
		if r.Dispute && !slices.Contains(list, r.Check) {
			list = append(list, r.Check)
		}
	}
	return list, touched
}

// diagnosed is a stored diagnosis with its answer read.
type diagnosed struct {
	store.Diagnosis
	answer diagnose.Answer
	failed string // why there is no answer
}

func readAnswer(x store.Diagnosis) (diagnosed, error) {
	var read struct {
		diagnose.Answer
		Error string `json:"error"`
	}
	if err := json.Unmarshal(x.Answer, &read); err != nil {
		return diagnosed{}, fmt.Errorf("diagnosis %s: %w", x.ID, err)
	}
	return diagnosed{x, read.Answer, read.Error}, nil
}

// answers are the latest diagnoses of a visit by zone.
func (d *Desk) answers(ctx context.Context, visit string) (map[string]diagnosed, error) {
	list, err := d.db.LatestDiagnoses(ctx, visit)
	if err != nil {
		return nil, err
	}
	out := map[string]diagnosed{}
	for _, x := range list {
		a, err := readAnswer(x)
		if err != nil {
			return nil, err
		}
		out[x.Zone] = a
	}
	return out, nil
}

// leading is the cause that a person should read first; none when the engine cannot tell or finds nothing wrong.
func leading(a diagnose.Answer) string {
	if a.Verdict == diagnose.CantTell || a.Verdict == diagnose.NothingWrong || len(a.Causes) == 0 {
		return ""
	}
	return a.Causes[0].ID
}

// leadsBefore is what led in each zone at the visit before v.
func (d *Desk) leadsBefore(ctx context.Context, v store.Visit) (map[string]string, error) {
	previous, ok, err := d.visitBefore(ctx, v)
	if err != nil || !ok {
		return nil, err
	}
	answers, err := d.answers(ctx, previous.ID)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for zone, a := range answers {
		out[zone] = leading(a.answer)
	}
	return out, nil
}

// visitBefore is the newest visit to the same property that ended before v and on which something was looked at.
func (d *Desk) visitBefore(ctx context.Context, v store.Visit) (store.Visit, bool, error) {
	newest, err := d.earlier.Get(v.ID+" "+v.Day, d.db.Changed(store.PropertyMark(v.Property)), func() (store.Visit, error) { return d.lookBefore(ctx, v) })
	return newest, newest.ID != "", err
}

// lookBefore is the zero Visit when there was none. A visit on which nothing was looked at, as one that only took a step, is passed over: what is
// seen now is held against what was seen last.
func (d *Desk) lookBefore(ctx context.Context, v store.Visit) (store.Visit, error) {
	all, err := d.db.Visits(ctx, store.VisitFilter{Property: v.Property, States: []store.VisitState{store.HandedIn, store.SignedOff}})
	if err != nil {
		return store.Visit{}, err
	}
	all = slices.DeleteFunc(all, func(x store.Visit) bool { return x.ID == v.ID || x.Day >= v.Day })
	slices.SortStableFunc(all, func(x, y store.Visit) int { return cmp.Compare(y.Day, x.Day) })
	for _, x := range all {
		readings, err := d.db.Readings(ctx, x.ID)
		if err != nil || len(readings) > 0 {
			return x, err
		}
	}
	return store.Visit{}, nil
}

// reasons are why the zone wants a person.
func (z zoneState) reasons(w page.Words, k *knowledge.Loaded) []page.Reason {
	var out []page.Reason
	for _, id := range z.checks {
		out = append(out, page.Reason{Kind: "stop", Say: w.T("reason.disagree", "zone", z.zone.Name, "check", checkLabel(k, id, w.Lang))})
	}
	if z.unmoved != nil {
		out = append(out, page.Reason{Kind: "stop", Say: z.unmoved.says(z.zone.Name, w, k)})
	}
	if z.answer != nil && z.answer.Verdict == diagnose.CantTell {
		out = append(out, page.Reason{Kind: "ask", Say: w.T("reason.cant_tell", "zone", z.zone.Name)})
	}
	if z.changed() {
		out = append(out, page.Reason{Kind: "ask", Say: w.T("reason.changed", "zone", z.zone.Name, "before", causeLabel(k, z.before, w.Lang))})
	}
	return out
}

// line is the zone in one line.
func (z zoneState) line(w page.Words, k *knowledge.Loaded) string {
	return z.zone.Name + ": " + z.mark(w, k)
}

// mark is what leads in the zone, in a few words.
func (z zoneState) mark(w page.Words, k *knowledge.Loaded) string {
	switch {
	case z.answer == nil && !z.touched:
		return w.T("zone.untouched")
	case z.answer == nil:
		return w.T("zone.pending")
	case z.answer.Verdict == diagnose.NothingWrong:
		return w.T("zone.fine")
	case z.lead == "":
		return w.T("zone.cant_tell")
	}
	_, says := percent(z.answer.Causes[0].Likelihood, w)
	return causeLabel(k, z.lead, w.Lang) + " " + says
}

func causeLabel(k *knowledge.Loaded, id, lang string) string {
	if c, ok := k.Cause(id); ok {
		return c.Label.In(lang)
	}
	return id
}

func checkLabel(k *knowledge.Loaded, id, lang string) string {
	if c, ok := k.Check(id); ok {
		return c.Label.In(lang)
	}
	return id
}

func causeLabels(k *knowledge.Loaded, ids []string, w page.Words) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = causeLabel(k, id, w.Lang)
	}
	return strings.Join(out, ", ")
}
