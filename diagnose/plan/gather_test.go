package plan_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/diagnose/plan"
)

func ofTheFirm(s plan.Step) bool {
	return s.Kind == plan.Check || s.Kind == plan.Do && (s.Who == "crew" || s.Who == "applicator")
}

// TestGatheredPlansStand: whatever is planned, gathering breaks no rule, moves nothing further than it may, changes no amount,
// and leaves no more visits than there were.
func TestGatheredPlansStand(t *testing.T) {
	pl, know := planner(t)
	gen := anyInput(&know.Bundle, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		within := rapid.IntRange(0, 21).Draw(t, "within")
		anchors := rapid.SliceOfN(anyDay("2026-01-01", "2027-12-31"), 0, 3).Draw(t, "visits")
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		g, err := pl.Gather(in, p, within, anchors, ofTheFirm)
		if err != nil {
			t.Fatal(err)
		}
		found, err := pl.Verify(in, g)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range found {
			t.Errorf("a gathered plan breaks %+v", c)
		}
		limitsHold(t, in, g)
		intervalsHold(t, &know.Bundle, in, g)
		addsUp(t, g)
		if len(g.Steps) != len(p.Steps) || g.CostCents != p.CostCents {
			t.Fatalf("gathering changed more than days: %d steps of %d", len(g.Steps), len(p.Steps))
		}
		visits, before := map[string]bool{}, map[string]bool{}
		for _, day := range anchors {
			visits[day], before[day] = true, true
		}
		for i, s := range g.Steps {
			if ofTheFirm(s) && s.Day != "" {
				visits[s.Day], before[p.Steps[i].Day] = true, true
			}
			if s.Day != p.Steps[i].Day && (s.Alone != p.Steps[i].Day || days(s.Day, p.Steps[i].Day) > within) {
				t.Errorf("%s went from %s to %s within %d days, alone %q", s.ID, p.Steps[i].Day, s.Day, within, s.Alone)
			}
		}
		if len(visits) > len(before) {
			t.Errorf("%d visits became %d", len(before), len(visits))
		}
	})
}

// TestAVisitGoesWholeOrStays: a day of two steps, one of which can't leave it, keeps both, for its visit is made all the same.
func TestAVisitGoesWholeOrStays(t *testing.T) {
	pl, know := planner(t)
	gen := anyInput(&know.Bundle, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		anchors := rapid.SliceOfN(anyDay("2026-01-01", "2027-12-31"), 1, 6).Draw(t, "visits")
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		g, err := pl.Gather(in, p, 14, anchors, ofTheFirm)
		if err != nil {
			t.Fatal(err)
		}
		left := map[string]bool{}
		for i, s := range g.Steps {
			if ofTheFirm(s) && s.Day == p.Steps[i].Day {
				left[s.Day] = true
			}
		}
		for _, s := range g.Steps {
			if s.Alone != "" && left[s.Alone] {
				t.Errorf("%s left %s, on which other steps stayed", s.ID, s.Alone)
			}
		}
	})
}

func days(a, b string) int {
	x, _ := time.Parse(time.DateOnly, a)
	y, _ := time.Parse(time.DateOnly, b)
	return int(max(x.Sub(y), y.Sub(x)).Hours() / 24)
}

// TestGatherMovesOntoAVisit: a step goes onto a visit two days later, and not onto one that lies outside its window or too far away.
func TestGatherMovesOntoAVisit(t *testing.T) {
	pl, _ := planner(t)
	c := load(t, "../../testdata/plan/lime-by-the-test.json")
	p, err := pl.Make(c.Input)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct{ visit, day, alone string }{{"2026-09-22", "2026-09-22", "2026-09-20"}, {"2026-09-25", "2026-09-20", ""}, {"2026-09-18", "2026-09-20", ""}} {
		g, err := pl.Gather(c.Input, p, 3, []string{x.visit}, func(s plan.Step) bool { return s.ID == "soil_chemistry.lime_by_test" })
		if s := stepOf(t, g, "soil_chemistry.lime_by_test"); err != nil || s.Day != x.day || s.Alone != x.alone {
			t.Errorf("a visit on %s: the step is on %s, alone %q, %v", x.visit, s.Day, s.Alone, err)
		}
		if s := stepOf(t, p, "soil_chemistry.lime_by_test"); s.Day != "2026-09-20" {
			t.Fatalf("the plan given was changed: %s", s.Day)
		}
	}
}
