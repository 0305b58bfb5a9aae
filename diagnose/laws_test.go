package diagnose_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// drawMeasured draws a finding of the built-in knowledge that a number speaks to.
func drawMeasured(t *testing.T, rt *rapid.T) knowledge.Finding {
	var ids []string
	for _, f := range loaded(t).Bundle.Findings {
		if len(f.Bands) > 0 {
			ids = append(ids, f.ID)
		}
	}
	f, _ := loaded(t).Finding(rapid.SampledFrom(ids).Draw(rt, "finding"))
	return f
}

// outer draws one of the two open ends of a measured finding: the limit where it begins, and the direction that leads away.
func outer(rt *rapid.T, f knowledge.Finding) (limit, away float64) {
	if rapid.Bool().Draw(rt, "upward") {
		return f.Bands[len(f.Bands)-1].Low, 1
	}
	return f.Bands[0].High, -1
}

// reading is a value of f so many measuring errors beyond a limit, never below zero.
func reading(f knowledge.Finding, limit, away, errors float64) float64 {
	return max(0, limit+away*errors*(f.ErrAbs+f.ErrRel*limit))
}

// ordered says of every cause whether it gets likelier from state to state along the bands of f, in the direction away. A number
// weighs the states, so for these causes, and only for them, it is known in advance which way a number must move them.
func ordered(t *testing.T, rt *rapid.T, f knowledge.Finding, season string, away float64) []bool {
	out := slices.Repeat([]bool{true}, len(loaded(t).Bundle.Causes))
	var before []float64
	for i := range f.Bands {
		at := i
		if away < 0 {
			at = len(f.Bands) - 1 - i
		}
		like := weigh(t, rt, diagnose.Case{Season: season, Observed: []diagnose.Observed{{Finding: f.ID, State: f.Bands[at].State}}})
		for c := range out {
			out[c] = out[c] && (i == 0 || like[c] >= before[c])
		}
		before = like
	}
	return out
}

func withNumber(f knowledge.Finding, season string, n diagnose.Number) diagnose.Case {
	return diagnose.Case{Season: season, Observed: []diagnose.Observed{{Finding: f.ID, Number: &n}}}
}

// The further a reading lies beyond the outermost limit, the surer are the causes that get likelier towards that end.
func TestMovingAwayFromALimitIsMonotone(t *testing.T) {
	b := &loaded(t).Bundle
	rapid.Check(t, func(rt *rapid.T) {
		f := drawMeasured(t, rt)
		season := rapid.SampledFrom(b.Seasons).Draw(rt, "season")
		limit, away := outer(rt, f)
		near := rapid.Float64Range(0, 6).Draw(rt, "near")
		far := near + rapid.Float64Range(0, 6).Draw(rt, "further")
		at := func(errors float64) []float64 {
			return weigh(t, rt, withNumber(f, season, diagnose.Number{Mean: reading(f, limit, away, errors), N: 1}))
		}
		lesser, greater := at(near), at(far)
		for c, is := range ordered(t, rt, f, season, away) {
			if is && lesser[c] > greater[c]+1e-9 {
				rt.Fatalf("%s in %s: %s falls from %v to %v", f.ID, season, b.Causes[c].ID, lesser[c], greater[c])
			}
		}
	})
}

// More readings of the same mean and spread, beyond the outermost limit, make the causes that get likelier towards that end
// surer, and never turn a cause that few readings raise into one that many lower.
func TestMoreReadingsSharpenAndNeverFlip(t *testing.T) {
	b := &loaded(t).Bundle
	rapid.Check(t, func(rt *rapid.T) {
		f := drawMeasured(t, rt)
		season := rapid.SampledFrom(b.Seasons).Draw(rt, "season")
		limit, away := outer(rt, f)
		mean := reading(f, limit, away, rapid.Float64Range(1, 4).Draw(rt, "errors"))
		sd := rapid.Float64Range(0, 1).Draw(rt, "spread") * (f.ErrAbs + f.ErrRel*limit) // a wider one reaches the band beyond the next
		few := rapid.IntRange(1, 5).Draw(rt, "few")
		more := few + rapid.IntRange(1, 20).Draw(rt, "more")
		none := weigh(t, rt, diagnose.Case{Season: season})
		with := func(n int) []float64 {
			return weigh(t, rt, withNumber(f, season, diagnose.Number{Mean: mean, SD: sd, N: n}))
		}
		lesser, greater := with(few), with(more)
		for c, is := range ordered(t, rt, f, season, away) {
			if !is {
				continue
			}
			if lesser[c] > greater[c]+1e-9 {
				rt.Fatalf("%s: %d readings make %s %v, %d make it %v", f.ID, few, b.Causes[c].ID, lesser[c], more, greater[c])
			}
			if lesser[c] > none[c]+1e-9 && greater[c] < none[c] {
				rt.Fatalf("%s: %d readings raise %s, %d lower it", f.ID, few, b.Causes[c].ID, more)
			}
		}
	})
}

// Whatever else was seen, a reading changes a cause in one direction while it moves beyond the outermost limit by steps.
func TestMovingAwayNeverTurnsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := drawMeasured(t, rt)
		c := drawCase(t, rt)
		c.Observed = slices.DeleteFunc(c.Observed, func(o diagnose.Observed) bool { return o.Finding == f.ID })
		limit, away := outer(rt, f)
		start := rapid.Float64Range(1.5, 4).Draw(rt, "start") // from where the band beyond the next one has no say
		var steps [4][]float64
		for i := range steps {
			n := diagnose.Number{Mean: reading(f, limit, away, start+float64(i)), N: 1}
			with := c
			with.Observed = append(slices.Clone(c.Observed), diagnose.Observed{Finding: f.ID, Number: &n})
			steps[i] = weigh(t, rt, with)
		}
		for cause := range steps[0] {
			up, down := 0.0, 0.0
			for i := 1; i < len(steps); i++ {
				up = max(up, steps[i][cause]-steps[i-1][cause])
				down = max(down, steps[i-1][cause]-steps[i][cause])
			}
			if min(up, down) > 2e-3 {
				rt.Fatalf("%s: cause %d goes up by %v and down by %v", f.ID, cause, up, down)
			}
		}
	})
}

// untouched lists the causes that evidence on the named findings says nothing of: no finding seen speaks of them, of what
// they drive, of what drives them, or of anything else that is driven by what drives them.
func untouched(b *knowledge.Bundle, seen []diagnose.Observed) []int {
	above := make([]map[string]bool, len(b.Causes))
	index := map[string]int{}
	for c := range b.Causes { // randomBundle makes parents first
		id := b.Causes[c].ID
		index[id] = c
		above[c] = map[string]bool{id: true}
		for _, d := range b.Drives {
			if d.Child == id {
				for up := range above[index[d.Parent]] {
					above[c][up] = true
				}
			}
		}
	}
	touched := map[string]bool{} // every cause above one that a finding speaks of
	for _, o := range seen {
		f := b.Findings[slices.IndexFunc(b.Findings, func(f knowledge.Finding) bool { return f.ID == o.Finding })]
		for _, r := range f.Rows {
			for up := range above[index[r.Cause]] {
				touched[up] = true
			}
		}
	}
	var out []int
	for c := range b.Causes {
		if !shares(above[c], touched) {
			out = append(out, c)
		}
	}
	return out
}

func shares(a, b map[string]bool) bool {
	for k := range a {
		if b[k] {
			return true
		}
	}
	return false
}

// sparse is a random network in which most findings speak of one or two causes, so that some are left untouched.
func sparse(rng *rand.Rand, n, maxSet int) *knowledge.Bundle {
	b := randomBundle(rng, n, 4, maxSet)
	b.Drives = slices.DeleteFunc(b.Drives, func(knowledge.Drive) bool { return rng.IntN(3) > 0 })
	for i := range b.Findings {
		from := rng.IntN(n)
		b.Findings[i].Rows = slices.DeleteFunc(b.Findings[i].Rows, func(r knowledge.Row) bool {
			return r.Cause != b.Causes[from].ID && r.Cause != b.Causes[(from+1)%n].ID
		})
	}
	return b
}

// A cause that neither evidence nor a driver touches keeps its rate: exactly when every set counts, and with the limit up to
// what the limit cuts off.
func TestAnUntouchedCauseKeepsItsRate(t *testing.T) {
	tried := 0
	rapid.Check(t, func(rt *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 2))
		const n, limit = 7, 3
		b := sparse(rng, n, n)
		c := smallRandomCase(rng, b)
		free := untouched(b, c.Observed)
		whole, before := likelihoodsOf(rt, b, c), likelihoodsOf(rt, b, diagnose.Case{Season: "wet"})
		b.Settings.MaxSet = limit
		cut := likelihoodsOf(rt, b, c)
		_, _, mass := brute{b}.split(c, limit)
		for _, i := range free {
			tried++
			if d := math.Abs(whole[i] - before[i]); d > 1e-12 {
				rt.Fatalf("cause %d moves by %v without a reason", i, d)
			}
			if d := math.Abs(cut[i] - before[i]); d > mass+1e-12 {
				rt.Fatalf("cause %d moves by %v, and only %v is cut off", i, d, mass)
			}
			driven := slices.ContainsFunc(b.Drives, func(d knowledge.Drive) bool { return d.Child == b.Causes[i].ID })
			if rate := b.Causes[i].Rates["wet"]; !driven && math.Abs(whole[i]-rate) > 1e-12 {
				rt.Fatalf("cause %d has likelihood %v, its rate is %v", i, whole[i], rate)
			}
		}
	})
	if tried < 20 {
		t.Errorf("only %d causes were untouched", tried)
	}
}

func likelihoodsOf(rt *rapid.T, b *knowledge.Bundle, c diagnose.Case) []float64 {
	e, err := diagnose.New(b)
	if err != nil {
		rt.Fatal(err)
	}
	like, _, err := e.Likelihoods(c)
	if err != nil {
		rt.Fatal(err)
	}
	return like
}
