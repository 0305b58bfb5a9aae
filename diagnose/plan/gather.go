package plan

import (
	"cmp"
	"slices"
)

// Gather moves steps that one firm does onto days of others near by, so that they make one visit: by at most within days, onto a
// day that is in anchors (visits that are planned already) or on which another step stands. No step leaves its window, none
// breaks a rule or an interval that held before; what can't be moved stays. ours says which steps the firm does itself.
func (pl *Planner) Gather(in Input, p Plan, within int, anchors []string, ours func(Step) bool) (Plan, error) {
	held, err := pl.standing(in, p)
	if err != nil || within <= 0 {
		return p, err
	}
	var days []int
	for _, text := range anchors {
		if day, err := dayOf(text); err == nil {
			days = append(days, day)
		}
	}
	for _, id := range byDay(p, ours) {
		at := slices.IndexFunc(p.Steps, func(s Step) bool { return s.ID == id })
		day, err := dayOf(p.Steps[at].Day)
		if err != nil {
			continue
		}
		for _, to := range near(day, days, within) {
			moved, ok, err := pl.movedTo(in, p, id, dayText(to), held)
			if err != nil {
				return p, err
			}
			if ok {
				moved.Steps[at].Alone, p, day = p.Steps[at].Day, moved, to
				break
			}
		}
		days = append(days, day)
	}
	return p, nil
}

// byDay are the ids of the steps that may be gathered, soonest first.
func byDay(p Plan, ours func(Step) bool) []string {
	list := slices.DeleteFunc(slices.Clone(p.Steps), func(s Step) bool { return s.Kind == Refer || s.Day == "" || !ours(s) })
	slices.SortStableFunc(list, func(a, b Step) int { return cmp.Compare(a.Day, b.Day) })
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = s.ID
	}
	return out
}

// near are the days within reach of a day, the nearest first; none where one is the day itself.
func near(day int, days []int, within int) []int {
	if slices.Contains(days, day) {
		return nil
	}
	out := slices.DeleteFunc(slices.Clone(days), func(d int) bool { return apart(d, day) > within })
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(apart(a, day), apart(b, day)) })
	return slices.Compact(out)
}

// movedTo is the plan with one step on another day, when that breaks nothing that held.
func (pl *Planner) movedTo(in Input, p Plan, id, day string, held int) (Plan, bool, error) {
	if day < in.Day {
		return p, false, nil
	}
	if at := slices.IndexFunc(p.Steps, func(s Step) bool { return s.ID == id }); p.Steps[at].Kind == Check {
		return p, false, nil
	}
	moved, err := pl.Adjust(in, p, []Edit{{Step: id, Day: day}})
	if err != nil {
		return p, false, err
	}
	now, err := pl.standing(in, moved)
	return moved, err == nil && now <= held, err
}

// standing counts the conflicts of a plan that keep it from being signed.
func (pl *Planner) standing(in Input, p Plan) (int, error) {
	found, err := pl.Verify(in, p)
	n := 0
	for _, c := range found {
		if c.Stands() {
			n++
		}
	}
	return n, err
}
