package field

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"swardbook/diagnose/agronomy"
	"swardbook/store"
	"swardbook/store/record"
)

// workDB is what the packet holds of materials, records and plans.
type workDB interface {
	Materials(ctx context.Context) ([]store.Material, error)
	Material(ctx context.Context, id string, version int64) (store.Material, error)
	Applications(ctx context.Context, f store.ApplicationFilter) ([]store.Application, error)
	Calibrations(ctx context.Context, limit int) ([]store.Calibration, error)
	PlanSteps(ctx context.Context, visit string) ([]store.PlanStep, error)
	Plan(ctx context.Context, id string) (store.Plan, error)
	Setting(ctx context.Context, name string, v any) error
}

// lastCalibrations is how many a phone carries along.
const lastCalibrations = 12

// Work is the part of the packet that is about putting things down: materials with their limits, what was put down on the
// properties of the day sheet since the beginning of last year, what is planned for its visits, and the rules of the record.
type Work struct {
	Materials    []store.Material    `json:"materials"`
	Applications []store.Application `json:"applications"`
	Calibrations []store.Calibration `json:"calibrations"`
	Steps        []Step              `json:"steps"`
	Record       Record              `json:"record"`
}

// Record is the data of the rules, and what the firm decided.
type Record struct {
	*record.Book
	Firm record.Firm `json:"firm"`
}

// Step is a signed step that turned into a visit of the day sheet. Step is as it was signed; for a firm that works in metric units its sentences have
// metric figures beside the published ones.
type Step struct {
	ID    string          `json:"id"` // the plan and the step's place in it, "plan/0"
	Visit string          `json:"visit"`
	State string          `json:"state"`
	Step  json.RawMessage `json:"step"`
}

// work fills that part once everything else is there.
func (g *gatherer) work() error {
	rest, err := g.restOf()
	if err != nil {
		return err
	}
	g.p.Materials, g.p.Applications, g.p.Calibrations, g.p.Record = []store.Material{}, []store.Application{}, rest.calibrations, rest.record
	for _, m := range rest.materials {
		g.material(m)
	}
	for _, x := range g.put {
		g.p.Applications = append(g.p.Applications, x.Application)
		if x.material.ID != "" {
			g.material(x.material)
		}
	}
	slices.SortStableFunc(g.p.Steps, func(a, b Step) int { return cmp.Compare(a.Visit, b.Visit) })
	return nil
}

// restOf is what everybody's packet has alike.
func (g *gatherer) restOf() (restBlock, error) {
	return g.blocks.rest.Get("", g.db.Changed(store.MarkCalibrations), func() (b restBlock, err error) {
		b.record = Record{Book: record.Shipped(), Firm: record.Usual}
		if err := g.db.Setting(g.ctx, record.SettingName, &b.record.Firm); err != nil {
			return b, err
		}
		list, err := g.db.Materials(g.ctx)
		if err != nil {
			return b, err
		}
		for _, m := range list {
			if !m.Retired {
				b.materials = append(b.materials, outside(m))
			}
		}
		calibrations, err := g.db.Calibrations(g.ctx, lastCalibrations)
		b.calibrations = append([]store.Calibration{}, calibrations...)
		return b, err
	})
}

// outside is a material as phones get it: what it costs stays in the office.
func outside(m store.Material) store.Material {
	m.UnitCost = 0
	m.Actives, m.Tools = append([]store.Active{}, m.Actives...), append([]string{}, m.Tools...)
	return m
}

func (g *gatherer) material(m store.Material) {
	if g.first(fmt.Sprint("material ", m.ID, " ", m.Version)) {
		g.p.Materials = append(g.p.Materials, m)
	}
}

// putDown is a record with the material it was made with; without one it names none, or one that is not there.
type putDown struct {
	store.Application
	material store.Material
}

// putDownAt are the records of a property since the beginning of last year.
func (g *gatherer) putDownAt(property string) ([]putDown, error) {
	from := ""
	if day := g.p.Days[0]; len(day) >= 4 {
		var year int
		if _, err := fmt.Sscan(day[:4], &year); err == nil {
			from = fmt.Sprintf("%04d-01-01", year-1)
		}
	}
	list, err := g.db.Applications(g.ctx, store.ApplicationFilter{Property: property, FromDay: from})
	if err != nil {
		return nil, err
	}
	out := make([]putDown, len(list))
	for i, a := range list {
		out[i].Application = withLists(a)
		if a.Material == "" {
			continue
		}
		m, err := g.db.Material(g.ctx, a.Material, a.Version)
		if err != nil && store.KindOf(err) != store.NotFound {
			return nil, err
		}
		if err == nil {
			out[i].material = outside(m)
		}
	}
	return out, nil
}

// withLists has empty lists where there are none.
func withLists(a store.Application) store.Application {
	if a.Zones == nil {
		a.Zones = []store.AppliedZone{}
	}
	if a.Items == nil {
		a.Items = map[string]string{}
	}
	a.Missing, a.Flags = append([]string{}, a.Missing...), append([]store.Flag{}, a.Flags...)
	return a
}

// saidIn is a step in the firm's units.
func (g *gatherer) saidIn(step json.RawMessage) (json.RawMessage, error) {
	if g.p.Firm.Units != "metric" {
		return step, nil
	}
	var body any
	dec := json.NewDecoder(bytes.NewReader(step))
	dec.UseNumber()
	if err := dec.Decode(&body); err != nil {
		return nil, err
	}
	return json.Marshal(besideMetric(body))
}

// besideMetric puts metric figures into every text of a step. What is said as a sentence is a text in some languages.
func besideMetric(x any) any {
	switch x := x.(type) {
	case []any:
		for i := range x {
			x[i] = besideMetric(x[i])
		}
	case map[string]any:
		_, said := x["en"].(string)
		for key, value := range x {
			if text, ok := value.(string); ok && said && (key == "en" || key == "es") {
				x[key] = agronomy.BesideMetric(text)
			} else {
				x[key] = besideMetric(value)
			}
		}
	}
	return x
}

// stepsOf are the signed steps that turned into a visit. A step that can't be read shows nothing rather than stop the day sheet.
func (g *gatherer) stepsOf(visit string) ([]Step, error) {
	steps, err := g.db.PlanSteps(g.ctx, visit)
	if err != nil {
		return nil, err
	}
	var out []Step
	for _, s := range steps {
		p, err := g.db.Plan(g.ctx, s.Plan)
		if err != nil {
			return nil, err
		}
		var body struct {
			Steps []json.RawMessage `json:"steps"`
		}
		if json.Unmarshal(p.Body, &body) != nil || s.N >= len(body.Steps) {
			continue
		}
		out = append(out, Step{ID: fmt.Sprintf("%s/%d", s.Plan, s.N), Visit: visit, State: string(s.State), Step: body.Steps[s.N]})
	}
	return out, nil
}
