package history_test

import (
	"math"
	"strings"
	"testing"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store/history"
)

// TestMeasure: mean, spread and bounds of what was typed, by hand.
func TestMeasure(t *testing.T) {
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		check, typed    string
		n               int
		mean, sd        float64
		err, low, high  float64
		formula, source string
	}{
		// three counts: spread 2.5166, measuring error 0.5 + 0.5 × 11.333 = 6.1667, √(6.1667² + 2.5166²/3) = 6.3355
		{"grubs_sqft", "9; 14; 11", 3, 34.0 / 3, 2.5166115, 6.3355260, 0, 23.750964, "1.96", "measuring error"},
		// one height in centimetres: 5.08 cm = 2 in, 2 ± 1.96 × 0.25
		{"mow_height_in", "5.08 cm", 1, 2, 0, 0.25, 1.51, 2.49, "1.96", "measuring error"},
		// a cover of 50 % known to 10 points is worth 25 points: Wilson's bounds of 12.5 in 25 are 50 ± 100 × 1.96 × √(0.25/25 + 1.96²/(4 × 25²)) ÷ (1 + 1.96²/25) = 50 ± 18.248
		{"ground_cover_pct", "50", 1, 50, 0, 10, 31.75195, 68.24805, "Wilson", "Newcombe"},
		{"weed_mix", "two kinds", 2, 20, 0, 0, 0, 0, "sum of the shares", "arithmetic"},
	} {
		check, ok := know.Check(c.check)
		if !ok {
			t.Fatal(c.check)
		}
		typed := c.typed
		if check.Kind == checks.Mix {
			typed = check.Options[1].ID + " 12; " + check.Options[2].ID + " 8"
		}
		v, problems := checks.Read(check, typed)
		if len(v.Numbers) == 0 {
			t.Fatalf("%s: %v", c.check, problems)
		}
		m, ok := history.Measure(know, check, v, typed)
		near := func(x, y float64) bool { return math.Abs(x-y) < 1e-4 }
		if !ok || m.N != c.n || !near(m.Mean, c.mean) || !near(m.Spread, c.sd) || !near(m.Err, c.err) || !near(m.Low, c.low) || !near(m.High, c.high) {
			t.Errorf("%s: %+v", c.check, m)
		}
		if !strings.Contains(m.Working.Formula, c.formula) || !strings.Contains(m.Working.Source, c.source) || m.Working.Inputs[0].Given != typed {
			t.Errorf("%s: %v", c.check, m.Working)
		}
	}
	note, _ := know.Check("pattern")
	if _, ok := history.Measure(know, note, checks.Value{State: "stripes"}, "stripes"); ok {
		t.Error("words have a mean")
	}
}
