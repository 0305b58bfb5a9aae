package plan

import (
	"fmt"
	"slices"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
)

// overLabel lists what a material at a rate passes of its label.
func (r *run) overLabel(t *task, m *Material, g Good, p put, day int) []Conflict {
	var out []Conflict
	add := func(rule string, words ...any) {
		out = append(out, r.label(t, rule, day, r.say(rule, append([]any{"name", m.Name}, words...)...)))
	}
	if g.Rate != nil {
		if is, top, over := exceeds(*g.Rate, m.Label.MaxRate, 0); over {
			add("over_label", "max", top, "is", is)
		}
		if m.Label.MaxYear != nil {
			sum := t.at.spent(t, day, m.Label.Rolling, sameMaterial(m, m.Label.MaxYear.Unit))
			if is, top, over := exceeds(*g.Rate, m.Label.MaxYear, sum); over {
				add("over_label_year", "max", top, "is", is)
			}
		}
		out = append(out, r.overActives(t, m, p, day)...)
	}
	return append(out, r.overTimes(t, m, day)...)
}

// exceeds compares a rate, with what was put down before, to a limit in the limit's unit. What can't be compared counts as
// over: nothing passes a label unread.
func exceeds(rate agronomy.Quantity, top *agronomy.Quantity, before float64) (is, limit string, over bool) {
	if top == nil {
		return "", "", false
	}
	v, err := rate.In(top.Unit)
	if err != nil {
		return rate.String(), top.String(), true
	}
	v += before
	return agronomy.Q(v, top.Unit).String(), top.String(), v > top.Value*(1+hair)
}

func sameMaterial(m *Material, unit string) func(put) float64 {
	return func(p put) float64 {
		if p.material == nil || p.material.ID != m.ID {
			return 0
		}
		v, err := p.rate.In(unit)
		if err != nil {
			return 0
		}
		return v
	}
}

func (r *run) label(t *task, rule string, day int, say checks.Text) Conflict {
	return Conflict{Rule: rule, Kind: ByLabel, Step: t.key, Zone: t.at.zone.ID, Day: dayText(day), Source: "LABELS", Say: say}
}

// overActives counts each active over all products that hold it.
func (r *run) overActives(t *task, m *Material, p put, day int) []Conflict {
	var out []Conflict
	for _, a := range m.Actives {
		is, ok := activeOf(p, a.Name)
		for _, l := range []struct {
			top    *agronomy.Quantity
			rule   string
			before float64
		}{
			{a.MaxOnce, "over_active", 0},
			{a.MaxYear, "over_active_year", t.at.spent(t, day, m.Label.Rolling, func(q put) float64 { v, _ := activeOf(q, a.Name); return v })},
		} {
			if l.top == nil {
				continue
			}
			top, err := l.top.In("lb/acre")
			if err == nil && ok && is+l.before <= top*(1+hair) {
				continue
			}
			out = append(out, r.label(t, l.rule, day, r.say(l.rule, "active", a.Name, "max", l.top.String(), "is", agronomy.Q(is+l.before, "lb/acre").String())))
		}
	}
	return out
}

// overTimes holds a material to its number of applications in a year and the days between them.
func (r *run) overTimes(t *task, m *Material, day int) []Conflict {
	var out []Conflict
	holds := func(e *entry) bool {
		return slices.ContainsFunc(e.goods, func(p put) bool { return p.material != nil && p.material.ID == m.ID })
	}
	nearest := never
	for _, e := range t.at.entries(t) {
		if holds(e) && (nearest == never || apart(e.day, day) < apart(nearest, day)) {
			nearest = e.day
		}
	}
	before := t.at.yearly(t, day, m.Label.Rolling, func(e *entry) float64 {
		if holds(e) {
			return 1
		}
		return 0
	})
	if m.Label.MaxTimes > 0 && int(before)+1 > m.Label.MaxTimes {
		out = append(out, r.label(t, "over_times", day, r.say("over_times", "name", m.Name, "max", fmt.Sprint(m.Label.MaxTimes))))
	}
	if nearest != never && apart(nearest, day) < m.Label.Interval {
		c := r.label(t, "too_soon", day, r.say("too_soon", "name", m.Name, "days", fmt.Sprint(m.Label.Interval), "day", dayText(nearest)))
		c.Until = dayText(nearest + m.Label.Interval)
		out = append(out, c)
	}
	return out
}

func apart(a, b int) int { return max(a-b, b-a) }

// overFirm holds a material and its actives to the firm's own limits.
func (r *run) overFirm(t *task, m *Material, p put, day int) []Conflict {
	var out []Conflict
	for _, l := range r.in.Limits {
		of := r.firmOf(m, l)
		if of == nil {
			continue
		}
		is, before := of(p), 0.0
		if l.Per == PerYear {
			before = t.at.spent(t, day, false, of)
		}
		if is+before > l.Max.Value*(1+hair) {
			say := r.say("over_firm", "of", l.Of, "max", l.Max.String(), "is", agronomy.Q(is+before, l.Max.Unit).String())
			out = append(out, Conflict{Rule: "firm:" + l.Of + ":" + l.Per, Kind: ByFirm, Step: t.key, Zone: t.at.zone.ID, Day: dayText(day), Say: say, Source: l.Why})
		}
	}
	return out
}

// firmOf counts what a firm's limit of a material or an active speaks of, in the limit's unit; nil when it is not this one.
// An id that is an active's name as well means the active.
func (r *run) firmOf(m *Material, l Limit) func(put) float64 {
	if !slices.ContainsFunc(m.Actives, func(a Active) bool { return a.Name == l.Of }) {
		if l.Of != m.ID {
			return nil
		}
		return sameMaterial(m, l.Max.Unit)
	}
	return func(p put) float64 {
		v, _ := activeOf(p, l.Of)
		in, err := agronomy.Q(v, "lb/acre").In(l.Max.Unit)
		if err != nil {
			return 0
		}
		return in
	}
}
