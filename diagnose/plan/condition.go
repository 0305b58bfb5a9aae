package plan

import (
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// answer is what is known of a condition.
type answer int

const (
	no answer = iota
	unknown
	yes
)

func of(is bool) answer {
	if is {
		return yes
	}
	return no
}

// moment is what a condition is asked about: a task in its zone on a day.
type moment struct {
	r     *run
	s     *site
	t     *task // nil where a zone alone is asked about
	day   int
	fresh int // days that facts and causes count; 0 for good
}

// holds answers a condition: any group whose terms all hold. An empty one is unknown, which neither forbids nor allows.
func (m moment) holds(text string) answer {
	best := no
	groups := m.r.whens[text]
	if len(groups) == 0 {
		return unknown
	}
	for _, g := range groups {
		all := yes
		for _, t := range g {
			all = min(all, m.term(t))
		}
		best = max(best, all)
	}
	return best
}

func (m moment) term(t knowledge.Term) answer {
	switch t.Key {
	case "place":
		return m.text(t, m.r.in.Place.State)
	case "region":
		return m.region(t)
	case "texture":
		return m.text(t, m.s.zone.Soil)
	case "grass":
		return m.text(t, m.s.zone.Grass)
	case "day":
		from, to, _ := strings.Cut(t.Values[0], "..")
		return of(within(monthDay(m.day), from, to) == (t.Op == "="))
	case "fact":
		return m.fact(t)
	case "cause":
		return of(m.s.causes[t.Name] && (m.fresh == 0 || m.day-m.r.day <= m.fresh))
	case "for":
		return of(m.t != nil && slices.ContainsFunc(m.t.causes, func(w wanted) bool { return w.cause.ID == t.Name }))
	case "with":
		return of(m.with(t.Name))
	case "has":
		return of(m.t != nil && m.t.has(t.Name))
	}
	return m.measured(t)
}

// text answers for a text that is known or empty.
func (m moment) text(t knowledge.Term, is string) answer {
	if is == "" {
		return unknown
	}
	return of(slices.Contains(t.Values, is) == (t.Op == "="))
}

// region is text, except that no region is the ordinary one: not any that is named.
func (m moment) region(t knowledge.Term) answer {
	return of(slices.Contains(t.Values, m.r.in.Place.Region) == (t.Op == "="))
}

func (m moment) fact(t knowledge.Term) answer {
	f, ok := m.s.facts[t.Name]
	if !ok || m.fresh > 0 && m.day-f.at > m.fresh {
		return unknown
	}
	switch t.Op {
	case "~":
		return m.sign(t, f)
	case "=", "!=":
		state := f.State
		if state == "" && f.Value != nil {
			state = m.band(t.Name, *f.Value)
		}
		return m.text(t, state)
	}
	if f.Value == nil {
		return unknown
	}
	v, ok := m.r.own(t.Name, *f.Value)
	if !ok {
		return unknown
	}
	return compare(t, v)
}

func (m moment) sign(t knowledge.Term, f fact) answer {
	for _, s := range t.Values {
		if slices.Contains(f.Present, s) {
			return yes
		}
		if !slices.Contains(f.Absent, s) {
			return unknown
		}
	}
	return no
}

// band is the state of a measured finding.
func (m moment) band(finding string, q agronomy.Quantity) string {
	at := slices.IndexFunc(m.r.b.Findings, func(f knowledge.Finding) bool { return f.ID == finding })
	if at < 0 {
		return ""
	}
	v, ok := m.r.own(finding, q)
	for _, b := range m.r.b.Findings[at].Bands {
		if ok && b.Low <= v && v < b.High {
			return b.State
		}
	}
	return ""
}

// own is a fact's number in the unit in which rules speak of it. The units of checks, counts on an area among them, convert as
// the check says.
func (pl *Planner) own(name string, q agronomy.Quantity) (float64, bool) {
	unit := pl.unitOf(name)
	if q.Unit == "" || q.Unit == unit {
		return q.Value, true
	}
	for _, c := range pl.b.Checks {
		for _, y := range c.Yields {
			if at := slices.IndexFunc(c.Units, func(u checks.Unit) bool { return u.ID == q.Unit }); y.Finding == name && at >= 0 {
				return q.Value * c.Units[at].Mul / c.Units[at].Div, true
			}
		}
	}
	v, err := q.In(unit)
	return v, err == nil
}

// unitOf is the unit in which rules speak of a fact: its own, or that of the first check that yields the finding.
func (pl *Planner) unitOf(name string) string {
	for _, f := range pl.p.Facts {
		if f.ID == name {
			return f.Unit
		}
	}
	for _, c := range pl.b.Checks {
		for _, y := range c.Yields {
			if y.Finding == name && len(c.Units) > 0 {
				return c.Units[0].ID
			}
		}
	}
	return ""
}

func compare(t knowledge.Term, v float64) answer {
	switch t.Op {
	case ">":
		return of(v > t.Number)
	case ">=":
		return of(v >= t.Number)
	case "<":
		return of(v < t.Number)
	}
	return of(v <= t.Number)
}

// measured answers for the slope and the day's weather.
func (m moment) measured(t knowledge.Term) answer {
	switch t.Key {
	case "slope":
		if m.s.zone.Slope == nil {
			return unknown
		}
		v, err := m.s.zone.Slope.In("%")
		if err != nil {
			return unknown
		}
		return compare(t, v)
	case "air":
		if v, ok := m.r.air(m.day); ok {
			return compare(t, v)
		}
	case "soil":
		if v, ok := m.r.soil(m.day); ok {
			return compare(t, v)
		}
	}
	return unknown
}

// with says whether work of a kind is done in the zone within a month of the day, by this task or another.
func (m moment) with(work string) bool {
	if m.t != nil && m.t.works[work] {
		return true
	}
	for _, e := range m.s.entries(m.t) {
		if e.works[work] && e.day >= m.day-month && e.day <= m.day+month {
			return true
		}
	}
	return false
}

const month = 30
