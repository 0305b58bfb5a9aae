package desk

import (
	"cmp"
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/plan"
	"swardbook/store/history"
	"swardbook/web/page"
)

// lines are a working's, with the titles of its sources in place of their keys.
func (d *Desk) lines(w agronomy.Working) []string {
	w.Source = d.sourceSays(w.Source)
	return w.Lines()
}

// workingsOf are the workings of a good: of its rate, of its amount (with those of the rate before it) and of its cost.
func workingsOf(d *Desk, g plan.Good) (rate, amount, cost []string) {
	for _, w := range g.Working {
		switch lines := d.lines(w); w.Formula {
		case plan.CostFormula:
			cost = append(cost, lines...)
		case plan.AmountFormula, plan.CoverFormula:
			amount = append(amount, lines...)
		default:
			rate, amount = append(rate, lines...), append(amount, lines...)
		}
	}
	return rate, amount, cost
}

// goodName is what a step takes for a use: the material, else what the use is called.
func goodName(a asking, s plan.Step, use string) string {
	for _, g := range s.Goods {
		if g.Use == use {
			return cmp.Or(g.Name, g.Says.In(a.words.Lang))
		}
	}
	return ""
}

// partCosts says what the zones of a step cost.
func partCosts(a asking, parts []page.PlanPart) []string {
	out := []string{a.words.T("plan.sum")}
	for _, p := range parts {
		for _, g := range p.Goods {
			if g.Cost.Say != "" {
				out = append(out, p.Zone+", "+g.Name+": "+g.Cost.Say)
			}
		}
	}
	return out
}

// stepCosts says what the steps of a plan cost.
func stepCosts(a asking, p plan.Plan) []string {
	out := []string{a.words.T("plan.sum")}
	for _, s := range p.Steps {
		if s.CostCents > 0 {
			out = append(out, a.in(s.Do)+" "+cents(s.CostCents))
		}
	}
	return out
}

// loadSums is what the truck takes of one material and what that costs, each with what it is the sum of.
func loadSums(a asking, p plan.Plan, l plan.Load, notes *page.Notes) (total, cost page.Worked) {
	amounts, costs := []string{a.words.T("plan.sum.load")}, []string{a.words.T("plan.sum.load")}
	for _, s := range p.Steps {
		for _, part := range s.Parts {
			for _, g := range part.Goods {
				if g.Material != l.Material || g.Amount == nil {
					continue
				}
				amounts = append(amounts, part.Name+", "+shortDay(s.Day)+": "+a.says(g.Amount))
				if g.Cents > 0 {
					costs = append(costs, part.Name+", "+shortDay(s.Day)+": "+cents(g.Cents))
				}
			}
		}
	}
	return notes.Of(l.Name, a.says(&l.Total), amounts), notes.Of(l.Name, cents(l.CostCents), costs)
}

// rateOf is what a zone got of something on its ground, with its working. x is the unit's amount on 1000 sq ft.
func rateOf(a asking, notes *page.Notes, name, unit string, amount, sqft, x float64) page.Worked {
	said := a.rate(x, unit+per1000)
	return notes.Of(name, said, []string{
		a.words.T("working.rate"),
		a.words.T("working.rate.line", "amount", a.amount(amount, unit), "area", a.amount(sqft, "ft2"), "rate", said),
		a.words.T("working.rate.source"),
	})
}

// meanOf is a reading's number; that of several has its working.
func meanOf(a asking, notes *page.Notes, r history.ReadingRecord, more []string) page.Worked {
	said := said(a, r)
	if r.Count > 1 {
		more = append([]string{a.words.T("working.mean", "n", r.Count, "typed", strings.TrimSpace(r.Typed), "mean", said)}, more...)
	}
	return notes.Of(r.Label, said, slices.Clip(more))
}
