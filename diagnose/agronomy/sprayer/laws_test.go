package sprayer

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// Full tanks and the last one together are the spray for the area, and their product is the product for the area.
func TestTanksAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ground := agronomy.Q(rapid.Float64Range(100, 5e5).Draw(t, "area"), "ft2")
		output := agronomy.Q(rapid.Float64Range(0.2, 10).Draw(t, "output"), "gal/1000 ft2")
		tank := agronomy.Q(rapid.Float64Range(0.5, 300).Draw(t, "tank"), "gal")
		rate := agronomy.Q(rapid.Float64Range(0.05, 12).Draw(t, "rate"), "fl oz/1000 ft2")
		tanks, err := Fill(ground, output, tank)
		if err != nil {
			t.Fatal(err)
		}
		if got := tanks.Full.Number*tank.Value + tanks.Partial.Number; math.Abs(got-tanks.Total.Number) > 1e-6*tank.Value {
			t.Fatalf("%v in tanks, %v in all", got, tanks.Total.Number)
		}
		if tanks.Partial.Number < 0 || tanks.Partial.Number >= tank.Value || tanks.Fills.Number < tanks.Full.Number {
			t.Fatalf("last tank %v of %v", tanks.Partial.Number, tank.Value)
		}
		full, err := ProductPerTank(rate, output, tank)
		if err != nil {
			t.Fatal(err)
		}
		last, err := ProductInPartial(rate, output, tanks.Partial.Quantity())
		if err != nil {
			t.Fatal(err)
		}
		total, err := ProductTotal(rate, ground)
		if err != nil || math.Abs(tanks.Full.Number*full.Number+last.Number-total.Number) > 1e-6*math.Max(1, full.Number) {
			t.Fatalf("%v × %v + %v is not %v, %v", tanks.Full.Number, full.Number, last.Number, total.Number, err)
		}
	})
}

// What may go down next never passes a label's maximum, in whatever units label and product are written.
func TestLabelMaximumIsNeverExceeded(t *testing.T) {
	units := []string{"fl oz/1000 ft2", "pt/acre", "mL/100 m2", "L/ha"}
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom(units).Draw(t, "unit")
		rates := rapid.SliceOfN(rapid.Float64Range(0, 9), 1, 6).Draw(t, "rates")
		strength := agronomy.Q(rapid.Float64Range(0.1, 6).Draw(t, "strength"), "lb ai/gal")
		most := rapid.SampledFrom([]agronomy.Quantity{agronomy.Q(1.5, "lb ai/acre/yr"), agronomy.Q(40, "kg ai/ha"), agronomy.Q(0.2, "lb ai/1000 ft2/yr")}).Draw(t, "maximum")
		next := agronomy.Q(rapid.Float64Range(0.1, 9).Draw(t, "next"), unit)
		l := Label{Max: most, Strength: strength}
		st, err := l.Against(agronomy.Qs(unit, rates...), next)
		if err != nil {
			t.Fatal(err)
		}
		limit, err := agronomy.Q(most.Value, strings.TrimSuffix(most.Unit, "/yr")).In("lb ai/acre")
		if err != nil {
			t.Fatal(err)
		}
		applied, err := st.Applied.As("lb ai/acre")
		if err != nil {
			t.Fatal(err)
		}
		of := func(rate float64) float64 {
			ai, err := ActiveRate(agronomy.Q(rate, unit), strength)
			if err != nil {
				return 0
			}
			return agronomy.MustConvert(ai.Number, ai.Unit, "lb/acre")
		}
		if st.Next.Yes && applied.Number+of(next.Value) > limit*(1+1e-8) {
			t.Fatalf("%v + %v passes %v", applied.Number, of(next.Value), limit)
		}
		if st.Largest.Number > 0 && applied.Number+of(st.Largest.Number) > limit*(1+1e-9) {
			t.Fatalf("the largest next rate %v passes %v", st.Largest, most)
		}
		if again, err := l.Against(agronomy.Qs(unit, append(rates, st.Largest.Number)...), next); err != nil || !st.Exceeded.Yes && again.Exceeded.Yes {
			t.Fatalf("exceeded after the largest next rate, %v", err)
		}
	})
}

// Doses are rounded down only.
func TestRoundSafe(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 1e9).Draw(t, "dose")
		for _, unit := range []string{"fl oz/1000 ft2", "mL", "oz", "g/100 m2", "lb/acre", "gal"} {
			if r := RoundSafe(v, unit); r > v || r < v-math.Max(1, v/1000) {
				t.Fatalf("%v %s is rounded to %v", v, unit, r)
			}
		}
	})
	for _, c := range []struct {
		v    float64
		unit string
		want float64
	}{{3.29, "fl oz/1000 ft2", 3.2}, {0.3, "fl oz", 0.3}, {12.9, "mL", 12}, {1.23456, "lb/acre", 1.234}} {
		if got := RoundSafe(c.v, c.unit); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v %s: %v", c.v, c.unit, got)
		}
	}
	if got := RoundSafe(1e300, "mL"); got > 1e300 {
		t.Error(got)
	}
}

// A rate above the label's greatest is refused, in any unit; the very rate is taken.
func TestWithinLabel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		most := rapid.Float64Range(0.1, 10).Draw(t, "most")
		rate := rapid.Float64Range(0.1, 10).Draw(t, "rate")
		perAcre := agronomy.Q(agronomy.MustConvert(rate, "fl oz/1000 ft2", "pt/acre"), "pt/acre")
		err := WithinLabel(perAcre, agronomy.Q(most, "fl oz/1000 ft2"))
		if (err == nil) != agronomy.NoMore(rate, most) {
			t.Fatalf("%v against %v: %v", rate, most, err)
		}
	})
	if err := WithinLabel(agronomy.Q(1.5, "fl oz/1000 ft2"), agronomy.Q(1.5, "fl oz/1000 ft2")); err != nil {
		t.Error(err)
	}
	if err := WithinLabel(agronomy.Q(1, "lb/acre"), agronomy.Q(1.5, "fl oz/1000 ft2")); err == nil {
		t.Error("a weight was held against a volume")
	}
}

// Three roads to an output agree: catch on known ground, flow and speed, and the ounces on 1/128 acre.
func TestRoadsToOutputAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spacing := agronomy.Q(rapid.Float64Range(8, 60).Draw(t, "spacing"), "in")
		speed := agronomy.Q(rapid.Float64Range(1, 8).Draw(t, "speed"), "mi/h")
		flow := rapid.Float64Range(0.05, 2).Draw(t, "flow")
		byFlow, err := OutputByFlow(agronomy.Q(flow, "gal/min"), speed, spacing)
		if err != nil {
			t.Fatal(err)
		}
		course, err := CourseLength(spacing)
		if err != nil {
			t.Fatal(err)
		}
		time, err := TimeFor(course.Quantity(), speed)
		if err != nil {
			t.Fatal(err)
		}
		caught := agronomy.Q(flow*time.Number/60*128, "fl oz")
		ground, err := RunArea(spacing, course.Quantity())
		if err != nil {
			t.Fatal(err)
		}
		onGround, err := Output(caught, ground.Quantity())
		if err != nil || math.Abs(onGround.Number/byFlow.Number-1) > 1e-9 || math.Abs(caught.Value/byFlow.Number-1) > 1e-9 {
			t.Fatalf("by flow %v, on ground %v, by ounces %v, %v", byFlow.Number, onGround.Number, caught.Value, err)
		}
	})
}

// Acid equivalent is never taken for active ingredient.
func TestSubstancesStayApart(t *testing.T) {
	if _, err := ProductFromLiquid(agronomy.Q(0.5, "lb ae/acre"), agronomy.Q(4, "lb ai/gal")); err == nil || !strings.Contains(err.Error(), "acid equivalent is not active ingredient") {
		t.Errorf("%v", err)
	}
	if _, err := (Label{Max: agronomy.Q(1, "lb ae/acre/yr"), Strength: agronomy.Q(2, "lb ai/gal")}).Against(agronomy.Qs("fl oz/1000 ft2", 1), agronomy.Q(1, "fl oz/1000 ft2")); err == nil {
		t.Error("a label in acid equivalent was held against active ingredient")
	}
}

func TestChangesOfSetting(t *testing.T) {
	out, err := OutputAfter(agronomy.Q(20, "gal/acre"), Change{Speed1: agronomy.Q(3, "mi/h"), Speed2: agronomy.Q(6, "mi/h"), Pressure1: agronomy.Q(20, "psi"), Pressure2: agronomy.Q(80, "psi")})
	if err != nil || !near(out.Number, 20) {
		t.Errorf("twice the speed at four times the pressure: %v %v", out, err)
	}
	if p, err := PressureFor(agronomy.Q(0.2, "gal/min"), agronomy.Q(0.4, "gal/min"), agronomy.Q(15, "psi")); err != nil || !near(p.Number, 60) {
		t.Errorf("double output: %v %v", p, err)
	}
	if _, err := PressureFor(agronomy.Q(0.2, "gal/min"), agronomy.Q(20, "gal/acre"), agronomy.Q(15, "psi")); err == nil {
		t.Error("a flow was compared with an output on ground")
	}
	if v, err := SpeedAfter(agronomy.Q(20, "gal/acre"), agronomy.Q(10, "gal/acre"), agronomy.Q(3, "mi/h")); err != nil || !near(v.Number, 6) {
		t.Errorf("half the output: %v %v", v, err)
	}
}

func TestDilutions(t *testing.T) {
	product, water, parts, err := Dilute(agronomy.Q(57, "%"), agronomy.Q(3, "%"), agronomy.Q(100, "gal"))
	if err != nil || !near(product.Number, 300.0/57) || !near(product.Number+water.Number, 100) || !near(parts.Number, 18) {
		t.Errorf("%v %v %v %v", product, water, parts, err)
	}
	if _, _, _, err := Dilute(agronomy.Q(3, "%"), agronomy.Q(57, "%"), agronomy.Q(1, "gal")); err == nil || !strings.HasPrefix(err.Error(), "strength is ") {
		t.Errorf("stronger than its concentrate: %v", err)
	}
}

func TestRefusalsNameTheInput(t *testing.T) {
	gal, ft := agronomy.Q(1, "gal/1000 ft2"), agronomy.Q(10, "ft")
	for name, f := range map[string]func() (agronomy.Result, error){
		"row_width": func() (agronomy.Result, error) { return CourseLength(agronomy.Q(0, "ft")) },
		"time":      func() (agronomy.Result, error) { return Speed(ft, agronomy.Q(0, "s")) },
		"output":    func() (agronomy.Result, error) { return SprayTotal(agronomy.Q(1, "ft2"), agronomy.Q(-1, "gal/acre")) },
		"area":      func() (agronomy.Result, error) { return SprayTotal(agronomy.Q(0, "ft2"), gal) },
		"formulation": func() (agronomy.Result, error) {
			return ProductFromDry(agronomy.Q(1, "lb ai/acre"), agronomy.Q(101, "%"))
		},
		"concentration": func() (agronomy.Result, error) {
			return ProductFromLiquid(agronomy.Q(1, "lb ai/acre"), agronomy.Q(0, "lb ai/gal"))
		},
	} {
		if _, err := f(); err == nil || !strings.HasPrefix(err.Error(), name+" is ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
