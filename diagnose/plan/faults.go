package plan

import (
	"fmt"

	"swardbook/diagnose/knowledge"
)

// Rules that have no row of their own.
const (
	ruleWindow    = "window"
	ruleOrder     = "out_of_order"
	ruleWait      = "seed_wait"
	ruleFindLabel = "find_label"
)

// faults lists every rule that a task breaks on a day, but for its window and its amounts.
func (r *run) faults(t *task, day int) []Conflict {
	out := r.broken(t, day)
	for _, e := range t.at.entries(t) {
		out = append(out, r.between(t, day, e)...)
	}
	return r.overrule(t, append(out, r.outOfOrder(t, day)...))
}

// outOfOrder lists the tasks of the zone that this one should follow or lead and doesn't. What is done a season later has no say.
func (r *run) outOfOrder(t *task, day int) []Conflict {
	var out []Conflict
	for _, o := range t.at.tasks {
		if o == t || !o.dated {
			continue
		}
		first, then, at := o, t, o.day
		switch {
		case apart(o.day, day) > patience:
			continue
		case o.day > day && r.before(o, t) && !r.before(t, o):
		case o.day < day && r.before(t, o) && !r.before(o, t):
			first, then, at = t, o, day
		default:
			continue
		}
		c := Conflict{Rule: ruleOrder, Kind: ByPractice, Step: t.key, With: o.key, Zone: t.at.zone.ID, Day: dayText(day), Source: then.action.Source,
			Say: r.say("out_of_order", "first", r.name(first), "then", r.name(then), "day", dayText(at))}
		if then == t {
			c.Until = dayText(o.day)
		}
		out = append(out, c)
	}
	return out
}

// broken lists the rules of the day and the place.
func (r *run) broken(t *task, day int) []Conflict {
	var out []Conflict
	for _, rule := range t.rules {
		m := moment{r, t.at, t, day, rule.Fresh}
		if rule.When != "" && m.holds(rule.When) != yes || rule.Unless != "" && m.holds(rule.Unless) == yes {
			continue
		}
		out = append(out, Conflict{Rule: rule.ID, Kind: rule.Kind, Step: t.key, Zone: t.at.zone.ID, Day: dayText(day), Say: rule.Say, Source: rule.Source})
	}
	return out
}

// between lists what lies too near to something done or planned in the zone.
func (r *run) between(t *task, day int, e *entry) []Conflict {
	var out []Conflict
	for i := range r.p.Apart {
		a := &r.p.Apart[i]
		gap, until := day-e.day, e.day+a.Days
		if gap == 0 && r.isSooner(a.Then, a.First) {
			continue // on one day they are done in that order
		}
		switch {
		case e.works[a.First] && t.works[a.Then] && gap >= 0 && gap < a.Days:
		case t.works[a.First] && e.works[a.Then] && gap <= 0 && -gap < a.Days:
			until = e.day + 1
		default:
			continue
		}
		out = append(out, r.conflict(t, e, day, a, until))
	}
	return append(out, r.waiting(t, day, e)...)
}

func (r *run) conflict(t *task, e *entry, day int, a *knowledge.Apart, until int) Conflict {
	return Conflict{Rule: a.ID, Kind: a.Kind, Step: t.key, With: e.id, Zone: t.at.zone.ID, Day: dayText(day), Say: fill(a.Say, "days", a.Days), Source: a.Source, Until: dayText(until)}
}

// waiting holds seed and weed products apart by their active ingredients.
func (r *run) waiting(t *task, day int, e *entry) []Conflict {
	mine := t.entry()
	mine.day = day
	switch {
	case r.stands(t.works, "is") && r.stands(e.works, "waits"):
		return r.waitsFor(t, day, e, mine, e)
	case r.stands(t.works, "waits") && r.stands(e.works, "is"):
		return r.waitsFor(t, day, e, e, mine)
	}
	return nil
}

// stands says whether any of the works stands to seed in this way.
func (pl *Planner) stands(works map[string]bool, how string) bool {
	for w := range works {
		if work := pl.works[w]; work != nil && work.Seeding == how {
			return true
		}
	}
	return false
}

// waitsFor compares seeding with a spraying: task t is one of them, entry e the other.
func (r *run) waitsFor(t *task, day int, e *entry, seed, spray *entry) []Conflict {
	var out []Conflict
	for _, p := range spray.goods {
		if p.material == nil {
			continue
		}
		if c, ok := r.longestWait(p.material, seed.day, spray.day); ok {
			c.Step, c.With, c.Zone, c.Day = t.key, e.id, t.at.zone.ID, dayText(day)
			out = append(out, c)
		}
	}
	return out
}

// longestWait is the conflict of the active in a product that keeps seed away longest; one whose wait nobody knows is longer
// than any.
func (r *run) longestWait(m *Material, seed, spray int) (worst Conflict, ok bool) {
	for _, w := range r.waitsOf(m) {
		c, near := r.tooNear(w, seed, spray)
		if near && (!ok || worst.Until != "" && (c.Until == "" || c.Until > worst.Until)) {
			worst, ok = c, true
		}
	}
	return worst, ok
}

// keepAway is what keeps one active and seed apart.
type keepAway struct {
	active   string
	to, from int // days; -1 not known
	with     bool
	source   string
}

// waitsOf is what a material's label says, and where it is silent what is known of its actives. A product with no active
// known has one that nobody knows.
func (r *run) waitsOf(m *Material) []keepAway {
	var out []keepAway
	for _, a := range m.Actives {
		w := keepAway{active: a.Name, to: -1, from: -1}
		if row := r.waits[a.Name]; row != nil {
			w = keepAway{a.Name, row.ToSeeding, row.FromSeeding, row.AtSeeding, row.Source}
		}
		out = append(out, w)
	}
	if len(out) == 0 {
		out = []keepAway{{active: m.Name, to: -1, from: -1}}
	}
	for i := range out {
		out[i].fromLabel(m.Label)
	}
	return out
}

func (w *keepAway) fromLabel(l Label) {
	if l.ToSeeding != nil {
		w.to, w.with, w.source = *l.ToSeeding, l.AtSeeding, "LABELS"
	}
	if l.FromSeeding != nil {
		w.from, w.source = *l.FromSeeding, "LABELS"
	}
}

// unknownReach is how far a label that nobody has found may reach, in days.
const unknownReach = 365

func (r *run) tooNear(w keepAway, seed, spray int) (Conflict, bool) {
	gap, days, note := seed-spray, w.to, ruleWait
	switch {
	case gap == 0 && w.with:
		return Conflict{}, false
	case gap < 0:
		gap, days, note = -gap, w.from, "spray_wait"
	}
	if days < 0 {
		say := r.say(ruleFindLabel, "active", w.active)
		return Conflict{Rule: ruleFindLabel, Kind: ByLabel, Say: say, Source: sourceOr(w.source)}, gap < unknownReach
	}
	at, until := spray, spray+days
	if note != ruleWait {
		at, until = seed, seed+days
	}
	say := r.say(note, "active", w.active, "days", fmt.Sprint(days), "day", dayText(at))
	return Conflict{Rule: note, Kind: ByLabel, Say: say, Source: sourceOr(w.source), Until: dayText(until)}, gap < days
}

func sourceOr(source string) string {
	if source == "" {
		return "LABELS"
	}
	return source
}

// overrule attaches a manager's decision to what may be overruled.
func (r *run) overrule(t *task, list []Conflict) []Conflict {
	for i := range list {
		for j := range r.in.Overruled {
			o := &r.in.Overruled[j]
			if o.Rule == list[i].Rule && stem(o.Step) == t.key && (o.Zone == "" || o.Zone == t.at.zone.ID) && o.Why != "" && list[i].CanOverrule() {
				list[i].Overrule = o
			}
		}
	}
	return list
}

// split parts what stands from what was overruled.
func split(list []Conflict) (standing, waived []Conflict) {
	for _, c := range list {
		if c.Stands() {
			standing = append(standing, c)
		} else {
			waived = append(waived, c)
		}
	}
	return standing, waived
}

// outside is the conflict of a day outside a task's windows.
func (r *run) outside(t *task, day int) Conflict {
	return Conflict{Rule: ruleWindow, Kind: ByWindow, Step: t.key, Zone: t.at.zone.ID, Day: dayText(day), Source: t.action.Source,
		Say: r.say("outside", "window", t.action.Window), Until: dayText(r.opens(t, day))}
}

// opens is the next day from a day on when a window is open, within the horizon.
func (r *run) opens(t *task, day int) int {
	for d := day; d <= day+horizon; d++ {
		if _, ok := r.openOn(t, d); ok {
			return d
		}
	}
	return never
}
