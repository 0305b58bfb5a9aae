package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/web/page"
)

// planDraft is what a manager changed in a plan that is not signed yet.
type planDraft struct {
	Edits     []plan.Edit     `json:"edits"`
	Overruled []plan.Overrule `json:"overruled"`
}

// planned is a plan in the making.
type planned struct {
	opened opened
	draft  planDraft
	input  plan.Input
	plan   plan.Plan
	lost   []string // changes that no longer fit the plan
}

// Plan is the plan of a visit: dated steps with amounts, what is refused and why, and what a manager changes before signing.
func (d *Desk) Plan(w http.ResponseWriter, r *http.Request) error {
	return d.drawPlan(w, r, http.StatusOK, page.Form{})
}

func (d *Desk) drawPlan(w http.ResponseWriter, r *http.Request, status int, form page.Form) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	p, err := d.planned(r.Context(), a, r.PathValue("visit"))
	if err != nil {
		return err
	}
	v, err := d.planView(r.Context(), a, p, form)
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "needs", a.words.T("plan.title", "address", p.opened.property.Address))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Plan(f, v))
}

// planned makes the plan of a visit with what was changed in it so far.
func (d *Desk) planned(ctx context.Context, a asking, visit string) (p planned, err error) {
	o, err := d.opened(ctx, visit)
	if err != nil {
		return p, err
	}
	return d.plannedOf(ctx, a, o, d.stockLeft)
}

// stocked tells how much of each material is left.
type stocked func(ctx context.Context, list []store.Material) (map[string]float64, error)

// uncounted is for whoever asks for amounts alone: what is left of a material changes none of them.
func uncounted(context.Context, []store.Material) (map[string]float64, error) { return nil, nil }

func (d *Desk) plannedOf(ctx context.Context, a asking, o opened, left stocked) (p planned, err error) {
	p.opened = o
	draft, err := d.db.Draft(ctx, o.visit.ID)
	if err != nil {
		return p, err
	}
	if len(draft.Body) > 0 {
		if err := json.Unmarshal(draft.Body, &p.draft); err != nil {
			return p, err
		}
	}
	if p.input, err = d.planInput(ctx, a, p.opened, p.draft, left); err != nil {
		return p, err
	}
	know := d.know()
	planner, err := plan.New(&know.Bundle, know.Edition)
	if err != nil {
		return p, err
	}
	if p.plan, err = planner.Make(p.input); err != nil {
		return p, err
	}
	if err := d.gather(ctx, &p, planner); err != nil {
		return p, err
	}
	return p, p.change(a, planner)
}

// visiting is what the firm decided about visits: steps of so many days make one.
type visiting struct {
	Within int `json:"within"`
}

const (
	visitingSetting = "visits"
	usualWithin     = 3
	mostWithin      = 21
)

func (d *Desk) visiting(ctx context.Context) (visiting, error) {
	v := visiting{Within: usualWithin}
	err := d.db.Setting(ctx, visitingSetting, &v)
	return v, err
}

// gather brings steps of nearby days onto one visit, one that is planned already where there is one.
func (d *Desk) gather(ctx context.Context, p *planned, planner *plan.Planner) error {
	v, err := d.visiting(ctx)
	if err != nil {
		return err
	}
	ahead, err := d.db.Visits(ctx, store.VisitFilter{Property: p.opened.property.ID, FromDay: p.plan.Day, States: []store.VisitState{store.Planned}})
	if err != nil {
		return err
	}
	days := make([]string, len(ahead))
	for i, x := range ahead {
		days[i] = x.Day
	}
	p.plan, err = planner.Gather(p.input, p.plan, v.Within, days, ours)
	return err
}

// change carries out the changes one by one, so that one that no longer fits is named and takes no other with it.
func (p *planned) change(a asking, planner *plan.Planner) error {
	for _, e := range p.draft.Edits {
		changed, err := planner.Adjust(p.input, p.plan, []plan.Edit{e})
		if err != nil {
			p.lost = append(p.lost, a.words.T("plan.lost", "why", strings.TrimPrefix(err.Error(), "plan: ")))
			continue
		}
		p.plan = changed
	}
	conflicts, err := planner.Verify(p.input, p.plan)
	p.plan.Conflicts = conflicts
	return err
}

// stands are the conflicts that keep the plan from being signed.
func (p planned) stands() []plan.Conflict {
	return slices.DeleteFunc(slices.Clone(p.plan.Conflicts), func(c plan.Conflict) bool { return !c.Stands() })
}

// ChangePlan keeps one change of a plan in the making: another day or amount, a step left out, a rule overruled, or all
// changes taken back.
func (d *Desk) ChangePlan(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, err := d.planned(r.Context(), a, r.PathValue("visit"))
	if err != nil {
		return err
	}
	switch form.V("do") {
	case "adjust":
		p.adjust(a, &form)
	case "drop":
		p.draft.Edits = append(p.draft.Edits, plan.Edit{Step: form.V("step"), Drop: true})
	case "overrule":
		p.overrule(a, &form, d.now())
	case "reset":
		p.draft = planDraft{}
	}
	if form.Bad() {
		return d.drawPlan(w, r, http.StatusUnprocessableEntity, form)
	}
	if err := d.keepDraft(r.Context(), a, p); err != nil {
		return err
	}
	http.Redirect(w, r, planURL(p.opened.visit.ID)+"#"+stepAnchor(form.V("step")), http.StatusSeeOther)
	return nil
}

func planURL(visit string) string { return "/desk/visits/" + visit + "/plan" }

// stepAnchor is a step's place on the page.
func stepAnchor(id string) string {
	return "s-" + strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '_' {
			return r
		}
		return '-'
	}, strings.ToLower(id))
}

func (d *Desk) keepDraft(ctx context.Context, a asking, p planned) error {
	body, err := json.Marshal(p.draft)
	if err != nil {
		return err
	}
	return d.db.SaveDraft(ctx, store.PlanDraft{Visit: p.opened.visit.ID, By: a.who.ID, Body: body})
}

func (p *planned) step(id string) (plan.Step, bool) {
	at := slices.IndexFunc(p.plan.Steps, func(s plan.Step) bool { return s.ID == id })
	if at < 0 {
		return plan.Step{}, false
	}
	return p.plan.Steps[at], true
}

// adjust turns what differs between the form and the step into changes; an earlier change of the same thing gives way.
func (p *planned) adjust(a asking, form *page.Form) {
	s, ok := p.step(form.V("step"))
	if !ok {
		return
	}
	if day := form.V("day"); day != "" && day != s.Day {
		if _, err := time.Parse(time.DateOnly, day); err != nil {
			form.Say("day", a.words.T("plan.day.wrong"))
			return
		}
		p.put(plan.Edit{Step: s.ID, Day: day})
	}
	for _, part := range s.Parts {
		for _, g := range part.Goods {
			p.adjustGood(a, form, s, part, g)
		}
	}
}

func (p *planned) adjustGood(a asking, form *page.Form, s plan.Step, part plan.Part, g plan.Good) {
	name := targetName(part.Zone, g.Use)
	typed := form.V(name)
	if g.Target == nil || typed == "" {
		return
	}
	shown := targetShown(a, g)
	if typed == figure(shown.Value) {
		return
	}
	q, ok := agronomy.ReadQuantity(typed, shown.Unit, parseDecimal)
	if !ok || q.Value <= 0 || q.Value > 1e5 {
		form.Say(name, a.words.T("plan.target.wrong", "unit", agronomy.UnitWords(shown.Unit)))
		return
	}
	p.put(plan.Edit{Step: s.ID, Zone: part.Zone, Use: g.Use, Target: &q})
}

func targetName(zone, use string) string { return "t." + zone + "." + use }

func (p *planned) put(e plan.Edit) {
	p.draft.Edits = slices.DeleteFunc(p.draft.Edits, func(old plan.Edit) bool {
		return old.Step == e.Step && old.Zone == e.Zone && old.Use == e.Use && (old.Target == nil) == (e.Target == nil) && !old.Drop
	})
	p.draft.Edits = append(p.draft.Edits, e)
}

// overrule keeps who sets a rule aside for a step and why. Labels and laws are never set aside.
func (p *planned) overrule(a asking, form *page.Form, now time.Time) {
	rule, step, zone := form.V("rule"), form.V("step"), form.V("zone")
	if !p.mayOverrule(rule, step) {
		form.Say("why."+rule+"."+step+"."+zone, a.words.T("plan.overrule.never"))
		return
	}
	if form.V("why") == "" {
		form.Say("why."+rule+"."+step+"."+zone, a.words.T("plan.overrule.need"))
		return
	}
	p.draft.Overruled = append(p.draft.Overruled, plan.Overrule{Rule: rule, Step: step, Zone: zone, By: a.who.ID, Why: form.V("why"), At: now.UTC().Format(time.RFC3339)})
}

func (p *planned) mayOverrule(rule, step string) bool {
	all := slices.Clone(p.plan.Conflicts)
	for _, x := range p.plan.Refused {
		all = append(all, x.Conflicts...)
	}
	return slices.ContainsFunc(all, func(c plan.Conflict) bool { return c.Rule == rule && c.Step == step && c.CanOverrule() })
}

// SignPlan signs a plan that breaks nothing, and turns its steps into visits.
func (d *Desk) SignPlan(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, err := d.planned(r.Context(), a, r.PathValue("visit"))
	if err != nil {
		return err
	}
	switch {
	case len(p.plan.Steps) == 0:
		form.Say("sign", a.words.T("plan.sign.none"))
	case len(p.stands()) > 0:
		form.Say("sign", a.words.T("plan.sign.stands"))
	case form.V("seen") != planHash(p.plan):
		form.Say("sign", a.words.T("plan.sign.changed"))
	}
	if form.Bad() {
		return d.drawPlan(w, r, http.StatusUnprocessableEntity, form)
	}
	signed, visits, err := d.signed(r.Context(), a, p, form.V("crew"))
	if err != nil {
		return err
	}
	return done(w, r, d.db.SignPlan(r.Context(), signed, visits), "/desk/plans/"+signed.ID, "plan")
}

// signed is the plan as it is kept, with the visits its steps turn into: one a day, or one that is planned there already.
func (d *Desk) signed(ctx context.Context, a asking, p planned, crew string) (store.Plan, []store.Visit, error) {
	body, err := json.Marshal(p.plan)
	if err != nil {
		return store.Plan{}, nil, err
	}
	out := store.Plan{ID: uuid.NewString(), Property: p.opened.property.ID, Visit: p.opened.visit.ID, Edition: p.plan.Edition, By: a.who.ID, Body: body}
	ahead, err := d.db.Visits(ctx, store.VisitFilter{Property: out.Property, FromDay: p.plan.Day, States: []store.VisitState{store.Planned}})
	if err != nil {
		return out, nil, err
	}
	on := map[string]string{}
	for _, v := range ahead {
		on[v.Day] = cmp.Or(on[v.Day], v.ID)
	}
	var visits []store.Visit
	for i, s := range p.plan.Steps {
		step := store.PlanStep{N: i, Day: s.Day}
		if ours(s) && s.Day != "" {
			if on[s.Day] == "" {
				v, err := d.newVisit(ctx, out.Property, s.Day, crew)
				if err != nil {
					return out, nil, err
				}
				visits, on[s.Day] = append(visits, v), v.ID
			}
			step.Visit = on[s.Day]
		}
		out.Steps = append(out.Steps, step)
	}
	return out, visits, nil
}

// ours reports whether a step is the firm's own to do, so that it becomes a visit.
func ours(s plan.Step) bool {
	return s.Kind == plan.Check || s.Kind == plan.Do && (s.Who == "crew" || s.Who == "applicator")
}

// newVisit is a visit of a day, last on its day sheet. What is to be done there its steps say.
func (d *Desk) newVisit(ctx context.Context, property, day, crew string) (store.Visit, error) {
	v := store.Visit{ID: uuid.NewString(), Property: property, Crew: crew, Day: day, Why: "treatment", State: store.Planned, Changed: d.now(), Order: 1}
	if crew == "" {
		return v, nil
	}
	sheet, err := d.db.Visits(ctx, store.VisitFilter{Crew: crew, FromDay: day, ToDay: day})
	for _, x := range sheet {
		v.Order = max(v.Order, x.Order+1)
	}
	return v, err
}
