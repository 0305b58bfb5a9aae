package intake_test

import (
	"slices"
	"testing"

	"swardbook/store"
)

// TestAVisitMovedToAnotherCrewKeepsBothSidesWork: Ana walks her visit without signal while the office gives it to Ben, who walks it too. What
// both recorded counts, what they disagree on is raised, and somebody who never had it is set aside as before.
func TestAVisitMovedToAnotherCrewKeepsBothSidesWork(t *testing.T) {
	h := openHouse(t)
	h.must(h.db.AddPerson(t.Context(), store.Person{ID: "cy", Name: "Cy", Role: store.Crew, Lang: "en", Active: true, Hash: "x"}))
	ana, ben, cy := h.phone("d1", h.ana), h.phone("d2", h.ben), h.phone("d3", store.Person{ID: "cy", Name: "Cy", Role: store.Crew, Active: true})
	ana.op("visit", map[string]any{"visit": "visit", "state": "under way"})
	ana.read("front", "tug_test", "firm")
	ana.read("front", "thatch_in", "0.5")
	h.must(h.db.MoveVisit(t.Context(), "visit", "2026-08-28", "ben", 0))
	ben.read("front", "thatch_in", "2")
	ben.read("front", "core_depth_in", "3; 4 in")
	strange := cy.read("front", "tug_test", "firm")
	for _, p := range []*phone{ben, ana} {
		if r := p.send(); len(r.Attention) > 0 || r.Through != p.n {
			t.Errorf("%s: %+v", p.person.Name, r)
		}
	}
	if got := codes(cy.send()); got[strange] != "not_yours" {
		t.Errorf("somebody who never had the visit: %v", got)
	}
	readings, err := h.db.Readings(t.Context(), "visit")
	h.must(err)
	var got []string
	for _, r := range readings {
		line := r.Author + " " + r.Check
		if r.Current {
			line += " counts"
		}
		if r.Dispute {
			line += ", in dispute"
		}
		got = append(got, line)
	}
	slices.Sort(got)
	want := []string{"ana thatch_in counts, in dispute", "ana tug_test counts", "ben core_depth_in counts", "ben thatch_in, in dispute"}
	if !slices.Equal(got, want) {
		t.Errorf("readings %q, want %q", got, want)
	}
	if v, err := h.db.Visit(t.Context(), "visit"); err != nil || v.Crew != "ben" || v.State != store.UnderWay {
		t.Errorf("the visit: %+v, %v", v, err)
	}
}
