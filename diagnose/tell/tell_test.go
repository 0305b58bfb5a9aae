package tell

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// twoSigns is a bundle of two causes and two checks: one tells them apart well, the other not at all.
func twoSigns() *knowledge.Loaded {
	finding := func(id string, a, b float64) knowledge.Finding {
		return knowledge.Finding{ID: id, Kind: "look", States: []knowledge.State{{ID: "no"}, {ID: "yes"}},
			Base: map[string][]float64{"all": {0.9, 0.1}},
			Rows: []knowledge.Row{{State: "yes", Cause: "a", P: a}, {State: "yes", Cause: "b", P: b}}}
	}
	check := func(id string) checks.Check {
		return checks.Check{ID: id, Kind: checks.Choice, Minutes: 1, Yields: []checks.Yield{{Finding: id, From: "state"}}}
	}
	return &knowledge.Loaded{Bundle: knowledge.Bundle{
		Seasons:  []string{"wet", "dry"},
		Settings: knowledge.Settings{MaxSet: 2, Likely: 0.25, CantTell: 0.4, GroupShare: 1.0 / 3},
		Causes: []knowledge.Cause{
			{ID: "a", Rates: map[string]float64{"wet": 0.1, "dry": 0.2}}, {ID: "b", Rates: map[string]float64{"wet": 0.3, "dry": 0.1}},
		},
		Findings: []knowledge.Finding{finding("same", 0.4, 0.4), finding("other", 0.9, 0.2)},
		Checks:   []checks.Check{check("same"), check("other")},
	}}
}

func of(t *testing.T, k *knowledge.Loaded, o Options) Report {
	t.Helper()
	e, err := diagnose.New(&k.Bundle)
	if err != nil {
		t.Fatal(err)
	}
	return Of(k, e, o)
}

func TestAPairIsToldByTheCheckThatDiffers(t *testing.T) {
	r := of(t, twoSigns(), Options{Seed: 7, Visits: 20000, Pairs: 5})
	if len(r.Pairs) != 1 {
		t.Fatalf("%d pairs of two causes", len(r.Pairs))
	}
	p := r.Pairs[0]
	// Of the answers yes 0.9 and 0.2, no 0.1 and 0.8: misled are half of 0.2 and half of 0.1.
	if p.Check != "other" || math.Abs(p.CheckError-0.15) > 1e-12 {
		t.Errorf("the check %s misleads in %v", p.Check, p.CheckError)
	}
	entropy := func(p float64) float64 { return -p*math.Log2(p) - (1-p)*math.Log2(1-p) }
	if want := entropy(0.55) - entropy(0.9)/2 - entropy(0.2)/2; math.Abs(p.Bits-want) > 1e-12 {
		t.Errorf("it tells %v bits, want %v", p.Bits, want)
	}
	// The other finding is the same for both, so all findings mislead as often as the one.
	if math.Abs(p.Error-0.15) > 4*math.Sqrt(0.15*0.85/40000) {
		t.Errorf("drawn visits mislead in %v, want about 0.15", p.Error)
	}
	if p.Season != "wet" && p.Season != "dry" || p.A != "a" || p.B != "b" {
		t.Errorf("%+v", p)
	}
}

// A finding that repeats another counts by its share, as in a diagnosis; it must not make a pair look easier to tell.
func TestRepeatedFindingsCountOnce(t *testing.T) {
	k := twoSigns()
	k.Bundle.Findings[0].Rows = slices.Clone(k.Bundle.Findings[1].Rows)
	k.Bundle.Groups = [][]string{{"same", "other"}}
	e, err := diagnose.New(&k.Bundle)
	if err != nil {
		t.Fatal(err)
	}
	n := networkOf(&k.Bundle, e, "wet")
	if got, want := n.weigh([]float64{3, -6}), 3*k.Bundle.Settings.GroupShare-6; math.Abs(got-want) > 1e-12 {
		t.Errorf("weighed %v, want %v", got, want)
	}
}

func TestDrawsFollowTheChances(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	seen := make([]float64, 3)
	for range 30000 {
		seen[pick(rng, []float64{0.5, 0.3, 0.2})] += 1.0 / 30000
	}
	if math.Abs(seen[0]-0.5) > 0.012 || math.Abs(seen[1]-0.3) > 0.012 {
		t.Errorf("%v", seen)
	}
}

func builtIn(t *testing.T) *knowledge.Loaded {
	t.Helper()
	k, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestReportOnTheBuiltInKnowledge(t *testing.T) {
	k := builtIn(t)
	o := Options{Seed: 1, Visits: 40, Pairs: 30}
	r := of(t, k, o)
	if again := of(t, k, o); !reflect.DeepEqual(r, again) {
		t.Error("the same seed gives another report")
	}
	if len(r.Pairs) != o.Pairs || len(r.Causes) != len(k.Bundle.Causes) {
		t.Errorf("%d pairs, %d causes", len(r.Pairs), len(r.Causes))
	}
	for i, p := range r.Pairs {
		if p.Error < 0 || p.Error > 0.5 || p.CheckError < 0 || p.CheckError > 0.5 || p.Bits <= 0 || p.Bits > 1 {
			t.Errorf("%+v", p)
		}
		if i > 0 && p.Error > r.Pairs[i-1].Error {
			t.Errorf("%s and %s stand below an easier pair", p.A, p.B)
		}
		if _, ok := k.Check(p.Check); !ok || p.A == k.Bundle.Settings.Other || p.B == k.Bundle.Settings.Other {
			t.Errorf("%+v", p)
		}
	}
	links := 0
	for _, c := range r.Causes {
		links += c.Links
		if c.Published < 0 || c.Published > 1 {
			t.Errorf("%+v", c)
		}
	}
	if at := slices.IndexFunc(r.Counts, func(c Count) bool { return c.What == "links" }); r.Counts[at].N != links {
		t.Errorf("%d links in all, %d by cause", r.Counts[at].N, links)
	}
}

func TestEveryRowIsCountedOnce(t *testing.T) {
	k := builtIn(t)
	r := of(t, k, Options{Seed: 1, Visits: 1})
	all := 0
	for _, f := range r.Rests {
		sum := 0
		for _, n := range f.Rows {
			sum += n
		}
		if sum != f.All {
			t.Errorf("%s: %d rows, %d by status", f.File, f.All, sum)
		}
		all += sum
	}
	if all != len(k.Rests) || all < 1500 {
		t.Errorf("%d rows counted of %d", all, len(k.Rests))
	}
}

func TestTheReportReads(t *testing.T) {
	var text strings.Builder
	if err := of(t, builtIn(t), Options{Seed: 1, Visits: 5, Pairs: 3}).Write(&text); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Knowledge " + builtIn(t).Edition, "37    causes", "links.csv", "Sources quoted from memory", "Weakly evidenced", "The 3 pairs"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("the report lacks %q:\n%s", want, text.String())
		}
	}
}
