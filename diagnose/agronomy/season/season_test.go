package season

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/fertilizer"
)

func lb(v float64) agronomy.Quantity { return agronomy.Q(v, "lb N/1000 ft2") }

// A programme's feedings add up to the year's total, and none is above what may go down at once.
func TestProgrammeAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turf := rapid.SampledFrom([]string{"cool-season", "warm-season"}).Draw(t, "turf")
		total, once := rapid.Float64Range(0.2, 4).Draw(t, "total"), rapid.Float64Range(0.4, 1).Draw(t, "once")
		list, err := Programme(turf, "", lb(total), lb(once))
		if err != nil {
			if !strings.Contains(err.Error(), "the table of "+turf+" turf has 1 to 4") || total/once <= 4 {
				t.Fatal(err)
			}
			return
		}
		sum := 0.0
		for _, f := range list {
			sum += f.Rate
			if f.Rate > once*(1+1e-8) || f.When == "" || f.Source == "" {
				t.Fatalf("%+v", f)
			}
		}
		if math.Abs(sum-total) > 1e-9 {
			t.Fatalf("%v in all, %v wanted", sum, total)
		}
	})
	if _, err := Programme("cool-season", "", lb(3), lb(1.2)); err == nil || !strings.HasPrefix(err.Error(), "per_application is ") {
		t.Errorf("more than a pound at once: %v", err)
	}
}

// Every published range serves its own species, and its ends are within.
func TestRanges(t *testing.T) {
	for _, r := range nitrogen {
		for v, want := range map[float64]string{r.Number("low"): "within", r.Number("high"): "within", r.Number("low") / 2: "below", r.Number("high") + 0.1: "above"} {
			if got, err := InRange(strings.ToUpper(r["species"]), r["state"], lb(v)); err != nil || got.Text != want {
				t.Errorf("%s in %s, %v: %v %v", r["species"], r["state"], v, got, err)
			}
		}
		metric := agronomy.Q(agronomy.MustConvert((r.Number("low")+r.Number("high"))/2, "lb/1000 ft2", "kg/ha"), "kg N/ha")
		if got, err := InRange(r["species"], r["state"], metric); err != nil || got.Text != "within" {
			t.Errorf("%s in kg/ha: %v %v", r["species"], got, err)
		}
	}
	if _, err := YearlyFor("bentgrass", "Virginia"); err == nil || !strings.Contains(err.Error(), "Illinois") {
		t.Errorf("the states that publish it are named: %v", err)
	}
	for _, turf := range []string{"cool-season", "warm-season"} {
		if len(Windows(turf, "")) == 0 {
			t.Errorf("no months for %s turf", turf)
		}
	}
}

func TestEnhancedEfficiency(t *testing.T) {
	c, err := fertilizer.CapOf("Maryland")
	if err != nil {
		t.Fatal(err)
	}
	for v, want := range map[float64]bool{2.4: true, 2.5: true, 2.51: false} {
		if r, err := EEFYear(lb(v), c); err != nil || r.Yes != want {
			t.Errorf("%v in the year: %v %v", v, r, err)
		}
	}
	for v, want := range map[float64]bool{2.4: true, 2.41: false} {
		if r, err := EEFShare(lb(v), lb(3), c); err != nil || r.Yes != want {
			t.Errorf("%v at once: %v %v", v, r, err)
		}
	}
	for v, want := range map[float64]bool{0.7: true, 0.71: false} {
		if r, err := EEFRelease(agronomy.Q(v, "lb N/1000 ft2/month"), c); err != nil || r.Yes != want {
			t.Errorf("%v in a month: %v %v", v, r, err)
		}
	}
	winter := time.Date(2026, 12, 24, 0, 0, 0, 0, time.UTC)
	if r, err := DateAllowed("Maryland", winter, true); err != nil || r.Yes {
		t.Errorf("fed at Christmas: %v %v", r, err)
	}
}
