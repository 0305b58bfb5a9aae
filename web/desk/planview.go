package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/plan"
	"swardbook/web/page"
)

// planHash names what was on the page when somebody signs: a plan that changed meanwhile is shown again first.
func planHash(p plan.Plan) string {
	text, err := json.Marshal(p)
	if err != nil {
		return ""
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

func (d *Desk) planView(ctx context.Context, a asking, p planned, form page.Form) (page.PlanView, error) {
	v := d.planBody(a, p.plan, form)
	v.Visit, v.URL, v.Address = p.opened.visit.ID, planURL(p.opened.visit.ID), p.opened.property.Address
	v.Property, v.Day = "/desk/properties/"+p.opened.property.ID, day(p.opened.visit.Day)
	v.Lost, v.Hash, v.Sign = p.lost, planHash(p.plan), form.Wrong["sign"]
	v.Changed = len(p.draft.Edits)+len(p.draft.Overruled) > 0
	v.Standing = len(p.stands())
	for _, s := range p.opened.states {
		if s.zone.AreaSqFt <= 0 {
			v.NoArea = append(v.NoArea, s.zone.Name)
		}
	}
	var err error
	if v.Crew, err = d.crew(ctx, a); err != nil {
		return v, err
	}
	names, err := d.names(ctx)
	if err != nil {
		return v, err
	}
	v.NamePeople(func(id string) string { return names.person(id, a.words) })
	if v.Lawn, err = d.lawnView(ctx, a, p.opened); err != nil {
		return v, err
	}
	earlier, err := d.db.Plans(ctx, p.opened.property.ID)
	for _, x := range earlier {
		v.Earlier = append(v.Earlier, page.Choice{Value: "/desk/plans/" + x.ID, Label: a.words.T("plan.signed.on", "when", moment(x.At, a.place), "who", names.person(x.By, a.words))})
	}
	return v, err
}

// planBody draws what a plan says, signed or not.
func (d *Desk) planBody(a asking, p plan.Plan, form page.Form) page.PlanView {
	v := page.PlanView{Form: form}
	for _, t := range p.Basis {
		v.Basis = append(v.Basis, a.in(t))
	}
	names := map[string]string{}
	for i, s := range p.Steps {
		for _, part := range s.Parts {
			names[part.Zone] = part.Name
		}
		v.Steps = append(v.Steps, d.planStep(a, p, i, s, &v.Notes))
		sayOnce(a, v.Steps)
	}
	for _, x := range p.Refused {
		v.Refused = append(v.Refused, page.RefusedView{Do: a.in(x.Do), For: causeLabels(d.know(), x.Causes, a.words), Zone: names[x.Zone], Conflicts: d.conflicts(a, x.Conflicts, names)})
	}
	for _, x := range p.Roads {
		v.Roads = append(v.Roads, page.RoadView{Say: a.in(x.Say), Zone: names[x.Zone], Source: d.sourceSays(x.Source)})
	}
	for _, x := range p.Honest {
		v.Honest = append(v.Honest, page.RoadView{Say: a.in(x.Say), Zone: names[x.Zone], Source: d.sourceSays(x.Source)})
	}
	for _, x := range p.Loads {
		row := page.PlanLoad{Name: x.Name}
		row.Total, row.Cost = loadSums(a, p, x, &v.Notes)
		if x.Short != nil && x.Short.Value > 0 {
			row.Short = a.words.T("plan.short", "n", a.says(x.Short))
		}
		v.Loads = append(v.Loads, row)
	}
	v.Cost = v.Notes.Of(a.words.T("plan.all"), cents(p.CostCents), stepCosts(a, p))
	v.Other = d.conflicts(a, elsewhere(p), names)
	return v
}

// sayOnce lets the last step point to an earlier one whose cautions are the same.
func sayOnce(a asking, steps []page.PlanStepView) {
	last := &steps[len(steps)-1]
	for _, s := range steps[:len(steps)-1] {
		if len(s.Cautions) > 0 && slices.Equal(s.Cautions, last.Cautions) {
			last.Same, last.Cautions = a.words.T("plan.same_cautions", "n", s.N), nil
			return
		}
	}
}

// elsewhere are the conflicts of no step that is left.
func elsewhere(p plan.Plan) []plan.Conflict {
	return slices.DeleteFunc(slices.Clone(p.Conflicts), func(c plan.Conflict) bool {
		return slices.ContainsFunc(p.Steps, func(s plan.Step) bool { return s.ID == c.Step })
	})
}

func (d *Desk) planStep(a asking, p plan.Plan, i int, s plan.Step, notes *page.Notes) page.PlanStepView {
	lang := a.words.Lang
	v := page.PlanStepView{
		ID: s.ID, N: i + 1, Anchor: stepAnchor(s.ID), Do: a.in(s.Do), Who: s.WhoSays.In(lang), Day: s.Day, DayName: day(s.Day), For: causeLabels(d.know(), s.Causes, a.words),
		Window: windowSays(a, s.Window), Result: a.in(s.Result), Avoid: a.in(s.Avoid), Source: d.sourceSays(s.Source), Movable: s.Kind == plan.Do && s.Day != "",
	}
	if len(s.Drives) > 0 {
		v.Drives = causeLabels(d.know(), s.Drives, a.words)
	}
	if s.Alone != "" {
		v.Gathered = a.words.T("plan.gathered", "alone", shortDay(s.Alone))
	}
	if s.ShowsFrom != "" {
		v.Shows = a.words.T("plan.shows", "from", shortDay(s.ShowsFrom), "by", shortDay(s.ShowsBy))
	}
	v.Client, v.Tools = texts(a, s.Client), texts(a, s.Tools)
	for _, c := range s.Cautions {
		v.Cautions = append(v.Cautions, a.in(c.Say))
	}
	for _, c := range s.Moved {
		v.Moved = append(v.Moved, a.in(c.Say))
	}
	names := map[string]string{}
	for _, part := range s.Parts {
		names[part.Zone] = part.Name
		v.Parts = append(v.Parts, d.planPart(a, s, part, notes))
	}
	v.Cost = notes.Of(v.Do, cents(s.CostCents), partCosts(a, v.Parts))
	for _, g := range s.Goods {
		if g.Lacking != nil {
			v.Lacking = append(v.Lacking, a.in(*g.Lacking))
		}
	}
	if !slices.ContainsFunc(s.Parts, func(p plan.Part) bool { return len(p.Goods)+len(p.Figures) > 0 }) {
		v.Where, v.Parts = a.words.T("plan.where", "zones", zonesSay(v.Parts)), nil
	}
	own := slices.DeleteFunc(slices.Clone(p.Conflicts), func(c plan.Conflict) bool { return c.Step != s.ID })
	v.Conflicts = d.conflicts(a, own, names)
	return v
}

func zonesSay(parts []page.PlanPart) string {
	var out []string
	for _, p := range parts {
		out = append(out, p.Zone+" ("+p.Area+")")
	}
	return strings.Join(out, ", ")
}

func texts(a asking, list []checks.Text) []string {
	out := make([]string, len(list))
	for i, t := range list {
		out[i] = a.in(t)
	}
	return out
}

func (d *Desk) planPart(a asking, s plan.Step, part plan.Part, notes *page.Notes) page.PlanPart {
	v := page.PlanPart{Zone: part.Name, Area: a.says(&part.Area)}
	for _, g := range part.Goods {
		good := page.PlanGood{Note: a.in(g.Note), Name: goodName(a, s, g.Use)}
		if g.Target != nil {
			shown := targetShown(a, g)
			good.Input, good.Target, good.Unit = targetName(part.Zone, g.Use), figure(shown.Value), agronomy.UnitWords(shown.Unit)
		}
		what := part.Name + ", " + good.Name
		rate, amount, cost := workingsOf(d, g)
		good.Rate = notes.Of(what, a.says(g.Rate), a.worked(g.Rate, rate))
		good.Amount = notes.Of(what, a.says(g.Amount), a.worked(g.Amount, amount))
		good.Cost = notes.Of(what, cents(g.Cents), cost)
		v.Goods = append(v.Goods, good)
	}
	for _, f := range part.Figures {
		fig := page.PlanFigure{Say: a.in(f.Say), Value: page.Worked{Say: a.says(&f.Value)}}
		if f.Working != nil {
			fig.Value = notes.Of(part.Name+", "+fig.Say, fig.Value.Say, a.worked(&f.Value, d.lines(*f.Working)))
		}
		v.Figures = append(v.Figures, fig)
	}
	return v
}

func (d *Desk) conflicts(a asking, list []plan.Conflict, names map[string]string) []page.ConflictView {
	var out []page.ConflictView
	for _, c := range list {
		v := page.ConflictView{
			Rule: c.Rule, Step: c.Step, Zone: c.Zone, ZoneName: names[c.Zone], Kind: a.words.T("plan.kind." + c.Kind), Say: a.in(c.Say), Source: d.sourceSays(c.Source),
			Can: c.CanOverrule(), Stands: c.Stands(),
		}
		if c.Until != "" {
			v.Until = a.words.T("plan.until", "day", shortDay(c.Until))
		}
		if c.Overrule != nil {
			v.By, v.Why = c.Overrule.By, c.Overrule.Why
		}
		out = append(out, v)
	}
	return out
}

func windowSays(a asking, w plan.Window) string {
	say := a.in(w.Say)
	if w.From != "" && w.To != "" {
		say = strings.TrimSpace(say + " " + a.words.T("plan.window", "from", shortDay(w.From), "to", shortDay(w.To)))
	}
	if note := a.in(w.Note); note != "" {
		say += " " + note
	}
	return strings.TrimSpace(say)
}

// targetShown is what is wanted as the page has it: as a manager gave it, else in the firm's units.
func targetShown(a asking, g plan.Good) agronomy.Quantity {
	if g.Given {
		return *g.Target
	}
	return g.Target.Crew(a.metric())
}

// cents writes an amount of money; nothing for none.
func cents(n int64) string {
	if n == 0 {
		return ""
	}
	return money(float64(n) / 100)
}

// sourceSays puts the keys of sources in words.
func (d *Desk) sourceSays(keys string) string {
	var out []string
	for key := range strings.SplitSeq(keys, ";") {
		key = strings.TrimSpace(key)
		if s, ok := d.know().Source(key); ok {
			out = append(out, s.Title)
		} else if key != "" {
			out = append(out, key)
		}
	}
	return strings.Join(out, "; ")
}
