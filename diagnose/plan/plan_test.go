package plan_test

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/soiltest"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/plan"
)

func small(t *testing.T) *knowledge.Bundle {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/diagnose-bundle.json")
	if err != nil {
		t.Fatal(err)
	}
	var b knowledge.Bundle
	if err := json.Unmarshal(raw, &b); err != nil {
		t.Fatal(err)
	}
	return &b
}

func says(verdict string, causes ...diagnose.Likelihood) diagnose.Answer {
	return diagnose.Answer{Verdict: verdict, Causes: causes, Next: []diagnose.Next{{Check: "core"}}}
}

func primary(id string, p float64) diagnose.Likelihood {
	return diagnose.Likelihood{ID: id, Likelihood: p, Role: diagnose.Primary}
}

// made is the plan for one zone by a bundle.
func made(t *testing.T, b *knowledge.Bundle, a diagnose.Answer, judged map[string]string) plan.Plan {
	t.Helper()
	pl, err := plan.New(b, "")
	if err != nil {
		t.Fatal(err)
	}
	p, err := pl.Make(plan.Input{Day: "2026-08-20", Zones: []plan.Zone{{ID: "z", Name: "Zone", Area: agronomy.Q(1000, "ft2"), Answer: a, Judged: judged}}})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func ids(p plan.Plan) string {
	var out []string
	for _, s := range p.Steps {
		id := s.Action
		switch s.Kind {
		case plan.Check:
			id = s.Check
		case plan.Refer:
			id = strings.Join(s.Causes, "+")
		}
		out = append(out, string(s.Kind)+" "+id)
	}
	return strings.Join(out, ", ")
}

func TestWhatIsActedUpon(t *testing.T) {
	bugs, dry := primary("bugs", 0.7), primary("dry", 0.5)
	for _, w := range []struct {
		name   string
		answer diagnose.Answer
		judged map[string]string
		want   string
	}{
		{"stop harm, water, treat, then refer", says(diagnose.ACause, dry, bugs), nil,
			"do bugs.stop, do dry.soak, do bugs.treat, refer dry, refer bugs"},
		{"no pesticide below the limit", says(diagnose.ACause, primary("bugs", 0.59)), nil, "do bugs.stop, refer bugs"},
		{"a confirmed cause may be treated", says(diagnose.ACause, primary("bugs", 0.3)), map[string]string{"bugs": plan.Confirmed},
			"do bugs.stop, do bugs.treat, refer bugs"},
		{"what is ruled out drops", says(diagnose.ACause, dry, bugs), map[string]string{"bugs": plan.RuledOut}, "do dry.soak, refer dry"},
		{"what is confirmed is added", says(diagnose.ACause, dry, diagnose.Likelihood{ID: "packed", Likelihood: 0.1}),
			map[string]string{"packed": plan.Confirmed}, "do dry.soak, do packed.core, refer dry"},
		{"the unlikely are left alone", says(diagnose.ACause, dry, diagnose.Likelihood{ID: "packed", Likelihood: 0.2}), nil, "do dry.soak, refer dry"},
		{"can't tell: look further, no pesticide", says(diagnose.CantTell, primary("bugs", 0.65)), nil,
			"check core, do bugs.stop, refer bugs"},
		{"can't tell, and the leader ruled out", says(diagnose.CantTell, primary("bugs", 0.35), dry), map[string]string{"bugs": plan.RuledOut},
			"check core, do dry.soak, refer dry"},
		{"can't tell, and nothing has a role", says(diagnose.CantTell, diagnose.Likelihood{ID: "bugs", Likelihood: 0.2}), nil, "check core, refer bugs"},
		{"can't tell, but a person could", says(diagnose.CantTell, primary("dry", 0.35)), map[string]string{"dry": plan.Confirmed},
			"do dry.soak, refer dry"},
		{"nothing wrong", says(diagnose.NothingWrong, diagnose.Likelihood{ID: "dry", Likelihood: 0.1}), nil, ""},
		{"nothing wrong, says the tool", says(diagnose.NothingWrong, diagnose.Likelihood{ID: "dry", Likelihood: 0.1}),
			map[string]string{"dry": plan.Confirmed}, "do dry.soak, refer dry"},
		{"a cause nobody knows any more", says(diagnose.ACause, primary("gone", 0.9), dry), nil, "do dry.soak, refer dry"},
	} {
		t.Run(w.name, func(t *testing.T) {
			if got := ids(made(t, small(t), w.answer, w.judged)); got != w.want {
				t.Errorf("%s\nwant %s", got, w.want)
			}
		})
	}
}

// A driver stands before what it drives, wherever the reading order puts it.
func TestDriversComeFirst(t *testing.T) {
	_, know := planner(t)
	weeds, tight := primary("weed_moss_invasion", 0.9), primary("soil_compaction", 0.7)
	weeds.DrivenBy = []string{"soil_compaction"}
	p := made(t, &know.Bundle, says(diagnose.ACause, weeds, tight), nil)
	first := slices.IndexFunc(p.Steps, func(s plan.Step) bool { return s.Action == "soil_compaction.move_traffic" })
	then := slices.IndexFunc(p.Steps, func(s plan.Step) bool { return s.Action == "weed_moss_invasion.fix_reason" })
	if first < 0 || then < first || !slices.Contains(p.Steps[first].Drives, "weed_moss_invasion") {
		t.Errorf("%s; drives %v", ids(p), p.Steps[max(0, first)].Drives)
	}
}

func TestCautionsTravelWithTheirStep(t *testing.T) {
	p := made(t, small(t), says(diagnose.ACause, primary("packed", 0.9), primary("bugs", 0.9)), nil)
	for _, s := range p.Steps {
		want := map[string]string{"packed.core": "lines", "bugs.treat": "label"}[s.Action]
		switch {
		case want == "" && len(s.Cautions) > 0:
			t.Errorf("%s carries %v", s.ID, s.Cautions)
		case want != "" && (len(s.Cautions) != 1 || s.Cautions[0].ID != want):
			t.Errorf("%s carries %v, want %s", s.ID, s.Cautions, want)
		}
		if s.Action == "bugs.treat" && (!s.Licence || s.Avoid.EN != "Not on flowers.") || s.Action == "packed.core" && !s.Dig {
			t.Errorf("%+v", s)
		}
	}
	s := made(t, small(t), says(diagnose.CantTell, primary("packed", 0.3)), nil).Steps
	if len(s) == 0 || s[0].Kind != plan.Check || s[0].Do.EN != "how core" || len(s[0].Cautions) != 1 {
		t.Errorf("%+v", s)
	}
}

// On the whole knowledge: whatever the answer, an undecided one leads to no pesticide, and every step says what to do.
func TestOnTheWholeKnowledge(t *testing.T) {
	_, l := planner(t)
	for _, c := range l.Bundle.Causes {
		for _, verdict := range []string{diagnose.ACause, diagnose.CantTell} {
			a := says(verdict, primary(c.ID, 0.95))
			a.Next[0].Check = l.Bundle.Checks[0].ID
			p := made(t, &l.Bundle, a, nil)
			if len(p.Steps) == 0 {
				t.Errorf("%s, %s: no step", c.ID, verdict)
			}
			for _, s := range p.Steps {
				if s.Do.EN == "" || verdict == diagnose.CantTell && s.Licence || s.Licence && len(s.Cautions) == 0 {
					t.Errorf("%s, %s: %+v", c.ID, verdict, s)
				}
			}
			done := slices.DeleteFunc(p.Steps, func(s plan.Step) bool { return s.Kind != plan.Do })
			if !slices.IsSortedFunc(done, func(a, b plan.Step) int { return a.Order - b.Order }) {
				t.Errorf("%s: %s", c.ID, ids(p))
			}
		}
	}
}

// A pesticide for a cause that is not sure enough is refused, in a plan that somebody wrote as well; a manager may set that
// aside with a reason, and then it is in the plan with who and why.
func TestNotSureEnoughForAPesticide(t *testing.T) {
	pl, _ := planner(t)
	in := plan.Input{Day: "2026-10-05", Zones: []plan.Zone{{ID: "z", Name: "Zone", Area: agronomy.Q(1000, "ft2"), Answer: says(diagnose.ACause, primary("weed_moss_invasion", 0.5))}}}
	p, err := pl.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(p.Refused, func(r plan.Refused) bool { return r.Action == "weed_moss_invasion.broadleaf" })
	if at < 0 || p.Refused[at].Conflicts[0].Rule != "unsure" {
		t.Fatalf("%+v", p.Refused)
	}
	in.Overruled = []plan.Overrule{{Rule: "unsure", Step: "weed_moss_invasion.broadleaf", By: "m1", Why: "I saw the clover myself"}}
	if p, err = pl.Make(in); err != nil {
		t.Fatal(err)
	}
	s := stepOf(t, p, "weed_moss_invasion.broadleaf")
	if s.Day != "2026-10-05" || !slices.ContainsFunc(p.Conflicts, func(c plan.Conflict) bool { return c.Rule == "unsure" && !c.Stands() }) {
		t.Errorf("%+v, %+v", s, p.Conflicts)
	}
	in.Overruled = nil
	found, err := pl.Verify(in, p)
	if err != nil || !slices.ContainsFunc(found, func(c plan.Conflict) bool { return c.Rule == "unsure" && c.Stands() }) {
		t.Errorf("%+v, %v", found, err)
	}
}

// Of two that would do on one day the cheaper is taken, but not one that would have to be cut; of those the law forbids none.
func TestWhichMaterial(t *testing.T) {
	pl, _ := planner(t)
	slow := materials(t)["f24"]
	slow.Stock = nil
	urea := plan.Material{ID: "urea", Name: "46-0-0", Uses: []string{"fertilizer"}, Grade: &plan.Grade{N: 46}, Cost: &plan.Price{Cents: 2500, Pack: agronomy.Q(50, "lb")}}
	dear := slow
	dear.ID, dear.Cost = "dear", &plan.Price{Cents: 9900, Pack: agronomy.Q(50, "lb")}
	phosphorus := slow
	phosphorus.ID, phosphorus.Grade, phosphorus.Cost = "p", &plan.Grade{N: 24, P2O5: 4, SlowN: 12}, &plan.Price{Cents: 100, Pack: agronomy.Q(50, "lb")}
	for _, w := range []struct {
		have []plan.Material
		want string
		n    float64
	}{
		{[]plan.Material{dear, slow}, "f24", 0.75},
		{[]plan.Material{urea, slow}, "f24", 0.75},
		{[]plan.Material{urea}, "urea", 0.5},
		{[]plan.Material{phosphorus, dear}, "dear", 0.75},
	} {
		in := lawn("2026-09-05", "nitrogen_deficiency")
		in.Materials = w.have
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		g := stepOf(t, p, "feed").Parts[0].Goods[0]
		if g.Material != w.want || g.Target == nil || g.Target.Value != w.n || (g.Note.EN == "") != (w.n == 0.75) {
			t.Errorf("%s at %v (%s), want %s at %v", g.Material, g.Target, g.Note.EN, w.want, w.n)
		}
	}
}

// What a manager wishes for is done as far as the limits go; what is taken out stays out, with the reason.
func TestWishes(t *testing.T) {
	pl, _ := planner(t)
	all := materials(t)
	urea := plan.Material{ID: "urea", Name: "46-0-0", Uses: []string{"fertilizer"}, Grade: &plan.Grade{N: 46}}
	in := lawn("2026-09-05", "nitrogen_deficiency")
	in.Materials = []plan.Material{all["f24"], urea}
	for _, w := range []struct {
		wish     plan.Wish
		material string
		n        float64
	}{
		{plan.Wish{Step: "feed", Target: q(0.6, "lb N/1000 ft2")}, "f24", 0.6},
		{plan.Wish{Step: "feed", Target: q(2.5, "lb N/1000 ft2")}, "f24", 1},
		{plan.Wish{Step: "feed", Target: q(48.824276, "kg N/ha")}, "f24", 1},
		{plan.Wish{Step: "feed", Material: "urea"}, "urea", 0.5},
		{plan.Wish{Step: "feed", Material: "nobody's"}, "f24", 0.75},
	} {
		in.Wishes = []plan.Wish{w.wish}
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		g := stepOf(t, p, "feed").Parts[0].Goods[0]
		n, err := g.Target.In("lb N/1000 ft2")
		if err != nil || g.Material != w.material || n < w.n-1e-6 || n > w.n+1e-6 {
			t.Errorf("%+v: %v of %s, want %v of %s", w.wish, g.Target, g.Material, w.n, w.material)
		}
	}
	in.Wishes = []plan.Wish{{Step: "feed", Drop: true, Why: "the client feeds himself"}}
	p, err := pl.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(p.Refused, func(r plan.Refused) bool { return r.Step == "feed" })
	if at < 0 || p.Refused[at].Conflicts[0].Say.EN != "Taken out of the plan: the client feeds himself" {
		t.Errorf("%+v", p.Refused)
	}
}

// What was put down counts against the year, and what nobody measured counts as the most that was allowed.
func TestWhatWasPutDownCounts(t *testing.T) {
	pl, _ := planner(t)
	m := materials(t)["trichlorfon"]
	year := *q(8, "lb/1000 ft2")
	m.Label.MaxYear, m.Label.Interval, m.Label.MaxTimes = &year, 0, 0
	for _, w := range []struct {
		name string
		rate *agronomy.Quantity
		n    int
		may  bool
	}{
		{"nothing", q(3, "lb/1000 ft2"), 0, true}, {"once", q(3, "lb/1000 ft2"), 1, true}, {"twice", q(3, "lb/1000 ft2"), 2, false},
		{"twice, little", q(100, "kg/ha"), 2, true}, {"twice, nobody knows how much", nil, 2, false},
	} {
		in := lawn("2026-08-25", "white_grubs", plan.Fact{Name: "grubs_sqft", Value: q(12, "sqft")})
		in.Materials = []plan.Material{m}
		for i := range w.n {
			in.Applied = append(in.Applied, plan.Applied{ID: string(rune('a' + i)), Day: "2026-05-0" + string(rune('1'+i)), Zones: []string{"z"}, Material: &m, Rate: w.rate})
		}
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		done := slices.ContainsFunc(p.Steps, func(s plan.Step) bool { return s.Action == "white_grubs.curative" && s.Day < "2027-01-01" })
		if done != w.may {
			t.Errorf("%s: treated %v, want %v; %+v", w.name, done, w.may, p.Refused)
		}
	}
}

// TestATotalIsGivenInParts: what a limit at once leaves of a total is planned for later days, as far apart as the rule wants, and
// the parts are the total.
func TestATotalIsGivenInParts(t *testing.T) {
	pl, _ := planner(t)
	for _, acidity := range []float64{2, 5.2, 9.5} {
		c := load(t, "../../testdata/plan/lime-by-the-test.json")
		for i, f := range c.Input.Zones[0].Facts {
			if f.Name == "soil_acidity" {
				c.Input.Zones[0].Facts[i].Value = q(acidity, "meq/100 g")
			}
		}
		p, err := pl.Make(c.Input)
		if err != nil {
			t.Fatal(err)
		}
		whole, last, parts := 0.0, "", 0
		for _, s := range p.Steps {
			if s.Action != "soil_chemistry.lime_by_test" {
				continue
			}
			g := s.Parts[0].Goods[0]
			whole, parts = whole+g.Target.Value, parts+1
			if g.Target.Value > 50+1e-9 {
				t.Errorf("acidity %v: %v at once", acidity, g.Target)
			}
			day, _ := time.Parse(time.DateOnly, s.Day)
			if before, err := time.Parse(time.DateOnly, last); err == nil && day.Sub(before).Hours() < 90*24 {
				t.Errorf("acidity %v: %s comes too soon after %s", acidity, s.Day, last)
			}
			last = s.Day
			if g.Rest != nil && g.Note.EN == "" {
				t.Errorf("acidity %v: a part without a reason", acidity)
			}
		}
		need, err := soiltest.FromTable(agronomy.Q(acidity, "meq/100 g"), agronomy.Q(6.5, "pH"), agronomy.Q(5.8, "pH"))
		if err != nil {
			t.Fatal(err)
		}
		if left := need.Number - whole; left > 1e-6 && parts < 2 || left < -1e-6 {
			t.Errorf("acidity %v: %v lb in %d parts, the test asks for %v", acidity, whole, parts, need.Number)
		}
	}
}
