package mowing

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

// Mowing at the height of the rule takes off exactly a third; waiting whole days never takes more.
func TestOneThird(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]string{"in", "mm", "cm"}).Draw(t, "unit")
		setting := agronomy.Q(agronomy.MustConvert(rapid.Float64Range(0.2, 6).Draw(t, "setting"), "in", unit), unit)
		at, err := MowAt(setting)
		if err != nil || at.Unit != unit {
			t.Fatal(at, err)
		}
		off, ok, err := Removed(at.Quantity(), setting)
		if err != nil || !ok.Yes || math.Abs(off.Number-1.0/3) > 1e-12 {
			t.Fatalf("%v, %v, %v", off, ok, err)
		}
		low, err := LowestCut(at.Quantity())
		if err != nil || math.Abs(low.Number-setting.Value) > 1e-9*setting.Value {
			t.Fatalf("%v %v", low, err)
		}
		growth := agronomy.Q(rapid.Float64Range(0.01, 1).Draw(t, "growth"), "in/day")
		days, err := WholeDays(setting, growth)
		if err != nil {
			t.Fatal(err)
		}
		high := agronomy.Q(agronomy.MustConvert(setting.Value, unit, "in")+days.Number*growth.Value, "in")
		if high.Value > 60 {
			return
		}
		if _, ok, err := Removed(high, setting); err != nil || !ok.Yes {
			t.Fatalf("after %v days more than a third comes off, %v", days, err)
		}
	})
}

// The ends of every published range are within it.
func TestRanges(t *testing.T) {
	for _, r := range heights {
		for v, want := range map[float64]string{r.Number("low"): "within", r.Number("high"): "within", r.Number("low") * 0.9: "below", r.Number("high") * 1.1: "above"} {
			if got, err := InRange(r["species"], r["state"], agronomy.Q(v*25.4, "mm")); err != nil || got.Text != want {
				t.Errorf("%s in %s at %v: %v %v", r["species"], r["state"], v, got, err)
			}
		}
	}
	if _, err := InRange("tall fescue", "Ohio", agronomy.Q(3, "in")); err == nil || !strings.Contains(err.Error(), "Kansas") {
		t.Errorf("the states that publish it are named: %v", err)
	}
	if _, err := MowAt(agronomy.Q(0, "in")); err == nil || !strings.HasPrefix(err.Error(), "mowing_height is ") {
		t.Errorf("%v", err)
	}
}

// Grass set to 2.5 in that grows a quarter of an inch a day is mown every five days.
func ExampleDaysBetween() {
	at, _ := MowAt(agronomy.Q(2.5, "in"))
	days, _ := DaysBetween(agronomy.Q(2.5, "in"), agronomy.Q(0.25, "in/day"))
	fmt.Println(at.Value, "|", days.Value)
	// Output: 3.75 in | 5 day
}
