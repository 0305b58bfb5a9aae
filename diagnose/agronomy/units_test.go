package agronomy

import (
	"math"
	"testing"
)

// Factors of the table against published equivalences: NIST Special Publication 811 (2008), appendix B, and turf handbooks.
func TestConvert(t *testing.T) {
	for _, c := range []struct {
		v        float64
		from, to string
		want     float64
		within   float64
	}{
		{1, "in", "mm", 25.4, 0},
		{1, "acre", "ft2", 43560, 1e-9},
		{1, "ha", "acre", 2.4710538, 1e-6},
		{1, "US gal", "in3", 231, 1e-9},
		{1, "gal", "L", 3.785412, 1e-6},
		{1, "imp gal", "L", 4.54609, 1e-9},
		{1, "gal", "fl oz", 128, 1e-9},
		{1, "imp gal", "imp fl oz", 160, 1e-9},
		{1, "fl oz", "mL", 29.5735, 1e-4},
		{1, "lb", "oz", 16, 1e-12},
		{1, "ton", "lb", 2000, 1e-9},
		{1, "tonne", "lb", 2204.6226, 1e-4},
		{1, "Mg", "kg", 1000, 0},
		{1, "mg", "kg", 1e-6, 1e-20},
		{1, "lb/1000 ft2", "lb/acre", 43.56, 1e-9},
		{1, "lb/1000 ft2", "kg/ha", 48.824, 1e-3},
		{1, "lb N/1000 ft2", "g/m2", 4.8824, 1e-4},
		{1, "kg/100 m2", "lb/1000 ft2", 2.048, 1e-3},
		{1, "mi/h", "ft/min", 88, 1e-9},
		{1, "mph", "m/s", 0.44704, 1e-12},
		{1, "gal/1000 ft2", "in", 1 / 623.377, 1e-7},
		{1, "mm", "L/m2", 1, 1e-12},
		{1, "acre-in", "gal", 27154.29, 0.01},
		{1, "langley/day", "MJ/m2/day", 0.041868, 1e-9},
		{1, "W/m2", "MJ/m2/day", 0.0864, 1e-12},
		{1, "in/ft", "m3/m3", 0.083333, 1e-6},
		{10, "%", "fraction", 0.1, 1e-15},
		{212, "F", "C", 100, 1e-9},
		{-40, "C", "F", -40, 1e-9},
		{0, "°C", "K", 273.15, 1e-9},
		{10, "C day", "F day", 18, 1e-9},
		{10, "delta C", "delta F", 18, 1e-9},
		{0.0665, "kPa/C", "kPa/°C", 0.0665, 0},
		{1, "cmolc/kg", "meq/100 g", 1, 1e-12},
		{2, "h local", "min after local midnight", 120, 1e-9},
		{75, "deg W", "deg E", -75, 1e-12},
		{33, "deg S", "deg N", -33, 1e-12},
		{180, "deg", "rad", math.Pi, 1e-12},
		{0.5, "USD/lb N", "cent/lb", 50, 1e-9},
		{3, "gpm per nozzle", "gal/min", 3, 1e-12},
		{1, "fl oz/1000 ft2, applications this year", "fl oz/acre", 43.56, 1e-9},
		{30, "inHg", "kPa", 101.59, 0.01},
		{1, "gal/1000 sq ft", "gal/1000 ft²", 1, 0},
		{21, "day (15th of January)", "day", 21, 0},
		{10, "grubs/ft2", "count/m2", 107.639, 1e-3},
		{1, "1/C^0.5", "1/F^0.5", 1 / math.Sqrt(1.8), 1e-12},
	} {
		got, err := Convert(Q(c.v, c.from), c.to)
		if err != nil {
			t.Errorf("%v %s in %s: %v", c.v, c.from, c.to, err)
		} else if math.Abs(got.Value-c.want) > c.within {
			t.Errorf("%v %s in %s: %v, want %v", c.v, c.from, c.to, got.Value, c.want)
		}
	}
}

// The two ounces, the two tons, thermometers and differences, and what is weighed stay apart.
func TestConvertRefuses(t *testing.T) {
	for _, c := range [][2]string{
		{"oz", "fl oz"}, {"lb", "gal"}, {"C", "C day"}, {"F", "delta C"}, {"in", "in/h"}, {"lb PLS", "lb bulk"}, {"lb ai/acre", "lb ae/acre"}, {"lb P2O5", "lb P"},
		{"parsec", "m"}, {"", "m"}, {"m", ""}, {"count", "%"}, {"-3 m", "m"}, {"m^9", "m"}, {"m^", "m"}, {"/", "m"}, {"USD", "lb"},
	} {
		if got, err := Convert(Q(1, c[0]), c[1]); err == nil {
			t.Errorf("1 %q in %q gave %v", c[0], c[1], got)
		}
	}
}

func TestSides(t *testing.T) {
	for unit, want := range map[string]side{"ft2": customary, "m2": metric, "min": either, "%": either, "lb/1000 ft2": customary, "mm/day": metric, "in/h": customary, "F": customary, "C day": metric} {
		if Metric(unit) != (want == metric) || Customary(unit) != (want == customary) {
			t.Errorf("%s is on the wrong side", unit)
		}
	}
}

func TestFigure(t *testing.T) {
	for v, want := range map[float64]string{3.5714285714: "3.571429", 0: "0", 24619419146.886: "24619420000", 1e-9: "1e-09", 0.1 + 0.2: "0.3", -2.5: "-2.5"} {
		if got := Figure(v); got != want {
			t.Errorf("%v is written %s, want %s", v, got, want)
		}
	}
}

func FuzzUnits(f *testing.F) {
	for _, s := range []string{"in/h", "lb N/1000 ft2", "C^0.5", "°C", "fl oz per acre", "1/", "(", "delta F", "  "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if !Known(text) {
			return
		}
		q, err := Convert(Q(1, text), text)
		if err != nil || q.Value != 1 {
			t.Errorf("%q into itself: %v %v", text, q, err)
		}
	})
}
