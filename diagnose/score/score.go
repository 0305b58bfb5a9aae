// Package score measures how far likelihoods can be trusted: the Brier score, and how often what was said to be so likely was
// true (reliability). It only counts what it is given; which cases those are is for whoever asks.
//
// Brier, G. W., "Verification of forecasts expressed in terms of probability", Monthly Weather Review 78 (1950).
package score

import (
	"math"
)

// Said is one likelihood that was said and what turned out.
type Said struct {
	P    float64 // 0..1
	True bool
}

// Bin is what was said with a likelihood of at least Low and less than High (the last bin: at most High).
type Bin struct {
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	N     int     `json:"n"`
	Mean  float64 `json:"mean"`  // of what was said
	Share float64 `json:"share"` // of what turned out true
	From  float64 `json:"from"`  // 90 % interval of the share
	To    float64 `json:"to"`
}

// Score is how a number of likelihoods turned out.
type Score struct {
	N     int     `json:"n"`
	True  int     `json:"true"`
	Brier float64 `json:"brier"` // mean of (said − turned out)², 0 is perfect
	// Base is the Brier score of who says nothing but the share that turned out true; a Brier score above it is worse than that.
	Base float64 `json:"base"`
	Bins []Bin   `json:"bins"` // those with something in them
}

// Of scores likelihoods in bins of equal width. Without any it is the zero score.
func Of(said []Said, bins int) Score {
	s := Score{N: len(said), Bins: []Bin{}}
	if s.N == 0 {
		return s
	}
	all := make([]Bin, bins)
	for _, x := range said {
		at := min(int(x.P*float64(bins)), bins-1)
		all[at].N++
		all[at].Mean += x.P
		was := 0.0
		if x.True {
			was = 1
			s.True++
			all[at].Share++
		}
		s.Brier += (x.P - was) * (x.P - was)
	}
	s.Brier /= float64(s.N)
	share := float64(s.True) / float64(s.N)
	s.Base = share * (1 - share)
	for i, b := range all {
		if b.N == 0 {
			continue
		}
		b.Low, b.High = float64(i)/float64(bins), float64(i+1)/float64(bins)
		b.From, b.To = Interval(b.Share, float64(b.N))
		b.Mean /= float64(b.N)
		b.Share /= float64(b.N)
		s.Bins = append(s.Bins, b)
	}
	return s
}

// Interval is the 90 % interval of a share, given how many of n were true: Wilson, E. B., "Probable inference, the law of
// succession, and statistical inference", Journal of the American Statistical Association 22 (1927). Without cases it is 0 to 1.
func Interval(hits, n float64) (from, to float64) {
	if n <= 0 {
		return 0, 1
	}
	p, zz := hits/n, z90*z90
	middle := (p + zz/(2*n)) / (1 + zz/n)
	half := z90 / (1 + zz/n) * math.Sqrt(p*(1-p)/n+zz/(4*n*n))
	return max(0, middle-half), min(1, middle+half)
}

// z90 leaves 5 % of a normal distribution on either side.
const z90 = 1.6448536269514722
