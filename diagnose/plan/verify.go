package plan

import (
	"fmt"
	"slices"

	"swardbook/diagnose/agronomy"
)

// Verify holds a plan, as it stands after changes by hand, to every rule: its days, its amounts, each against the others and
// against what was done. Conflicts that a manager overruled are listed too, with who and why; a plan may be signed when none
// Stands. An error is a plan that doesn't fit the input: an unknown zone, action or day.
func (pl *Planner) Verify(in Input, p Plan) ([]Conflict, error) {
	r, err := pl.open(&in)
	if err != nil {
		return nil, err
	}
	if err := r.adopt(p); err != nil {
		return nil, err
	}
	out := []Conflict{}
	for _, s := range r.sites {
		for _, t := range s.tasks {
			out = append(out, r.check(t)...)
		}
	}
	return out, nil
}

func (r *run) check(t *task) []Conflict {
	out := r.unsure(t)
	if _, open := r.openOn(t, t.day); !open {
		out = append(out, r.outside(t, t.day))
	}
	out = r.overrule(t, out)
	if t.day < r.day {
		out = append(out, Conflict{Rule: "past", Kind: ByWindow, Step: t.key, Zone: t.at.zone.ID, Day: dayText(t.day), Say: r.notes["past"], Source: t.action.Source, Until: r.in.Day})
	}
	out = append(out, r.faults(t, t.day)...)
	out = append(out, r.overLimits(t, t.goods, t.day)...)
	return append(out, r.misfits(t)...)
}

// misfits are amounts that are not what their rate gives for the zone: the load and the limits would speak of two things.
func (r *run) misfits(t *task) []Conflict {
	var out []Conflict
	for _, g := range t.goods {
		m := t.picked[g.Use]
		switch {
		case g.Material != "" && m == nil:
			out = append(out, r.label(t, "unknown_material", t.day, r.say("unknown_material", "name", g.Material)))
		case m == nil || g.Amount == nil || g.Rate == nil:
		default:
			want, err := over(*g.Rate, t.at.zone.Area)
			is := 0.0
			if err == nil {
				is, err = g.Amount.In(want.Unit)
			}
			if err != nil || is > want.Number*(1+1e-6) || is < want.Number*(1-1e-6) {
				out = append(out, r.label(t, "misfit", t.day, r.say("misfit", "name", m.Name, "is", g.Amount.String(), "rate", g.Rate.String())))
			}
		}
	}
	return out
}

// adopt makes tasks of a plan's steps, with the days and amounts they bear.
func (r *run) adopt(p Plan) error {
	for _, step := range p.Steps {
		if step.Kind != Do {
			continue
		}
		day, err := dayOf(step.Day)
		if err != nil {
			return fmt.Errorf("plan: step %s: %w", step.ID, err)
		}
		act := r.actions[step.Action]
		if act == nil {
			return fmt.Errorf("plan: step %s: no action %q", step.ID, step.Action)
		}
		for _, part := range step.Parts {
			at := slices.IndexFunc(r.sites, func(s *site) bool { return s.zone.ID == part.Zone })
			if at < 0 {
				return fmt.Errorf("plan: step %s: no zone %q", step.ID, part.Zone)
			}
			t := r.newTask(r.sites[at], act, r.wantedOf(r.sites[at], step.Causes)...)
			t.day, t.dated, t.goods = day, true, part.Goods
			for _, g := range part.Goods {
				t.picked[g.Use] = r.material(g.Material)
			}
			r.sites[at].tasks = append(r.sites[at].tasks, t)
		}
	}
	return nil
}

func (r *run) wantedOf(s *site, causes []string) []wanted {
	var out []wanted
	for _, id := range causes {
		if at := slices.IndexFunc(s.acted, func(w wanted) bool { return w.cause.ID == id }); at >= 0 {
			out = append(out, s.acted[at])
		} else if c := r.causes[id]; c != nil {
			out = append(out, wanted{cause: c, place: len(s.acted)})
		}
	}
	return out
}

// Edit is one change by hand to a plan that is kept: the step stands as the manager wants it, and Conflicts says what that
// breaks. (A Wish asks the planner to find what will do.)
type Edit struct {
	Step   string             `json:"step"`
	Zone   string             `json:"zone,omitempty"` // "" in all its zones
	Day    string             `json:"day,omitempty"`
	Drop   bool               `json:"drop,omitempty"`
	Use    string             `json:"use,omitempty"`    // what Target is for; "" the first
	Target *agronomy.Quantity `json:"target,omitempty"` // as Good.Target
}

// Adjust carries out edits, reckons amounts, cost and loads anew, and lists what is broken now in Plan.Conflicts. Nothing is
// moved or cut. An edit that can't be carried out (no such step, a unit that doesn't fit) is an error.
func (pl *Planner) Adjust(in Input, p Plan, edits []Edit) (Plan, error) {
	r, err := pl.open(&in)
	if err != nil {
		return p, err
	}
	p.Steps = copied(p.Steps)
	for _, e := range edits {
		if err := r.edit(&p, e); err != nil {
			return p, err
		}
	}
	r.finish(&p)
	p.Conflicts, err = pl.Verify(in, p)
	return p, err
}

// copied keeps the caller's plan as it was.
func copied(steps []Step) []Step {
	out := slices.Clone(steps)
	for i := range out {
		out[i].Parts = slices.Clone(out[i].Parts)
		for j := range out[i].Parts {
			out[i].Parts[j].Goods = slices.Clone(out[i].Parts[j].Goods)
		}
	}
	return out
}

func (r *run) edit(p *Plan, e Edit) error {
	at := slices.IndexFunc(p.Steps, func(s Step) bool { return s.ID == e.Step })
	if at < 0 {
		return fmt.Errorf("plan: no step %q", e.Step)
	}
	s := &p.Steps[at]
	mine := func(part Part) bool { return e.Zone == "" || part.Zone == e.Zone }
	if !slices.ContainsFunc(s.Parts, mine) {
		return fmt.Errorf("plan: step %s has no zone %q", e.Step, e.Zone)
	}
	if e.Drop {
		s.Parts = slices.DeleteFunc(s.Parts, mine)
		if len(s.Parts) == 0 {
			p.Steps = slices.Delete(p.Steps, at, at+1)
		}
		return nil
	}
	if e.Day != "" {
		if err := r.putOn(s, e.Day); err != nil {
			return err
		}
	}
	for i := range s.Parts {
		if e.Target != nil && mine(s.Parts[i]) {
			if err := r.putDown(s, &s.Parts[i], e); err != nil {
				return err
			}
		}
	}
	return nil
}

// putOn moves a step with all its zones to a day.
func (r *run) putOn(s *Step, text string) error {
	day, err := dayOf(text)
	if err != nil {
		return fmt.Errorf("plan: step %s: %w", s.ID, err)
	}
	if was, err := dayOf(s.Day); err == nil {
		s.ShowsFrom, s.ShowsBy = later(s.ShowsFrom, day-was), later(s.ShowsBy, day-was)
	}
	s.Day, s.Alone = dayText(day), ""
	return nil
}

func later(text string, days int) string {
	day, err := dayOf(text)
	if err != nil {
		return text
	}
	return dayText(day + days)
}

// putDown reckons a part's good anew for another target, without any cap: the conflicts say what it breaks.
func (r *run) putDown(s *Step, part *Part, e Edit) error {
	at := slices.IndexFunc(part.Goods, func(g Good) bool { return e.Use == "" || g.Use == e.Use })
	if at < 0 {
		return fmt.Errorf("plan: step %s takes no %s", s.ID, e.Use)
	}
	g := &part.Goods[at]
	site := slices.IndexFunc(r.sites, func(x *site) bool { return x.zone.ID == part.Zone })
	act := r.actions[s.Action]
	if site < 0 || act == nil {
		return fmt.Errorf("plan: step %s: zone or action is not known", s.ID)
	}
	if g.Target != nil && !agronomy.SameKind(e.Target.Unit, g.Target.Unit) {
		return fmt.Errorf("plan: step %s: %s can't be given for %s", s.ID, e.Target, g.Target.Unit)
	}
	if !(e.Target.Value > 0) {
		return fmt.Errorf("plan: step %s: an amount is more than nothing", s.ID)
	}
	t := r.newTask(r.sites[site], act, r.wantedOf(r.sites[site], s.Causes)...)
	k := &reckoned{good: Good{Use: g.Use, Material: g.Material, Target: e.Target, Given: true}}
	if m := r.material(g.Material); m != nil {
		if err := r.product(t, r.amountOf(t, g.Use), m, k); err != nil {
			return fmt.Errorf("plan: step %s: %w", s.ID, err)
		}
	}
	*g = k.good
	return nil
}
