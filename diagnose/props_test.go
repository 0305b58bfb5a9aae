package diagnose_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// drawCase draws a case on the whole knowledge without anything wrong in it.
func drawCase(t *testing.T, rt *rapid.T) diagnose.Case {
	b := &loaded(t).Bundle
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
	for {
		c := randomCase(rng, b, 0)
		if !slices.ContainsFunc(c.Observed, func(o diagnose.Observed) bool { return o.State == "something else" }) {
			return c
		}
	}
}

func weigh(t *testing.T, rt *rapid.T, c diagnose.Case) []float64 {
	like, nothing, err := engine(t).Likelihoods(c)
	if err != nil {
		rt.Fatal(err)
	}
	return append(slices.Clone(like), nothing)
}

func TestLikelihoodsAreChances(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		for _, p := range weigh(t, rt, drawCase(t, rt)) {
			if !(p >= 0 && p <= 1) {
				rt.Fatalf("%v is no chance", p)
			}
		}
	})
}

// What only ranks says the same as what explains: the reasons come from a likelihood and never change one.
func TestRankIsDiagnoseWithoutReasons(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := drawCase(t, rt)
		whole, err := engine(t).Diagnose(c)
		if err != nil {
			rt.Fatal(err)
		}
		for i := range whole.Causes {
			l := &whole.Causes[i]
			l.For, l.Against, l.Carried = []diagnose.Weight{}, []diagnose.Weight{}, 0
		}
		whole.Next = []diagnose.Next{}
		if brief, err := engine(t).Rank(c); err != nil || !reflect.DeepEqual(brief, whole) {
			rt.Fatalf("%v\n%+v\n%+v", err, brief, whole)
		}
	})
}

func TestOrderOfEvidenceIsIrrelevant(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := drawCase(t, rt)
		want := weigh(t, rt, c)
		c.Observed = rapid.Permutation(c.Observed).Draw(rt, "order")
		if got := weigh(t, rt, c); !slices.Equal(got, want) {
			rt.Fatalf("%v\n%v", got, want)
		}
	})
}

// What was not looked at is no evidence: not even which findings there are to look at.
func TestNotLookedAtChangesNothing(t *testing.T) {
	b := small(t)
	whole := smallEngine(t)
	rapid.Check(t, func(rt *rapid.T) {
		seen := rapid.SliceOfDistinct(rapid.SampledFrom(b.Findings[:3]), func(f knowledge.Finding) string { return f.ID }).Draw(rt, "seen")
		c := diagnose.Case{Season: "summer"}
		for _, f := range seen {
			c.Observed = append(c.Observed, diagnose.Observed{Finding: f.ID, State: f.States[0].ID})
		}
		less := *b
		less.Findings, less.Checks, less.Ignore = b.Findings[:3], nil, nil
		less.Groups, less.Adjust = b.Groups[:1], b.Adjust[:3]
		e, err := diagnose.New(&less)
		if err != nil {
			rt.Fatal(err)
		}
		got, _, err := e.Likelihoods(c)
		want, _, err2 := whole.Likelihoods(c)
		if err != nil || err2 != nil || !slices.Equal(got, want) {
			rt.Fatalf("%v %v\n%v %v", got, err, want, err2)
		}
	})
}

// The further a count lies beyond the limit, the surer is the cause that raises it.
func TestCountsAreMonotone(t *testing.T) {
	e := smallEngine(t)
	rapid.Check(t, func(rt *rapid.T) {
		low := rapid.Float64Range(0, 60).Draw(rt, "low")
		high := low + rapid.Float64Range(0, 60).Draw(rt, "more")
		at := func(x float64) float64 {
			c := diagnose.Case{Season: "summer", Observed: []diagnose.Observed{{Finding: "bug_count", Number: &diagnose.Number{Mean: x, N: 1}}}}
			return likelihood(answer(t, e, c), "bugs")
		}
		if a, b := at(low), at(high); a > b+1e-9 {
			rt.Fatalf("%v bugs: %v, %v bugs: %v", low, a, high, b)
		}
	})
}

// More cores of the same mean and spread move a likelihood further from what it is without them, away from a limit.
func TestMoreCoresSharpen(t *testing.T) {
	e := smallEngine(t)
	none := likelihood(answer(t, e, diagnose.Case{Season: "summer"}), "dry")
	rapid.Check(t, func(rt *rapid.T) {
		mean := rapid.Float64Range(0.5, 2.9).Draw(rt, "mean")
		sd := rapid.Float64Range(0.2, 3).Draw(rt, "sd")
		few := rapid.IntRange(2, 6).Draw(rt, "few")
		more := few + rapid.IntRange(1, 20).Draw(rt, "more")
		with := func(n int) float64 {
			c := diagnose.Case{Season: "summer", Observed: []diagnose.Observed{{Finding: "core", Number: &diagnose.Number{Mean: mean, SD: sd, N: n}}}}
			return likelihood(answer(t, e, c), "dry") - none
		}
		if a, b := with(few), with(more); a <= 0 || b < a-1e-9 {
			rt.Fatalf("%d cores move it by %v, %d by %v", few, a, more, b)
		}
	})
}

// A reading next to a limit cannot flip the answer: just below and just above it say nearly the same.
func TestNoJumpAtALimit(t *testing.T) {
	e := engine(t)
	for _, f := range loaded(t).Bundle.Findings {
		for _, band := range f.Bands[min(1, len(f.Bands)):] {
			at := func(x float64) []float64 {
				c := diagnose.Case{Season: "summer", Observed: []diagnose.Observed{{Finding: f.ID, Number: &diagnose.Number{Mean: x, N: 1}}}}
				like, _, err := e.Likelihoods(c)
				if err != nil {
					t.Fatal(err)
				}
				return like
			}
			if d := apart(at(band.Low*(1-1e-6)), at(band.Low*(1+1e-6))); !(d < 1e-3) {
				t.Errorf("%s at %v: %v", f.ID, band.Low, d)
			}
		}
	}
}

// What speaks for a cause is what its likelihood loses without the finding.
func TestWeightsAreWhatLeavingOutCosts(t *testing.T) {
	e := smallEngine(t)
	c := diagnose.Case{Season: "summer", Observed: []diagnose.Observed{
		{Finding: "probe", State: "hard"}, {Finding: "ground", State: "hot_edge"}, {Finding: "events", Present: []string{"traffic"}},
	}}
	odds := func(p float64) float64 { return math.Log(p / (1 - p)) }
	all := answer(t, e, c)
	for i, o := range c.Observed {
		less := c
		less.Observed = slices.Delete(slices.Clone(c.Observed), i, i+1)
		without := answer(t, e, less)
		for _, l := range all.Causes {
			want := odds(l.Likelihood) - odds(likelihood(without, l.ID))
			if got := signed(l, o.Finding); math.Abs(got-want) > 1e-9 && math.Abs(want) > 0.01 {
				t.Errorf("%s for %s: %v, want %v", o.Finding, l.ID, got, want)
			}
		}
	}
}

func signed(l diagnose.Likelihood, finding string) float64 {
	for _, w := range l.For {
		if w.Finding == finding {
			return w.Weight
		}
	}
	for _, w := range l.Against {
		if w.Finding == finding {
			return -w.Weight
		}
	}
	return 0
}
