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
