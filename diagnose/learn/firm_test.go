package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/learn"
	"swardbook/diagnose/simulate"
)

// firm is a firm on whose lawns the truth is known and is not what our numbers say.
type firm struct {
	ours, truth *knowledge.Loaded
	engine      *diagnose.Engine // ours
	world       *simulate.World
}

// theirRates are the firm's rates in fall where they differ from ours; the other seasons are as ours.
var theirRates = map[string]float64{
	"soil_compaction": 0.5, "white_grubs": 0.3, "weed_moss_invasion": 0.12, "shade": 0.04, "rust": 0.3, "excess_thatch": 0.3,
	"nitrogen_deficiency": 0.04, "overwatering_drainage": 0.25,
}

func load(t testing.TB) *knowledge.Loaded {
	t.Helper()
	k, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func newFirm(t testing.TB) *firm {
	t.Helper()
	f := &firm{ours: load(t)}
	var rates strings.Builder
	fmt.Fprintf(&rates, "cause,%s,source\n", strings.Join(f.ours.Bundle.Seasons, ","))
	for _, c := range f.ours.Bundle.Causes {
		if fall, ok := theirRates[c.ID]; ok {
			fmt.Fprintf(&rates, "%s,%v,%v,%v,%v,EJ\n", c.ID, c.Rates["spring"], c.Rates["summer"], fall, c.Rates["winter"])
		}
	}
	var err error
	if f.truth, err = learn.Apply(knowledge.Files(), knowledge.Texts{"rates.csv": rates.String()}); err != nil {
		t.Fatal(err)
	}
	f.engine = engineOf(t, f.ours)
	f.world = simulate.NewWorld(&f.truth.Bundle, engineOf(t, f.truth))
	return f
}

func engineOf(t testing.TB, k *knowledge.Loaded) *diagnose.Engine {
	t.Helper()
	e, err := diagnose.New(&k.Bundle)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// visit is visit i of the firm: nine checks, drawn, in one zone.
func (f *firm) visit(t testing.TB, i int) (simulate.Visit, diagnose.Case) {
	t.Helper()
	r := rand.New(rand.NewPCG(99, uint64(i)))
	v, err := f.world.Draw("fall", map[string]string{"visit": "complaint"}, r)
	if err != nil {
		t.Fatal(err)
	}
	now := v.Case
	for _, at := range r.Perm(len(f.ours.Bundle.Checks))[:9] {
		now = v.With(now, &f.ours.Bundle.Checks[at])
	}
	return v, now
}

// labelled is visit i as its manager leaves it: causes that the engine names are looked into and confirmed or ruled out, of the faint ones
// every other.
func (f *firm) labelled(t testing.TB, i int) learn.Case {
	v, now := f.visit(t, i)
	c := learn.Case{Case: now, First: true}
	like, _, err := f.engine.Likelihoods(now)
	if err != nil {
		return c
	}
	for at, p := range like {
		looked := p >= 0.2 || p >= 0.03 && (at+i)%2 == 0
		switch id := f.ours.Bundle.Causes[at].ID; {
		case !looked || id == f.ours.Bundle.Settings.Other:
		case slices.Contains(v.Active, at):
			c.Confirmed = append(c.Confirmed, id)
		default:
			c.RuledOut = append(c.RuledOut, id)
		}
	}
	return c
}

func (f *firm) cases(t testing.TB, n int) []learn.Case {
	out := make([]learn.Case, n)
	several(n, func(i int) { out[i] = f.labelled(t, i) })
	return out
}

func several(n int, do func(i int)) {
	var wg sync.WaitGroup
	for w := range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := w; i < n; i += runtime.GOMAXPROCS(0) {
				do(i)
			}
		})
	}
	wg.Wait()
}

// off is how far the fall rates of a bundle are from the firm's, in log-odds, for the causes that differ.
func (f *firm) off(k *knowledge.Loaded) float64 {
	var sum float64
	for _, c := range k.Bundle.Causes {
		if is, ok := theirRates[c.ID]; ok {
			sum += math.Abs(odds(c.Rates["fall"]) - odds(is))
		}
	}
	return sum / float64(len(theirRates))
}

func odds(p float64) float64 { return math.Log(p / (1 - p)) }

// learnt is our knowledge with what a number of the firm's cases change accepted.
func (f *firm) learnt(t testing.TB, cases []learn.Case) *knowledge.Loaded {
	t.Helper()
	report, err := learn.Learn(f.ours, f.ours, cases)
	if err != nil {
		t.Fatal(err)
	}
	k, err := learn.Apply(knowledge.Files(), report.Overlay(f.ours, f.ours))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestRatesComeCloserWithCasesAndRankingGetsBetter(t *testing.T) {
	f := newFirm(t)
	cases := f.cases(t, 1000)
	last := f.off(f.ours)
	t.Logf("ours: %.3f", last)
	var best *knowledge.Loaded
	for _, n := range []int{50, 200, 1000} {
		best = f.learnt(t, cases[:n])
		off := f.off(best)
		t.Logf("%d cases: %.3f", n, off)
		if off >= last {
			t.Errorf("after %d cases the rates are off by %.3f in log-odds, before by %.3f", n, off, last)
		}
		last = off
	}
	before, after := f.ranked(t, f.ours), f.ranked(t, best)
	t.Logf("held out: before %+v, after %+v", before, after)
	if after.rank <= before.rank || after.brier >= before.brier {
		t.Errorf("held-out visits: before %+v, after %+v", before, after)
	}
}

// ranking is how well causes are ranked on visits that were not learned from: the mean of 1/place of the best placed active cause, and
// the Brier score.
type ranking struct{ rank, brier float64 }

func (f *firm) ranked(t testing.TB, k *knowledge.Loaded) ranking {
	const n = 250
	e := engineOf(t, k)
	each := make([]ranking, n)
	several(n, func(i int) {
		v, now := f.visit(t, 100000+i)
		like, _, err := e.Likelihoods(now)
		if err != nil {
			return
		}
		for at, p := range like {
			is := 0.0
			if slices.Contains(v.Active, at) {
				is = 1
				each[i].rank = max(each[i].rank, 1/float64(place(like, at)))
			}
			each[i].brier += (p - is) * (p - is) / float64(len(like))
		}
	})
	var sum ranking
	for _, x := range each {
		sum.rank += x.rank / n
		sum.brier += x.brier / n
	}
	return sum
}

// place is 1 for the likeliest cause.
func place(like []float64, at int) int {
	n := 1
	for _, p := range like {
		if p > like[at] {
			n++
		}
	}
	return n
}

// BenchmarkLearn counts 200 cases: what a manager waits for who opens the page after a season.
func BenchmarkLearn(b *testing.B) {
	f := newFirm(b)
	cases := f.cases(b, 200)
	for b.Loop() {
		if _, err := learn.Learn(f.ours, f.ours, cases); err != nil {
			b.Fatal(err)
		}
	}
}
