package diagnose_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// randomBundle is a network of n causes, f findings of all kinds and random links, in one season.
func randomBundle(rng *rand.Rand, n, f, maxSet int) *knowledge.Bundle {
	b := &knowledge.Bundle{
		Seasons: []string{"wet"}, SeasonOf: slices.Repeat([]string{"wet"}, 12),
		Settings: knowledge.Settings{MaxSet: maxSet, Likely: 0.25, CantTell: 0.4, GroupShare: 1.0 / 3},
	}
	for c := range n {
		b.Causes = append(b.Causes, knowledge.Cause{
			ID: fmt.Sprint("c", c), Severity: rng.Float64(), Rates: map[string]float64{"wet": 0.01 + 0.4*rng.Float64()},
		})
		for p := range c {
			if rng.IntN(3) == 0 {
				b.Drives = append(b.Drives, knowledge.Drive{Parent: fmt.Sprint("c", p), Child: fmt.Sprint("c", c), P: 0.9 * rng.Float64()})
			}
		}
	}
	for i := range f {
		b.Findings = append(b.Findings, randomFinding(rng, i, n))
	}
	return b
}

func randomFinding(rng *rand.Rand, i, causes int) knowledge.Finding {
	f := knowledge.Finding{ID: fmt.Sprint("f", i), Kind: "look", Multi: rng.IntN(4) == 0}
	if rng.IntN(3) == 0 {
		f.Kind = "site"
	}
	states := 2 + rng.IntN(4)
	base := make([]float64, states)
	var sum float64
	for s := range base {
		base[s] = 0.05 + rng.Float64()
		sum += base[s]
	}
	for s := range base {
		base[s] /= sum
		f.States = append(f.States, knowledge.State{ID: fmt.Sprint("s", s)})
	}
	f.Base = map[string][]float64{"all": base}
	if !f.Multi && rng.IntN(2) == 0 {
		for s := range base {
			f.Bands = append(f.Bands, knowledge.Band{State: fmt.Sprint("s", s), Low: float64(s), High: float64(s + 1)})
		}
		f.ErrAbs = 0.1 + rng.Float64()
	}
	for c := range causes {
		for _, s := range rng.Perm(states)[:min(rng.IntN(3), states-1)] { // never all of them: some share is left
			f.Rows = append(f.Rows, knowledge.Row{State: fmt.Sprint("s", s), Cause: fmt.Sprint("c", c), P: 0.02 + 0.47*rng.Float64()})
		}
	}
	return f
}

// brute is the sum over all subsets, written from the formulas and from nothing else. It knows only what randomBundle makes.
type brute struct{ b *knowledge.Bundle }

func (x brute) active(set int, c int) bool { return set>>c&1 == 1 }

func (x brute) prior(set int) float64 {
	p := 1.0
	for c := range x.b.Causes {
		quiet := 1 - x.b.Causes[c].Rates["wet"]
		for _, d := range x.b.Drives {
			var parent int
			fmt.Sscanf(d.Parent, "c%d", &parent)
			if d.Child == x.b.Causes[c].ID && x.active(set, parent) {
				quiet *= 1 - d.P
			}
		}
		if x.active(set, c) {
			quiet = 1 - quiet
		}
		p *= quiet
	}
	return p
}

// table is P(state | only cause c) of finding f, or its base.
func (x brute) table(f *knowledge.Finding, c int) []float64 {
	base := f.Base["all"]
	out := slices.Clone(base)
	rows := map[int]float64{}
	left, rest := 1.0, 1.0
	for _, r := range f.Rows {
		if r.Cause == x.b.Causes[c].ID {
			var s int
			fmt.Sscanf(r.State, "s%d", &s)
			rows[s] = r.P
			left -= r.P
			rest -= base[s]
		}
	}
	if len(rows) == 0 {
		return out
	}
	for s := range out {
		out[s] = left * base[s] / rest
		if p, ok := rows[s]; ok {
			out[s] = p
		}
	}
	return out
}

// share is P(state | set) over the states, each cause with its own table.
func (x brute) share(base []float64, tables [][]float64, site bool) []float64 {
	w := make([]float64, len(base))
	var sum float64
	for s := range base {
		leak, ratio, miss := base[s], 1.0, 1.0
		for _, t := range tables {
			ratio *= t[s] / base[s]
			if t[s] < base[s] {
				leak *= t[s] / base[s]
			}
			if t[s] > base[s] {
				miss *= (1 - t[s]) / (1 - base[s])
			}
		}
		w[s] = 1 - (1-leak)*miss
		if site {
			w[s] = base[s] * ratio
		}
		sum += w[s]
	}
	for s := range w {
		w[s] /= sum
	}
	return w
}

func (x brute) tables(f *knowledge.Finding, set int) (all [][]float64) {
	for c := range x.b.Causes {
		if x.active(set, c) {
			all = append(all, x.table(f, c))
		}
	}
	return all
}

// sign is P(yes | set) of one sign.
func (x brute) sign(f *knowledge.Finding, s, set int) float64 {
	b := f.Base["all"][s]
	var tables [][]float64
	for _, r := range f.Rows {
		var c int
		fmt.Sscanf(r.Cause, "c%d", &c)
		if r.State == f.States[s].ID && x.active(set, c) {
			tables = append(tables, []float64{r.P, 1 - r.P})
		}
	}
	return x.share([]float64{b, 1 - b}, tables, f.Kind == "site")[0]
}

func (x brute) evidence(o diagnose.Observed, set int) float64 {
	f := &x.b.Findings[slices.IndexFunc(x.b.Findings, func(f knowledge.Finding) bool { return f.ID == o.Finding })]
	p := 1.0
	for s := range f.States {
		if slices.Contains(o.Present, f.States[s].ID) {
			p *= x.sign(f, s, set)
		}
		if slices.Contains(o.Absent, f.States[s].ID) {
			p *= 1 - x.sign(f, s, set)
		}
	}
	if f.Multi {
		return p
	}
	shares := x.share(f.Base["all"], x.tables(f, set), f.Kind == "site")
	p = 0
	for s, share := range shares {
		switch {
		case o.Number != nil:
			known := f.ErrAbs
			sigma := math.Sqrt(o.Number.SD*o.Number.SD/float64(o.Number.N) + known*known)
			below := func(x float64) float64 { return math.Erfc((o.Number.Mean-x)/sigma/math.Sqrt2) / 2 }
			low, high := 0.0, 1.0
			if s > 0 {
				low = below(f.Bands[s].Low)
			}
			if s < len(shares)-1 {
				high = below(f.Bands[s].High)
			}
			p += share * (high - low)
		case o.State == f.States[s].ID:
			p += share
		}
	}
	return p
}

func (x brute) likelihoods(c diagnose.Case, maxSet int) (like []float64, nothing float64) {
	like = make([]float64, len(x.b.Causes))
	var sum float64
	for set := range 1 << len(like) {
		size := 0
		for i := range like {
			size += set >> i & 1
		}
		if size > maxSet {
			continue
		}
		p := x.prior(set)
		for _, o := range c.Observed {
			p *= x.evidence(o, set)
		}
		sum += p
		for i := range like {
			if x.active(set, i) {
				like[i] += p
			}
		}
		if set == 0 {
			nothing = p
		}
	}
	for i := range like {
		like[i] /= sum
	}
	return like, nothing / sum
}

func smallRandomCase(rng *rand.Rand, b *knowledge.Bundle) diagnose.Case {
	c := diagnose.Case{Season: "wet"}
	for i := range b.Findings {
		if rng.IntN(3) > 0 {
			c.Observed = append(c.Observed, randomObservedOf(rng, &b.Findings[i]))
		}
	}
	return c
}

func randomObservedOf(rng *rand.Rand, f *knowledge.Finding) diagnose.Observed {
	o := diagnose.Observed{Finding: f.ID}
	switch {
	case f.Multi:
		o.Present = []string{f.States[0].ID}
		for _, s := range f.States[1:] {
			switch rng.IntN(3) {
			case 0:
				o.Present = append(o.Present, s.ID)
			case 1:
				o.Absent = append(o.Absent, s.ID)
			}
		}
	case len(f.Bands) > 0:
		o.Number = &diagnose.Number{Mean: rng.Float64() * float64(len(f.Bands)), SD: rng.Float64(), N: 1 + rng.IntN(4)}
	default:
		o.State = f.States[rng.IntN(len(f.States))].ID
	}
	return o
}

// With as many causes to a set as there are, the engine is the full sum.
func TestEngineIsTheSumOverAllSubsets(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	worst := 0.0
	for round := range 60 {
		n := 1 + rng.IntN(10)
		b := randomBundle(rng, n, 1+rng.IntN(6), n)
		c := smallRandomCase(rng, b)
		worst = max(worst, againstBrute(t, b, c, n, round))
	}
	t.Logf("largest difference %.2g", worst)
	if !(worst < 1e-12) {
		t.Errorf("%g apart", worst)
	}
}

// With the limit of three it is the sum over the sets within the limit.
func TestEngineIsTheSumWithinItsLimit(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 13))
	for round := range 20 {
		b := randomBundle(rng, 8, 5, 3)
		if worst := againstBrute(t, b, smallRandomCase(rng, b), 3, round); !(worst < 1e-12) {
			t.Errorf("round %d: %g apart", round, worst)
		}
	}
}

func againstBrute(t *testing.T, b *knowledge.Bundle, c diagnose.Case, maxSet, round int) float64 {
	t.Helper()
	e, err := diagnose.New(b)
	if err != nil {
		t.Fatalf("round %d: %v", round, err)
	}
	like, nothing, err := e.Likelihoods(c)
	if err != nil {
		t.Fatalf("round %d: %v", round, err)
	}
	want, wantNothing := brute{b}.likelihoods(c, maxSet)
	return max(apart(like, want), math.Abs(nothing-wantNothing))
}

// What the limit of three cuts off is small where causes are as rare as most are.
func TestLimitCutsOffLittle(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 34))
	worst, sum, count := 0.0, 0.0, 0
	for range 25 {
		b := randomBundle(rng, 10, 8, 3)
		for i := range b.Causes {
			b.Causes[i].Rates["wet"] /= 8
		}
		for i := range b.Drives {
			b.Drives[i].P /= 4
		}
		c := smallRandomCase(rng, b)
		e, err := diagnose.New(b)
		if err != nil {
			t.Fatal(err)
		}
		like, _, err := e.Likelihoods(c)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := brute{b}.likelihoods(c, 10)
		d := apart(like, want)
		worst, sum, count = max(worst, d), sum+d, count+1
	}
	t.Logf("largest difference in a likelihood %.4f, mean of the largest %.4f", worst, sum/float64(count))
	if worst > 0.2 || sum/float64(count) > 0.02 {
		t.Errorf("the limit costs up to %.3f, in the mean %.3f", worst, sum/float64(count))
	}
}
