package simulate_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/simulate"
)

// small is a network of which the engine takes all causes together, with a finding of every form and nothing that says one
// thing twice: there the engine's likelihoods are the truth's.
func small() *knowledge.Loaded {
	b := knowledge.Bundle{
		Seasons: []string{"wet"}, SeasonOf: slices.Repeat([]string{"wet"}, 12),
		Settings: knowledge.Settings{MaxSet: 5, Likely: 0.25, CantTell: 0.4, GroupShare: 1.0 / 3},
	}
	for i, rate := range []float64{0.3, 0.2, 0.15, 0.1, 0.25} {
		b.Causes = append(b.Causes, knowledge.Cause{ID: fmt.Sprint("c", i), Severity: 0.5, Plan: fmt.Sprint(i), Rates: map[string]float64{"wet": rate}})
	}
	b.Drives = []knowledge.Drive{{Parent: "c0", Child: "c4", P: 0.5}, {Parent: "c1", Child: "c2", P: 0.3}}
	states := []knowledge.State{{ID: "a"}, {ID: "b"}, {ID: "c"}}
	for i := range 8 {
		f := knowledge.Finding{
			ID: fmt.Sprint("f", i), Kind: "look", States: states, Base: map[string][]float64{"all": {0.7, 0.2, 0.1}},
			Rows: []knowledge.Row{{State: "b", Cause: fmt.Sprint("c", i%5), P: 0.7}, {State: "c", Cause: fmt.Sprint("c", (i+1)%5), P: 0.6}},
		}
		c := checks.Check{ID: f.ID, Kind: checks.Choice, Minutes: 1, Yields: []checks.Yield{{Finding: f.ID, From: "state"}}}
		switch i {
		case 3:
			f.Multi, f.Base = true, map[string][]float64{"all": {0.3, 0.2, 0.1}}
			c.Kind, c.Yields[0].From = checks.Signs, "signs"
		case 5:
			f.Kind = "site"
		}
		b.Findings, b.Checks = append(b.Findings, f), append(b.Checks, c)
	}
	return &knowledge.Loaded{Bundle: b, Edition: "small"}
}

func run(t *testing.T, k *knowledge.Loaded, c simulate.Config) simulate.Result {
	t.Helper()
	e, err := diagnose.New(&k.Bundle)
	if err != nil {
		t.Fatal(err)
	}
	r, err := simulate.Run(t.Context(), k, e, c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestLikelihoodsAreTrueInTheirOwnWorld holds drawing and weighing to each other: what the engine says to be so likely is so that often.
func TestLikelihoodsAreTrueInTheirOwnWorld(t *testing.T) {
	r := run(t, small(), simulate.Config{Visits: 4000, Seed: 7, Checks: []int{0, 2, 5}, Most: 8, Enough: 0.8})
	for _, p := range r.Policies {
		for _, a := range p.At {
			for _, b := range a.Score.Bins {
				spread := math.Sqrt(b.Mean*(1-b.Mean)/float64(b.N)) + 1e-9
				if b.N >= 100 && math.Abs(b.Share-b.Mean) > 4.5*spread {
					t.Errorf("%s, %d checks: said %.3f %d times, true %.3f", p.Policy, a.Checks, b.Mean, b.N, b.Share)
				}
			}
		}
		for i := range p.At[1:] {
			if p.At[i+1].Score.Brier >= p.At[i].Score.Brier {
				t.Errorf("%s: more checks made the answer worse: %+v", p.Policy, p.At)
			}
		}
	}
	if want := meanActive(); math.Abs(r.Active-want) > 0.08 {
		t.Errorf("%.3f active causes a visit, want %.3f", r.Active, want)
	}
}

// meanActive is the sum of each cause's chance in small, by hand.
func meanActive() float64 {
	c4 := 1 - 0.75*(1-0.3*0.5)
	c2 := 1 - 0.85*(1-0.2*0.3)
	return 0.3 + 0.2 + c2 + 0.1 + c4
}

func TestTheNextBestCheckIsBetterThanChance(t *testing.T) {
	r := run(t, small(), simulate.Config{Visits: 1500, Seed: 2, Checks: []int{1, 2}, Most: 8, Enough: 0.8})
	best, random := r.Policies[0], r.Policies[2]
	if best.Policy != simulate.NextBest || random.Policy != simulate.Random {
		t.Fatalf("policies %+v", r.Policies)
	}
	if best.Mean >= random.Mean || best.At[1].Score.Brier >= random.At[1].Score.Brier {
		t.Errorf("next best: %.2f checks, Brier %.4f; by chance %.2f, %.4f", best.Mean, best.At[1].Score.Brier, random.Mean, random.At[1].Score.Brier)
	}
}

func TestTheSameSeedIsTheSameResult(t *testing.T) {
	c := simulate.Config{Visits: 60, Seed: 5, Checks: []int{1, 3}, Most: 4, Enough: 0.8}
	say := func(c simulate.Config) string {
		text, err := json.Marshal(run(t, small(), c))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	first := say(c)
	was := runtime.GOMAXPROCS(1)
	alone := say(c)
	runtime.GOMAXPROCS(was)
	if first != alone {
		t.Error("the number of cores changes the result")
	}
	if c.Seed = 6; say(c) == first {
		t.Error("another seed gives the same visits")
	}
}

func TestNumbersLieInTheirBands(t *testing.T) {
	k, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	e, err := diagnose.New(&k.Bundle)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	w := simulate.NewWorld(&k.Bundle, e)
	for i := range 40 {
		v, err := w.Draw("summer", nil, rng(i))
		if err != nil {
			t.Fatal(err)
		}
		now := v.Case
		for j := range k.Bundle.Checks {
			now = v.With(now, &k.Bundle.Checks[j])
		}
		if _, err := e.Diagnose(now); err != nil {
			var no *diagnose.Contradiction
			if !errors.As(err, &no) {
				t.Fatal(err)
			}
		}
		for _, o := range now.Observed {
			if o.Number != nil {
				seen++
				if o.Number.Mean < 0 || o.Number.N != 1 || math.IsInf(o.Number.Mean, 0) {
					t.Errorf("%s: %+v", o.Finding, o.Number)
				}
			}
		}
	}
	if seen < 400 {
		t.Errorf("%d numbers", seen)
	}
}

func TestEndsEarly(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	k := small()
	e, err := diagnose.New(&k.Bundle)
	if err != nil {
		t.Fatal(err)
	}
	_, err = simulate.Run(ctx, k, e, simulate.Config{
		Visits: 100000, Checks: []int{1}, Most: 3, Enough: 0.8, Progress: func(int) { cancel() },
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func TestUnknownSeason(t *testing.T) {
	k := small()
	e, err := diagnose.New(&k.Bundle)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := simulate.Run(t.Context(), k, e, simulate.Config{Visits: 1, Season: "dry", Checks: []int{1}, Most: 1}); err == nil {
		t.Error("a season that is not there was simulated")
	}
}

func rng(i int) *rand.Rand { return rand.New(rand.NewPCG(11, uint64(i))) }
