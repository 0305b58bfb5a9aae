package diagnose

import (
	"math"
	"slices"

	"swardbook/diagnose/checks"
)

// faint is the posterior below which a set can't change what a check is worth.
const faint = 1e-14

// chance is the working memory for the worth of checks.
type chance struct {
	sets   []int32   // the sets that matter
	causes []float64 // by cause: mass under the outcome at hand
	plans  []float64
	now    []float64 // by plan: likelihood as things stand
	shift  []float64 // by cause: expected change of its likelihood
}

// next lists the undone checks by what they are worth per minute.
func (e *Engine) next(w *scratch) []Next {
	x := &chance{
		causes: make([]float64, len(e.b.Causes)), plans: make([]float64, e.nplans),
		now: make([]float64, e.nplans), shift: make([]float64, len(e.b.Causes)),
	}
	for i, p := range w.post {
		if p >= faint {
			x.sets = append(x.sets, int32(i))
			e.addPlans(i, p, x.now)
		}
	}
	out := []Next{}
	for i := range e.b.Checks {
		c := &e.b.Checks[i]
		if !e.open(c, w.seen) {
			continue
		}
		n := Next{Check: c.ID, Minutes: c.Minutes, Apart: []string{}}
		for _, y := range c.Yields {
			e.tryFinding(w, x, e.finding[y.Finding], &n)
		}
		if grid(n.Gain) > 0 {
			out = append(out, n)
		}
	}
	slices.SortStableFunc(out, func(a, b Next) int { return falling(a.rate(), b.rate()) })
	return out
}

// rate is the worth per minute; no check takes less than half a minute.
func (n Next) rate() float64 { return n.Gain / max(n.Minutes, 0.5) }

// open reports whether a check is still to be done and can speak to the diagnosis.
func (e *Engine) open(c *checks.Check, seen []*piece) bool {
	if c.Retired || c.Kind == checks.Note || c.Kind == checks.Photo {
		return false
	}
	return !slices.ContainsFunc(c.Yields, func(y checks.Yield) bool { return pieceOf(seen, e.finding[y.Finding]) != nil })
}

// tryFinding raises n to what finding f is worth: of several signs, or several findings of one check, the best counts.
func (e *Engine) tryFinding(w *scratch, x *chance, f int, n *Next) {
	share := 1.0
	for _, g := range e.groups {
		if slices.Contains(g, f) && slices.ContainsFunc(w.counted, func(p *piece) bool { return slices.Contains(g, p.finding) }) {
			share = e.b.Settings.GroupShare
		}
	}
	for s, v := range e.model[w.season][f].vars {
		if v == nil {
			continue
		}
		idle := func(state int) bool {
			if e.b.Findings[f].Multi {
				return e.ignored(f, func(shown int) bool { return state == signYes && shown == s }, w.seen)
			}
			return e.ignored(f, func(shown int) bool { return shown == state }, w.seen)
		}
		if gain := e.gain(w, x, v, share, idle); grid(gain) > grid(n.Gain) {
			n.Gain = gain
			n.Apart = e.apart(w, x.shift)
		}
	}
}

// gain is the expected drop in the entropy of what to do, in bits, when v is seen; x.shift gets the expected change of
// each cause's likelihood. A finding that says again what is known counts by its share, as it would when seen. An outcome
// that would not count in this context changes nothing.
func (e *Engine) gain(w *scratch, x *chance, v *variable, share float64, idle func(state int) bool) float64 {
	clear(x.shift)
	now := entropy(x.now, 1)
	var gain float64
	for st := range v.states {
		if idle(st) {
			continue
		}
		seen, mass := e.outcome(w, x, v.row(st), share)
		if seen <= 0 || mass <= 0 {
			continue
		}
		gain += seen * (now - entropy(x.plans, mass))
		for c, m := range x.causes {
			x.shift[c] += seen * math.Abs(m/mass-w.like[c])
		}
	}
	return max(gain, 0)
}

// outcome weighs one state: its chance, and the mass of sets, plans and causes under it.
func (e *Engine) outcome(w *scratch, x *chance, row []float64, share float64) (seen, mass float64) {
	clear(x.causes)
	clear(x.plans)
	for _, i := range x.sets {
		p := w.post[i] * row[i]
		seen += p
		if share != 1 {
			p = w.post[i] * math.Pow(row[i], share)
		}
		mass += p
		for _, c := range e.sets.of(int(i)) {
			x.causes[c] += p
		}
		e.addPlans(int(i), p, x.plans)
	}
	return seen, mass
}

// addPlans adds p to every plan that set i calls for, once each.
func (e *Engine) addPlans(i int, p float64, plans []float64) {
	members := e.sets.of(i)
	for k, c := range members {
		again := false
		for _, d := range members[:k] {
			again = again || e.plans[d] == e.plans[c]
		}
		if !again {
			plans[e.plans[c]] += p
		}
	}
}

// entropy sums the doubt about each plan, in bits.
func entropy(plans []float64, mass float64) float64 {
	var h float64
	for _, p := range plans {
		h += bits(p / mass)
	}
	return h
}

// apart names the causes, at most three, whose likelihood the check would change most, the likeliest first.
func (e *Engine) apart(w *scratch, shift []float64) []string {
	order := make([]int, 0, len(shift))
	for c := range shift {
		if grid(shift[c]) >= grid(0.01) {
			order = append(order, c)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return falling(shift[a], shift[b]) })
	order = order[:min(len(order), 3)]
	slices.SortStableFunc(order, func(a, b int) int { return falling(w.like[a], w.like[b]) })
	out := make([]string, len(order))
	for i, c := range order {
		out[i] = e.b.Causes[c].ID
	}
	return out
}
