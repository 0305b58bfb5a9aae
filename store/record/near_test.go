package record

import (
	"testing"

	"swardbook/store"
)

func TestLimitsThatAreAboutToBeReached(t *testing.T) {
	feed := store.Material{ID: "feed", Version: 1, Name: "24-0-11", Unit: "lb", Limits: store.Limits{Year: 10}, Actives: []store.Active{{Name: "Prodiamine", YearLbA: 1.5}}}
	for _, c := range []struct {
		n, active, product float64
		want               []string
	}{
		{3.1, 1.19, 7.9, nil}, // all below four fifths
		{3.2, 0, 0, []string{"n"}},
		{4, 1.2, 8, []string{"n", "active", "product"}}, // at the limit, at four fifths
		{4.01, 1.51, 10.1, nil},                         // passed: that stands on the record
	} {
		total := ZoneTotal{Sum: Part{N: c.n, Active: map[string]float64{"prodiamine": c.active}, Product: map[string]float64{"feed": c.product}}, Lines: []Line{{Material: feed}}}
		var got []string
		for _, x := range total.Near(Firm{NYear: 4}) {
			got = append(got, x.What)
		}
		if len(got) != len(c.want) {
			t.Errorf("%+v: %v, want %v", c, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%+v: %v, want %v", c, got, c.want)
			}
		}
	}
	if got := (ZoneTotal{Sum: Part{N: 9}}).Near(Firm{}); len(got) != 0 {
		t.Errorf("without limits nothing is near one: %v", got)
	}
}

// A label whose year is any 365 days is held against what a zone got in the last 365, and not against the calendar.
func TestARollingYearIsNearByItsOwnSum(t *testing.T) {
	m := store.Material{ID: "roll", Version: 1, Name: "Counted by 365 days", Unit: "lb", Limits: store.Limits{Year: 6, Rolling: true}, Actives: []store.Active{{Name: "y", YearLbA: 2}}}
	total := ZoneTotal{Sum: Part{N: 4, Active: map[string]float64{"y": 1.9}, Product: map[string]float64{"roll": 5}}, Lines: []Line{{Material: m}}}
	if got := total.Near(Firm{NYear: 4}); len(got) != 1 || got[0].What != "n" {
		t.Errorf("by the calendar: %+v", got)
	}
	if got := total.NearRolling(); len(got) != 2 || got[0].What != "active" || got[1].What != "product" || got[1].Limit != 6 {
		t.Errorf("in 365 days: %+v", got)
	}
}
