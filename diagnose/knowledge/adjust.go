package knowledge

import (
	"slices"
	"strconv"
	"strings"
)

func (l *loader) readAdjust(b *Bundle) {
	b.Adjust = []Adjust{}
	seen := map[string]pos{}
	for _, r := range l.table("adjust.csv", "cause", "when", "except", "factor", "at_most", "set", "source") {
		a := Adjust{Cause: r.cells["cause"], When: l.when(r), Source: l.source(r.at, r.cells["source"])}
		l.unknown(a.Cause != "*" && l.causes[a.Cause] == nil, r.at, "cause", a.Cause)
		a.Except = strings.Fields(r.cells["except"])
		for _, id := range a.Except {
			l.unknown(l.causes[id] == nil, r.at, "cause", id)
		}
		if len(a.Except) == 0 {
			a.Except = nil
		}
		l.oneOf(r, &a)
		l.once(seen, a.Cause+", "+r.cells["when"], r.at)
		b.Adjust = append(b.Adjust, a)
	}
}

func (l *loader) oneOf(r row, a *Adjust) {
	given := 0
	for _, p := range []struct {
		column string
		to     *float64
		high   float64
	}{{"factor", &a.Factor, 20}, {"at_most", &a.AtMost, 0.95}, {"set", &a.Set, 0.95}} {
		if r.cells[p.column] != "" {
			given++
			*p.to = l.number(r, p.column, 0.0001, p.high)
		}
	}
	if given != 1 {
		l.fail(r.at, "exactly one of factor, at_most and set is wanted")
	}
}

// when reads "key=value; key=value".
func (l *loader) when(r row) map[string]string {
	when := map[string]string{}
	for part := range strings.SplitSeq(r.cells["when"], "; ") {
		key, value, ok := strings.Cut(part, "=")
		if !ok || value == "" || when[key] != "" {
			l.fail(r.at, "when: %q is not key=value", part)
			continue
		}
		l.condition(r.at, key, value)
		when[key] = value
	}
	return when
}

func (l *loader) condition(at pos, key, value string) {
	finding, isFinding := strings.CutPrefix(key, "finding:")
	switch {
	case isFinding:
		f := l.states[finding]
		l.unknown(f == nil, at, "finding", finding)
		l.unknown(f != nil && stateIndex(f, value) < 0, at, "state", value)
	case key == "season":
		l.unknown(!slices.Contains(l.seasons, value), at, "season", value)
	case key == "month":
		l.months(at, value)
	case !slices.Contains([]string{"visit", "system", "rain", "seed", "region"}, key):
		l.fail(at, "when: unknown key %q", key)
	}
}

// months reads a rising list of months such as "8,9,10".
func (l *loader) months(at pos, list string) {
	last := 0
	for part := range strings.SplitSeq(list, ",") {
		m, err := strconv.Atoi(part)
		if err != nil || m <= last || m > 12 {
			l.fail(at, "%q is not a rising list of months", list)
			return
		}
		last = m
	}
}
