package diagnose_test

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"swardbook/diagnose"
)

// Networks as large as the slow sum can still do, every subset counted.
func TestEngineIsTheSumOverAllSubsetsOfTwelve(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 1))
	worst := 0.0
	for round := range 5 {
		n := 11 + round%2
		b := randomBundle(rng, n, 4, n)
		worst = max(worst, againstBrute(t, b, smallRandomCase(rng, b), n, round))
	}
	t.Logf("largest difference %.2g", worst)
	if !(worst < 1e-12) {
		t.Errorf("%g apart", worst)
	}
}

// split is the full sum, cut in two: mass is the posterior of the sets above the limit, tail each cause's share of it, and
// all each cause's likelihood.
func (x brute) split(c diagnose.Case, maxSet int) (all, tail []float64, mass float64) {
	n := len(x.b.Causes)
	all, tail = make([]float64, n), make([]float64, n)
	var sum float64
	for set := range 1 << n {
		p := x.prior(set)
		for _, o := range c.Observed {
			p *= x.evidence(o, set)
		}
		sum += p
		over := bits.OnesCount(uint(set)) > maxSet
		if over {
			mass += p
		}
		for i := range n {
			if x.active(set, i) {
				all[i] += p
				if over {
					tail[i] += p
				}
			}
		}
	}
	for i := range n {
		all[i] /= sum
		tail[i] /= sum
	}
	return all, tail, mass / sum
}

// With the limit of three the difference from the full sum is the sets that are left out, to the last digit: what a cause
// has in them, and what the others gain when they are gone. It is never more than their mass.
func TestTheLimitExplainsTheDifference(t *testing.T) {
	rng := rand.New(rand.NewPCG(34, 55))
	const limit = 3
	largest, most := 0.0, 0.0
	for round := range 12 {
		n := 8 + round%5
		b := randomBundle(rng, n, 4, limit)
		c := smallRandomCase(rng, b)
		e, err := diagnose.New(b)
		if err != nil {
			t.Fatal(err)
		}
		like, _, err := e.Likelihoods(c)
		if err != nil {
			t.Fatal(err)
		}
		all, tail, mass := brute{b}.split(c, limit)
		for i := range like {
			if want := (1-mass)*like[i] + tail[i]; !(math.Abs(all[i]-want) < 1e-12) {
				t.Errorf("round %d, cause %d: full sum %v, explained %v", round, i, all[i], want)
			}
			d := math.Abs(all[i] - like[i])
			if d > mass+1e-12 {
				t.Errorf("round %d, cause %d: %v apart, and only %v is cut off", round, i, d, mass)
			}
			largest = max(largest, d)
		}
		most = max(most, mass)
	}
	t.Logf("up to %.3f of the posterior cut off on these dense networks, likelihoods up to %.3f apart", most, largest)
	if most == 0 {
		t.Error("nothing was cut off, so nothing was tried")
	}
}
