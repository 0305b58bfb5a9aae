package field

import (
	"context"
	"encoding/json"
	"net/http"
	"testing"

	"swardbook/store"
)

// shed is what the fake office has of materials, records and plans; the zero value has nothing.
type shed struct {
	materials    []store.Material
	old          map[int64]store.Material
	applications []store.Application
	plan         store.Plan
}

func (s shed) Materials(context.Context) ([]store.Material, error) { return s.materials, nil }

func (s shed) Material(_ context.Context, id string, version int64) (store.Material, error) {
	if m, ok := s.old[version]; ok && m.ID == id {
		return m, nil
	}
	return store.Material{}, store.Errorf(store.NotFound, "no such material")
}

func (s shed) Applications(_ context.Context, f store.ApplicationFilter) ([]store.Application, error) {
	var out []store.Application
	for _, a := range s.applications {
		if a.Property == f.Property && a.Day >= f.FromDay {
			out = append(out, a)
		}
	}
	return out, nil
}

func (s shed) Calibrations(context.Context, int) ([]store.Calibration, error) { return nil, nil }

func (s shed) PlanSteps(_ context.Context, visit string) (out []store.PlanStep, _ error) {
	for _, step := range s.plan.Steps {
		if step.Visit == visit {
			out = append(out, step)
		}
	}
	return out, nil
}

func (s shed) Plan(context.Context, string) (store.Plan, error) { return s.plan, nil }

func (s shed) Setting(context.Context, string, any) error { return nil }

func TestPackHoldsTheWork(t *testing.T) {
	s := newSite(t)
	s.office.shed = shed{
		materials: []store.Material{{ID: "m1", Version: 5, Name: "24-0-11", Unit: "lb", UnitCost: 0.9}, {ID: "gone", Version: 6, Retired: true}},
		old:       map[int64]store.Material{2: {ID: "m1", Version: 2, Name: "24-0-11", Unit: "lb"}},
		applications: []store.Application{
			{ID: "a0", Property: "p1", Day: "2024-05-01"}, {ID: "a1", Property: "p1", Day: "2025-05-01", Material: "m1", Version: 2},
			{ID: "a2", Property: "p1", Day: "2026-05-01", Material: "lost", Version: 9}, {ID: "a3", Property: "elsewhere", Day: "2026-05-01"},
		},
		plan: store.Plan{ID: "plan", Body: []byte(`{"steps": [{"id": "first"}, {"id": "second"}]}`), Steps: []store.PlanStep{
			{Plan: "plan", N: 1, Visit: "v1", State: store.StepPlanned}, {Plan: "plan", N: 7, Visit: "v1"}, {Plan: "plan", N: 0, Visit: "elsewhere"},
		}},
	}
	res := s.ask(t, "GET", "/api/v1/pack", "")
	wantStatus(t, res, http.StatusOK)
	var p Packet
	if err := json.Unmarshal([]byte(text(t, res)), &p); err != nil {
		t.Fatal(err)
	}
	if len(p.Materials) != 2 || p.Materials[0].Version != 5 || p.Materials[1].Version != 2 || p.Materials[0].UnitCost != 0 {
		t.Errorf("materials %+v: want what is offered, then the versions that records name, without costs", p.Materials)
	}
	if len(p.Applications) != 2 || p.Applications[0].ID != "a1" || p.Applications[1].ID != "a2" {
		t.Errorf("records %+v: want those of the property since the beginning of last year", p.Applications)
	}
	if len(p.Steps) != 1 || p.Steps[0].ID != "plan/1" || string(p.Steps[0].Step) != `{"id":"second"}` {
		t.Errorf("steps %+v", p.Steps)
	}
	if len(p.Record.Items) == 0 || p.Record.Firm.NOnce != 1 {
		t.Errorf("no rules of the record: %+v", p.Record.Firm)
	}
}

// TestAStepSaysMetricFigures: a firm that works in metric units gets them beside the published ones, in both languages; numbers stay.
func TestAStepSaysMetricFigures(t *testing.T) {
	step := json.RawMessage(`{"do":{"en":"Core 2 to 3 in deep.","es":"Saque tapones a 3 pulgadas."},"day":"2026-09-05","cost_cents":12345678901234567,"client":[{"en":"Water 1/2 in.","es":""}]}`)
	for units, want := range map[string]string{
		"us":     string(step),
		"metric": `{"client":[{"en":"Water 1/2 in (13 mm).","es":""}],"cost_cents":12345678901234567,"day":"2026-09-05","do":{"en":"Core 2 to 3 in (51 to 76 mm) deep.","es":"Saque tapones a 3 pulgadas (76 mm)."}}`,
	} {
		g := gatherer{p: Packet{Firm: Firm{Units: units}}}
		if got, err := g.saidIn(step); err != nil || string(got) != want {
			t.Errorf("%s: %s, %v", units, got, err)
		}
	}
}
