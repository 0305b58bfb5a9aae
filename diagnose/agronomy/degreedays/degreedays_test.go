package degreedays

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

// byMinutes sums a day's curve minute by minute: another road to the sine and the triangle.
func byMinutes(m Method, tmax, tmin float64, t Threshold) float64 {
	const steps = 20000
	sum := 0.0
	for i := range steps {
		x := (float64(i) + 0.5) / steps
		v := (tmax+tmin)/2 - (tmax-tmin)/2*math.Cos(2*math.Pi*x)
		if m == Triangle {
			v = tmin + (tmax-tmin)*(1-math.Abs(2*x-1))
		}
		if t.HasUpper {
			v = math.Min(v, t.Upper)
		}
		sum += math.Max(0, v-t.Lower) / steps
	}
	return sum
}

// The closed forms are what the curves hold; no method gives less than nothing; more warmth never gives less; the methods
// agree where both temperatures lie between the thresholds.
func TestLawsOfMethods(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tmin := rapid.Float64Range(-20, 40).Draw(t, "tmin")
		tmax := tmin + rapid.Float64Range(0, 30).Draw(t, "range")
		th := Threshold{Lower: rapid.Float64Range(-10, 30).Draw(t, "lower"), HasUpper: rapid.Bool().Draw(t, "has upper")}
		th.Upper = th.Lower + rapid.Float64Range(0.1, 30).Draw(t, "upper")
		for _, m := range []Method{Sine, Triangle} {
			if got, want := m.Day(tmax, tmin, th), byMinutes(m, tmax, tmin, th); math.Abs(got-want) > 1e-3 {
				t.Fatalf("%s: %v, minute by minute %v", m, got, want)
			}
		}
		for _, m := range Methods {
			v := m.Day(tmax, tmin, th)
			if v < 0 || math.IsNaN(v) {
				t.Fatalf("%s: %v", m, v)
			}
			if warmer := m.Day(tmax+1, tmin, th); warmer < v-1e-9 {
				t.Fatalf("%s falls from %v to %v on a warmer day", m, v, warmer)
			}
			if warmer := m.Day(tmax, math.Min(tmax, tmin+1), th); warmer < v-1e-9 {
				t.Fatalf("%s falls from %v to %v after a warmer night", m, v, warmer)
			}
			between := tmin >= th.Lower && (!th.HasUpper || tmax <= th.Upper)
			if between && math.Abs(v-((tmax+tmin)/2-th.Lower)) > 1e-9 {
				t.Fatalf("%s is %v between the thresholds", m, v)
			}
		}
	})
}

// A steady day divides by nothing.
func TestSteadyDay(t *testing.T) {
	for _, m := range Methods {
		for _, level := range []float64{5, 10, 15} {
			if v := m.Day(10, 10, Threshold{Lower: level}); v != math.Max(0, 10-level) {
				t.Errorf("%s from %g: %v", m, level, v)
			}
		}
	}
}

func TestFill(t *testing.T) {
	n := math.NaN()
	got, gaps := Fill([]float64{n, 1, n, n, 4, 5, n})
	if gaps != 2 || got[2] != 2 || got[3] != 3 || !math.IsNaN(got[0]) || !math.IsNaN(got[6]) {
		t.Errorf("%v, %d gaps", got, gaps)
	}
}

// Fahrenheit and Celsius give one sum, 1.8 apart.
func TestBothDegrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(t, "days")
		hi, lo, hiF, loF := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range hi {
			lo[i] = rapid.Float64Range(-10, 25).Draw(t, "tmin")
			hi[i] = lo[i] + rapid.Float64Range(0, 20).Draw(t, "range")
			hiF[i], loF[i] = hi[i]*1.8+32, lo[i]*1.8+32
		}
		for _, m := range Methods {
			c, err := Count(m, agronomy.Qs("C", hi...), agronomy.Qs("C", lo...), agronomy.Q(10, "C"), agronomy.Q(30, "C"), agronomy.Quantity{})
			if err != nil {
				t.Fatal(err)
			}
			f, err := Count(m, agronomy.Qs("F", hiF...), agronomy.Qs("F", loF...), agronomy.Q(10, "C"), agronomy.Q(86, "F"), agronomy.Q(0, "C day"))
			if err != nil || math.Abs(f.Total.Number-1.8*c.Total.Number) > 1e-9 || f.Total.Unit != "F day" || c.Total.Unit != "C day" {
				t.Fatalf("%s: %v and %v (%v)", m, c.Total, f.Total, err)
			}
		}
	})
}

func TestRefusals(t *testing.T) {
	f := func(v ...float64) agronomy.Quantities { return agronomy.Qs("F", v...) }
	none := agronomy.Quantity{}
	n := math.NaN()
	for name, c := range map[string]struct {
		hi, lo      agronomy.Quantities
		base, upper agronomy.Quantity
	}{
		"another length":  {f(70, 71), f(50), agronomy.Q(50, "F"), none},
		"turned round":    {f(50), f(70), agronomy.Q(50, "F"), none},
		"upper below":     {f(70), f(50), agronomy.Q(50, "F"), agronomy.Q(40, "F")},
		"a difference":    {f(70), f(50), agronomy.Q(50, "F day"), none},
		"gap at the end":  {f(70, n), f(50, 50), agronomy.Q(50, "F"), none},
		"nothing":         {f(), f(), agronomy.Q(50, "F"), none},
		"no such weather": {f(700), f(50), agronomy.Q(50, "F"), none},
	} {
		if got, err := Count(Average, c.hi, c.lo, c.base, c.upper, none); err == nil {
			t.Errorf("%s: %v", name, got.Total)
		}
	}
}

// Every event can be summed by its own rules and says where it comes from.
func TestEvents(t *testing.T) {
	for _, e := range Events() {
		if e.Source == "" || e.Says == "" || e.From <= 0 || e.To != 0 && e.To <= e.From || !agronomy.Known(e.Unit) {
			t.Errorf("%+v", e)
		}
		at, err := e.Reached(agronomy.Q(e.From, e.Unit))
		before, err2 := e.Reached(agronomy.Q(e.From-1, e.Unit))
		if err != nil || err2 != nil || at.Text != "yes" || before.Text != "no" {
			t.Errorf("%s: %v %v", e.Name, at, before)
		}
	}
}

// A probe's reading lies below, within or above each window, the same in both degrees.
func TestSoilWindows(t *testing.T) {
	for _, w := range SoilWindows() {
		for f, want := range map[float64]string{w.Low - 1: "below", w.Low: "within", w.High: "within", w.High + 1: "above"} {
			if f <= 1 {
				continue // the window has no end
			}
			a, err := w.At(agronomy.Q(f, "F"))
			b, err2 := w.At(agronomy.Q((f-32)/1.8, "C"))
			if err != nil || err2 != nil || a.Text != want || b.Text != want || w.Source == "" {
				t.Errorf("%s at %g F: %s and %s (%v %v)", w.Name, f, a.Text, b.Text, err, err2)
			}
		}
	}
}
