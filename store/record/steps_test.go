package record_test

import (
	"testing"
	"time"

	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/record"
)

func TestFulfilled(t *testing.T) {
	two := plan.Step{Goods: []plan.Goods{{Use: "seed", Material: "tf"}, {Use: "fertilizer", Material: "feed"}}}
	any := plan.Step{Goods: []plan.Goods{{Use: "compost"}}}
	put := func(material, step, day string) store.Application {
		return store.Application{Material: material, Step: step, Day: day}
	}
	for _, c := range []struct {
		name    string
		state   store.StepState
		step    plan.Step
		visit   store.Visit
		records []store.Application
		day     string
		done    bool
	}{
		{"nothing yet", store.StepPlanned, two, store.Visit{State: store.HandedIn}, nil, "", false},
		{"one of two materials", store.StepPlanned, two, store.Visit{}, []store.Application{put("tf", "p/1", "2026-09-01")}, "", false},
		{"both, on two days", store.StepPlanned, two, store.Visit{}, []store.Application{put("feed", "p/1", "2026-09-02"), put("tf", "p/1", "2026-09-01")}, "2026-09-02", true},
		{"of another step", store.StepPlanned, two, store.Visit{}, []store.Application{put("feed", "p/0", "2026-09-02"), put("tf", "p/11", "2026-09-01")}, "", false},
		{"whatever the list did not hold", store.StepPlanned, any, store.Visit{}, []store.Application{put("", "p/1", "2026-09-03")}, "2026-09-03", true},
		{"work alone, visit under way", store.StepPlanned, plan.Step{}, store.Visit{Day: "2026-09-04", State: store.UnderWay}, nil, "2026-09-04", false},
		{"work alone, visit handed in", store.StepPlanned, plan.Step{}, store.Visit{Day: "2026-09-04", State: store.HandedIn}, nil, "2026-09-04", true},
		{"work alone, no visit", store.StepPlanned, plan.Step{}, store.Visit{}, nil, "", false},
		{"a manager's word", store.StepDone, two, store.Visit{}, nil, "2026-09-05", true},
		{"not to be done", store.StepDropped, plan.Step{}, store.Visit{State: store.SignedOff}, nil, "", false},
	} {
		s := store.PlanStep{Plan: "p", N: 1, State: c.state, Changed: time.Date(2026, 9, 5, 8, 0, 0, 0, time.UTC)}
		if day, done := record.Fulfilled(s, c.step, c.visit, c.records); day != c.day || done != c.done {
			t.Errorf("%s: %q %v, want %q %v", c.name, day, done, c.day, c.done)
		}
	}
}
