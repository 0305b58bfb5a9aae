package simulate

import (
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/score"
)

// trial is one visit walked by every policy.
type trial struct {
	active int
	walks  []*walk
}

// walk is one visit by one policy.
type walk struct {
	at      []moment
	reached bool
	right   bool
	checks  int     // up to where one answer was likely enough, else all
	minutes float64 // the same
}

// moment is the answer after a number of checks.
type moment struct {
	top1, top3 bool
	said       []score.Said
}

// walk does checks until the last number to compare is reached and one answer is likely enough, or there is none left to do.
func (w *World) walk(c Config, v *Visit, policy string, order []int) (*walk, error) {
	out := &walk{}
	now := v.Case
	for n := 0; ; n++ {
		like, nothing, err := w.engine.Likelihoods(now)
		if err != nil {
			return nil, err
		}
		out.enough(c, v, like, nothing)
		compare := len(out.at) < len(c.Checks) && c.Checks[len(out.at)] == n
		if n >= c.Most || len(out.at) == len(c.Checks) && out.reached {
			return out, nil
		}
		answer, check, err := w.next(policy, order, now, compare)
		if err != nil {
			return nil, err
		}
		for len(out.at) < len(c.Checks) && (compare || check == nil) {
			out.at = append(out.at, w.judge(v, answer, like))
			compare = false
		}
		if check == nil {
			return out, nil
		}
		now = v.With(now, check)
		out.count(check)
	}
}

// count counts a check as long as no answer is likely enough.
func (x *walk) count(c *checks.Check) {
	if !x.reached {
		x.checks++
		x.minutes += c.Minutes
	}
}

// enough notes that an answer, a cause or that nothing is wrong, has become likely enough, and whether it is right.
func (x *walk) enough(c Config, v *Visit, like []float64, nothing float64) {
	if x.reached {
		return
	}
	best := 0
	for i, p := range like {
		if p > like[best] {
			best = i
		}
	}
	switch {
	case nothing >= c.Enough:
		x.reached, x.right = true, len(v.Active) == 0
	case like[best] >= c.Enough:
		x.reached, x.right = true, slices.Contains(v.Active, best)
	}
}

// next is the next check by a policy, nil when there is none, with the answer as things stand where it is asked for or
// needed: by the engine's own order, and at the end.
func (w *World) next(policy string, order []int, now diagnose.Case, compare bool) (answer diagnose.Answer, check *checks.Check, err error) {
	if policy != NextBest {
		check = w.inOrder(policy, order, now)
	}
	if policy == NextBest || compare || check == nil {
		if answer, err = w.engine.Diagnose(now); err != nil {
			return answer, nil, err
		}
	}
	if policy == NextBest && len(answer.Next) > 0 {
		at := slices.IndexFunc(w.know.Checks, func(c checks.Check) bool { return c.ID == answer.Next[0].Check })
		check = &w.know.Checks[at]
	}
	return answer, check, nil
}

// inOrder is the first check in the catalogue's order, or in the order drawn, that is still to be done.
func (w *World) inOrder(policy string, order []int, now diagnose.Case) *checks.Check {
	for i := range w.know.Checks {
		c := &w.know.Checks[i]
		if policy == Random {
			c = &w.know.Checks[order[i]]
		}
		if open(c, now) {
			return c
		}
	}
	return nil
}

// open reports whether a check can be done and nothing has been said of what it looks at.
func open(c *checks.Check, now diagnose.Case) bool {
	if c.Retired || len(c.Yields) == 0 {
		return false
	}
	return !slices.ContainsFunc(c.Yields, func(y checks.Yield) bool {
		return slices.ContainsFunc(now.Observed, func(o diagnose.Observed) bool { return o.Finding == y.Finding })
	})
}

// judge compares an answer with the truth. Where nothing is wrong, only that answer is right.
func (w *World) judge(v *Visit, a diagnose.Answer, like []float64) moment {
	m := moment{}
	for i, p := range like {
		m.said = append(m.said, score.Said{P: p, True: slices.Contains(v.Active, i)})
	}
	if a.Verdict == diagnose.NothingWrong || len(v.Active) == 0 {
		m.top1 = a.Verdict == diagnose.NothingWrong && len(v.Active) == 0
		m.top3 = m.top1
		return m
	}
	for i, c := range a.Causes[:min(3, len(a.Causes))] {
		at := slices.IndexFunc(w.know.Causes, func(k knowledge.Cause) bool { return k.ID == c.ID })
		if slices.Contains(v.Active, at) {
			m.top1 = m.top1 || i == 0
			m.top3 = true
		}
	}
	return m
}
