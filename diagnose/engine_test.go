package diagnose_test

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

func state(finding, s string) diagnose.Observed { return diagnose.Observed{Finding: finding, State: s} }

func summer(o ...diagnose.Observed) diagnose.Case {
	return diagnose.Case{ID: "zone", Season: "summer", Observed: o}
}

func TestContradictionNamesBothFindings(t *testing.T) {
	_, err := smallEngine(t).Diagnose(summer(state("tint", "straw"), state("shell", "whole"), state("stamp", "present")))
	var clash *diagnose.Contradiction
	if !errors.As(err, &clash) || !slices.Equal(clash.Findings, []string{"stamp", "shell"}) || clash.Case != "zone" {
		t.Fatalf("%v", err)
	}
	if say := err.Error(); say != "zone: stamp and shell can't all be true at once" {
		t.Error(say)
	}
}

func TestInputErrorNamesCaseAndFinding(t *testing.T) {
	_, err := smallEngine(t).Diagnose(summer(state("tint", "plaid")))
	if err == nil || err.Error() != `zone tint: there is no state "plaid"` {
		t.Error(err)
	}
}

// A bundle that can't be reasoned with is refused when the engine is made.
func TestNewRefuses(t *testing.T) {
	for name, spoil := range map[string]func(b *knowledge.Bundle){
		"circle": func(b *knowledge.Bundle) {
			b.Drives = append(b.Drives, knowledge.Drive{Parent: "weeds", Child: "missed", P: 0.1})
		},
		"join":          func(b *knowledge.Bundle) { b.Drives[0].Child = "nobody" },
		"below 1":       func(b *knowledge.Bundle) { b.Drives[0].P = 1 },
		"max_set":       func(b *knowledge.Bundle) { b.Settings.MaxSet = 0 },
		"cause dry":     func(b *knowledge.Bundle) { b.Causes[1].ID = "dry" },
		"rate":          func(b *knowledge.Bundle) { b.Causes[0].Rates = map[string]float64{"all": 2} },
		"finding core ": func(b *knowledge.Bundle) { b.Findings[2].ID = "core" },
		"unknown cause": func(b *knowledge.Bundle) { b.Findings[0].Rows[0].Cause = "nobody" },
		"unknown state": func(b *knowledge.Bundle) { b.Findings[0].Rows[0].State = "plaid" },
		"no chance":     func(b *knowledge.Bundle) { b.Findings[0].Rows[0].P = 1.5 },
		"stands twice":  func(b *knowledge.Bundle) { b.Findings[0].Rows = append(b.Findings[0].Rows, b.Findings[0].Rows[0]) },
		"add up":        func(b *knowledge.Bundle) { b.Findings[0].Base["all"][0] = 0.1 },
		"base shares":   func(b *knowledge.Bundle) { b.Findings[0].Base = map[string][]float64{"summer": {1, 0, 0, 0}} },
		"bands":         func(b *knowledge.Bundle) { b.Findings[1].Bands = b.Findings[1].Bands[:2] },
		"base chance":   func(b *knowledge.Bundle) { b.Findings[7].Base["all"][1] = 1 },
		"unknown finding": func(b *knowledge.Bundle) {
			b.Groups[0][0] = "nothing"
		},
		"states add": func(b *knowledge.Bundle) {
			b.Findings[8].Rows = append(b.Findings[8].Rows, knowledge.Row{State: "absent", Cause: "bugs", P: 0.2})
		},
	} {
		b := small(t)
		spoil(b)
		if _, err := diagnose.New(b); err == nil || !strings.Contains(err.Error(), strings.TrimSpace(name)) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// One cause alone follows its rows exactly, whether a finding is produced or older than its cause.
func TestSingleCauseFollowsItsTable(t *testing.T) {
	b := small(t)
	b.Causes, b.Drives, b.Groups, b.Adjust, b.Ignore = b.Causes[3:4], nil, nil, nil, nil
	for i := range b.Findings {
		b.Findings[i].Rows = slices.DeleteFunc(b.Findings[i].Rows, func(r knowledge.Row) bool { return r.Cause != "bugs" })
	}
	e, err := diagnose.New(b)
	if err != nil {
		t.Fatal(err)
	}
	const rate = 0.05
	for _, w := range []struct {
		finding, state string
		p, base        float64
	}{{"tint", "straw", 0.7, 0.13}, {"tint", "pale", 0.3 * 0.06 / 0.87, 0.06}, {"ground", "hot_edge", 0.4, 0.1}, {"ground", "level", 0.6 * 0.8 / 0.9, 0.8}} {
		like, _, err := e.Likelihoods(summer(state(w.finding, w.state)))
		want := rate * w.p / (rate*w.p + (1-rate)*w.base)
		if err != nil || apart(like, []float64{want}) > 1e-12 {
			t.Errorf("%s %s: %v, want %v (%v)", w.finding, w.state, like, want, err)
		}
	}
}

func TestConsequencesNeverLead(t *testing.T) {
	b := &loaded(t).Bundle
	consequence := map[string]bool{}
	for _, c := range b.Causes {
		consequence[c.ID] = c.Consequence
	}
	for _, w := range workedCases(t) {
		a := answer(t, engine(t), w.Case)
		if consequence[a.Causes[0].ID] && a.Causes[1].Likelihood >= a.Causes[0].Likelihood/2 && a.Causes[0].Role != "" {
			t.Errorf("%s: %s leads %s", w.Case.ID, a.Causes[0].ID, a.Causes[1].ID)
		}
		place := map[string]int{}
		for i, l := range a.Causes {
			place[l.ID] = i
		}
		for _, l := range a.Causes {
			for _, p := range l.DrivenBy {
				if place[p] > place[l.ID] && (consequence[l.ID] || l.Role == diagnose.Primary) {
					t.Errorf("%s: %s is read before its driver %s", w.Case.ID, l.ID, p)
				}
			}
		}
	}
}

func TestEveryCauseIsListedOnce(t *testing.T) {
	a := answer(t, smallEngine(t), summer(state("tint", "straw")))
	var ids []string
	for _, l := range a.Causes {
		ids = append(ids, l.ID)
	}
	slices.Sort(ids)
	if len(slices.Compact(ids)) != len(small(t).Causes) {
		t.Error(ids)
	}
}

// Next never proposes what is done, retired, or says nothing; the best per minute comes first.
func TestNextChecks(t *testing.T) {
	a := answer(t, smallEngine(t), summer(state("tint", "straw"), state("shell", "whole")))
	for i, n := range a.Next {
		if slices.Contains([]string{"tint", "shell", "old_way", "note", "photo"}, n.Check) {
			t.Errorf("%s is proposed", n.Check)
		}
		if n.Gain <= 0 || i > 0 && n.Gain/(n.Minutes+2) > a.Next[i-1].Gain/(a.Next[i-1].Minutes+2)+1e-9 {
			t.Errorf("place %d: %+v", i+1, n)
		}
		if len(n.Apart) > 3 {
			t.Errorf("%v", n.Apart)
		}
	}
	if len(a.Next) != 5 { // without bugs, which a whole shell excludes, a stamp says nothing
		t.Errorf("%d checks: %v", len(a.Next), checkIDs(a, 20))
	}
}

// A check that would not count in this context is not proposed; one that repeats what is known is worth less.
func TestNextKnowsContextAndGroups(t *testing.T) {
	e := smallEngine(t)
	if a := answer(t, e, summer(state("core", "short"))); slices.Contains(checkIDs(a, 20), "probe") {
		t.Error("the probe says nothing in dry soil and yet is proposed")
	}
	b := small(t)
	b.Groups = nil
	apart, err := diagnose.New(b)
	if err != nil {
		t.Fatal(err)
	}
	gain := func(e *diagnose.Engine) float64 {
		a := answer(t, e, summer(diagnose.Observed{Finding: "plants", Present: []string{"knotweed"}}))
		i := slices.Index(checkIDs(a, 20), "tint")
		return a.Next[i].Gain
	}
	if once, twice := gain(e), gain(apart); once >= twice {
		t.Errorf("worth %v as a repetition, %v by itself", once, twice)
	}
}

func TestObserve(t *testing.T) {
	numbers := func(xs ...float64) checks.Value { return checks.Value{Numbers: xs} }
	got := diagnose.Observe(small(t), []diagnose.CheckValue{
		{Check: "plants", Value: checks.Value{Present: []string{"clover"}, Absent: []string{"knotweed"}}},
		{Check: "core", Value: numbers(1)},
		{Check: "core", Value: numbers(2, 2.5, 7, 7.5)},
		{Check: "tint", Value: checks.Value{State: "straw"}},
		{Check: "probe", Value: checks.Value{Blank: true}},
		{Check: "bug_count", Value: numbers(0, 12, 4)},
		{Check: "note", Value: checks.Value{Text: "gate sticks"}},
		{Check: "gone", Value: checks.Value{State: "x"}},
	})
	var ids []string
	for _, o := range got {
		ids = append(ids, o.Finding)
	}
	if !slices.Equal(ids, []string{"tint", "core", "core_range", "bug_count", "plants"}) {
		t.Fatal(ids)
	}
	if n := got[1].Number; n.Mean != 4.75 || n.N != 4 || n.SD < 2.9 || n.SD > 2.91 {
		t.Errorf("%+v", n)
	}
	if got[2].Number.Mean != 5.5 || got[3].Number.Mean != 12 || got[0].State != "straw" || got[4].Absent[0] != "knotweed" {
		t.Errorf("%+v", got)
	}
	if few := diagnose.Observe(small(t), []diagnose.CheckValue{{Check: "core", Value: numbers(2, 3, 4)}}); len(few) != 1 {
		t.Errorf("three cores say %v", few)
	}
	if zero := diagnose.Observe(small(t), []diagnose.CheckValue{{Check: "bug_count", Value: numbers(0)}}); len(zero) != 1 || zero[0].Number == nil {
		t.Errorf("a count of zero says %v", zero)
	}
}

// An engine may be used by several at once.
func TestEngineIsSafeForSeveral(t *testing.T) {
	e, cases := engine(t), workedCases(t)
	want := make([]diagnose.Answer, len(cases))
	for i, c := range cases {
		want[i] = answer(t, e, c.Case)
	}
	var all sync.WaitGroup
	for i, c := range cases {
		all.Go(func() {
			a, err := e.Diagnose(c.Case)
			if err != nil {
				t.Error(err)
				return
			}
			for k := range a.Causes {
				if a.Causes[k].ID != want[i].Causes[k].ID || a.Causes[k].Likelihood != want[i].Causes[k].Likelihood {
					t.Errorf("%s: %v, want %v", c.Case.ID, a.Causes[k], want[i].Causes[k])
					return
				}
			}
		})
	}
	all.Wait()
}
