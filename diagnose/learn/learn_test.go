package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/learn"
	"swardbook/diagnose/simulate"
)

// small is a network of three causes, of which the first drives the third, with a finding for each and two seasons.
func small(rates ...float64) *knowledge.Loaded {
	weights := map[string]float64{"judgement": 20}
	k := &knowledge.Loaded{Edition: "small", Weights: knowledge.Weights{"rate": weights, "link": weights, "drive": weights}, Bundle: knowledge.Bundle{
		Seasons: []string{"wet", "dry"}, SeasonOf: slices.Concat(slices.Repeat([]string{"wet"}, 6), slices.Repeat([]string{"dry"}, 6)),
		Settings: knowledge.Settings{MaxSet: 3, Likely: 0.25, CantTell: 0.4, GroupShare: 1.0 / 3},
		Drives:   []knowledge.Drive{{Parent: "a", Child: "c", P: 0.3}},
		Adjust: []knowledge.Adjust{
			{When: map[string]string{"rain": "week"}, Cause: "b", Factor: 0.5},
			{When: map[string]string{"system": "none"}, Cause: "b", Set: 0.01},
		},
	}}
	for i, id := range []string{"a", "b", "c"} {
		k.Bundle.Causes = append(k.Bundle.Causes, knowledge.Cause{ID: id, Rates: map[string]float64{"wet": rates[i], "dry": rates[i] / 2}})
		f := knowledge.Finding{
			ID: "f" + id, Kind: "look", States: []knowledge.State{{ID: "yes"}, {ID: "no"}, {ID: "odd"}},
			Base: map[string][]float64{"all": {0.1, 0.8, 0.1}}, Rows: []knowledge.Row{{State: "yes", Cause: id, P: 0.6}},
		}
		k.Bundle.Findings = append(k.Bundle.Findings, f)
		k.Bundle.Checks = append(k.Bundle.Checks, checks.Check{ID: f.ID, Kind: checks.Choice, Yields: []checks.Yield{{Finding: f.ID, From: "state"}}})
	}
	return k
}

func report(t *testing.T, base, now *knowledge.Loaded, cases ...learn.Case) learn.Report {
	t.Helper()
	r, err := learn.Learn(base, now, cases)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func change(r learn.Report, kind, cause, on string) (learn.Change, bool) {
	for _, c := range r.Changes {
		if c.Kind == kind && c.Cause == cause && (c.Season == on || c.Child == on || c.State == on) {
			return c, true
		}
	}
	return learn.Change{}, false
}

func zones(n int, c learn.Case) []learn.Case {
	c.First = true
	return slices.Repeat([]learn.Case{c}, n)
}

func wet(observed ...diagnose.Observed) diagnose.Case {
	return diagnose.Case{Season: "wet", Observed: observed}
}

func TestRatesByHand(t *testing.T) {
	k := small(0.1, 0.1, 0.1)
	all := []string{"a", "b", "c"}
	for name, x := range map[string]struct {
		cases []learn.Case
		cause string
		want  float64 // of the rate in the wet, 0 for no change
		cast  float64 // cases behind it
	}{
		"confirmed in ten":         {zones(10, learn.Case{Case: wet(), Confirmed: []string{"b"}, RuledOut: []string{"a", "c"}}), "b", 12.0 / 30, 10},
		"ruled out in twenty":      {zones(20, learn.Case{Case: wet(), RuledOut: all}), "b", 2.0 / 40, 20},
		"half":                     {slices.Concat(zones(5, learn.Case{Case: wet(), Confirmed: []string{"b"}, RuledOut: []string{"a", "c"}}), zones(5, learn.Case{Case: wet(), RuledOut: all})), "b", 7.0 / 30, 10},
		"too few words":            {zones(2, learn.Case{Case: wet(), Confirmed: all}), "b", 0, 0},
		"nobody said a word":       {zones(50, learn.Case{Case: wet(diagnose.Observed{Finding: "fb", State: "yes"})}), "b", 0, 0},
		"with what drives it":      {zones(10, learn.Case{Case: wet(), Confirmed: []string{"a", "c"}, RuledOut: []string{"b"}}), "c", driven(10), 10},
		"a context halves it":      {zones(10, learn.Case{Case: diagnose.Case{Season: "wet", Context: map[string]string{"rain": "week"}}, RuledOut: all}), "b", 2.0 / 25, 5},
		"a context that settles":   {zones(10, learn.Case{Case: diagnose.Case{Season: "wet", Context: map[string]string{"system": "none"}}, RuledOut: all}), "b", 0, 0},
		"a routine visit":          {zones(10, learn.Case{Case: diagnose.Case{Season: "wet", Context: map[string]string{"visit": "routine"}}, RuledOut: all}), "b", 0, 0},
		"an id of another edition": {zones(10, learn.Case{Case: wet(), Confirmed: []string{"gone"}, RuledOut: []string{"b", "lost"}}), "b", 2.0 / 30, 10},
	} {
		r := report(t, k, k, x.cases...)
		c, ok := change(r, learn.Rate, x.cause, "wet")
		if x.want == 0 {
			if ok {
				t.Errorf("%s: changed to %+v", name, c)
			}
			continue
		}
		if math.Abs(c.After-x.want) > 6e-5 || math.Abs(c.Cases-x.cast) > 1e-9 || c.Before != 0.1 || c.Ours != 0.1 {
			t.Errorf("%s: %+v, want %.4f of %v cases", name, c, x.want, x.cast)
		}
		if _, other := change(r, learn.Rate, x.cause, "dry"); other {
			t.Errorf("%s: the other season changed", name)
		}
		if !(c.From < c.After && c.After < c.To) {
			t.Errorf("%s: interval %v to %v", name, c.From, c.To)
		}
	}
}

// driven is the rate of c after n zones in which a and c were confirmed: each counts by the share of c that is left to itself, given the
// rate and the drive that the step before came to.
func driven(n float64) float64 {
	rate, drive := 0.1, 0.3
	for range 3 {
		there := 1 - (1-rate)*(1-drive)
		rate, drive = (2+n*rate/there)/(20+n), (6+n*drive/there)/(20+n)
	}
	return rate
}

func TestALaterVisitOfTheSeasonIsNoFurtherCase(t *testing.T) {
	k := small(0.1, 0.1, 0.1)
	c := learn.Case{Case: wet(), Confirmed: []string{"b"}}
	r := report(t, k, k, slices.Repeat([]learn.Case{c}, 20)...)
	if x, ok := change(r, learn.Rate, "b", "wet"); ok {
		t.Errorf("%+v", x)
	}
	if r.Cases != 20 || r.Spoken != 20 || r.Base != "small" {
		t.Errorf("%+v", r)
	}
}

func TestLinksByHand(t *testing.T) {
	k := small(0.1, 0.1, 0.1)
	no := diagnose.Observed{Finding: "fb", State: "no"}
	r := report(t, k, k, zones(30, learn.Case{Case: wet(no), Confirmed: []string{"b"}, RuledOut: []string{"a", "c"}})...)
	c, ok := change(r, learn.Link, "b", "yes")
	if want := 20 * 0.6 / 50; !ok || math.Abs(c.After-want) > 1e-4 || c.Finding != "fb" || c.Cases != 30 || c.Labels != 30 {
		t.Errorf("%+v, want %v", c, want)
	}
	// A cause that has no row there is learned nothing of.
	if len(slices.DeleteFunc(r.Changes, func(c learn.Change) bool { return c.Kind != learn.Link })) != 1 {
		t.Errorf("%+v", r.Changes)
	}
}

func TestDrivesByHand(t *testing.T) {
	k := small(0.1, 0.1, 0.1)
	r := report(t, k, k, zones(20, learn.Case{Case: wet(), Confirmed: []string{"a"}, RuledOut: []string{"b", "c"}})...)
	if c, ok := change(r, learn.Drive, "a", "c"); !ok || math.Abs(c.After-0.3*20/40) > 1e-4 || math.Abs(c.Cases-20) > 1e-9 {
		t.Errorf("ruled out: %+v", c)
	}
	r = report(t, k, k, zones(20, learn.Case{Case: wet(), Confirmed: []string{"a", "c"}, RuledOut: []string{"b"}})...)
	if c, ok := change(r, learn.Drive, "a", "c"); !ok || c.After < 0.5 || math.Abs(c.Cases-20) > 1e-9 {
		t.Errorf("confirmed: %+v", c)
	}
}

// TestOddCasesAreCounted holds that what can't be weighed is left out and said, and that more confirmed causes than the engine takes
// together are no fault.
func TestOddCasesAreCounted(t *testing.T) {
	k := small(0.1, 0.1, 0.1)
	k.Bundle.Settings.MaxSet = 2
	r := report(t, k, k, slices.Concat(
		zones(2, learn.Case{Case: diagnose.Case{Season: "wet", Observed: []diagnose.Observed{{Finding: "gone", State: "yes"}}}, Confirmed: []string{"a"}}),
		zones(8, learn.Case{Case: wet(), Confirmed: []string{"a", "b", "c"}}),
	)...)
	if r.Left != 2 || r.Cases != 10 {
		t.Errorf("%+v", r)
	}
	if c, _ := change(r, learn.Rate, "b", "wet"); math.Abs(c.After-10.0/28) > 1e-4 {
		t.Errorf("%+v", c)
	}
	if r := report(t, k, k); len(r.Changes) != 0 || r.Changes == nil {
		t.Errorf("no cases change %+v", r.Changes)
	}
}

func TestTheLargestChangeComesFirst(t *testing.T) {
	k := small(0.1, 0.1, 0.1)
	r := report(t, k, k, slices.Concat(
		zones(20, learn.Case{Case: wet(), Confirmed: []string{"a"}, RuledOut: []string{"b", "c"}}),
		zones(8, learn.Case{Case: wet(), Confirmed: []string{"b"}, RuledOut: []string{"a", "c"}}),
	)...)
	if len(r.Changes) < 2 || !slices.IsSortedFunc(r.Changes, func(a, b learn.Change) int { return int(1e9 * (math.Abs(b.Shift) - math.Abs(a.Shift))) }) {
		t.Errorf("%+v", r.Changes)
	}
}

// TestEverythingIsFound lets a small firm of other rates, links and drives be learned of from words that are few and findings that tell much.
func TestEverythingIsFound(t *testing.T) {
	base, truth := small(0.1, 0.1, 0.1), small(0.3, 0.05, 0.15)
	truth.Bundle.Drives[0].P = 0.7
	truth.Bundle.Findings[1].Rows[0].P = 0.9
	world := simulate.NewWorld(&truth.Bundle, engineOf(t, truth))
	var cases []learn.Case
	var once float64
	for i := range 3000 {
		r := rand.New(rand.NewPCG(5, uint64(i)))
		v, err := world.Draw("wet", nil, r)
		if err != nil {
			t.Fatal(err)
		}
		c := learn.Case{Case: v.Case, First: true}
		for j := range base.Bundle.Checks {
			c.Case = v.With(c.Case, &base.Bundle.Checks[j])
		}
		for at, id := range []string{"a", "b", "c"} {
			switch { // people speak of half the causes, whatever the truth
			case r.IntN(2) == 0:
			case slices.Contains(v.Active, at):
				c.Confirmed = append(c.Confirmed, id)
			default:
				c.RuledOut = append(c.RuledOut, id)
			}
		}
		cases = append(cases, c)
	}
	now := base
	for step := range 3 {
		now = laidOver(now, report(t, base, now, cases...), step)
		if step == 0 {
			once = now.Bundle.Causes[0].Rates["wet"]
		}
	}
	if math.Abs(once-0.3) > 0.05 {
		t.Errorf("after one report the rate of a is %.3f", once)
	}
	for _, c := range []struct {
		name          string
		is, was, near float64
	}{
		{"rate of a", now.Bundle.Causes[0].Rates["wet"], 0.3, 0.03}, {"rate of b", now.Bundle.Causes[1].Rates["wet"], 0.05, 0.02},
		{"rate of c", now.Bundle.Causes[2].Rates["wet"], 0.15, 0.03}, {"drive", now.Bundle.Drives[0].P, 0.7, 0.12},
		{"link", now.Bundle.Findings[1].Rows[0].P, 0.9, 0.12},
	} {
		if math.Abs(c.is-c.was) > c.near {
			t.Errorf("%s is learned to be %.3f, it is %.3f", c.name, c.is, c.was)
		}
	}
	if now.Bundle.Causes[1].Rates["dry"] != 0.05 {
		t.Error("a season without cases changed")
	}
}

// laidOver is k with the changes of a report.
func laidOver(k *knowledge.Loaded, r learn.Report, step int) *knowledge.Loaded {
	next := small(0.1, 0.1, 0.1)
	next.Edition = fmt.Sprint("step", step)
	for i := range k.Bundle.Causes {
		for s, p := range k.Bundle.Causes[i].Rates {
			next.Bundle.Causes[i].Rates[s] = p
		}
		next.Bundle.Findings[i].Rows[0].P = k.Bundle.Findings[i].Rows[0].P
	}
	next.Bundle.Drives[0].P = k.Bundle.Drives[0].P
	for _, c := range r.Changes {
		at := slices.Index([]string{"a", "b", "c"}, c.Cause)
		switch c.Kind {
		case learn.Rate:
			next.Bundle.Causes[at].Rates[c.Season] = c.After
		case learn.Drive:
			next.Bundle.Drives[0].P = c.After
		case learn.Link:
			next.Bundle.Findings[at].Rows[0].P = c.After
		}
	}
	return next
}
