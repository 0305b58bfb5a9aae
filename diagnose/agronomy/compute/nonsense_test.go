package compute

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

// nonsense are numbers that people and broken programs give.
var nonsense = []float64{0, math.Copysign(0, -1), -1, 1, 1e-300, -1e-300, 1e-9, 0.5, 7, 100, 1e3, 1e6, 1e12, 1e100, 1e300, math.MaxFloat64, -math.MaxFloat64, math.NaN(), math.Inf(1), math.Inf(-1), math.Pi, 366, 1.0 / 3}

// oddUnits are units that hardly any input is given in.
var oddUnits = []string{"", "furlong", "kg", "ft2", "F", "%", "s", "USD/bag", "lb/1000 ft2", "fl oz/acre", "mL", "pH", "1", "/", "lb//ft", "ppm", "deg lat, lon"}

func aNumber(t *rapid.T, in agronomy.Input, label string) float64 {
	if rapid.IntRange(0, 3).Draw(t, label+" odd") == 0 {
		return rapid.SampledFrom(nonsense).Draw(t, label+" nonsense")
	}
	lo, hi := 0.0, 100.0
	if in.Range.HasMin {
		lo = in.Range.Min
	}
	hi = lo + 100
	if in.Range.HasMax {
		hi = in.Range.Max
	}
	return rapid.Float64Range(lo, hi).Draw(t, label)
}

func aUnit(t *rapid.T, in agronomy.Input, label string) string {
	units := append([]string{in.Unit}, in.Or...)
	if other, ok := twin[in.Unit]; ok {
		units = append(units, other)
	}
	if rapid.IntRange(0, 9).Draw(t, label+" unit odd") == 0 {
		units = oddUnits
	}
	return rapid.SampledFrom(units).Draw(t, label+" unit")
}

var oddTexts = []string{"", " ", "x", "2026-02-29", "2026-05-01", "tall fescue", "clay", "46-0-0", "0-0-0", "99-99-99", "1-2", "NaN-1-1", "1e308-0-0", "Ω", strings.Repeat("long ", 99)}

var oddData = []any{nil, 1.0, "text", "30-4-4", true, []any{}, map[string]any{}, []any{1.0, 2.0}, []any{[]any{60.0, 98.0, 90.0}}, []any{[]any{0.0, 0.0}, []any{0.0, 1.0}, []any{1.0, 1.0}}, []any{[]any{"a"}, nil},
	[]any{[]any{1e308, 1e308, 1e308}}, map[string]any{"product name": nil, "location": 3.0, "x": []any{}}, []any{map[string]any{"azimuth_from": 300.0, "azimuth_to": 60.0, "elevation": 90.0}}, []any{-1e9, 1e300, 5.0}}

func aValue(t *rapid.T, in agronomy.Input) Given {
	switch kind := in.Kind; kind {
	case agronomy.Text, agronomy.Texts:
		words := append(slices.Clone(in.OneOf), oddTexts...)
		if kind == agronomy.Texts && rapid.Bool().Draw(t, in.Name+" list") {
			return Given{Value: agronomy.OfTexts(rapid.SliceOfN(rapid.SampledFrom(words), 0, 4).Draw(t, in.Name), "")}
		}
		return Given{Value: agronomy.OfText(rapid.SampledFrom(words).Draw(t, in.Name), "")}
	case agronomy.Flag, agronomy.Flags:
		return Given{Value: agronomy.OfFlag(rapid.Bool().Draw(t, in.Name))}
	case agronomy.Data:
		v, err := valueOf(rapid.SampledFrom(oddData).Draw(t, in.Name))
		v.Unit = rapid.SampledFrom(oddUnits).Draw(t, in.Name+" unit")
		return Given{Value: v, Fault: text(err)}
	case agronomy.Numbers:
		list := make([]float64, rapid.IntRange(0, 6).Draw(t, in.Name+" count"))
		for i := range list {
			list[i] = aNumber(t, in, in.Name)
		}
		return Given{Value: agronomy.OfList(list, aUnit(t, in, in.Name))}
	}
	if rapid.IntRange(0, 30).Draw(t, in.Name+" kind") == 0 {
		return Given{Value: agronomy.OfText("many", in.Unit)}
	}
	return Given{Value: agronomy.Of(aNumber(t, in, in.Name), aUnit(t, in, in.Name))}
}

// Whatever is given to a formula, it answers with finite numbers or with a sentence; it never panics.
func TestNonsense(t *testing.T) {
	r := NewRegistry()
	for _, name := range r.Names() {
		f := r.byName[name]
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) { oneNonsense(t, r, f) })
		})
	}
}

func oneNonsense(t *rapid.T, r *Registry, f agronomy.Formula) {
	way := rapid.SampledFrom(f.Ways).Draw(t, "way")
	c := Check{Formula: f.Name, Inputs: map[string]Given{}}
	names := slices.Clone(way.Needs)
	for _, may := range way.May {
		if rapid.IntRange(0, max(2, len(way.May)/6)).Draw(t, "with "+may) == 0 {
			names = append(names, may)
		}
	}
	if len(names) > 1 && rapid.IntRange(0, 9).Draw(t, "leave out") == 0 {
		names = names[1:]
	}
	for _, name := range names {
		in, ok := inputOf(f, name)
		if !ok {
			t.Fatalf("%s is not an input", name)
		}
		c.Inputs[name] = aValue(t, in)
	}
	a := r.Answer(c)
	if a.Error == nil && len(a.Outputs) == 0 {
		t.Fatalf("neither an output nor a sentence")
	}
	if a.Error != nil && (len(*a.Error) < 12 || !strings.HasSuffix(*a.Error, ".") || strings.Contains(*a.Error, "NaN is") || strings.Contains(*a.Error, "%!")) {
		t.Fatalf("%q is no sentence", *a.Error)
	}
	for name, out := range a.Outputs {
		for _, v := range append([]float64{out.result.Number}, out.result.Numbers...) {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%s is %v", name, v)
			}
		}
		for _, step := range out.Working.Steps {
			if math.IsNaN(step.Value) || math.IsInf(step.Value, 0) {
				t.Fatalf("in the working of %s, %s is %v", name, step.Name, step.Value)
			}
		}
	}
}
