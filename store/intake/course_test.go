package intake_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/intake"
)

// after plans a further visit so many days after the first.
func (h *house) after(id string, days int) store.Visit {
	h.t.Helper()
	first, err := h.db.Visit(h.t.Context(), "visit")
	h.must(err)
	day, err := time.Parse(time.DateOnly, first.Day)
	h.must(err)
	v := store.Visit{ID: id, Property: "home", Crew: "ana", Day: day.AddDate(0, 0, days).Format(time.DateOnly), Why: "routine", State: store.Planned}
	h.must(h.db.AddVisit(h.t.Context(), v))
	return v
}

func (h *house) course(v store.Visit, zone string) diagnose.Course {
	h.t.Helper()
	all, err := h.svc.Courses(h.t.Context(), v)
	h.must(err)
	return all[zone]
}

func (h *house) grubs() {
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "mat_lifts_no_roots")
	p.read("front", "grubs_sqft", "14")
	p.send()
	h.must(h.svc.Wait(h.t.Context()))
}

func earlierOf(c diagnose.Course, cause string) diagnose.Earlier {
	i := slices.IndexFunc(c.Before, func(e diagnose.Earlier) bool { return e.Cause == cause })
	if i < 0 {
		return diagnose.Earlier{}
	}
	return c.Before[i]
}

func TestAVisitStartsFromWhatTheLastOneLeft(t *testing.T) {
	h := openHouse(t)
	h.grubs()
	next := h.after("next", 20)
	before := earlierOf(h.course(next, "front"), "white_grubs")
	if before.Days != 20 || before.Likelihood < 0.35 {
		t.Fatalf("grubs left %+v", before)
	}
	first, err := h.db.Visit(t.Context(), "visit")
	h.must(err)
	if got := h.course(first, "front"); len(got.Before) != 0 {
		t.Errorf("the first visit starts from %+v", got)
	}

	p := h.phone("d2", h.ana)
	p.op("reading", map[string]any{"visit": "next", "zone": "front", "check": "colour", "typed": "green", "edition": "e"})
	p.send()
	h.must(h.svc.Wait(t.Context()))
	var a diagnose.Answer
	h.must(json.Unmarshal(h.diagnosed("next")["front"].Answer, &a))
	at := slices.IndexFunc(a.Causes, func(l diagnose.Likelihood) bool { return l.ID == "white_grubs" })
	bare, err := engineAnswer(h, "next", "front")
	h.must(err)
	if a.Causes[at].Likelihood < 4*bare {
		t.Errorf("grubs at %v after a visit that found them, at %v without it", a.Causes[at].Likelihood, bare)
	}
}

// engineAnswer is the chance of grubs at a visit when nothing went before.
func engineAnswer(h *house, visit, zone string) (float64, error) {
	v, err := h.db.Visit(h.t.Context(), visit)
	h.must(err)
	readings, err := h.db.Readings(h.t.Context(), visit)
	h.must(err)
	engine, err := engineOf()
	h.must(err)
	a, err := engine.Diagnose(intake.Case(h.know, v, h.property, zone, readings, diagnose.Course{}))
	for _, l := range a.Causes {
		if l.ID == "white_grubs" {
			return l.Likelihood, err
		}
	}
	return 0, err
}

func TestAManagersWordGoesAlongToTheNextVisit(t *testing.T) {
	h := openHouse(t)
	h.grubs()
	next := h.after("next", 5)
	for i, c := range []struct {
		judgement string
		want      float64
	}{{"ruled out", 0.01}, {"confirmed", 0.95}} {
		h.must(h.db.AddReview(t.Context(), store.Review{
			ID: "r" + c.judgement, Visit: "visit", Zone: "front", Kind: "overrule", Cause: "white_grubs", Judgement: c.judgement,
			Reason: "dug again", By: "owner", At: h.clock.now().Add(time.Duration(i) * time.Minute),
		}))
		if got := earlierOf(h.course(next, "front"), "white_grubs").Likelihood; got != c.want {
			t.Errorf("%s: %v", c.judgement, got)
		}
	}
}

// A zone nobody looked at last time starts from the visit before that.
func TestTheLastVisitThatSaysAnythingCounts(t *testing.T) {
	h := openHouse(t)
	h.grubs()
	h.after("between", 10)
	next := h.after("next", 30)
	if got := earlierOf(h.course(next, "front"), "white_grubs"); got.Days != 30 || got.Likelihood < 0.35 {
		t.Errorf("%+v", got)
	}
}

// A step that was signed and taken lowers its cause at the next visit; one only planned, or taken later, does not.
func TestStepsTakenGoAlong(t *testing.T) {
	h := openHouse(t)
	h.grubs()
	action := h.know.Bundle.Effects[0].Action
	body, err := json.Marshal(plan.Plan{Steps: []plan.Step{
		{ID: "a", Action: action, Parts: []plan.Part{{Zone: "front"}}}, {ID: "b", Action: action, Parts: []plan.Part{{Zone: "front"}}},
	}})
	h.must(err)
	h.must(h.db.SignPlan(t.Context(), store.Plan{
		ID: "p", Property: "home", Visit: "visit", Edition: h.know.Edition, By: "owner", At: h.clock.now(), Body: body,
		Steps: []store.PlanStep{{Plan: "p", N: 0, State: store.StepPlanned}, {Plan: "p", N: 1, State: store.StepPlanned}},
	}, nil))
	next := h.after("next", 12)
	if got := h.course(next, "front").Done; len(got) != 0 {
		t.Errorf("planned steps count: %+v", got)
	}
	h.must(h.db.SetStep(t.Context(), "p", 1, store.StepDone, ""))
	got := h.course(next, "front").Done
	if len(got) != 1 || got[0].Action != action || got[0].Days != 12 {
		t.Errorf("%+v", got)
	}
	if got := h.course(next, "back").Done; len(got) != 0 {
		t.Errorf("another zone got %+v", got)
	}
	first, err := h.db.Visit(t.Context(), "visit")
	h.must(err)
	first.Day = "2026-08-20"
	if got := h.course(first, "front").Done; len(got) != 0 {
		t.Errorf("a step taken after the visit counts: %+v", got)
	}
}
