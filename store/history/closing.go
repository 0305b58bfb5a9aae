package history

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/irrigation"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/record"
)

// AuditRecord is one test of how evenly the sprinklers of a zone water.
type AuditRecord struct {
	ReadingRecord
	Zone    store.Zone
	Day     string
	Means   string   // in words, by the limits of the knowledge
	Times   float64  // by how much longer the zone has to run than if it were even; 0 when that can't be said
	Working []string // of Times
}

// cansAid marks the checks that catch cans are for.
const cansAid = "cans"

// audits are the current readings of checks made with catch cans.
func (r *reader) audits(visits []VisitRecord) []AuditRecord {
	var out []AuditRecord
	for _, v := range visits {
		for _, z := range v.Zones {
			for _, x := range z.Readings {
				if c, ok := r.know.Check(x.Check); ok && c.Aid == cansAid && x.Current && x.Number != nil {
					times, working := runLonger(*x.Number)
					out = append(out, AuditRecord{ReadingRecord: x, Zone: z.Zone, Day: v.Visit.Day, Means: rulerOf(r.know, c).means(*x.Number), Times: times, Working: working})
				}
			}
		}
	}
	return out
}

// means is the state a number lies in, in words.
func (r ruler) means(x float64) string {
	for _, b := range r.bands {
		if x >= b.Low && x < b.High {
			return r.says(b.State).EN
		}
	}
	return ""
}

// leastEven is the uniformity under which sprinklers are mended before anybody makes a schedule (the remark of irrigation.MultiplierFromQuarter).
const leastEven = 0.4

// runLonger is the scheduling multiplier of a low-quarter uniformity, with its working.
func runLonger(uniformity float64) (float64, []string) {
	m, err := irrigation.MultiplierFromQuarter(agronomy.Q(uniformity, "fraction"))
	if err != nil || uniformity < leastEven {
		return 0, nil
	}
	return rounded(m.Number), m.Working.Lines()
}

func (r *rows) audit(property string, x AuditRecord) {
	own := line{"day": Str(x.Day), "zone": Str(x.Zone.Name), "kind": Str("water audit"), "item_id": Str(x.Check), "item": Str(x.Label), "typed": Str(x.Typed),
		"state": Str(x.Means)}
	r.number(own, x.ReadingRecord)
	r.working = auditWorking(x, r.metric)
	own["reason"] = Str(x.Longer())
	r.add(line{"property": Str(property)}, own)
}

// Longer says by how much longer the zone has to run.
func (x AuditRecord) Longer() string {
	if x.Times == 0 {
		return "mend the sprinklers before making a schedule"
	}
	return fmt.Sprintf("run time times %s, so that the drier half gets enough", Num(x.Times))
}

// PhotoPair is a zone's first and last photo of the year; a season has none when the client wants photos to stay within the firm. They are the same when there is only one.
type PhotoPair struct {
	Zone        store.Zone
	First, Last DatedPhoto
}

// DatedPhoto is a photo by its digest.
type DatedPhoto struct{ Day, SHA string }

// Alone reports whether there is only one photo.
func (p PhotoPair) Alone() bool { return p.First == p.Last }

// Pairs are the first and the last photo of every zone on some visits.
func Pairs(visits []VisitRecord) []PhotoPair { return pairs(visits) }

func pairs(visits []VisitRecord) []PhotoPair {
	var out []PhotoPair
	for _, v := range visits {
		for _, z := range v.Zones {
			for _, x := range z.Photos() {
				photo := DatedPhoto{v.Visit.Day, x.SHA}
				at := slices.IndexFunc(out, func(p PhotoPair) bool { return p.Zone.ID == z.Zone.ID })
				if at < 0 {
					at, out = len(out), append(out, PhotoPair{Zone: z.Zone, First: photo})
				}
				out[at].Last = photo
			}
		}
	}
	return out
}

func (r *rows) pair(property string, p PhotoPair) {
	add := func(x DatedPhoto, which string) {
		r.add(line{"property": Str(property)}, line{"day": Str(x.Day), "zone": Str(p.Zone.Name), "kind": Str("photo"), "state": Str(which), "typed": Str(x.SHA)})
	}
	if p.Alone() {
		add(p.First, "the only one")
		return
	}
	add(p.First, "first")
	add(p.Last, "last")
}

// NextStep is a signed step that nobody has done or dropped.
type NextStep struct {
	ID     string // of the action or the check
	Do     string
	Day    string // when it is to be done; "" without a day
	Window plan.Window
	Who    string
	Zones  []string // names
	Client []string // what the client does for it
	Result string
	By     string // when it should show
}

// When says between which days it may be done.
func (s NextStep) When() string {
	switch {
	case s.Window.From == "" && s.Window.To == "":
		return s.Window.Say.EN
	case s.Window.From == "":
		return "until " + s.Window.To
	}
	return s.Window.From + " to " + s.Window.To
}

// next are the open steps of the plans of a property that were signed up to a day, soonest first.
func (r *reader) next(property, until string) ([]NextStep, error) {
	plans, err := r.store.Plans(r.ctx, property)
	if err != nil || len(plans) == 0 {
		return nil, err
	}
	all, err := r.store.Applications(r.ctx, store.ApplicationFilter{Property: property})
	if err != nil {
		return nil, err
	}
	visits, err := r.visits(property, "", "")
	if err != nil {
		return nil, err
	}
	current := record.Current(all)
	var out []NextStep
	for _, p := range plans {
		var body plan.Plan
		if err := json.Unmarshal(p.Body, &body); err != nil {
			return nil, fmt.Errorf("plan %s can't be read: %w", p.ID, err)
		}
		if until != "" && body.Day > until {
			continue
		}
		for _, s := range p.Steps {
			if s.N < len(body.Steps) && open(s, body.Steps[s.N], visits, current) {
				out = append(out, nextStep(s, body.Steps[s.N]))
			}
		}
	}
	slices.SortStableFunc(out, func(a, b NextStep) int {
		return cmp.Compare(cmp.Or(a.Day, a.Window.From, "9999"), cmp.Or(b.Day, b.Window.From, "9999"))
	})
	return out, nil
}

// open reports whether a step is neither done nor dropped.
func open(s store.PlanStep, step plan.Step, visits []store.Visit, current []store.Application) bool {
	var became store.Visit
	if at := slices.IndexFunc(visits, func(v store.Visit) bool { return v.ID == s.Visit && s.Visit != "" }); at >= 0 {
		became = visits[at]
	}
	_, done := record.Fulfilled(s, step, became, current)
	return !done && s.State != store.StepDropped
}

func nextStep(s store.PlanStep, step plan.Step) NextStep {
	out := NextStep{ID: cmp.Or(step.Action, step.Check), Do: step.Do.EN, Day: s.Day, Window: step.Window, Who: step.WhoSays.EN, Result: step.Result.EN, By: step.ShowsBy}
	for _, part := range step.Parts {
		out.Zones = append(out.Zones, part.Name)
	}
	for _, c := range step.Client {
		out.Client = append(out.Client, c.EN)
	}
	return out
}

func (r *rows) next(property string, s NextStep) {
	r.add(line{"property": Str(property)}, line{"day": Str(s.Day), "zone": Str(strings.Join(s.Zones, ", ")), "kind": Str("next step"), "item_id": Str(s.ID), "item": Str(prose(s.Do, r.metric)),
		"state": Str(prose(s.When(), r.metric)), "reason": Str(s.Who)})
}
