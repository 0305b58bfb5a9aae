package diagnose_test

import (
	"math"
	"slices"
	"testing"

	"swardbook/diagnose"
)

// TestAPathLeadsToTheAnswer: every path ends at the likelihood that is answered, and its first chance times what each finding
// multiplies, as odds, is the last.
func TestAPathLeadsToTheAnswer(t *testing.T) {
	e := engine(t)
	for _, wc := range workedCases(t) {
		paths, err := e.Paths(wc.Case)
		if err != nil {
			t.Fatal(err)
		}
		a, err := e.Diagnose(wc.Case)
		if err != nil {
			t.Fatal(err)
		}
		if len(paths.Taken) != a.Counted || paths.Season != a.Season {
			t.Errorf("%s: %d findings in %s, the answer has %d in %s", a.ID, len(paths.Taken), paths.Season, a.Counted, a.Season)
		}
		if math.Abs(paths.Nothing.Likelihood()-a.NothingWrong) > 1e-9 {
			t.Errorf("%s: nothing wrong ends at %v, answered %v", a.ID, paths.Nothing.Likelihood(), a.NothingWrong)
		}
		for _, c := range a.Causes {
			p, ok := paths.Of(c.ID)
			if !ok || math.Abs(p.Likelihood()-c.Likelihood) > 1e-9 {
				t.Errorf("%s: %s ends at %v, answered %v", a.ID, c.ID, p.Likelihood(), c.Likelihood)
			}
			odds := diagnose.Odds(p.Before)
			for i := range p.After {
				odds *= p.Times(i)
			}
			if c.Likelihood > 1e-9 && c.Likelihood < 1-1e-9 && math.Abs(odds/diagnose.Odds(c.Likelihood)-1) > 1e-6 {
				t.Errorf("%s: %s multiplies to odds of %v, answered %v", a.ID, c.ID, odds, diagnose.Odds(c.Likelihood))
			}
		}
	}
}

// TestAPathGrowsByOneFinding: after k findings a cause is as likely as when only these were seen. That holds where no finding changes
// how another counts; such cases are made of those at hand.
func TestAPathGrowsByOneFinding(t *testing.T) {
	e, compared := engine(t), 0
	for _, wc := range workedCases(t) {
		paths, err := e.Paths(wc.Case)
		if err != nil {
			t.Fatal(err)
		}
		rates := func(p diagnose.Paths) (out []float64) {
			for _, c := range p.Causes {
				out = append(out, c.Rate)
			}
			return out
		}
		for k := range paths.Taken {
			fewer := wc.Case
			fewer.Observed = nil
			for _, taken := range paths.Taken[:k+1] {
				at := slices.IndexFunc(wc.Case.Observed, func(o diagnose.Observed) bool { return o.Finding == taken.Finding })
				fewer.Observed = append(fewer.Observed, wc.Case.Observed[at])
			}
			part, err := e.Paths(fewer)
			if err != nil {
				t.Fatal(err)
			}
			same := slices.EqualFunc(part.Taken, paths.Taken[:k+1], func(x, y diagnose.Taken) bool { return x.Finding == y.Finding && x.Share == y.Share })
			if !same || !slices.Equal(rates(part), rates(paths)) {
				continue
			}
			like, _, err := e.Likelihoods(fewer)
			if err != nil {
				t.Fatal(err)
			}
			for i, c := range paths.Causes {
				if compared++; math.Abs(c.After[k]-like[i]) > 1e-9 {
					t.Errorf("%s after %d findings: %s at %v, want %v", wc.Case.ID, k+1, c.ID, c.After[k], like[i])
				}
			}
		}
	}
	if compared < 1000 {
		t.Errorf("only %d chances compared", compared)
	}
}

// TestAPathBeginsAtTheRate: without a finding, a step or a visit before, a cause that nothing drives begins near its rate in the season.
func TestAPathBeginsAtTheRate(t *testing.T) {
	e, know := engine(t), loaded(t)
	p, err := e.Paths(diagnose.Case{ID: "bare", Season: know.Bundle.Seasons[0]})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range p.Causes {
		if c.Season != c.Known || c.Known != c.Rate || c.Rate != min(know.Bundle.Causes[slices.IndexFunc(p.Causes, func(x diagnose.Path) bool { return x.ID == c.ID })].Rates[p.Season], 0.95) {
			t.Errorf("%s: %v, %v, %v", c.ID, c.Season, c.Known, c.Rate)
		}
		if c.Likelihood() != c.Before || len(c.After) != 0 {
			t.Errorf("%s: %v, want %v", c.ID, c.Likelihood(), c.Before)
		}
	}
	if _, ok := p.Of("none such"); ok {
		t.Error("a path of a cause that there is none of")
	}
	if _, err := e.Paths(diagnose.Case{ID: "bare"}); err == nil {
		t.Error("a case without a season has paths")
	}
}

func BenchmarkPaths(b *testing.B) {
	e, c := engine(b), fourteen(b)
	for b.Loop() {
		if _, err := e.Paths(c); err != nil {
			b.Fatal(err)
		}
	}
}
