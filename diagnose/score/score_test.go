package score_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/score"
)

func near(a, b float64) bool { return math.Abs(a-b) < 1e-9 }

func TestScoreByHand(t *testing.T) {
	s := score.Of([]score.Said{{0.9, true}, {0.95, true}, {0.92, false}, {0.1, false}, {0.0, false}, {1.0, true}}, 10)
	want := (0.01 + 0.0025 + 0.8464 + 0.01 + 0 + 0) / 6
	if s.N != 6 || s.True != 3 || !near(s.Brier, want) || !near(s.Base, 0.25) {
		t.Errorf("%+v, want a Brier score of %v", s, want)
	}
	if len(s.Bins) != 3 {
		t.Fatalf("bins %+v", s.Bins)
	}
	top := s.Bins[2]
	if top.Low != 0.9 || top.High != 1 || top.N != 4 || !near(top.Share, 0.75) || !near(top.Mean, (0.9+0.95+0.92+1)/4) {
		t.Errorf("top bin %+v: a certainty belongs to it too", top)
	}
}

func TestNothingSaid(t *testing.T) {
	if s := score.Of(nil, 10); s.N != 0 || s.Brier != 0 || len(s.Bins) != 0 {
		t.Errorf("%+v", s)
	}
	if from, to := score.Interval(0, 0); from != 0 || to != 1 {
		t.Errorf("%v to %v", from, to)
	}
}

// TestInterval compares with the published example of 81 of 263 (Newcombe, "Two-sided confidence intervals for the single
// proportion", Statistics in Medicine 17, 1998, table I, at 95 %: 0.2553 to 0.3662), which holds the narrower one at 90 %.
func TestInterval(t *testing.T) {
	from, to := score.Interval(81, 263)
	if !(from > 0.2553 && from < 81.0/263 && to < 0.3662 && to > 81.0/263) {
		t.Errorf("%v to %v", from, to)
	}
	if math.Abs(from-0.2634) > 5e-4 || math.Abs(to-0.3567) > 5e-4 {
		t.Errorf("%v to %v", from, to)
	}
}

func TestScoreLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		said := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) score.Said {
			return score.Said{P: rapid.Float64Range(0, 1).Draw(t, "p"), True: rapid.Bool().Draw(t, "true")}
		}), 1, 60).Draw(t, "said")
		s := score.Of(said, 10)
		n := 0
		for _, b := range s.Bins {
			n += b.N
			if b.Mean < b.Low-1e-12 || b.Mean > b.High+1e-12 || b.Share < b.From-1e-9 || b.Share > b.To+1e-9 {
				t.Fatalf("bin %+v", b)
			}
		}
		if n != s.N || s.Brier < 0 || s.Brier > 1 {
			t.Fatalf("%+v", s)
		}
	})
}
