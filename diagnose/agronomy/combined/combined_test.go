package combined

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/area"
	"swardbook/diagnose/agronomy/fertilizer"
)

// A chain gives to the last digit what its parts give one after the other.
func TestChainIsItsParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length, width := rapid.Float64Range(5, 500).Draw(t, "length"), rapid.Float64Range(5, 500).Draw(t, "width")
		target, n := rapid.Float64Range(0.1, 1).Draw(t, "target"), rapid.Float64Range(5, 46).Draw(t, "N")
		out, err := Run(agronomy.Values{"length": agronomy.Of(length, "ft"), "width": agronomy.Of(width, "ft"), "target_n": agronomy.Of(target, "lb/1000 ft2"), "grade_n": agronomy.Of(n, "%"), "bag": agronomy.Of(50, "lb")})
		if err != nil {
			t.Fatal(err)
		}
		ground, err := area.Rectangle(agronomy.Q(length, "ft"), agronomy.Q(width, "ft"))
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := out["product_per_gallon"]; ok || out["product"].Kind != "" {
			t.Fatal("a part ran that nobody asked for")
		}
		need, err := fertilizer.Amount(agronomy.Q(target, "lb/1000 ft2"), agronomy.Q(n, "%"), ground.Quantity(), agronomy.Q(50, "lb"))
		if err != nil || need.Total.Number != out["product_total"].Number || need.Bags.Number != out["bags"].Number || out["area"].Number != ground.Number {
			t.Fatalf("%v and %v, %v", need.Total, out["product_total"], err)
		}
	})
}

// Weather to minutes: use over days less rain is the need, and the need gives the run time.
func TestWaterChain(t *testing.T) {
	out, err := Run(agronomy.Values{
		"eto": agronomy.Of(0.25, "in/day"), "kc": agronomy.Of(0.8, "ratio"), "days": agronomy.Of(3, "day"), "rain": agronomy.Of(0.1, "in"), "precip_rate": agronomy.Of(0.5, "in/h"), "du_lq": agronomy.Of(0.6, "fraction"),
	})
	if err != nil {
		t.Fatal(err)
	}
	if need := out["water_need"]; need.Unit != "in" || math.Abs(need.Number-0.5) > 1e-9 {
		t.Errorf("need %v", need)
	}
	if low, high := out["run_time_lower"], out["run_time_upper"]; math.Abs(low.Number-60) > 1e-6 || math.Abs(high.Number-60/0.76) > 1e-6 {
		t.Errorf("minutes %v to %v", low, high)
	}
}

// The ground that is treated lies on the slope and is without what is taken off, and is in the units of the rest.
func TestGroundOfTheRest(t *testing.T) {
	out, err := Run(agronomy.Values{"length": agronomy.Of(30, "m"), "width": agronomy.Of(20, "m"), "deductions": agronomy.OfList([]float64{100}, "m2"), "target_n": agronomy.Of(1, "lb/1000 ft2"), "grade_n": agronomy.Of(20, "%")})
	if err != nil {
		t.Fatal(err)
	}
	if total, want := out["product_total"], 5*500/92.90304; total.Unit != "lb" || math.Abs(total.Number-want) > 1e-9 {
		t.Errorf("%v, not %v lb", total, want)
	}
}

func TestRefused(t *testing.T) {
	for name, given := range map[string]agronomy.Values{
		"combined has not enough": {"days": agronomy.Of(3, "day")},
		"width is ":               {"length": agronomy.Of(3, "ft"), "width": agronomy.Of(-1, "ft")},
		"purity is ":              {"length": agronomy.Of(30, "ft"), "width": agronomy.Of(10, "ft"), "pls_rate": agronomy.Of(6, "lb/1000 ft2"), "purity": agronomy.Of(120, "%"), "germination": agronomy.Of(85, "%")},
	} {
		if _, err := Run(given); err == nil || !strings.HasPrefix(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Every formula of the chain is there, and every input of it is known to the chain by one name only.
func TestChain(t *testing.T) {
	if len(chain) != len(order) {
		t.Errorf("%d formulas of %d", len(chain), len(order))
	}
	f := Formulas()[0]
	seen := map[string]bool{}
	for _, in := range f.Inputs {
		if seen[in.Name] || in.Says == "" || len(in.Also) > 0 {
			t.Errorf("%s is twice, or isn't explained", in.Name)
		}
		seen[in.Name] = true
	}
}

// An oval bed by offsets, seeded: ground and seed in one go.
func ExampleRun() {
	out, err := Run(agronomy.Values{
		"offsets": agronomy.OfList([]float64{0, 9, 14, 16, 15, 10, 0}, "ft"), "interval": agronomy.Of(12, "ft"),
		"pls_rate": agronomy.Of(6, "lb PLS/1000 ft2"), "purity": agronomy.Of(98, "%"), "germination": agronomy.Of(85, "%"),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(out["area_simpson"].Value, "|", out["bulk_seed"].Value)
	// Output: 792 ft2 | 5.704682 lb
}

// What no part can take is refused by the name it was given under, not passed over.
func TestMisfitsAreNamed(t *testing.T) {
	number := func(x float64, unit string) agronomy.Value { return agronomy.Of(x, unit) }
	good := func() agronomy.Values {
		return agronomy.Values{"length": number(60, "ft"), "width": number(25, "ft"), "pls_rate": number(6, "lb/1000 ft2"), "purity": number(98, "%"), "germ": number(85, "%")}
	}
	if out, err := Run(good()); err != nil || out["bulk_seed"].Unit == "" {
		t.Fatalf("%v, %v", out, err)
	}
	for _, c := range []struct {
		name string
		v    agronomy.Value
		say  string
	}{
		{"purity", agronomy.Value{Kind: agronomy.Text, Text: "ten"}, "purity must be a number, and a text was given."},
		{"germ", number(85, "ft"), "germ must be given in a unit like %"},
		{"pls_rate", number(6, "furlong"), "pls_rate must be given in a unit like"},
		{"width", number(25, ""), "width has no unit; give it one, like ft."},
	} {
		given := good()
		given[c.name] = c.v
		if _, err := Run(given); err == nil || !strings.HasPrefix(err.Error(), c.say) {
			t.Errorf("%s: %v, want %s", c.name, err, c.say)
		}
	}
}
