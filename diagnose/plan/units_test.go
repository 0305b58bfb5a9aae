package plan_test

import (
	"slices"
	"testing"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/plan"
)

// Every unit in which a planning row speaks is one that can be converted.
func TestUnitsOfRowsAreKnown(t *testing.T) {
	_, know := planner(t)
	p := know.Bundle.Planning
	for _, f := range p.Facts {
		if f.Unit != "" && !agronomy.Known(f.Unit) {
			t.Errorf("%s: %q", f.ID, f.Unit)
		}
	}
	for _, a := range p.Amounts {
		if a.Unit != "" && !agronomy.Known(a.Unit) {
			t.Errorf("%s: %q", a.Action, a.Unit)
		}
	}
	for _, c := range p.Caps {
		if !agronomy.SameKind(c.Unit, "lb/1000 ft2") {
			t.Errorf("%s: %q", c.ID, c.Unit)
		}
	}
}

// A count on an area means the same in every unit the check offers, and so do the units of the other system.
func TestFactsInTheUnitsOfTheirCheck(t *testing.T) {
	pl, _ := planner(t)
	c := load(t, "../../testdata/plan/grubs-over-the-limit-august.json")
	for _, w := range []struct {
		fact   agronomy.Quantity
		treats bool
	}{
		{agronomy.Q(6, "sqft"), true}, {agronomy.Q(5.9, "sqft"), false}, {agronomy.Q(6, ""), true},
		{agronomy.Q(70, "sqm"), true}, {agronomy.Q(50, "sqm"), false}, // 6 on a square foot is 64.6 on a square metre
	} {
		c.Input.Zones[0].Facts[0].Value = &w.fact
		p, err := pl.Make(c.Input)
		if err != nil {
			t.Fatal(err)
		}
		treats := slices.ContainsFunc(p.Steps, func(s plan.Step) bool { return s.Licence && s.Day < "2027-01-01" })
		if treats != w.treats {
			t.Errorf("%v: treated %v", w.fact, treats)
		}
	}
}
