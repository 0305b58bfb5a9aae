package irrigation

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

// The printed table of run-time multipliers by low-quarter uniformity (von Bernuth and Mecham; values from memory).
func TestMultiplierTable(t *testing.T) {
	for du, want := range map[float64]float64{0.40: 1.56, 0.50: 1.43, 0.55: 1.37, 0.60: 1.32, 0.65: 1.27, 0.70: 1.22, 0.75: 1.18, 0.80: 1.14, 0.85: 1.10, 0.90: 1.06, 1: 1} {
		got, err := MultiplierFromQuarter(agronomy.Q(du, "fraction"))
		if err != nil || math.Abs(got.Number-want) > 0.006 {
			t.Errorf("DU %g: %v %v, want %g", du, got.Value, err, want)
		}
	}
	if low, err := MultiplierFromQuarter(agronomy.Q(30, "%")); err != nil || !strings.Contains(low.Working.String(), "repair before") {
		t.Errorf("%v %v", low, err)
	}
}

// Where the cans can't be quartered evenly the count is rounded half up, at least one, and said.
func TestLowQuarterCounts(t *testing.T) {
	for n, want := range map[int]float64{1: 1, 2: 1, 5: 1, 6: 2, 7: 2, 10: 3, 13: 3, 14: 4, 24: 6} {
		cans := make([]float64, n)
		for i := range cans {
			cans[i] = float64(10 + i)
		}
		a, err := AuditCans(agronomy.Qs("mL", cans...))
		if err != nil || a.LowCount.Number != want {
			t.Errorf("%d cans: %v in the low quarter, want %v (%v)", n, a.LowCount.Number, want, err)
		}
		if said := strings.Contains(a.DULQ.Working.String(), "quartered evenly"); said != (n%4 != 0) {
			t.Errorf("%d cans: said %v", n, said)
		}
	}
}

// Volume over mouth and depth say the same: 1 mL on 1 cm² is 10 mm.
func TestRatesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mL, cm2, min := rapid.Float64Range(1, 200).Draw(t, "mL"), rapid.Float64Range(20, 300).Draw(t, "cm2"), rapid.Float64Range(2, 60).Draw(t, "min")
		byVolume, err := NetRate(agronomy.Q(mL, "mL"), agronomy.Q(cm2, "cm2"), agronomy.Q(min, "min"))
		if err != nil {
			t.Fatal(err)
		}
		byDepth, err := NetRate(agronomy.Q(mL/cm2*10, "mm"), agronomy.Quantity{}, agronomy.Q(min*60, "s"))
		if err != nil || math.Abs(byVolume.Number-byDepth.Number) > 1e-9*byDepth.Number {
			t.Fatalf("%v by volume, %v by depth (%v)", byVolume, byDepth, err)
		}
		us, err := NetRate(agronomy.Q(mL, "mL"), agronomy.Q(cm2/6.4516, "in2"), agronomy.Q(min, "min"))
		if err != nil || us.Unit != "in/h" || math.Abs(us.Number*25.4-byVolume.Number) > 1e-9*byVolume.Number {
			t.Fatalf("%v and %v (%v)", us, byVolume, err)
		}
	})
}

// Rows of the intake table with their own arithmetic, and the ways a slope may be written.
func TestCycleTable(t *testing.T) {
	for _, c := range []struct {
		soil, class     string
		intake, storage float64
	}{{"clay", "0-3 %", 0.10, 0.20}, {"Silty Clay", "13 % +", 0.15, 0.13}, {"clay loam", "4–6", 0.20, 0.22}, {"loam", "7-12%", 0.35, 0.21}, {"sandy-loam", "13+ %", 0.40, 0.20}, {"loamy sand", "0-3", 0.50, 0.36}, {"sand", "5 %", 0.60, 0.35}} {
		g, err := GroundOf(c.soil, c.class)
		if err != nil || g.Intake.Number != c.intake || g.Storage.Number != c.storage {
			t.Errorf("%s at %s: %v %v (%v)", c.soil, c.class, g.Intake, g.Storage, err)
		}
	}
	for slope, want := range map[agronomy.Quantity]string{agronomy.Q(0, "%"): "0-3 %", agronomy.Q(3, "%"): "0-3 %", agronomy.Q(6.5, "%"): "7-12 %", agronomy.Q(0.2, "fraction"): "13 % +", agronomy.Q(3, "deg"): "4-6 %"} {
		if got, err := SlopeClass(slope); err != nil || got != want {
			t.Errorf("%v: %s (%v), want %s", slope, got, err, want)
		}
	}
}

// Cycles never run longer than the longest run, never make one cycle more than needed, and hold the whole time.
func TestLawsOfCycles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		total := draw("total", 0.1, 300)
		c, err := CycleAndSoak(agronomy.Q(draw("rate", 0.05, 4), "in/h"), agronomy.Q(draw("intake", 0.05, 1), "in/h"), agronomy.Q(draw("storage", 0.05, 0.5), "in"), agronomy.Q(total, "min"))
		if err != nil {
			t.Fatal(err)
		}
		n, each := c.Count.Number, c.Each.Number
		if math.Abs(n*each-total) > 1e-9*total || c.Limited.Yes && each > c.Longest.Number*(1+1e-9) || !c.Limited.Yes && n != 1 {
			t.Fatalf("%v cycles of %v for %v, longest %v", n, each, total, c.Longest)
		}
		if n > 1 && total/(n-1) <= c.Longest.Number*(1-1e-6) {
			t.Fatalf("%v cycles where %v would do", n, n-1)
		}
	})
}

// The ordinance's forms: 2009, and 2015 for homes and for others; special landscape counts in full.
func TestWaterAllowance(t *testing.T) {
	for form, want := range map[string]float64{"2009": 50 * 0.62 * (0.7*2000 + 0.3*500), "2015 residential": 50 * 0.62 * (0.55*2000 + 0.45*500), "2015 other": 50 * 0.62 * (0.45*2000 + 0.55*500)} {
		etaf, err := AdjustmentFactor(form)
		if err != nil {
			t.Fatal(err)
		}
		got, err := WaterAllowance(agronomy.Q(50, "in/yr"), agronomy.Q(2000, "ft2"), agronomy.Q(500, "ft2"), etaf, agronomy.Q(0.62, "ratio"))
		if err != nil || math.Abs(got.Number-want) > 1e-6 || got.Unit != "gal/yr" {
			t.Errorf("%s: %v (%v), want %v", form, got, err, want)
		}
	}
}

// What is outside its validity is refused with the input's name and what is allowed.
func TestRefusals(t *testing.T) {
	in, min, mL := agronomy.Q(0.5, "in"), agronomy.Q(10, "min"), agronomy.Q(20, "mL")
	for name, c := range map[string]struct {
		err   error
		input string
	}{
		"no time":         {third(NetRate(mL, agronomy.Q(16, "in2"), agronomy.Q(0, "min"))), "test_time"},
		"no mouth":        {third(NetRate(mL, agronomy.Q(0, "in2"), min)), "throat_area"},
		"nothing caught":  {third(NetRate(agronomy.Q(0, "mL"), agronomy.Q(16, "in2"), min)), "mean_catch"},
		"dry cans":        {fourth(AuditCans(agronomy.Qs("mL", 0, 0, 0))), "catch"},
		"no cans":         {fourth(AuditCans(agronomy.Qs("mL"))), "catch"},
		"a can below 0":   {fourth(AuditCans(agronomy.Qs("mL", 3, -1))), "catch"},
		"DU of 0":         {third(MultiplierFromQuarter(agronomy.Q(0, "fraction"))), "du_lq"},
		"DU as a percent": {third(MultiplierFromQuarter(agronomy.Q(75, "fraction"))), "du_lq"},
		"no rate":         {third(LowerRunTime(in, agronomy.Q(0, "in/h"))), "precip_rate"},
		"a flow as rate":  {third(LowerRunTime(in, agronomy.Q(3, "gpm"))), "precip_rate"},
		"wetter driest":   {third(SchedulingCoefficient(agronomy.Q(5, "mm/h"), agronomy.Q(6, "mm/h"))), "driest_rate"},
		"peat":            {ground("peat", "0-3 %"), "soil"},
		"no slope":        {ground("loam", "steep"), "slope_class"},
		"special area":    {third(WaterAllowance(agronomy.Q(40, "in/yr"), agronomy.Q(100, "ft2"), agronomy.Q(200, "ft2"), agronomy.Q(0.5, "fraction"), agronomy.Q(0.62, "ratio"))), "special_area"},
	} {
		var refused *agronomy.InputError
		if !errors.As(c.err, &refused) || refused.Input != c.input || refused.Say == "" {
			t.Errorf("%s: %v", name, c.err)
		}
	}
}

func third(_ agronomy.Result, err error) error { return err }
func fourth(_ Audit, err error) error          { return err }
func ground(soil, class string) error {
	_, err := GroundOf(soil, class)
	return err
}

// Ratings by kind of head, and a test in the wind that doesn't count.
func TestRatings(t *testing.T) {
	for _, c := range []struct {
		du         float64
		head, want string
	}{{0.75, "fixed spray", "excellent"}, {0.74, "fixed-spray", "very good"}, {0.45, "fixed spray", "poor"}, {0.39, "fixed spray", "repair first"}, {0.75, "rotor", "very good"}, {0.49, "Rotor", "repair first"}} {
		if got, err := Rating(agronomy.Q(c.du, "fraction"), c.head); err != nil || got.Text != c.want {
			t.Errorf("%g, %s: %v (%v), want %s", c.du, c.head, got.Value, err, c.want)
		}
	}
	for wind, want := range map[agronomy.Quantity]bool{agronomy.Q(5, "mi/h"): true, agronomy.Q(5.1, "mi/h"): false, agronomy.Q(2, "m/s"): true, agronomy.Q(9, "km/h"): false} {
		if got, err := CalmEnough(wind); err != nil || got.Yes != want {
			t.Errorf("%v: %v (%v)", wind, got.Yes, err)
		}
	}
}
