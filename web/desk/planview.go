package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

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
	lang := a.words.Lang
	v := page.PlanView{Form: form, Cost: cents(p.CostCents)}
	for _, t := range p.Basis {
		v.Basis = append(v.Basis, t.In(lang))
	}
	names := map[string]string{}
	for i, s := range p.Steps {
		for _, part := range s.Parts {
			names[part.Zone] = part.Name
		}
		v.Steps = append(v.Steps, d.planStep(a, p, i, s))
		sayOnce(a, v.Steps)
	}
	for _, x := range p.Refused {
		v.Refused = append(v.Refused, page.RefusedView{Do: x.Do.In(lang), For: causeLabels(d.know(), x.Causes, a.words), Zone: names[x.Zone], Conflicts: d.conflicts(a, x.Conflicts, names)})
	}
	for _, x := range p.Roads {
		v.Roads = append(v.Roads, page.RoadView{Say: x.Say.In(lang), Zone: names[x.Zone], Source: d.sourceSays(x.Source)})
	}
	for _, x := range p.Honest {
		v.Honest = append(v.Honest, page.RoadView{Say: x.Say.In(lang), Zone: names[x.Zone], Source: d.sourceSays(x.Source)})
	}
	for _, x := range p.Loads {
		row := page.PlanLoad{Name: x.Name, Total: quantitySays(&x.Total), Cost: cents(x.CostCents)}
		if x.Short != nil && x.Short.Value > 0 {
			row.Short = a.words.T("plan.short", "n", quantitySays(x.Short))
		}
		v.Loads = append(v.Loads, row)
	}
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

func (d *Desk) planStep(a asking, p plan.Plan, i int, s plan.Step) page.PlanStepView {
	lang := a.words.Lang
	v := page.PlanStepView{
		ID: s.ID, N: i + 1, Anchor: stepAnchor(s.ID), Do: s.Do.In(lang), Who: s.WhoSays.In(lang), Day: s.Day, DayName: day(s.Day), For: causeLabels(d.know(), s.Causes, a.words),
		Window: windowSays(a, s.Window), Result: s.Result.In(lang), Cost: cents(s.CostCents), Avoid: s.Avoid.In(lang), Source: d.sourceSays(s.Source), Movable: s.Kind == plan.Do && s.Day != "",
	}
	if len(s.Drives) > 0 {
		v.Drives = causeLabels(d.know(), s.Drives, a.words)
	}
	if s.ShowsFrom != "" {
		v.Shows = a.words.T("plan.shows", "from", shortDay(s.ShowsFrom), "by", shortDay(s.ShowsBy))
	}
	v.Client, v.Tools = texts(s.Client, lang), texts(s.Tools, lang)
	for _, c := range s.Cautions {
		v.Cautions = append(v.Cautions, c.Say.In(lang))
	}
	for _, c := range s.Moved {
		v.Moved = append(v.Moved, c.Say.In(lang))
	}
	names := map[string]string{}
	for _, part := range s.Parts {
		names[part.Zone] = part.Name
		v.Parts = append(v.Parts, d.planPart(a, s, part))
	}
	for _, g := range s.Goods {
		if g.Lacking != nil {
			v.Lacking = append(v.Lacking, g.Lacking.In(lang))
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

func texts(list []checks.Text, lang string) []string {
	out := make([]string, len(list))
	for i, t := range list {
		out[i] = t.In(lang)
	}
	return out
}

func (d *Desk) planPart(a asking, s plan.Step, part plan.Part) page.PlanPart {
	v := page.PlanPart{Zone: part.Name, Area: quantitySays(&part.Area)}
	for _, g := range part.Goods {
		good := page.PlanGood{Note: g.Note.In(a.words.Lang), Cost: cents(g.Cents), Rate: quantitySays(g.Rate), Amount: quantitySays(g.Amount)}
		for _, total := range s.Goods {
			if total.Use == g.Use {
				good.Name = total.Name
				if good.Name == "" {
					good.Name = total.Says.In(a.words.Lang)
				}
			}
		}
		if g.Target != nil {
			good.Input, good.Target, good.Unit = targetName(part.Zone, g.Use), figure(g.Target.Value), unitSays(g.Target.Unit)
		}
		for _, w := range g.Working {
			good.Working = append(good.Working, w.Lines()...)
		}
		v.Goods = append(v.Goods, good)
	}
	for _, f := range part.Figures {
		fig := page.PlanFigure{Say: f.Say.In(a.words.Lang), Value: quantitySays(&f.Value)}
		if f.Working != nil {
			fig.Working = f.Working.Lines()
		}
		v.Figures = append(v.Figures, fig)
	}
	return v
}

func (d *Desk) conflicts(a asking, list []plan.Conflict, names map[string]string) []page.ConflictView {
	var out []page.ConflictView
	for _, c := range list {
		v := page.ConflictView{
			Rule: c.Rule, Step: c.Step, Zone: c.Zone, ZoneName: names[c.Zone], Kind: a.words.T("plan.kind." + c.Kind), Say: c.Say.In(a.words.Lang), Source: d.sourceSays(c.Source),
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
	say := w.Say.In(a.words.Lang)
	if w.From != "" && w.To != "" {
		say = strings.TrimSpace(say + " " + a.words.T("plan.window", "from", shortDay(w.From), "to", shortDay(w.To)))
	}
	if note := w.Note.In(a.words.Lang); note != "" {
		say += " " + note
	}
	return strings.TrimSpace(say)
}

// quantitySays writes a quantity as a crew reads it; nothing for none.
func quantitySays(q *agronomy.Quantity) string {
	if q == nil {
		return ""
	}
	return strings.TrimSpace(figure(q.Value) + " " + unitSays(q.Unit))
}

// unitSays writes a unit as the trade says it.
func unitSays(unit string) string {
	return strings.ReplaceAll(strings.ReplaceAll(unit, "/1000 ft2", " / 1000 sq ft"), "ft2", "sq ft")
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

// lawnView is the form of what a plan must know and no check asks.
func (d *Desk) lawnView(ctx context.Context, a asking, o opened) (page.LawnView, error) {
	v := page.LawnView{}
	var place plan.Place
	if err := d.db.Setting(ctx, placeSetting, &place); err != nil {
		return v, err
	}
	v.Region, v.State, v.LastFrost, v.FirstFrost = place.Region, place.State, place.LastFrost, place.FirstFrost
	v.Grasses = []page.Choice{{Label: a.words.T("plan.grass.unknown")}}
	for _, g := range d.know().Bundle.Planning.Grasses {
		v.Grasses = append(v.Grasses, page.Choice{Value: g.ID, Label: g.Label.In(a.words.Lang)})
	}
	for _, s := range o.states {
		known, err := d.lawn(ctx, s.zone.ID)
		if err != nil {
			return v, err
		}
		z := page.LawnZone{ID: s.zone.ID, Name: s.zone.Name, Grass: known.Grass}
		for i, f := range d.know().Bundle.Planning.Facts {
			in := page.Input{Name: "fact." + s.zone.ID + "." + f.ID, ID: "fact-" + strconv.Itoa(i) + "-" + stepAnchor(s.zone.ID), Label: f.Label.In(a.words.Lang)}
			if f.Unit != "" {
				in.Label, in.Type = in.Label+" ("+f.Unit+")", "decimal"
			} else {
				in.Type, in.Choices = "select", []page.Choice{{Label: "–"}}
				for _, state := range f.States {
					in.Choices = append(in.Choices, page.Choice{Value: state, Label: strings.ReplaceAll(state, "_", " ")})
				}
			}
			in.Value = factValue(known.Facts, f.ID)
			z.Facts = append(z.Facts, in)
		}
		v.Zones = append(v.Zones, z)
	}
	return v, nil
}

func factValue(facts []plan.Fact, id string) string {
	for _, f := range slices.Backward(facts) {
		if f.Name == id && f.Value != nil {
			return filled(f.Value.Value)
		}
		if f.Name == id {
			return f.State
		}
	}
	return ""
}

// readLawn reads that form: the firm's place, and for each zone its grass and facts. A fact that did not change keeps its day.
func (d *Desk) readLawn(a asking, form *page.Form, zones []string, old map[string]lawn) (plan.Place, map[string]lawn) {
	place := plan.Place{Region: form.V("region"), State: form.V("state"), LastFrost: readFrost(a, form, "last_frost"), FirstFrost: readFrost(a, form, "first_frost")}
	today := d.now().In(a.place).Format(time.DateOnly)
	out := map[string]lawn{}
	for _, zone := range zones {
		l := lawn{Grass: form.V("grass." + zone), Facts: []plan.Fact{}}
		for _, f := range d.know().Bundle.Planning.Facts {
			name := "fact." + zone + "." + f.ID
			typed := form.V(name)
			if typed == "" {
				continue
			}
			fact := plan.Fact{Name: f.ID, Day: today}
			if typed == factValue(old[zone].Facts, f.ID) {
				fact.Day = factDay(old[zone].Facts, f.ID)
			}
			if f.Unit != "" {
				x, ok := parseDecimal(typed)
				if !ok {
					form.Say(name, a.words.T("plan.fact.wrong"))
					continue
				}
				q := agronomy.Q(x, f.Unit)
				fact.Value = &q
			} else {
				fact.State = typed
			}
			l.Facts = append(l.Facts, fact)
		}
		out[zone] = l
	}
	return place, out
}

func factDay(facts []plan.Fact, id string) string {
	for _, f := range slices.Backward(facts) {
		if f.Name == id {
			return f.Day
		}
	}
	return ""
}

// readFrost reads a day of the year such as 04-25.
func readFrost(a asking, form *page.Form, name string) string {
	typed := form.V(name)
	if typed == "" {
		return ""
	}
	if _, err := time.Parse("01-02", typed); err != nil {
		form.Say(name, a.words.T("plan.frost.wrong"))
		return ""
	}
	return typed
}
