package plan

import (
	"cmp"
	"slices"
)

// Gather moves steps that one firm does onto days of others near by, so that they make one visit: by at most within days, onto a
// day that is in anchors (visits that are planned already) or on which another step stands. No step leaves its window, none
// breaks a rule or an interval that held before. The steps of one day go together or not at all: moving some of them would leave
// the visit that the move was to save. ours says which steps the firm does itself.
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
	for _, of := range byDay(p, ours) {
		moved, free, err := pl.emptied(in, p, of, days, within, held)
		if err != nil {
			return p, err
		}
		if p = moved; free {
			continue
		}
		days = append(days, of.day)
	}
	return p, nil
}

// emptied is the plan with every step of a day on another one, and whether that could be done; else it is the plan as it was.
func (pl *Planner) emptied(in Input, p Plan, of sameDay, days []int, within, held int) (Plan, bool, error) {
	out := p
	for _, id := range of.steps {
		moved, ok, err := pl.joined(in, out, id, near(of.day, days, within), held)
		if err != nil || !ok {
			return p, false, err
		}
		out = moved
	}
	return out, true, nil
}

// joined is the plan with one step on the first of the days that takes it.
func (pl *Planner) joined(in Input, p Plan, id string, days []int, held int) (Plan, bool, error) {
	at := slices.IndexFunc(p.Steps, func(s Step) bool { return s.ID == id })
	for _, to := range days {
		moved, ok, err := pl.movedTo(in, p, id, dayText(to), held)
		if err != nil {
			return p, false, err
		}
		if ok {
			moved.Steps[at].Alone = p.Steps[at].Day
			return moved, true, nil
		}
	}
	return p, false, nil
}

// sameDay are steps that stand on one day.
type sameDay struct {
	day   int
	steps []string
}

// byDay are the steps that may be gathered, day by day, soonest first.
func byDay(p Plan, ours func(Step) bool) []sameDay {
	var out []sameDay
	for _, s := range p.Steps {
		day, err := dayOf(s.Day)
		if err != nil || s.Kind == Refer || !ours(s) {
			continue
		}
		at, ok := slices.BinarySearchFunc(out, day, func(of sameDay, day int) int { return cmp.Compare(of.day, day) })
		if !ok {
			out = slices.Insert(out, at, sameDay{day: day})
		}
		out[at].steps = append(out[at].steps, s.ID)
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
