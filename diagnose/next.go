package diagnose

import (
	"math"
	"slices"

	"swardbook/diagnose/checks"
)

// faint is the posterior below which a set is left out when checks are weighed. What remains is scaled to add up to 1: it
// is nearly all of the posterior, and a tenth of the work.
const faint = 1e-5

// worth is the working memory for the worth of checks. Everything by set is by the sets that matter, scratch.near.
type worth struct {
	post   []float64 // their posterior, adding up to 1
	first  []int32   // what would be done first if the set were the truth: a plan, or Engine.nplans for nothing
	plans  []float64 // by plan: mass under the outcome at hand
	causes []float64 // by cause: the same
	like   []float64 // by cause: likelihood as things stand
	shift  []float64 // by cause: expected change of its likelihood
	doubt  float64   // entropy as things stand
	arrays [][]float64
	taken  int // of arrays
}

// outcome is one thing that a check may show: its chance under each set, and what it then does to the posterior. They
// differ where a finding counts by a share only; nil says that nothing happens.
type outcome struct{ chance, effect []float64 }

type outcomes []outcome

// ready fills x for the posterior of w.
func (e *Engine) ready(w *scratch) *worth {
	if w.worth == nil {
		causes := func() []float64 { return make([]float64, len(e.b.Causes)) }
		w.worth = &worth{plans: make([]float64, e.nplans+1), causes: causes(), like: causes(), shift: causes()}
	}
	x := w.worth
	x.post, x.first = x.post[:0], x.first[:0]
	var sum float64
	for _, i := range w.near {
		x.post = append(x.post, w.post[i])
		x.first = append(x.first, e.sets.first[i])
		sum += w.post[i]
	}
	for k := range x.post {
		x.post[k] /= sum
	}
	x.weigh(e, w, nil)
	copy(x.like, x.causes)
	x.doubt = entropy(x.plans, 1)
	return x
}

// next lists the undone checks by what they are worth per minute.
func (e *Engine) next(w *scratch) []Next {
	x := e.ready(w)
	out := []Next{}
	for i := range e.b.Checks {
		c := &e.b.Checks[i]
		if !e.open(c, w.seen) {
			continue
		}
		n := Next{Check: c.ID, Minutes: c.Minutes, Apart: []string{}}
		if n.Gain = x.gain(e, w, x.ofCheck(e, w, c)); grid(n.Gain) > 0 {
			n.Apart = e.apart(x)
			out = append(out, n)
		}
	}
	slices.SortStableFunc(out, func(a, b Next) int { return falling(a.rate(), b.rate()) })
	return out
}

// Handling is what every check costs besides its own minutes: reading how it is done, getting there, writing it down. It is
// common practice, no source, and keeps a glance that tells little from always coming first.
const Handling = 2.0

// rate is the worth per minute of work.
func (n Next) rate() float64 { return n.Gain / (n.Minutes + Handling) }

// open reports whether a check is still to be done and can speak to the diagnosis. What is known without going to look is
// not proposed.
func (e *Engine) open(c *checks.Check, seen []*piece) bool {
	if c.Retired || c.Standing || len(c.Yields) == 0 {
		return false
	}
	return !slices.ContainsFunc(c.Yields, func(y checks.Yield) bool { return pieceOf(seen, e.finding[y.Finding]) != nil })
}

// ofCheck lists what check c may show. A check that yields two findings shows both at once.
func (x *worth) ofCheck(e *Engine, w *scratch, c *checks.Check) outcomes {
	x.taken = 0
	may := x.ofFinding(e, w, e.finding[c.Yields[0].Finding])
	for _, y := range c.Yields[1:] {
		may = x.both(may, x.ofFinding(e, w, e.finding[y.Finding]))
	}
	return may
}

// both lists what two findings may show together.
func (x *worth) both(a, b outcomes) outcomes {
	out := make(outcomes, 0, len(a)*len(b))
	for _, p := range a {
		for _, q := range b {
			out = append(out, outcome{x.times(p.chance, q.chance), x.times(p.effect, q.effect)})
		}
	}
	return out
}

func (x *worth) times(a, b []float64) []float64 {
	switch {
	case a == nil:
		return b
	case b == nil:
		return a
	}
	out := x.take()
	for k := range out {
		out[k] = a[k] * b[k]
	}
	return out
}

// take returns an array for the check at hand, made once and used again.
func (x *worth) take() []float64 {
	if x.taken == len(x.arrays) {
		x.arrays = append(x.arrays, nil)
	}
	a := slices.Grow(x.arrays[x.taken][:0], len(x.post))[:len(x.post)]
	x.arrays[x.taken] = a
	x.taken++
	return a
}

// ofFinding lists what finding f may show.
func (x *worth) ofFinding(e *Engine, w *scratch, f int) outcomes {
	share, m := e.shareOf(f, w), e.model[w.season][f]
	if m.signs {
		return x.ofSigns(e, w, f, share)
	}
	v := m.vars[0]
	to := make(outcomes, 0, v.states)
	for st := range v.states {
		idle := e.ignored(f, func(shown int) bool { return shown == st }, w.seen)
		to = append(to, x.outcome(x.chance(w, v.row(st)), share, idle))
	}
	return to
}

// mostSigns is how many signs of one finding are weighed together.
const mostSigns = 3

// ofSigns weighs each sign by itself, and lists what those that tell most may show together: given a set of causes signs come
// independently of each other. All signs together can only tell more.
func (x *worth) ofSigns(e *Engine, w *scratch, f int, share float64) outcomes {
	var each []outcomes
	var gains []float64
	for s, v := range e.model[w.season][f].vars {
		if v == nil {
			continue
		}
		idle := e.ignored(f, func(shown int) bool { return shown == s }, w.seen)
		may := outcomes{x.outcome(x.chance(w, v.row(signYes)), share, idle), x.outcome(x.chance(w, v.row(signNo)), share, false)}
		each, gains = append(each, may), append(gains, x.gain(e, w, may))
	}
	order := make([]int, len(each))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return falling(gains[a], gains[b]) })
	to := each[order[0]]
	for _, s := range order[1:min(len(order), mostSigns)] {
		to = x.both(to, each[s])
	}
	return to
}

// chance gathers a row for the sets that matter.
func (x *worth) chance(w *scratch, row []float64) []float64 {
	out := x.take()
	for k, i := range w.near {
		out[k] = row[i]
	}
	return out
}

// outcome makes one; an idle one would not count in this context and changes nothing.
func (x *worth) outcome(chance []float64, share float64, idle bool) outcome {
	switch {
	case idle:
		return outcome{chance: chance}
	case share == 1:
		return outcome{chance, chance}
	}
	effect := x.take()
	for k, p := range chance {
		effect[k] = math.Exp(share * safeLog(p))
	}
	return outcome{chance, effect}
}

// shareOf is how much finding f would count when seen: by a share where it says again what is known.
func (e *Engine) shareOf(f int, w *scratch) float64 {
	for _, g := range e.groups {
		if slices.Contains(g, f) && slices.ContainsFunc(w.counted, func(p *piece) bool { return slices.Contains(g, p.finding) }) {
			return e.b.Settings.GroupShare
		}
	}
	return 1
}

// gain is the expected drop in the entropy of what to do, in bits, when the check is done; x.shift gets the expected change
// of each cause's likelihood.
func (x *worth) gain(e *Engine, w *scratch, may outcomes) float64 {
	clear(x.shift)
	var gain float64
	for _, o := range may {
		if o.effect == nil {
			continue
		}
		var seen float64
		for k, p := range x.post {
			seen += p * o.chance[k]
		}
		mass := x.weigh(e, w, o.effect)
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

// weigh sums the mass of plans and causes under one outcome; nil is none.
func (x *worth) weigh(e *Engine, w *scratch, effect []float64) (mass float64) {
	clear(x.causes)
	clear(x.plans)
	start, members := e.sets.start, e.sets.members
	for k, i := range w.near {
		p := x.post[k]
		if effect != nil {
			p *= effect[k]
		}
		mass += p
		x.plans[x.first[k]] += p
		for m := start[i]; m < start[i+1]; m++ {
			x.causes[members[m]] += p
		}
	}
	return mass
}

// entropy is the doubt about which plan comes first, in bits.
func entropy(plans []float64, mass float64) float64 {
	var h float64
	for _, p := range plans {
		if p > 0 {
			h -= p / mass * math.Log2(p/mass)
		}
	}
	return h
}

// apart names the causes to decide on, at most three, whose likelihood the check would change most, the likeliest first.
func (e *Engine) apart(x *worth) []string {
	order := make([]int, 0, len(x.shift))
	for c := range x.shift {
		if e.plans[c] >= 0 && grid(x.shift[c]) >= grid(0.01) {
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
