package diagnose_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// Wrong input on the built-in knowledge is refused in words that name the case, the finding and the fault.
func TestWrongInputIsNamed(t *testing.T) {
	one := func(o ...diagnose.Observed) diagnose.Case {
		return diagnose.Case{ID: "back lawn", Season: "summer", Observed: o}
	}
	number := func(f string, n diagnose.Number) diagnose.Case { return one(diagnose.Observed{Finding: f, Number: &n}) }
	for name, w := range map[string]struct {
		c    diagnose.Case
		kind diagnose.InputKind
		say  []string
	}{
		"an unknown finding":     {one(state("hat_size", "large")), diagnose.UnknownFinding, []string{"back lawn", "hat_size", "no finding"}},
		"an unknown state":       {one(state("pattern", "wavy")), diagnose.UnknownState, []string{"back lawn", "pattern", "wavy"}},
		"an unknown sign":        {one(signsOf("site_event", "flood")), diagnose.UnknownState, []string{"site_event", "flood"}},
		"a negative depth":       {number("core_depth_in", diagnose.Number{Mean: -2, N: 1}), diagnose.BadNumber, []string{"core_depth_in", "negative"}},
		"a negative spread":      {number("core_depth_in", diagnose.Number{Mean: 2, SD: -1, N: 2}), diagnose.BadNumber, []string{"core_depth_in", "negative"}},
		"no measurement":         {number("core_depth_in", diagnose.Number{Mean: 2}), diagnose.BadNumber, []string{"core_depth_in", "measurement"}},
		"an unknown unit":        {number("core_depth_in", diagnose.Number{Mean: 2, N: 1, Unit: "ell"}), diagnose.UnknownUnit, []string{"core_depth_in", "ell"}},
		"a number for a look":    {number("pattern", diagnose.Number{Mean: 2, N: 1}), diagnose.WrongForm, []string{"pattern", "states"}},
		"one finding twice":      {one(state("pattern", "uniform"), state("pattern", "none")), diagnose.Twice, []string{"pattern", "twice"}},
		"there and not there":    {one(diagnose.Observed{Finding: "site_event", Present: []string{"dog_uses_area"}, Absent: []string{"dog_uses_area"}}), diagnose.Twice, []string{"dog_uses_area", "twice"}},
		"a finding without sign": {one(diagnose.Observed{Finding: "pattern"}), diagnose.WrongForm, []string{"pattern", "exactly one"}},
		"no season":              {diagnose.Case{ID: "back lawn"}, diagnose.UnknownSeason, []string{"back lawn", "season"}},
		"an unknown season":      {diagnose.Case{ID: "back lawn", Season: "monsoon"}, diagnose.UnknownSeason, []string{"monsoon"}},
	} {
		_, err := engine(t).Diagnose(w.c)
		var bad *diagnose.InputError
		if !errors.As(err, &bad) || bad.Kind != w.kind {
			t.Errorf("%s: %v, want the kind %s", name, err, w.kind)
			continue
		}
		for _, part := range w.say {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: %q does not say %q", name, err, part)
			}
		}
	}
}

// With every check undone the answer is what is known beforehand, and what to do first: no cause is claimed, and nothing
// speaks for or against any.
func TestEveryCheckUndone(t *testing.T) {
	b := &loaded(t).Bundle
	for _, season := range b.Seasons {
		a := answer(t, engine(t), diagnose.Case{Season: season})
		if a.Verdict != diagnose.CantTell || len(a.Next) == 0 || len(a.Causes) != len(b.Causes) {
			t.Errorf("%s: %s, %d next checks, %d causes", season, a.Verdict, len(a.Next), len(a.Causes))
		}
		for _, l := range a.Causes {
			if len(l.For)+len(l.Against) > 0 {
				t.Errorf("%s: %v speaks for %s", season, l.For, l.ID)
			}
		}
		if best := a.Next[0]; best.Gain <= 0 || best.Minutes <= 0 || len(best.Apart) == 0 || !slices.ContainsFunc(b.Causes, func(c knowledge.Cause) bool { return c.ID == best.Apart[0] }) {
			t.Errorf("%s: the first check is %+v", season, best)
		}
	}
}

// Evidence that no set of causes allows is said to be so, with the two findings that can't both be; others beside them are
// not blamed.
func TestTheTwoThatCantBothBe(t *testing.T) {
	_, err := smallEngine(t).Diagnose(summer(state("shell", "whole"), state("tint", "straw"), state("stamp", "present")))
	if err == nil || !strings.Contains(err.Error(), "stamp and shell can't all be true at once") {
		t.Errorf("%v", err)
	}
}
