package field

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"

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

// Step is a signed step that turned into a visit of the day sheet. Step is as it was signed.
type Step struct {
	ID    string          `json:"id"` // the plan and the step's place in it, "plan/0"
	Visit string          `json:"visit"`
	State string          `json:"state"`
	Step  json.RawMessage `json:"step"`
}

// work fills that part once everything else is there.
func (g *gatherer) work() error {
	g.p.Work = Work{Materials: []store.Material{}, Applications: []store.Application{}, Calibrations: []store.Calibration{}, Steps: []Step{}}
	g.p.Record = Record{Book: record.Shipped(), Firm: record.Usual}
	if err := g.db.Setting(g.ctx, record.SettingName, &g.p.Record.Firm); err != nil {
		return err
	}
	if err := g.materials(); err != nil {
		return err
	}
	calibrations, err := g.db.Calibrations(g.ctx, lastCalibrations)
	if err != nil {
		return err
	}
	g.p.Calibrations = append(g.p.Calibrations, calibrations...)
	for _, p := range g.p.Properties {
		if err := g.applications(p.ID); err != nil {
			return err
		}
	}
	for _, v := range g.p.Visits {
		if err := g.steps(v.ID); err != nil {
			return err
		}
	}
	return nil
}

// materials takes what is offered; what it costs stays in the office.
func (g *gatherer) materials() error {
	list, err := g.db.Materials(g.ctx)
	for _, m := range list {
		if !m.Retired {
			g.material(m)
		}
	}
	return err
}

func (g *gatherer) material(m store.Material) {
	if g.first(fmt.Sprint("material ", m.ID, " ", m.Version)) {
		m.UnitCost = 0
		m.Actives, m.Tools = append([]store.Active{}, m.Actives...), append([]string{}, m.Tools...)
		g.p.Materials = append(g.p.Materials, m)
	}
}

// applications takes the records of a property since the beginning of last year, with the materials they were made with.
func (g *gatherer) applications(property string) error {
	from := ""
	if day := g.p.Days[0]; len(day) >= 4 {
		var year int
		if _, err := fmt.Sscan(day[:4], &year); err == nil {
			from = fmt.Sprintf("%04d-01-01", year-1)
		}
	}
	list, err := g.db.Applications(g.ctx, store.ApplicationFilter{Property: property, FromDay: from})
	if err != nil {
		return err
	}
	for _, a := range list {
		g.p.Applications = append(g.p.Applications, withLists(a))
		if a.Material == "" || g.seen[fmt.Sprint("material ", a.Material, " ", a.Version)] {
			continue
		}
		m, err := g.db.Material(g.ctx, a.Material, a.Version)
		if err != nil && store.KindOf(err) != store.NotFound {
			return err
		}
		if err == nil {
			g.material(m)
		}
	}
	return nil
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

// steps takes the signed steps that turned into a visit. A step that can't be read shows nothing rather than stop the day sheet.
func (g *gatherer) steps(visit string) error {
	steps, err := g.db.PlanSteps(g.ctx, visit)
	if err != nil {
		return err
	}
	for _, s := range steps {
		p, err := g.db.Plan(g.ctx, s.Plan)
		if err != nil {
			return err
		}
		var body struct {
			Steps []json.RawMessage `json:"steps"`
		}
		if json.Unmarshal(p.Body, &body) != nil || s.N >= len(body.Steps) {
			continue
		}
		g.p.Steps = append(g.p.Steps, Step{ID: fmt.Sprintf("%s/%d", s.Plan, s.N), Visit: visit, State: string(s.State), Step: body.Steps[s.N]})
	}
	slices.SortStableFunc(g.p.Steps, func(a, b Step) int { return cmp.Compare(a.Visit, b.Visit) })
	return nil
}
