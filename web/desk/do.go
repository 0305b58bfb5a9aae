package desk

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/plan"
	"swardbook/web/page"
)

// judgements turns what a manager said, as it is kept, into what the plan asks.
var judgements = map[string]string{"ruled out": plan.RuledOut, "confirmed": plan.Confirmed}

// doView is what to do in one zone, by the day of the visit alone; amounts are those of the plan's page, where they are changed.
// A cause that a person ruled out gets no step, one that a person confirmed does.
func (d *Desk) doView(ctx context.Context, a asking, o opened, z zoneState, found diagnosed, notes *page.Notes) (page.DoView, error) {
	steps, err := d.zoneSteps(ctx, o, z, found)
	if err != nil {
		return page.DoView{}, err
	}
	amounts, err := d.zoneAmounts(ctx, a, o, z, steps, notes)
	if err != nil {
		return page.DoView{}, err
	}
	v := page.DoView{Wait: waitSays(a, found, steps)}
	avoid := map[string]bool{}
	for _, s := range steps {
		step := d.stepView(a, o.visit.Day, s, found.answer, avoid)
		step.Amounts = amounts[s.ID]
		v.Steps = append(v.Steps, step)
		for _, c := range s.Cautions {
			v.Cautions = addOnce(v.Cautions, c.Say.In(a.words.Lang))
		}
	}
	v.Expect = d.expect(a, found.answer, steps)
	if len(steps) > 0 {
		v.Cautions = append(d.always(a), v.Cautions...)
	}
	return v, nil
}

func (d *Desk) zoneSteps(ctx context.Context, o opened, z zoneState, found diagnosed) ([]plan.Step, error) {
	if found.failed != "" {
		return nil, nil
	}
	in := plan.Input{Day: o.visit.Day}
	if err := d.db.Setting(ctx, placeSetting, &in.Place); err != nil {
		return nil, err
	}
	in.Place.Region = cmp.Or(o.property.Region, in.Place.Region)
	zone, err := d.planZone(ctx, o, z, found)
	if err != nil {
		return nil, err
	}
	in.Zones = []plan.Zone{zone}
	know := d.know()
	planner, err := plan.New(&know.Bundle, know.Edition)
	if err != nil {
		return nil, err
	}
	p, err := planner.Make(in)
	return p.Steps, err
}

// zoneAmounts are, by step, what each takes in a zone: as the plan has it just now, with what was changed in it, so that both pages say one
// number. A step that the plan lacks has none.
func (d *Desk) zoneAmounts(ctx context.Context, a asking, o opened, z zoneState, steps []plan.Step, notes *page.Notes) (map[string][]page.AmountView, error) {
	if len(steps) == 0 || z.zone.AreaSqFt <= 0 {
		return nil, nil
	}
	p, err := d.plannedOf(ctx, a, o, uncounted)
	if err != nil {
		return nil, err
	}
	out := map[string][]page.AmountView{}
	for _, own := range steps { // in the order of the page: so the notes are numbered
		for _, s := range p.plan.Steps {
			for _, part := range s.Parts {
				if s.ID == own.ID && part.Zone == z.zone.ID {
					out[s.ID] = d.amounts(a, s, part, notes)
				}
			}
		}
	}
	return out, nil
}

// amounts are the numbers of one step in one zone, each with its working.
func (d *Desk) amounts(a asking, s plan.Step, part plan.Part, notes *page.Notes) []page.AmountView {
	var out []page.AmountView
	for _, g := range part.Goods {
		v := page.AmountView{Name: goodName(a, s, g.Use)}
		rate, amount, _ := workingsOf(d, g)
		for _, n := range []struct {
			q     *agronomy.Quantity
			lines []string
		}{{cmp.Or(g.Rate, g.Target), rate}, {g.Amount, amount}} {
			if n.q == nil {
				continue
			}
			if len(n.lines) == 0 { // wanted, and no material to reckon with
				n.lines = []string{a.words.T("reckon.wanted", "amount", asGiven(*n.q)), a.words.T("reckon.source", "source", d.sourceSays(s.Source))}
			}
			v.Numbers = append(v.Numbers, notes.Of(v.Name, a.says(n.q), a.worked(n.q, n.lines)))
		}
		if len(v.Numbers) > 0 {
			out = append(out, v)
		}
	}
	for _, f := range part.Figures {
		v := page.AmountView{Name: a.in(f.Say)}
		var lines []string
		if f.Working != nil {
			lines = a.worked(&f.Value, d.lines(*f.Working))
		}
		v.Numbers = []page.Worked{notes.Of(v.Name, a.says(&f.Value), lines)}
		out = append(out, v)
	}
	return out
}

// expect is what to expect of every cause that is acted upon, in the order in which the causes stand.
func (d *Desk) expect(a asking, ans diagnose.Answer, steps []plan.Step) []string {
	var out []string
	for _, c := range ans.Causes {
		acted := slices.ContainsFunc(steps, func(s plan.Step) bool { return s.Kind == plan.Do && slices.Contains(s.Causes, c.ID) })
		if cause, ok := d.know().Cause(c.ID); ok && acted && cause.Expect.EN != "" {
			out = append(out, cause.Label.In(a.words.Lang)+": "+cause.Expect.In(a.words.Lang))
		}
	}
	return out
}

func addOnce(list []string, say string) []string {
	if slices.Contains(list, say) {
		return list
	}
	return append(list, say)
}

// always are the cautions that stand with every plan.
func (d *Desk) always(a asking) []string {
	var out []string
	for _, c := range d.know().Bundle.Cautions {
		if slices.Contains(c.Where, "always") {
			out = append(out, c.Say.In(a.words.Lang))
		}
	}
	return out
}

func waitSays(a asking, found diagnosed, steps []plan.Step) string {
	switch {
	case found.failed != "":
		return a.words.T("do.none")
	case found.answer.Verdict == diagnose.CantTell:
		return a.words.T("do.cant_tell")
	case found.answer.Verdict == diagnose.NothingWrong && len(steps) == 0:
		return a.words.T("do.nothing")
	case len(steps) == 0:
		return a.words.T("do.none")
	}
	return ""
}

// stepView draws one step. What must not be combined with the steps of a cause is said at the first of them.
func (d *Desk) stepView(a asking, today string, s plan.Step, ans diagnose.Answer, avoid map[string]bool) page.StepView {
	lang := a.words.Lang
	v := page.StepView{Do: s.Do.In(lang), When: s.Window.Say.In(lang)}
	switch s.Kind {
	case plan.Check:
		v.Do, v.Mind = a.words.T("do.check", "check", checkLabel(d.know(), s.Check, lang)), []string{s.Do.In(lang)}
	case plan.Refer:
		v.Do = a.words.T("do.refer", "whom", s.Do.In(lang))
	}
	if len(s.Causes) > 0 {
		v.For = d.forWhat(a.words, ans, s)
	}
	if s.Day > today {
		v.Tags = append(v.Tags, page.Reason{Kind: "ask", Say: a.words.T("do.opens", "day", day(s.Day))})
	}
	if s.Licence {
		v.Tags = append(v.Tags, page.Reason{Kind: "stop", Say: a.words.T("do.licence")})
	}
	if s.Dig {
		v.Tags = append(v.Tags, page.Reason{Kind: "stop", Say: a.words.T("do.dig")})
	}
	if say := strings.TrimSpace(s.Avoid.In(lang)); say != "" && !avoid[say] {
		avoid[say] = true
		v.Mind = append(v.Mind, say)
	}
	return v
}

// forWhat names the causes a step is for, and what drives the first: the reason that such a step speaks of.
func (d *Desk) forWhat(w page.Words, ans diagnose.Answer, s plan.Step) string {
	label := causeLabels(d.know(), s.Causes, w)
	at := slices.IndexFunc(ans.Causes, func(c diagnose.Likelihood) bool { return c.ID == s.Causes[0] })
	if at < 0 || len(ans.Causes[at].DrivenBy) == 0 || s.Kind != plan.Do {
		return w.T("do.for", "cause", label)
	}
	return w.T("do.for.driven", "cause", label, "drivers", causeLabels(d.know(), ans.Causes[at].DrivenBy, w))
}
