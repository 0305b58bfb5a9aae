package plan

import (
	"cmp"
	"fmt"
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/knowledge"
)

// run is one making or checking of a plan.
type run struct {
	*Planner
	in    *Input
	day   int
	sites []*site
}

// site is a zone with what is acted upon there, what is known and what was done.
type site struct {
	zone   *Zone
	acted  []wanted
	causes map[string]bool
	unsure bool // the diagnosis can't tell: look further, no pesticide
	facts  map[string]fact
	past   []*entry
	tasks  []*task
}

type fact struct {
	Fact
	at int
}

// entry is something put down or done in a zone on a day, or planned for it.
type entry struct {
	id    string
	day   int
	works map[string]bool
	goods []put
	task  *task // nil for what was done already
}

// put is one material at a rate; nutrient is what a feeding without a material brings.
type put struct {
	material *Material
	rate     agronomy.Quantity
	nutrient map[string]float64 // lb on 1000 sq ft
}

func (pl *Planner) open(in *Input) (*run, error) {
	day, err := dayOf(in.Day)
	if err != nil {
		return nil, fmt.Errorf("plan: day: %w", err)
	}
	r := &run{Planner: pl, in: in, day: day}
	seen := map[string]bool{}
	for i := range in.Zones {
		z := &in.Zones[i]
		if seen[z.ID] {
			return nil, fmt.Errorf("plan: zone %s is given twice", z.ID)
		}
		seen[z.ID] = true
		s, err := r.site(z)
		if err != nil {
			return nil, err
		}
		r.sites = append(r.sites, s)
	}
	return r, nil
}

func (r *run) site(z *Zone) (*site, error) {
	s := &site{zone: z, causes: map[string]bool{}, facts: map[string]fact{}}
	s.acted = byLeverage(acted(r.b, z.Answer, z.Judged), z.Answer)
	confirmed := slices.ContainsFunc(s.acted, func(w wanted) bool { return w.confirmed })
	if !confirmed && z.Answer.Verdict == diagnose.NothingWrong {
		s.acted = nil
	}
	s.unsure = !confirmed && z.Answer.Verdict == diagnose.CantTell
	for _, w := range s.acted {
		s.causes[w.cause.ID] = true
	}
	for _, f := range z.Facts {
		at, err := dayOf(f.Day)
		if err != nil {
			return nil, fmt.Errorf("plan: zone %s, %s: %w", z.ID, f.Name, err)
		}
		if at >= s.facts[f.Name].at || s.facts[f.Name].Name == "" {
			s.facts[f.Name] = fact{f, at}
		}
	}
	return s, r.history(s)
}

// history lists what was done in the zone.
func (r *run) history(s *site) error {
	for i := range r.in.Applied {
		a := &r.in.Applied[i]
		if !slices.Contains(a.Zones, s.zone.ID) {
			continue
		}
		day, err := dayOf(a.Day)
		if err != nil {
			return fmt.Errorf("plan: application %s: %w", a.ID, err)
		}
		e := &entry{id: a.ID, day: day, works: map[string]bool{}}
		for _, w := range a.Works {
			e.works[w] = true
		}
		if a.Material != nil {
			r.addUses(e.works, a.Material.Uses...)
			e.goods = []put{{material: a.Material, rate: a.rate()}}
		}
		s.past = append(s.past, e)
	}
	return nil
}

// rate is what was put down; where nobody knows how much it was, the most that the label allows, or the usual rate.
func (a *Applied) rate() agronomy.Quantity {
	for _, q := range []*agronomy.Quantity{a.Rate, a.Material.Label.MaxRate, a.Material.Rate} {
		if q != nil {
			return *q
		}
	}
	return agronomy.Quantity{}
}

// addUses adds the works of what materials serve for.
func (pl *Planner) addUses(works map[string]bool, uses ...string) {
	for _, id := range uses {
		if u := pl.uses[id]; u != nil {
			for _, w := range u.Works {
				works[w] = true
			}
		}
	}
}

// byLeverage puts drivers before what they drive, else leaves the reading order.
func byLeverage(list []wanted, a diagnose.Answer) []wanted {
	driven := map[string][]string{}
	for _, l := range a.Causes {
		driven[l.ID] = l.DrivenBy
	}
	at := map[string]int{}
	for i, w := range list {
		at[w.cause.ID] = i
	}
	var out []wanted
	seen := make([]bool, len(list))
	var add func(i int)
	add = func(i int) {
		if seen[i] {
			return
		}
		seen[i] = true
		for _, id := range driven[list[i].cause.ID] {
			if j, ok := at[id]; ok {
				add(j)
			}
		}
		list[i].place = len(out)
		out = append(out, list[i])
	}
	for i := range list {
		add(i)
	}
	return out
}

// role is the number, in a unit, of the fact that has a role, and whether it is known.
func (r *run) role(s *site, role, unit string) (float64, bool) {
	name := r.roles[role]
	f, ok := s.facts[name]
	if !ok || f.Value == nil {
		return 0, false
	}
	own, ok := r.own(name, *f.Value)
	v, err := agronomy.Q(own, r.unitOf(name)).In(unit)
	return v, ok && err == nil
}

// grass is the grass to sow: of those an action names, the one that is wanted or the first; else the one wanted or the one
// that stands there.
func (r *run) grass(s *site, d *knowledge.Deed) *knowledge.Grass {
	want := s.zone.Grass
	if want == "" {
		want = s.facts[r.roles["grass"]].State
	}
	if len(d.Grass) > 0 && !slices.Contains(d.Grass, want) {
		want = d.Grass[0]
	}
	return r.grasses[want]
}

// entries are all things done or planned in the zone but one, by day.
func (s *site) entries(but *task) []*entry {
	out := slices.Clone(s.past)
	for _, t := range s.tasks {
		if t != but && t.dated {
			out = append(out, t.entry())
		}
	}
	slices.SortStableFunc(out, func(a, b *entry) int { return cmp.Compare(a.day, b.day) })
	return out
}
