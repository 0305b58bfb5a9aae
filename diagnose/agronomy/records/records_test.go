package records

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

// A record with every item is complete under every rule; without one of them, that one is named and nothing else.
func TestMissingNamesWhatIsMissing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Case{Rule: rapid.SampledFrom(append(Rules(), "", "7 CFR Part 110", "7 CFR 110.3(b)", "south dakota")).Draw(t, "rule"), Spot: rapid.Bool().Draw(t, "spot"), Supervised: rapid.Bool().Draw(t, "supervised")}
		items, source, err := Required(c)
		if err != nil || len(items) < 5 || source == "" {
			t.Fatalf("%v %q %v", items, source, err)
		}
		record := map[string]string{"more than is asked": "x"}
		for _, item := range items {
			record[item] = "given"
		}
		if missing, err := Missing(record, c); err != nil || len(missing) != 0 {
			t.Fatalf("%v of a full record, %v", missing, err)
		}
		gone := rapid.SampledFrom(items).Draw(t, "gone")
		if rapid.Bool().Draw(t, "blank") {
			record[gone] = " \t"
		} else {
			delete(record, gone)
		}
		if missing, err := Missing(record, c); err != nil || !slices.Equal(missing, []string{gone}) {
			t.Fatalf("%v instead of %s, %v", missing, gone, err)
		}
	})
}

func TestRulesAdd(t *testing.T) {
	federal, _, err := Required(Case{})
	if err != nil || len(federal) != 9 {
		t.Fatalf("%v %v", federal, err)
	}
	for _, rule := range Rules()[1:] {
		items, _, err := Required(Case{Rule: rule})
		if err != nil || len(items) <= len(federal) || !slices.Equal(items[:9], federal) {
			t.Errorf("%s: %v %v", rule, items, err)
		}
	}
	spot, _, err := Required(Case{Spot: true})
	if err != nil || slices.Contains(spot, "size of area treated") || !slices.Contains(spot, "location") {
		t.Errorf("spot: %v %v", spot, err)
	}
	alone, _, _ := Required(Case{Rule: "40 CFR 171.303(b)(7)"})
	helped, _, _ := Required(Case{Rule: "40 CFR 171.303(b)(7)", Supervised: true})
	if len(helped) != len(alone)+1 {
		t.Errorf("a supervised person's name: %v, %v", alone, helped)
	}
	if _, _, err := Required(Case{Rule: "Atlantis"}); err == nil || !strings.HasPrefix(err.Error(), "rule is ") {
		t.Errorf("%v", err)
	}
}

// Every rule has terms; a record is due before it may be thrown away, and is kept two years at least.
func TestTerms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 5000).Draw(t, "day"))
		for _, rule := range Rules() {
			terms, err := TermsOf(rule, day)
			if err != nil || terms.Due.Before(day) || !terms.Due.Before(terms.Keep) || terms.Keep.Before(day.AddDate(2, 0, 0)) || terms.Source == "" {
				t.Fatalf("%s %v: %+v %v", rule, day, terms, err)
			}
		}
	})
	leap, err := TermsOf("", time.Date(2028, 2, 29, 0, 0, 0, 0, time.UTC))
	if err != nil || leap.Keep.Format(dateForm) != "2030-03-01" || leap.Due.Format(dateForm) != "2028-03-14" {
		t.Errorf("%+v %v", leap, err)
	}
	if _, err := Day("application_date", "2026-02-30"); err == nil || !strings.HasPrefix(err.Error(), "application_date is ") {
		t.Errorf("%v", err)
	}
}

// The longest interval governs, whatever the order and the unit.
func TestGoverning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfN(rapid.Float64Range(0, 200), 1, 6).Draw(t, "intervals")
		r, err := GoverningREI(agronomy.Qs("h", list...))
		if err != nil || r.Number != slices.Max(list) {
			t.Fatalf("%v of %v, %v", r, list, err)
		}
		end := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
		if at, err := ReEntry(end, r.Quantity()); err != nil || at.Before(end) {
			t.Fatalf("%v %v", at, err)
		}
	})
	if r, err := GoverningREI(agronomy.Qs("day", 1, 0.5)); err != nil || r.Value.String() != "1 day" {
		t.Errorf("%v %v", r, err)
	}
}

func TestWeather(t *testing.T) {
	r, err := Wind(agronomy.Qs("m/s", 1, 3, 5), agronomy.Q(3, "mi/h"), agronomy.Q(10, "mi/h"))
	if err != nil || !slices.Equal(r.Texts, []string{calm, right, windy}) {
		t.Errorf("%v %v", r, err)
	}
	r, err = Temperature(agronomy.Qs("C", 5, 20, 35), agronomy.Q(50, "F"), agronomy.Q(85, "F"))
	if err != nil || !slices.Equal(r.Texts, []string{cold, right, hot}) {
		t.Errorf("%v %v", r, err)
	}
	if _, err := Wind(agronomy.Qs("mi/h", 5), agronomy.Q(10, "mi/h"), agronomy.Q(3, "mi/h")); err == nil || !strings.HasPrefix(err.Error(), "wind_min is ") {
		t.Errorf("%v", err)
	}
	if _, err := Wind(agronomy.Qs("mi/h", -1), agronomy.Q(3, "mi/h"), agronomy.Q(10, "mi/h")); err == nil || !strings.HasPrefix(err.Error(), "wind is ") {
		t.Errorf("%v", err)
	}
}

func TestSpot(t *testing.T) {
	for area, want := range map[float64]bool{0: true, 4355.9: true, 4356: false, 5000: false} {
		if r, err := SpotAllowed(agronomy.Q(area, "ft2")); err != nil || r.Yes != want {
			t.Errorf("%v: %v %v", area, r, err)
		}
	}
	if r, err := SpotAllowed(agronomy.Q(0.1, "acre")); err != nil || r.Yes {
		t.Errorf("one-tenth acre is not less than it: %v %v", r, err)
	}
}
