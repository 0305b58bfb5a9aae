package compute

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

// twin are units that say the same on the other side.
var twin = map[string]string{
	"in": "mm", "ft": "m", "ft2": "m2", "m": "ft", "m2": "ft2", "acre": "ha", "gal": "L", "fl oz": "mL", "mL": "fl oz", "lb": "kg", "in/h": "mm/h", "mm/h": "in/h", "min": "h", "h": "min", "s": "min",
	"fraction": "%", "%": "fraction", "gpm": "L/min", "in2": "cm2", "C": "F", "F": "C", "m/s": "mi/h", "kPa": "hPa", "in/day": "mm/day", "mm/day": "in/day", "mm": "in", "in/ft": "%", "deg": "rad",
	"lb/1000 ft2": "kg/ha", "gal/1000 ft2": "L/m2", "gal/acre": "L/ha", "fl oz/1000 ft2": "mL/m2", "lb/acre": "kg/ha", "mi/h": "km/h", "in/yr": "mm/yr", "MJ/m2/day": "W/m2", "C day": "F day", "F day": "C day", "oz": "g",
	"lb N/1000 ft2": "kg N/ha", "lb PLS/1000 ft2": "kg PLS/ha", "lb ai/acre": "kg ai/ha", "ton/acre": "kg/ha", "USD/lb": "USD/kg", "Mg/m3": "kg/m3", "deg N": "rad", "deg E": "rad", "m2/1": "ft2",
}

// roundUp are results that are rounded, where a hair's breadth of the conversion may move a whole step.
func rounded(unit string) bool {
	return strings.Contains(unit, "count") || unit == "day" || unit == "cans" || unit == "cores" || unit == "day index from 1"
}

// The unit of entry doesn't matter: every published example gives the same when one of its inputs is written in another
// unit, and every output converts into what it was.
func TestUnitOfEntryIsIrrelevant(t *testing.T) {
	r := NewRegistry()
	tried := 0
	for _, c := range readChecks(t) {
		f, err := r.Formula(c.Formula, nil)
		if err != nil {
			continue
		}
		before := r.Answer(c)
		for name, given := range c.Inputs {
			other, ok := twin[given.Value.Unit]
			in, known := inputOf(f, name)
			if !ok || !known || given.Value.Kind != agronomy.Number && given.Value.Kind != agronomy.Numbers || in.Kind == agronomy.Data {
				continue
			}
			changed, err := otherwise(given.Value, other)
			if err != nil {
				t.Fatal(err)
			}
			again := c
			again.Inputs = map[string]Given{}
			for k, v := range c.Inputs {
				again.Inputs[k] = v
			}
			again.Inputs[name] = Given{Value: changed}
			after := r.Answer(again)
			tried++
			if say := sameOutputs(before, after); say != "" {
				t.Errorf("%s: %s in %s instead of %s: %s", c.ID, name, other, given.Value.Unit, say)
			}
		}
	}
	if tried < 150 {
		t.Errorf("only %d inputs were tried", tried)
	}
}

func otherwise(v agronomy.Value, unit string) (agronomy.Value, error) {
	list := v.Quantities().Values
	out := make([]float64, len(list))
	for i, x := range list {
		q, err := agronomy.Convert(agronomy.Q(x, v.Unit), unit)
		if err != nil {
			return v, err
		}
		out[i] = q.Value
	}
	if v.Kind == agronomy.Number {
		return agronomy.Of(out[0], unit), nil
	}
	return agronomy.OfList(out, unit), nil
}

// sameOutputs says how two answers differ in what they mean, or nothing.
func sameOutputs(a, b Answer) string {
	if b.Error != nil {
		return *b.Error
	}
	for name, x := range a.Outputs {
		y, ok := b.Outputs[name]
		if !ok {
			return name + " is missing"
		}
		back, err := y.result.As(x.Unit)
		if err != nil {
			return name + ": " + err.Error()
		}
		p, q := x.result.Quantities().Values, back.Quantities().Values
		if len(p) != len(q) {
			return name + " has another length"
		}
		for i := range p {
			if math.Abs(p[i]-q[i]) > 1e-9*math.Max(1, math.Abs(p[i])) && !rounded(x.Unit) {
				return name + " is " + y.result.String() + " instead of " + x.result.String()
			}
		}
		if x.result.Kind != agronomy.Number && x.result.Kind != agronomy.Numbers && x.result.String() != y.result.String() {
			return name + " is " + y.result.String() + " instead of " + x.result.String()
		}
	}
	return ""
}

// Numbers that no input allows (below, above, not finite) are refused by the name the input was given under, whatever
// the formula.
func TestEveryNumberHasLimits(t *testing.T) {
	r := NewRegistry()
	for _, c := range readChecks(t) {
		f, err := r.Formula(c.Formula, nil)
		if err != nil {
			continue
		}
		for name, given := range c.Inputs {
			in, ok := inputOf(f, name)
			if !ok || given.Value.Kind != agronomy.Number || in.Kind != "" && in.Kind != agronomy.Number {
				continue
			}
			for _, wrong := range []float64{math.NaN(), math.Inf(1), -1e18} {
				again := c
				again.Inputs = map[string]Given{}
				for k, v := range c.Inputs {
					again.Inputs[k] = v
				}
				again.Inputs[name] = Given{Value: agronomy.Of(wrong, given.Value.Unit)}
				a := r.Answer(again)
				if a.Error == nil || !strings.HasPrefix(*a.Error, name+" ") {
					t.Errorf("%s: %s = %v is taken, or refused under another name (%v)", c.ID, name, wrong, a.Error)
				}
			}
		}
	}
}

// The order of the cans doesn't matter, DU lies in (0, 1], and the low quarter is never above the low half.
func TestLawsOfCans(t *testing.T) {
	r := NewRegistry()
	rapid.Check(t, func(t *rapid.T) {
		cans := rapid.SliceOfN(rapid.Float64Range(0.1, 80), 1, 60).Draw(t, "cans")
		mixed := rapid.Permutation(cans).Draw(t, "order")
		of := func(list []float64, unit string) Answer {
			return r.Answer(Check{Formula: "can_audit", Inputs: map[string]Given{"catch": {Value: agronomy.OfList(list, unit)}}})
		}
		a := of(cans, "mL")
		if say := sameOutputs(a, of(mixed, "mL")); say != "" {
			t.Fatal(say)
		}
		du, half, cu := a.Outputs["du_lq"].result.Number, a.Outputs["du_lh"].result.Number, a.Outputs["cu"].result.Number
		if !(du > 0 && du <= 1+1e-12 && half >= du-1e-12 && half <= 1+1e-12 && cu <= 1+1e-12) {
			t.Fatalf("DU %v, low half %v, CU %v", du, half, cu)
		}
		if other := of(cans, "fl oz").Outputs["du_lq"].result.Number; math.Abs(other-du) > 1e-9 {
			t.Fatalf("DU %v in ounces, %v in millilitres", other, du)
		}
	})
}

// rising are formulas whose output grows (or doesn't fall) with an input, and falling those where it is the other way round.
var monotone = []struct {
	formula, output, input, unit string
	lo, hi                       float64
	up                           bool
	rest                         map[string]agronomy.Value
}{
	{"run_time", "run_time_lower", "water_need", "in", 0.01, 3, true, map[string]agronomy.Value{"precip_rate": agronomy.Of(0.5, "in/h")}},
	{"run_time", "run_time_lower", "precip_rate", "in/h", 0.05, 3, false, map[string]agronomy.Value{"water_need": agronomy.Of(0.5, "in")}},
	{"run_time", "run_time_upper", "du_lq", "fraction", 0.05, 1, false, map[string]agronomy.Value{"precip_rate": agronomy.Of(0.5, "in/h"), "water_need": agronomy.Of(0.5, "in")}},
	{"eto_penman_monteith", "eto", "wind_2m", "m/s", 0, 10, true, dry},
	{"eto_penman_monteith", "eto", "sunshine", "h", 0, 14, true, with(dry, "wind_2m", agronomy.Of(2, "m/s"))},
	{"eto_penman_monteith", "eto", "rhmax", "%", 40, 100, false, with(dry, "wind_2m", agronomy.Of(2, "m/s"))},
	{"vapour_pressure", "e", "temperature", "C", -40, 55, true, nil},
	{"air_pressure", "pressure", "elevation", "m", -400, 8000, false, nil},
	{"wetting_depth", "wetting_depth", "applied", "in", 0, 5, true, map[string]agronomy.Value{"available_water": agronomy.Of(1.5, "in/ft"), "depletion_before": agronomy.Of(0.5, "fraction")}},
	{"wetting_depth", "wetting_depth", "depletion_before", "fraction", 0.05, 1, false, map[string]agronomy.Value{"available_water": agronomy.Of(1.5, "in/ft"), "applied": agronomy.Of(0.5, "in")}},
	{"irrigation_interval", "interval", "etc", "in/day", 0.01, 0.6, false, map[string]agronomy.Value{"allowed_depletion": agronomy.Of(0.5, "in")}},
	{"degree_days", "single_sine", "tmax", "F", 60, 110, true, map[string]agronomy.Value{"tmin": agronomy.Of(45, "F"), "base": agronomy.Of(50, "F")}},
	{"degree_days", "single_sine", "base", "F", 30, 90, false, map[string]agronomy.Value{"tmin": agronomy.Of(45, "F"), "tmax": agronomy.Of(80, "F")}},
	{"degree_days", "gdd_average", "tmin", "F", 20, 79, true, map[string]agronomy.Value{"base": agronomy.Of(50, "F"), "tmax": agronomy.Of(80, "F")}},
	{"cover_interval", "upper", "confidence", "fraction", 0.5, 0.999, true, map[string]agronomy.Value{"hits": agronomy.Of(7, "points"), "points": agronomy.Of(50, "points")}},
	{"sample_size", "n", "allowed_error", "%", 2, 60, false, map[string]agronomy.Value{"cv": agronomy.Of(30, "%")}},
	{"sample_size", "n", "cv", "%", 2, 90, true, map[string]agronomy.Value{"allowed_error": agronomy.Of(15, "%")}},
	{"daily_light", "dli", "rs", "MJ/m2/day", 0, 35, true, nil},
	{"tape_area", "area", "diameter", "ft", 1, 500, true, nil},
	{"area_accuracy", "area_sd", "sd_each", "ft", 0, 5, true, map[string]agronomy.Value{"tape_length": agronomy.Of(60, "ft"), "tape_width": agronomy.Of(25, "ft")}},
}

var dry = map[string]agronomy.Value{"latitude": agronomy.Of(40, "deg"), "elevation": agronomy.Of(100, "m"), "day_of_year": agronomy.Of(187, "day"), "tmax": agronomy.Of(30, "C"), "tmin": agronomy.Of(18, "C"),
	"rhmin": agronomy.Of(30, "%"), "rhmax": agronomy.Of(80, "%"), "sunshine": agronomy.Of(9, "h")}

func with(m map[string]agronomy.Value, name string, v agronomy.Value) map[string]agronomy.Value {
	out := map[string]agronomy.Value{name: v}
	for k, x := range m {
		out[k] = x
	}
	return out
}

func TestMonotone(t *testing.T) {
	r := NewRegistry()
	for _, m := range monotone {
		at := func(t *rapid.T, v float64) float64 {
			in := map[string]Given{}
			for k, x := range with(m.rest, m.input, agronomy.Of(v, m.unit)) {
				in[k] = Given{Value: x}
			}
			a := r.Answer(Check{Formula: m.formula, Inputs: in})
			if a.Error != nil {
				t.Fatalf("%s at %v: %s", m.formula, v, *a.Error)
			}
			return a.Outputs[m.output].result.Number
		}
		t.Run(m.formula+" "+m.input, rapid.MakeCheck(func(t *rapid.T) {
			x, y := rapid.Float64Range(m.lo, m.hi).Draw(t, "x"), rapid.Float64Range(m.lo, m.hi).Draw(t, "y")
			if x > y {
				x, y = y, x
			}
			a, b := at(t, x), at(t, y)
			if !m.up {
				a, b = b, a
			}
			if a > b+1e-9*math.Abs(b) {
				t.Fatalf("%s goes the wrong way between %v and %v: %v, %v", m.output, x, y, a, b)
			}
		}))
	}
}
