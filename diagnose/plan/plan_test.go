package plan_test

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/plan"
)

func small(t *testing.T) *knowledge.Bundle {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/diagnose-bundle.json")
	if err != nil {
		t.Fatal(err)
	}
	var b knowledge.Bundle
	if err := json.Unmarshal(raw, &b); err != nil {
		t.Fatal(err)
	}
	return &b
}

func says(verdict string, causes ...diagnose.Likelihood) diagnose.Answer {
	return diagnose.Answer{Verdict: verdict, Causes: causes, Next: []diagnose.Next{{Check: "core"}}}
}

func primary(id string, p float64) diagnose.Likelihood {
	return diagnose.Likelihood{ID: id, Likelihood: p, Role: diagnose.Primary}
}

func ids(steps []plan.FirstStep) string {
	var out []string
	for _, s := range steps {
		out = append(out, string(s.Kind)+" "+s.ID)
	}
	return strings.Join(out, ", ")
}

func TestFirst(t *testing.T) {
	bugs, dry := primary("bugs", 0.7), primary("dry", 0.5)
	for _, w := range []struct {
		name   string
		answer diagnose.Answer
		judged map[string]string
		want   string
	}{
		{"stop harm, water, treat, then refer", says(diagnose.ACause, dry, bugs), nil,
			"do bugs.stop, do dry.soak, do bugs.treat, refer dry, refer bugs"},
		{"no pesticide below the limit", says(diagnose.ACause, primary("bugs", 0.59)), nil, "do bugs.stop, refer bugs"},
		{"a confirmed cause may be treated", says(diagnose.ACause, primary("bugs", 0.3)), map[string]string{"bugs": plan.Confirmed},
			"do bugs.stop, do bugs.treat, refer bugs"},
		{"what is ruled out drops", says(diagnose.ACause, dry, bugs), map[string]string{"bugs": plan.RuledOut}, "do dry.soak, refer dry"},
		{"what is confirmed is added", says(diagnose.ACause, dry, diagnose.Likelihood{ID: "packed", Likelihood: 0.1}),
			map[string]string{"packed": plan.Confirmed}, "do dry.soak, do packed.core, refer dry"},
		{"the unlikely are left alone", says(diagnose.ACause, dry, diagnose.Likelihood{ID: "packed", Likelihood: 0.2}), nil, "do dry.soak, refer dry"},
		{"can't tell: look further, no pesticide", says(diagnose.CantTell, primary("bugs", 0.65)), nil,
			"check core, refer bugs, do bugs.stop"},
		{"can't tell, and the leader ruled out", says(diagnose.CantTell, primary("bugs", 0.35), dry), map[string]string{"bugs": plan.RuledOut},
			"check core, refer dry, do dry.soak"},
		{"can't tell, but a person could", says(diagnose.CantTell, primary("dry", 0.35)), map[string]string{"dry": plan.Confirmed},
			"do dry.soak, refer dry"},
		{"nothing wrong", says(diagnose.NothingWrong, diagnose.Likelihood{ID: "dry", Likelihood: 0.1}), nil, ""},
		{"nothing wrong, says the tool", says(diagnose.NothingWrong, diagnose.Likelihood{ID: "dry", Likelihood: 0.1}),
			map[string]string{"dry": plan.Confirmed}, "do dry.soak, refer dry"},
	} {
		t.Run(w.name, func(t *testing.T) {
			if got := ids(plan.First(small(t), w.answer, 8, w.judged)); got != w.want {
				t.Errorf("%s\nwant %s", got, w.want)
			}
		})
	}
}

func TestWindows(t *testing.T) {
	for _, w := range []struct {
		month, opens int
	}{{3, 4}, {4, 0}, {6, 9}, {10, 0}, {11, 4}, {12, 4}, {0, 0}} {
		s := plan.First(small(t), says(diagnose.ACause, primary("packed", 0.9)), w.month, nil)
		if len(s) != 1 || s[0].Opens != w.opens || s[0].Open != (w.opens == 0) {
			t.Errorf("month %d: %+v", w.month, s)
		}
	}
	if s := plan.First(small(t), says(diagnose.ACause, primary("missed", 0.9)), 1, nil); !s[0].Open {
		t.Error("a step without months is always open")
	}
}

func TestCautionsTravelWithTheirStep(t *testing.T) {
	steps := plan.First(small(t), says(diagnose.ACause, primary("packed", 0.9), primary("bugs", 0.9)), 7, nil)
	for _, s := range steps {
		want := map[string]string{"packed.core": "lines", "bugs.treat": "label"}[s.ID]
		switch {
		case want == "" && len(s.Cautions) > 0:
			t.Errorf("%s carries %v", s.ID, s.Cautions)
		case want != "" && (len(s.Cautions) != 1 || s.Cautions[0].ID != want):
			t.Errorf("%s carries %v, want %s", s.ID, s.Cautions, want)
		}
		if s.ID == "bugs.treat" && (!s.Licence || s.Avoid.EN != "Not on flowers.") || s.ID == "packed.core" && !s.Dig {
			t.Errorf("%+v", s)
		}
	}
}

func TestCheckStepCarriesItsCaution(t *testing.T) {
	s := plan.First(small(t), says(diagnose.CantTell, primary("packed", 0.3)), 7, nil)
	if len(s) == 0 || s[0].Kind != plan.Check || s[0].Do.EN != "how core" || len(s[0].Cautions) != 1 {
		t.Errorf("%+v", s)
	}
}

// On the whole knowledge: whatever the answer, an undecided one leads to no pesticide, and every step says what to do.
func TestOnTheWholeKnowledge(t *testing.T) {
	l, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range l.Bundle.Causes {
		for _, verdict := range []string{diagnose.ACause, diagnose.CantTell} {
			a := says(verdict, primary(c.ID, 0.95))
			a.Next[0].Check = l.Bundle.Checks[0].ID
			steps := plan.First(&l.Bundle, a, 8, nil)
			if len(steps) == 0 {
				t.Errorf("%s, %s: no step", c.ID, verdict)
			}
			for _, s := range steps {
				if s.Do.EN == "" || verdict == diagnose.CantTell && s.Licence || s.Licence && len(s.Cautions) == 0 {
					t.Errorf("%s, %s: %+v", c.ID, verdict, s)
				}
			}
			if !slices.IsSortedFunc(steps, func(a, b plan.FirstStep) int { return a.Order - b.Order }) {
				t.Errorf("%s: %s", c.ID, ids(steps))
			}
		}
	}
}
