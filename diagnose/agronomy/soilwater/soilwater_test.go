package soilwater

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

func drawDays(t *rapid.T) []Day {
	days := make([]Day, rapid.IntRange(1, 60).Draw(t, "days"))
	for i := range days {
		days[i] = Day{ETo: rapid.Float64Range(0, 12).Draw(t, "eto"), Kc: rapid.Float64Range(0.3, 1.1).Draw(t, "kc")}
		if rapid.Bool().Draw(t, "wet") {
			days[i].Rain = rapid.Float64Range(0, 60).Draw(t, "rain")
			days[i].RunOff = rapid.Float64Range(0, 1).Draw(t, "share") * days[i].Rain
		}
		if rapid.IntRange(0, 4).Draw(t, "watered") == 0 {
			days[i].Irrigation = rapid.Float64Range(0, 30).Draw(t, "irrigation")
		}
	}
	return days
}

// Nothing is lost: what came is what was used, what went deep and what the soil gained; the soil never holds more than it can.
func TestLawsOfTheBucket(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := drawDays(t)
		b := Bucket{TAW: rapid.Float64Range(5, 150).Draw(t, "taw"), P: rapid.Float64Range(0.1, 0.9).Draw(t, "p"), Kc: 1}
		b.Start = b.TAW * rapid.Float64Range(0, 1).Draw(t, "start")
		acc, err := Run(days, b)
		if err != nil {
			t.Fatal(err)
		}
		dr := b.Start
		for i, d := range acc.Days {
			in := days[i].Rain - days[i].RunOff + days[i].Irrigation
			if d.Depletion < 0 || d.Depletion > b.TAW || d.Ks < 0 || d.Ks > 1 || d.Deep < 0 || d.ETa > days[i].Kc*days[i].ETo+1e-9 {
				t.Fatalf("%+v", d)
			}
			if lost := dr - in + d.ETa + d.Deep - d.Depletion; lost < -1e-9 || lost > 1e-9 && d.Depletion < b.TAW-1e-9 {
				t.Fatalf("day %d loses %v mm", i+1, lost)
			}
			dr = d.Depletion
		}
		if len(days) == 1 {
			return
		}
		wetter := append([]Day(nil), days...)
		wetter[0].Irrigation += 5
		again, err := Run(wetter, b)
		if err != nil || again.Days[0].Depletion > acc.Days[0].Depletion+1e-9 {
			t.Fatalf("watering dries the soil: %v, then %v", acc.Days[0], again.Days[0])
		}
	})
}

// Light rain and the day's p, each as the paper has it.
func TestBucketOptions(t *testing.T) {
	day := []Day{{ETo: 6, Rain: 1}}
	plain, _ := Run(day, Bucket{TAW: 40, Start: 10, P: 0.5, Kc: 1})
	light, _ := Run(day, Bucket{TAW: 40, Start: 10, P: 0.5, Kc: 1, SkipLightRain: true})
	if plain.Days[0].Depletion != 15 || light.Days[0].Depletion != 16 {
		t.Errorf("%v %v", plain, light)
	}
	fitted, _ := Run([]Day{{ETo: 10}}, Bucket{TAW: 40, Start: 15, P: 0.5, Kc: 1, AdjustP: true})
	if p := 0.5 + 0.04*(5-10); math.Abs(fitted.Days[0].Ks-(40-15)/((1-p)*40)) > 1e-12 {
		t.Errorf("%v", fitted)
	}
	if _, err := Run(day, Bucket{TAW: 40, Start: 41, P: 0.5, Kc: 1}); err == nil {
		t.Error("more is used up than there is")
	}
}

// Every texture has a range, in both tables' units; an inch a foot is a twelfth.
func TestAvailableWater(t *testing.T) {
	for _, name := range textures() {
		a, err := AvailableWater(name, "")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		lo, err := a.Low.As("m3/m3")
		hi, err2 := a.High.As("m3/m3")
		if err != nil || err2 != nil || lo.Number < 0.03 || hi.Number > 0.22 || lo.Number >= hi.Number {
			t.Errorf("%s: %v to %v", name, lo, hi)
		}
	}
	for _, c := range [][2]string{{"silt", "California"}, {"clay loam", "FAO-56"}, {"peat", ""}} {
		if a, err := AvailableWater(c[0], c[1]); err == nil {
			t.Errorf("%v: %v", c, a)
		}
	}
}

// Wetting to a depth and the depth wetted are each other's opposite, whatever the units.
func TestWettingThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		aw := agronomy.Q(rapid.Float64Range(0.4, 2.5).Draw(t, "available"), "in/ft")
		dried := agronomy.Q(rapid.Float64Range(0.05, 1).Draw(t, "dried"), "fraction")
		depth := agronomy.Q(rapid.Float64Range(1, 30).Draw(t, "depth"), rapid.SampledFrom([]string{"in", "cm"}).Draw(t, "unit"))
		water, err := WaterToWet(depth, aw, dried)
		if err != nil {
			t.Fatal(err)
		}
		back, err := WettingDepth(water.Quantity(), aw, dried)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := back.As(depth.Unit); err != nil || math.Abs(again.Number-depth.Value) > 1e-9*depth.Value {
			t.Fatalf("%v, then %v (%v)", depth, again, err)
		}
	})
}

// The last water counts, with what had been used up before it.
func TestExpectedWetting(t *testing.T) {
	days := []Day{{ETo: 5, Rain: 20}, {ETo: 5}, {ETo: 5}, {ETo: 5, Irrigation: 10}, {ETo: 5}}
	b := Bucket{TAW: 30, P: 0.5, Kc: 1, Start: 10}
	e, err := ExpectedWetting(days, b, agronomy.Q(1.5, "in/ft"))
	if err != nil {
		t.Fatal(err)
	}
	if e.Applied.Number != 10 || math.Abs(e.Before.Number-10.0/30) > 1e-9 || math.Abs(e.Depth.Number-10/(0.125*10/30)) > 1e-9 || e.DaysAgo.Number != 1 || e.WentThru {
		t.Errorf("%+v", e)
	}
	for name, dry := range map[string][]Day{"no water": {{ETo: 5}}, "already full": {{ETo: 0, Rain: 50}, {ETo: 0, Rain: 5}}} {
		var refused *agronomy.InputError
		if _, err := ExpectedWetting(dry, b, agronomy.Q(1.5, "in/ft")); !errors.As(err, &refused) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Grasses have roots and an allowed share.
func TestRoots(t *testing.T) {
	for _, name := range rooted() {
		r, err := RootsOf(name)
		if err != nil || r.Low.Number >= r.High.Number || r.Allowed.Number < 0.4 || r.Allowed.Number > 0.5 {
			t.Errorf("%s: %+v (%v)", name, r, err)
		}
	}
	if _, err := RootsOf("moss"); err == nil {
		t.Error("moss has roots")
	}
}
