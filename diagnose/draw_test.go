package diagnose_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"swardbook/diagnose"
)

// TestDrawnCausesFollowThePrior draws from small networks whose every set has its chance in the engine, as the limit on sets is
// the number of causes.
func TestDrawnCausesFollowThePrior(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 3 {
		b := randomBundle(rng, 4, 2, 4)
		e, err := diagnose.New(b)
		if err != nil {
			t.Fatal(err)
		}
		c := diagnose.Case{Season: "wet"}
		want := map[string]float64{}
		if err := e.Sets(c, func(active []int32, p float64) { want[fmt.Sprint(active)] = p }); err != nil {
			t.Fatal(err)
		}
		const draws = 60000
		got := map[string]float64{}
		for range draws {
			d, err := e.Draw(c, rng)
			if err != nil {
				t.Fatal(err)
			}
			got[fmt.Sprint(d.Active)] += 1.0 / draws
		}
		for set, p := range want {
			if math.Abs(got[set]-p) > 5*math.Sqrt(p/draws)+1e-4 {
				t.Errorf("set %s is drawn %.4f of the time, its chance is %.4f", set, got[set], p)
			}
		}
	}
}

// TestChancesAreTheEngines compares with what one observation does to the odds of sets, which is its chance under them.
func TestChancesAreTheEngines(t *testing.T) {
	e, k := engine(t), loaded(t)
	before := posteriors(t, e, diagnose.Case{Season: "fall"})
	for i := range k.Bundle.Findings {
		f := &k.Bundle.Findings[i]
		if f.Multi || i%3 > 0 {
			continue
		}
		after := posteriors(t, e, diagnose.Case{Season: "fall", Observed: []diagnose.Observed{{Finding: f.ID, State: f.States[0].ID}}})
		for _, set := range [][]int{{0}, {5}, {2, 7}, {1, 4, 30}} {
			sound, _ := e.Chances(f.ID, "fall", nil)
			ill, ok := e.Chances(f.ID, "fall", set)
			if !ok || math.Abs(sum(ill)-1) > 1e-12 {
				t.Fatalf("%s: chances %v", f.ID, ill)
			}
			name := fmt.Sprint(set)
			want := after[name] / before[name] / (after["[]"] / before["[]"])
			if got := ill[0] / sound[0]; math.Abs(got-want) > 1e-9*math.Max(1, want) {
				t.Errorf("%s under %v: %v, the engine weighs with %v", f.ID, set, got, want)
			}
		}
	}
}

func posteriors(t *testing.T, e *diagnose.Engine, c diagnose.Case) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	if err := e.Sets(c, func(active []int32, p float64) { out[fmt.Sprint(active)] = p }); err != nil {
		t.Fatal(err)
	}
	return out
}

func sum(xs []float64) (s float64) {
	for _, x := range xs {
		s += x
	}
	return s
}

func TestSetsAreTheLikelihoods(t *testing.T) {
	e := engine(t)
	c := workedCases(t)[0].Case
	want, nothing, err := e.Likelihoods(c)
	if err != nil {
		t.Fatal(err)
	}
	got, empty, all := make([]float64, len(want)), 0.0, 0.0
	if err := e.Sets(c, func(active []int32, p float64) {
		all += p
		if len(active) == 0 {
			empty = p
		}
		for _, at := range active {
			got[at] += p
		}
	}); err != nil {
		t.Fatal(err)
	}
	if math.Abs(all-1) > 1e-9 || math.Abs(empty-nothing) > 1e-12 {
		t.Errorf("all sets %v, nothing wrong %v, want 1 and %v", all, empty, nothing)
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-9 {
			t.Errorf("cause %d: %v, want %v", i, got[i], want[i])
		}
	}
}

func TestFiringTellsWhatTheContextLeavesOfABaseRate(t *testing.T) {
	e, k := engine(t), loaded(t)
	for name, x := range map[string]struct {
		context map[string]string
		cause   string
		times   float64
	}{
		"nothing said":       {nil, "sprinkler_coverage", 1},
		"a factor":           {map[string]string{"rain": "week"}, "sprinkler_coverage", 0.4},
		"two factors":        {map[string]string{"rain": "week", "region": "northeast"}, "sprinkler_coverage", 0.36},
		"another rate":       {map[string]string{"system": "none"}, "sprinkler_coverage", 0},
		"of another cause":   {map[string]string{"system": "none"}, "rust", 1},
		"for all but a few":  {map[string]string{"visit": "routine"}, "rust", 0.35},
		"one of the few":     {map[string]string{"visit": "routine"}, "shade", 0.6},
		"an unknown context": {map[string]string{"moon": "full"}, "rust", 1},
	} {
		f, err := e.Firing(diagnose.Case{Season: "fall", Context: x.context})
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range k.Bundle.Causes {
			if c.ID == x.cause && math.Abs(f.Times[i]-x.times) > 1e-12 {
				t.Errorf("%s: %v times the base rate, want %v", name, f.Times[i], x.times)
			}
			if f.Times[i] > 0 && math.Abs(f.Rate[i]-f.Times[i]*c.Rates["fall"]) > 1e-12 {
				t.Errorf("%s: %s has rate %v", name, c.ID, f.Rate[i])
			}
		}
	}
}

func TestShownLeavesOutWhatDoesNotCount(t *testing.T) {
	e, k := engine(t), loaded(t)
	shown, err := e.Shown(diagnose.Case{Observed: []diagnose.Observed{
		{Finding: "penetration", State: "hard"}, {Finding: "moisture_profile", State: "dry_all"},
		{Finding: "core_depth_in", Number: &diagnose.Number{Mean: 3, N: 1}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, s := range shown {
		ids = append(ids, k.Bundle.Findings[s.Finding].ID)
		if math.Abs(sum(s.State)-1) > 1e-9 {
			t.Errorf("%s: %v", ids[len(ids)-1], s.State)
		}
	}
	slices.Sort(ids)
	if !slices.Equal(ids, []string{"core_depth_in", "moisture_profile"}) {
		t.Errorf("shown: %v", ids)
	}
}
