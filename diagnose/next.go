package diagnose

import (
	"math"
	"slices"

	"swardbook/diagnose/checks"
)

// faint is the posterior below which a set is left out when checks are weighed. What remains is scaled to add up to 1: it
// is nearly all of the posterior, and a tenth of the work.
const faint = 1e-6

// chance is the working memory for the worth of checks.
type chance struct {
	sets   []int32   // the sets that matter
	post   []float64 // their posterior
	again  []again   // where two causes of a set lead to one plan
	causes []float64 // by cause: mass under the outcome at hand
	plans  []float64 // by plan: the same
	like   []float64 // by cause: likelihood as things stand
	doubt  float64   // entropy as things stand
	shift  []float64 // by cause: expected change of its likelihood
}

// again says that place k of chance.sets has one cause more that leads to plan.
type again struct{ k, plan int }

func (e *Engine) newChance(post []float64) *chance {
	causes := func() []float64 { return make([]float64, len(e.b.Causes)) }
	x := &chance{causes: causes(), like: causes(), shift: causes(), plans: make([]float64, e.nplans)}
	var sum float64
	for i, p := range post {
		if p >= faint {
			x.again = e.repeats(x.again, len(x.sets), e.sets.of(i))
			x.sets = append(x.sets, int32(i))
			x.post = append(x.post, p)
			sum += p
		}
	}
	for k := range x.post {
		x.post[k] /= sum
	}
	certain := slices.Repeat([]float64{1}, len(post))
	_, mass := x.outcome(e, certain, 1)
	copy(x.like, x.causes)
	x.doubt = entropy(x.plans, mass)
	return x
}

// repeats appends an entry for every member that leads to the same plan as an earlier one.
func (e *Engine) repeats(to []again, k int, members []int32) []again {
	for j, c := range members {
		same := func(d int32) bool { return e.plans[d] == e.plans[c] }
		if e.plans[c] >= 0 && slices.ContainsFunc(members[:j], same) {
			to = append(to, again{k, e.plans[c]})
		}
	}
	return to
}

// next lists the undone checks by what they are worth per minute.
func (e *Engine) next(w *scratch) []Next {
	x := e.newChance(w.post)
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

// handling is what every check costs besides its own minutes: reading how it is done, getting there, writing it down. It is
// common practice, no source, and keeps a glance that tells little from always coming first.
const handling = 1.0

// rate is the worth per minute of work.
func (n Next) rate() float64 { return n.Gain / (n.Minutes + handling) }

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
		if gain := x.gain(e, v, share, idle); grid(gain) > grid(n.Gain) {
			n.Gain = gain
			n.Apart = e.apart(x)
		}
	}
}

// gain is the expected drop in the entropy of what to do, in bits, when v is seen; x.shift gets the expected change of
// each cause's likelihood. A finding that says again what is known counts by its share, as it would when seen. An outcome
// that would not count in this context changes nothing.
func (x *chance) gain(e *Engine, v *variable, share float64, idle func(state int) bool) float64 {
	clear(x.shift)
	var gain float64
	for st := range v.states {
		if idle(st) {
			continue
		}
		seen, mass := x.outcome(e, v.row(st), share)
		if seen <= 0 || mass <= 0 {
			continue
		}
		gain += seen * (x.doubt - entropy(x.plans, mass))
		for c, m := range x.causes {
			x.shift[c] += seen * math.Abs(m/mass-x.like[c])
		}
	}
	return max(gain, 0)
}

// outcome weighs one state: its chance, and the mass of sets, causes and plans under it.
func (x *chance) outcome(e *Engine, row []float64, share float64) (seen, mass float64) {
	clear(x.causes)
	for k, i := range x.sets {
		seen += x.post[k] * row[i]
		p := x.mass(k, row, share)
		mass += p
		for _, c := range e.sets.of(int(i)) {
			x.causes[c] += p
		}
	}
	clear(x.plans)
	for c, plan := range e.plans {
		if plan >= 0 {
			x.plans[plan] += x.causes[c]
		}
	}
	for _, a := range x.again {
		x.plans[a.plan] -= x.mass(a.k, row, share)
	}
	return seen, mass
}

func (x *chance) mass(k int, row []float64, share float64) float64 {
	if share == 1 {
		return x.post[k] * row[x.sets[k]]
	}
	return x.post[k] * math.Pow(row[x.sets[k]], share)
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
func (e *Engine) apart(x *chance) []string {
	order := make([]int, 0, len(x.shift))
	for c := range x.shift {
		if grid(x.shift[c]) >= grid(0.01) {
			order = append(order, c)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return falling(x.shift[a], x.shift[b]) })
	order = order[:min(len(order), 3)]
	slices.SortStableFunc(order, func(a, b int) int { return falling(x.like[a], x.like[b]) })
	out := make([]string, len(order))
	for i, c := range order {
		out[i] = e.b.Causes[c].ID
	}
	return out
}
