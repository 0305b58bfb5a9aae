package knowledge

import (
	"fmt"
	"slices"
	"strings"

	"swardbook/diagnose/checks"
)

// apart complains of causes that no check can tell from another: two with the same rows in every finding, and one without
// any row, which looks like nothing at all. The cause that stands for the unknown is meant to look like nothing.
func (l *loader) apart(b *Bundle) {
	rows := map[string][]string{} // by cause
	for i := range b.Findings {
		f := &b.Findings[i]
		for _, r := range f.Rows {
			rows[r.Cause] = append(rows[r.Cause], fmt.Sprint(f.ID, ",", r.State, ",", r.P))
		}
	}
	first := map[string]string{} // rows → the cause that has them
	for _, c := range b.Causes {
		if c.ID == b.Settings.Other {
			continue
		}
		if len(rows[c.ID]) == 0 {
			l.fail(l.causeAt[c.ID], "no finding speaks of %s: no check can tell it from nothing wrong", c.ID)
			continue
		}
		slices.Sort(rows[c.ID])
		same := strings.Join(rows[c.ID], ";")
		if twin, ok := first[same]; ok {
			l.fail(l.causeAt[c.ID], "no check can tell %s from %s: they have the same links in every finding", c.ID, twin)
			continue
		}
		first[same] = c.ID
	}
}

// idle complains of checks whose findings nothing uses: no link, no adjustment of rates, no rule.
func (l *loader) idle(b *Bundle) {
	used := map[string]bool{}
	for i := range b.Findings {
		used[b.Findings[i].ID] = len(b.Findings[i].Rows) > 0
	}
	for _, a := range b.Adjust {
		for key := range a.When {
			if id, ok := strings.CutPrefix(key, "finding:"); ok {
				used[id] = true
			}
		}
	}
	for _, ig := range b.Ignore {
		used[ig.Other] = true
	}
	for _, c := range b.Checks {
		speaks := len(c.Yields) > 0 && !c.Retired
		if speaks && !slices.ContainsFunc(c.Yields, func(y checks.Yield) bool { return used[y.Finding] }) {
			l.fail(l.checkAt[c.ID], "nothing uses the check %s: no link, adjustment or rule speaks of what it yields", c.ID)
		}
	}
}
