package plan

import (
	"cmp"
	"fmt"
	"slices"

	"swardbook/diagnose/checks"
)

// Make makes a plan. An error is an input that can't be read (a day, two zones of one id); what can't be planned stands in the
// plan with its reason.
func (pl *Planner) Make(in Input) (Plan, error) {
	r, err := pl.open(&in)
	if err != nil {
		return Plan{}, err
	}
	out := Plan{Format: 1, Edition: pl.edition, Day: in.Day}
	var tasks []*task
	for _, s := range r.sites {
		out.Refused = append(out.Refused, r.tasks(s)...)
		r.dates(s)
		r.again(s)
		r.parts(s)
		out.Roads = append(out.Roads, r.roads(s)...)
		for _, t := range s.tasks {
			if !t.dated {
				out.Refused = append(out.Refused, r.refuse(t, t.refused...))
				continue
			}
			tasks = append(tasks, t)
			out.Conflicts = append(append(out.Conflicts, t.sure...), t.waived...)
		}
		out.Honest = append(out.Honest, r.honest(s)...)
	}
	out.Steps, out.Basis = r.steps(tasks), r.basis()
	out.Refused = nonNil(out.Refused)
	out.Roads, out.Honest, out.Conflicts = nonNil(out.Roads), nonNil(out.Honest), nonNil(out.Conflicts)
	r.finish(&out)
	return out, nil
}

func nonNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// basis says what the dates rest on.
func (r *run) basis() []checks.Text {
	var out []checks.Text
	p := r.in.Place
	switch {
	case r.in.Weather != nil:
		out = append(out, r.say("weather", "name", r.in.Weather.Name(), "last", r.in.Weather.Last()))
	case p.FirstFrost != "":
		out = append(out, r.say("no_weather_frost", "last", cmp.Or(p.LastFrost, "?"), "first", p.FirstFrost))
	default:
		out = append(out, r.notes["no_weather"], r.notes["no_frost"])
	}
	out = append(out, r.soilBasis()...)
	if p.State == "" {
		out = append(out, r.notes["no_state"])
	}
	return append(out, r.notes["check_law"])
}

// honest is what can't be mended at a fair price in a zone.
func (r *run) honest(s *site) []Honest {
	var out []Honest
	for _, h := range r.p.Honest {
		if s.causes[h.Cause] && (h.When == "" || moment{r, s, nil, r.day, 0}.holds(h.When) == yes) {
			out = append(out, Honest{Cause: h.Cause, Zone: s.zone.ID, Say: h.Say, Source: h.Source})
		}
	}
	return out
}

// steps joins tasks of several zones that are one thing to do on one day, in order of leverage, and adds what to look at and
// whom to ask.
func (r *run) steps(tasks []*task) []Step {
	var groups [][]*task
	for _, t := range tasks {
		at := slices.IndexFunc(groups, func(g []*task) bool { return g[0].same(t) })
		if at < 0 {
			groups = append(groups, []*task{t})
			continue
		}
		groups[at] = append(groups[at], t)
	}
	slices.SortStableFunc(groups, func(a, b []*task) int {
		return cmp.Or(cmp.Compare(a[0].action.Order, b[0].action.Order), cmp.Compare(lead(a), lead(b)), cmp.Compare(a[0].day, b[0].day))
	})
	out := r.looks()
	count := map[string]int{}
	for _, g := range groups {
		s := r.step(g)
		if count[s.ID]++; count[s.ID] > 1 {
			s.ID = fmt.Sprintf("%s#%d", s.ID, count[s.ID])
		}
		out = append(out, s)
	}
	return append(out, r.referrals()...)
}

// lead is the place of the cause with the most leverage over the zones of a group.
func lead(g []*task) int {
	best := g[0].place()
	for _, t := range g {
		best = min(best, t.place())
	}
	return best
}

// same says whether two tasks are one step: the same action with the same materials on the same day.
func (t *task) same(o *task) bool {
	if t.key != o.key || t.action.ID != o.action.ID || t.day != o.day || len(t.goods) != len(o.goods) {
		return false
	}
	for i := range t.goods {
		if t.goods[i].Use != o.goods[i].Use || t.goods[i].Material != o.goods[i].Material {
			return false
		}
	}
	return true
}

func (r *run) step(g []*task) Step {
	t := g[0]
	s := Step{
		ID: t.key, Kind: Do, Action: t.action.ID, Works: worksOf(r, t), Order: t.action.Order, Do: t.action.Do, Who: t.deed.Who,
		Day: dayText(t.day), Window: r.view(t, t.span), Moved: t.moved, Avoid: t.action.Avoid, Licence: t.action.Licence, Dig: t.action.Dig, Source: t.action.Source,
	}
	if w := r.who[t.deed.Who]; w != nil {
		s.WhoSays = w.Label
	}
	for _, o := range g {
		for _, w := range o.causes {
			s.Causes = addOnce(s.Causes, w.cause.ID)
		}
		s.Parts = append(s.Parts, Part{Zone: o.at.zone.ID, Name: o.at.zone.Name, Area: o.at.zone.Area, Goods: o.goods, Figures: r.figures(o)})
	}
	s.Drives = r.drives(g, s.Causes)
	r.outcome(&s, t)
	r.words(&s, g)
	return s
}

func addOnce(list []string, id string) []string {
	if slices.Contains(list, id) {
		return list
	}
	return append(list, id)
}

// worksOf lists a task's kinds of work in the catalogue's order.
func worksOf(r *run, t *task) []string {
	var out []string
	for _, w := range r.p.Works {
		if t.works[w.ID] {
			out = append(out, w.ID)
		}
	}
	return out
}

// drives are the causes that the leading cause of the step drives in these zones.
func (r *run) drives(g []*task, own []string) []string {
	var out []string
	for _, t := range g {
		for _, l := range t.at.zone.Answer.Causes {
			if slices.Contains(l.DrivenBy, t.causes[0].cause.ID) && t.at.causes[l.ID] && !slices.Contains(own, l.ID) {
				out = addOnce(out, l.ID)
			}
		}
	}
	return out
}

// outcome is what comes of a step and from when it shows; of seed when that grass is up.
func (r *run) outcome(s *Step, t *task) {
	s.Result = t.causes[0].cause.Expect
	from, by := t.deed.ShowsFrom, t.deed.ShowsBy
	if by == 0 {
		return
	}
	if g := r.grass(t.at, t.deed); g != nil && r.stands(t.works, "is") {
		from = g.EmergeLo
	}
	s.ShowsFrom, s.ShowsBy = dayText(t.day+min(from, by)), dayText(t.day+by)
}

// words are what the client does, the tools and the cautions.
func (r *run) words(s *Step, g []*task) {
	for _, id := range s.Works {
		w := r.works[id]
		if w.Client.EN != "" {
			s.Client = append(s.Client, w.Client)
		}
		if w.Tools.EN != "" && !slices.Contains(s.Tools, w.Tools) {
			s.Tools = append(s.Tools, w.Tools)
		}
	}
	steep := slices.ContainsFunc(g, func(t *task) bool {
		z := t.at.zone
		if z.Slope == nil {
			return false
		}
		v, err := z.Slope.In("%")
		return err == nil && v > steepFrom
	})
	for i := range r.b.Cautions {
		where := r.b.Cautions[i].Where
		if s.Licence && slices.Contains(where, "pesticide") || s.Dig && slices.Contains(where, "dig") || steep && slices.Contains(where, "slope") {
			s.Cautions = append(s.Cautions, r.b.Cautions[i])
		}
	}
}

// steepFrom is the slope in percent from which the caution for slopes is shown.
const steepFrom = 15

// looks are the checks that would settle what can't be told yet, one for each.
func (r *run) looks() []Step {
	var out []Step
	for _, s := range r.sites {
		if !s.unsure || len(s.zone.Answer.Next) == 0 {
			continue
		}
		at := slices.IndexFunc(r.b.Checks, func(c checks.Check) bool { return c.ID == s.zone.Answer.Next[0].Check })
		if at < 0 {
			continue
		}
		c := &r.b.Checks[at]
		part := Part{Zone: s.zone.ID, Name: s.zone.Name, Area: s.zone.Area}
		if i := slices.IndexFunc(out, func(o Step) bool { return o.Check == c.ID }); i >= 0 {
			out[i].Parts = append(out[i].Parts, part)
			continue
		}
		out = append(out, Step{ID: "check:" + c.ID, Kind: Check, Check: c.ID, Causes: []string{}, Do: c.HowTo, Day: r.in.Day, Parts: []Part{part}, Cautions: cautionsFor(r.b, c.ID), Source: c.Source, Result: r.notes["settle"]})
	}
	return out
}

// referrals are the persons who can settle or do what the crew can't, each asked once.
func (r *run) referrals() []Step {
	var out []Step
	for _, s := range r.sites {
		for _, c := range r.asked(s) {
			if c.Refer.EN == "" {
				continue
			}
			part := Part{Zone: s.zone.ID, Name: s.zone.Name, Area: s.zone.Area}
			i := slices.IndexFunc(out, func(o Step) bool { return o.Do == c.Refer })
			if i < 0 {
				i = len(out)
				out = append(out, Step{ID: "refer:" + c.ID, Kind: Refer, Causes: []string{}, Order: 4, Do: c.Refer, WhoSays: c.Refer, Source: c.Source})
			}
			out[i].Causes = addOnce(out[i].Causes, c.ID)
			if !slices.ContainsFunc(out[i].Parts, func(p Part) bool { return p.Zone == part.Zone }) {
				out[i].Parts = append(out[i].Parts, part)
			}
		}
	}
	return out
}
