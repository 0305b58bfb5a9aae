package sampling

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

func q(v float64, unit string) agronomy.Quantity { return agronomy.Q(v, unit) }

// Newcombe 1998, table of single proportions (81/263, 15/148, 0/20, 1/29) and example (a) of differences.
func TestNewcombe(t *testing.T) {
	for _, c := range []struct{ x, n, lo, hi float64 }{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		got, err := Cover(q(c.x, "points"), q(c.n, "points"), q(0.95, "fraction"))
		if err != nil || math.Abs(got.Lower.Number-c.lo) > 6e-5 || math.Abs(got.Upper.Number-c.hi) > 6e-5 {
			t.Errorf("%g of %g: %v to %v (%v)", c.x, c.n, got.Lower, got.Upper, err)
		}
	}
	d, err := Change(q(56, "points"), q(70, "points"), q(48, "points"), q(80, "points"), q(0.95, "fraction"))
	if err != nil || math.Abs(d.Estimate.Number-0.2) > 1e-9 || math.Abs(d.Lower.Number-0.0524) > 6e-5 || math.Abs(d.Upper.Number-0.3339) > 6e-5 {
		t.Errorf("%v: %v to %v (%v)", d.Estimate, d.Lower, d.Upper, err)
	}
}

// Bounds hold the estimate, lie in 0 to 1, close in with more points, and mirror when hits and misses change places.
func TestLawsOfCover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 2000).Draw(t, "points")
		x := rapid.IntRange(0, n).Draw(t, "hits")
		c := q(rapid.Float64Range(0.5, 0.999).Draw(t, "confidence"), "fraction")
		i, err := Cover(q(float64(x), "points"), q(float64(n), "points"), c)
		if err != nil {
			t.Fatal(err)
		}
		if i.Lower.Number < 0 || i.Upper.Number > 1 || i.Lower.Number > i.Estimate.Number+1e-12 || i.Upper.Number < i.Estimate.Number-1e-12 {
			t.Fatalf("%v: %v to %v", i.Estimate, i.Lower, i.Upper)
		}
		m, err := Cover(q(float64(n-x), "points"), q(float64(n), "points"), c)
		if err != nil || math.Abs(m.Lower.Number+i.Upper.Number-1) > 1e-9 {
			t.Fatalf("misses %v to %v, hits %v to %v (%v)", m.Lower, m.Upper, i.Lower, i.Upper, err)
		}
		more, err := Cover(q(float64(4*x), "points"), q(float64(4*n), "points"), c)
		if err != nil || more.Upper.Number-more.Lower.Number > i.Upper.Number-i.Lower.Number+1e-12 {
			t.Fatalf("four times the points are less sure (%v)", err)
		}
	})
}

// The number found satisfies its own t, and one less doesn't.
func TestSmallestSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cv, e := rapid.Float64Range(3, 80).Draw(t, "cv"), rapid.Float64Range(3, 40).Draw(t, "error")
		conf := rapid.Float64Range(0.8, 0.99).Draw(t, "confidence")
		z, err := SizeIterated(q(cv, "%"), q(e, "%"), q(conf, "fraction"))
		if err != nil {
			t.Fatal(err)
		}
		need := func(n float64) float64 { return math.Pow(tQuantile((1+conf)/2, n-1)*cv/e, 2) }
		n := z.N.Number
		if n < need(n)-1e-6 || n > 2 && n-1 >= need(n-1)+1e-6 {
			t.Fatalf("%v: needs %v, one less %v", n, need(n), need(n-1))
		}
		left, err := Achieved(q(cv, "%"), q(n, "count"), q(conf, "fraction"))
		if err != nil || left.Number > e*(1+1e-9) {
			t.Fatalf("%v samples leave %v, %v was allowed (%v)", n, left, e, err)
		}
		few, err := Finite(z.N.Quantity(), q(n, "count"))
		if err != nil || few.Number > math.Ceil(n/2+1e-9) {
			t.Fatalf("%v of %v (%v)", few, n, err)
		}
	})
}

func TestLinesAndPins(t *testing.T) {
	c, err := LineCover(agronomy.Qs("in", 12, 6), q(10, "ft"))
	if err != nil || math.Abs(c.Number-15) > 1e-9 {
		t.Errorf("%v %v", c, err)
	}
	m, err := MeanOfUnits(agronomy.Qs("%", 10, 12, 14), q(0.95, "fraction"))
	if err != nil || math.Abs(m.Estimate.Number-12) > 1e-9 || math.Abs(m.Upper.Number-12-4.303*2/math.Sqrt(3)) > 1e-2 {
		t.Errorf("%v to %v (%v)", m.Lower, m.Upper, err)
	}
	pins, err := ReadPins("pin_hits", agronomy.OfTexts([]string{"y", "No", "1", "miss"}, "y/n"))
	if err != nil || len(pins) != 4 || !pins[0] || pins[1] || !pins[2] || pins[3] {
		t.Errorf("%v %v", pins, err)
	}
	if _, err := ReadPins("pin_hits", agronomy.OfTexts([]string{"perhaps"}, "y/n")); err == nil {
		t.Error("perhaps is a hit")
	}
}

func TestRefusals(t *testing.T) {
	sure := q(0.95, "fraction")
	cover := func(x, n float64) error { _, err := Cover(q(x, "points"), q(n, "points"), sure); return err }
	size := func(cv, e float64) error { _, err := SizeIterated(q(cv, "%"), q(e, "%"), sure); return err }
	for name, c := range map[string]struct {
		err   error
		input string
	}{
		"more hits than points": {cover(5, 4), "hits"},
		"half a hit":            {cover(1.5, 4), "hits"},
		"no points":             {cover(0, 0), "points"},
		"no error allowed":      {size(20, 0), "allowed_error"},
		"too small an error":    {size(900, 0.001), "allowed_error"},
		"longer than the line":  {func() error { _, err := LineCover(agronomy.Qs("ft", 6, 6), q(10, "ft")); return err }(), "intercepts"},
		"nothing pulled":        {func() error { _, err := CoresOf(agronomy.Qs("in", 0, 0)); return err }(), "core_depths"},
		"inches and percent":    {func() error { _, err := SizeByT(q(2, "ratio"), q(2, "in"), q(5, "%")); return err }(), "sd"},
	} {
		var refused *agronomy.InputError
		if !errors.As(c.err, &refused) || refused.Input != c.input {
			t.Errorf("%s: %v", name, c.err)
		}
	}
}
