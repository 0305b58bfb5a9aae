package knowledge

import (
	"fmt"
	"math"
	"testing"

	"swardbook/diagnose/checks"
)

// answers are texts that a person may type for a check, one for each of its options and units.
func answers(c checks.Check) []string {
	var all []string
	for _, o := range c.Options {
		if c.Kind == checks.Mix && o.ID != c.None {
			o.ID += " 40"
		}
		all = append(all, o.ID)
	}
	if c.Kind == checks.Mix {
		return all // a share has its part before it, never a number alone
	}
	for _, u := range c.Units {
		middle := (c.Usual.Low + c.Usual.High) / 2
		all = append(all, fmt.Sprintf("%.3f %s", middle*u.Div/u.Mul, u.ID))
	}
	return all
}

func TestEveryCheckCanBeAnswered(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range k.Bundle.Checks {
		for _, typed := range answers(c) {
			v, problems := checks.Read(c, typed)
			if len(problems) > 0 {
				t.Errorf("%s: %q is a problem: %v", c.ID, typed, problems)
			}
			if len(v.Numbers) == 1 && c.Kind != checks.Mix {
				middle := (c.Usual.Low + c.Usual.High) / 2
				if math.Abs(v.Numbers[0]-middle) > 0.01*math.Abs(middle)+0.001 {
					t.Errorf("%s: %q is read as %v, want about %v", c.ID, typed, v.Numbers[0], middle)
				}
			}
		}
	}
}

func TestTheHowToSaysItInBothLanguages(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range k.Bundle.Checks {
		for what, text := range map[string]checks.Text{"how to": c.HowTo, "tool": c.Tool, "caution": c.Caution} {
			if (text.EN == "") != (text.ES == "") {
				t.Errorf("%s: the %s is in one language only", c.ID, what)
			}
		}
		if c.HowTo.EN == "" {
			t.Errorf("%s: nobody is told how", c.ID)
		}
	}
	for _, c := range k.Bundle.Causes {
		for what, text := range map[string]checks.Text{"what": c.What, "confirm": c.Confirm, "expect": c.Expect} {
			if text.EN == "" || text.ES == "" {
				t.Errorf("%s: %s is wanted in both languages", c.ID, what)
			}
		}
	}
	for _, a := range k.Bundle.Actions {
		if a.Do.EN == "" || a.Do.ES == "" || a.Window.ES == "" {
			t.Errorf("%s: both languages are wanted", a.ID)
		}
	}
}
