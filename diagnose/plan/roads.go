package plan

import (
	"slices"

	"swardbook/diagnose/checks"
)

// roads shows, wherever two tasks of a zone could not both have their first day, what the other order would lead to; and
// where a window is the second choice, when the best one is.
func (r *run) roads(s *site) []Road {
	var out []Road
	for _, t := range s.tasks {
		for _, c := range t.blocked {
			if o := s.taskOf(c.With); o != nil && c.Rule != ruleOrder && o.dated && (!t.dated || t.day > t.first) && !slices.ContainsFunc(out, func(x Road) bool { return x.Step == o.key && x.Other == t.key }) {
				out = append(out, r.road(s, o, t))
			}
		}
		if road, ok := r.windowRoad(t); ok {
			out = append(out, road)
		}
	}
	return append(out, r.pickRoads(s)...)
}

func (s *site) taskOf(key string) *task {
	at := slices.IndexFunc(s.tasks, func(t *task) bool { return t.key == key })
	if at < 0 {
		return nil
	}
	return s.tasks[at]
}

// road tries the order that was not taken: other on its first day, and then the planned one.
func (r *run) road(s *site, planned, other *task) Road {
	keep, keepOther := *planned, *other
	defer func() { *planned, *other = keep, keepOther }()
	road := Road{Step: planned.key, Other: other.key, Zone: s.zone.ID, Source: planned.action.Source + "; " + other.action.Source}
	planned.dated = false
	f := r.scan(other, other.first)
	if f.day == never {
		f.day = other.first
	}
	other.day, other.dated, other.goods = f.day, true, f.goods
	back := r.scan(planned, r.day)
	names := []any{"other", r.name(other), "day", dayText(f.day), "step", r.name(planned)}
	road.Say = r.say("road_never", names...)
	if back.day != never {
		road.Say = r.say("road_later", append(names, "later", dayText(back.day))...)
	}
	return road
}

// windowRoad tells of the window that was not taken.
func (r *run) windowRoad(t *task) (Road, bool) {
	if !t.dated || t.span.w == nil {
		return Road{}, false
	}
	for _, w := range r.windows[t.action.ID] {
		if w.Rank == t.span.w.Rank {
			continue
		}
		sp := r.span(w, yearOf(t.day))
		if sp.to < r.day {
			sp = r.span(w, yearOf(t.day)+1)
		}
		say := r.say("road_second", "from", dayText(sp.from), "to", dayText(sp.to))
		if t.span.w.Rank == 2 {
			say = r.say("road_window", "from", dayText(sp.from), "to", dayText(sp.to), "now", dayText(t.day))
		}
		return Road{Step: t.key, Other: t.key, Zone: t.at.zone.ID, Say: say, Source: w.Source}, true
	}
	return Road{}, false
}

// pickRoads names the actions that would do instead of one that was picked.
func (r *run) pickRoads(s *site) []Road {
	var out []Road
	for _, t := range s.tasks {
		if t.deed.Pick == "" || !t.dated {
			continue
		}
		for i := range r.b.Actions {
			act := &r.b.Actions[i]
			d := r.deeds[act.ID]
			if d == nil || d.Pick != t.deed.Pick || act.ID == t.action.ID || act.Cause != t.action.Cause || (d.When != "" && moment{r, s, nil, r.day, 0}.holds(d.When) == no) {
				continue
			}
			out = append(out, Road{Step: t.key, Other: act.ID, Zone: s.zone.ID, Say: r.say("road_pick", "other", joined(act.Do, act.Window)), Source: act.Source})
		}
	}
	return out
}

func joined(a, b checks.Text) checks.Text {
	return checks.Text{EN: a.EN + " " + b.EN, ES: a.ES + " " + b.ES}
}

// name is what a task is called in a sentence: its first kind of work.
func (r *run) name(t *task) checks.Text {
	if len(t.deed.Works) > 0 {
		return r.works[t.deed.Works[0]].Label
	}
	return t.action.Do
}
