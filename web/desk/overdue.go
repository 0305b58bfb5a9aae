package desk

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/web/page"
)

// overdueRows are signed steps whose day is over and that nothing fulfils, those whose window is over first.
func (d *Desk) overdueRows(ctx context.Context, a asking, names names) ([]page.OverdueRow, error) {
	signed, err := d.db.Plans(ctx, "")
	if err != nil {
		return nil, err
	}
	today := d.now().In(a.place).Format(time.DateOnly)
	var rows []page.OverdueRow
	for _, p := range signed {
		if !slices.ContainsFunc(p.Steps, func(s store.PlanStep) bool { return waits(s, today) }) {
			continue
		}
		more, err := d.overdueOf(ctx, a, names, p, today)
		if err != nil {
			return nil, err
		}
		rows = append(rows, more...)
	}
	slices.SortStableFunc(rows, func(x, y page.OverdueRow) int {
		if x.Closed != y.Closed && x.Closed {
			return -1
		} else if x.Closed != y.Closed {
			return 1
		}
		return 0
	})
	return rows, nil
}

func waits(s store.PlanStep, today string) bool {
	return s.State == store.StepPlanned && s.Visit != "" && s.Day < today
}

func (d *Desk) overdueOf(ctx context.Context, a asking, names names, p store.Plan, today string) ([]page.OverdueRow, error) {
	var body plan.Plan
	if err := json.Unmarshal(p.Body, &body); err != nil {
		return nil, err
	}
	put, err := d.db.Applications(ctx, store.ApplicationFilter{Property: p.Property})
	if err != nil {
		return nil, err
	}
	current := record.Current(put)
	var rows []page.OverdueRow
	for _, s := range p.Steps {
		if !waits(s, today) || s.N >= len(body.Steps) {
			continue
		}
		visit, err := d.db.Visit(ctx, s.Visit)
		if err != nil {
			return nil, err
		}
		step := body.Steps[s.N]
		if _, done := record.Fulfilled(s, step, visit, current); done || visit.Day >= today {
			continue
		}
		row := page.OverdueRow{URL: "/desk/plans/" + p.ID, Do: step.Do.In(a.words.Lang), Address: names.address(p.Property), Day: day(s.Day), Who: names.person(visit.Crew, a.words)}
		row.Why = page.Reason{Kind: "ask", Say: a.words.T("overdue.day")}
		if step.Window.To != "" && step.Window.To < today {
			row.Closed, row.Why = true, page.Reason{Kind: "stop", Say: a.words.T("overdue.window", "day", shortDay(step.Window.To))}
		}
		rows = append(rows, row)
	}
	return rows, nil
}
