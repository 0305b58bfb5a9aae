package diagnose

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"swardbook/diagnose/knowledge"
)

// link is a parent's hold on a child.
type link struct {
	parent, child int
	p             float64 // chance, at the height of the child's season
}

// newLinks checks the drives and returns them; a circle is refused, because then no product of chances is a distribution.
func (e *Engine) newLinks() ([]link, error) {
	var links []link
	for _, d := range e.b.Drives {
		p, ok := e.cause[d.Parent]
		c, ok2 := e.cause[d.Child]
		if !ok || !ok2 || p == c {
			return nil, bundleError("drive %s -> %s does not join two causes", d.Parent, d.Child)
		}
		if !(d.P >= 0 && d.P < 1) {
			return nil, bundleError("drive %s -> %s: %v is no chance below 1", d.Parent, d.Child, d.P)
		}
		links = append(links, link{p, c, d.P})
	}
	if at := circle(len(e.b.Causes), links); at >= 0 {
		return nil, bundleError("the drives run in a circle through %s", e.b.Causes[at].ID)
	}
	return links, nil
}

// circle returns a cause that drives itself in the end, or -1.
func circle(n int, links []link) int {
	waiting := make([]int, n) // parents not yet placed
	for _, l := range links {
		waiting[l.child]++
	}
	placed := make([]bool, n)
	for {
		at := -1
		for c := range n {
			if !placed[c] && waiting[c] == 0 {
				at = c
				break
			}
		}
		if at < 0 {
			return slices.Index(placed, false)
		}
		placed[at] = true
		for _, l := range links {
			if l.parent == at {
				waiting[l.child]--
			}
		}
	}
}

// rateOf is the base rate of c in season.
func rateOf(c *knowledge.Cause, season string) float64 {
	if r, ok := c.Rates[season]; ok {
		return r
	}
	return c.Rates["all"]
}

// inSeason is how much of a cause's season it is: its rate over its highest rate. A link says how often the parent brings
// the child about in the child's season; out of it the chance falls as the child's own rate does.
func (e *Engine) inSeason(c *knowledge.Cause, season string) float64 {
	var top float64
	for _, s := range e.b.Seasons {
		top = max(top, rateOf(c, s))
	}
	if top == 0 {
		return 1
	}
	return rateOf(c, season) / top
}

// holds are the links of one season: spared[parent][child] = chance that the parent does not bring the child about.
func (e *Engine) holds(season string) [][]float64 {
	out := make([][]float64, len(e.b.Causes))
	for i := range out {
		out[i] = slices.Repeat([]float64{1}, len(out))
	}
	for _, l := range e.links {
		out[l.parent][l.child] *= 1 - l.p*e.inSeason(&e.b.Causes[l.child], season)
	}
	return out
}

// topRate keeps an adjusted rate a chance that evidence can still speak against.
const topRate = 0.95

// rates are the base rates of a case: those of the season, adjusted by its context and by what went before.
func (e *Engine) rates(c *Case, season string, seen []*piece) []float64 {
	out := make([]float64, len(e.b.Causes))
	for i := range out {
		out[i] = rateOf(&e.b.Causes[i], season)
	}
	for i := range e.b.Adjust {
		a := &e.b.Adjust[i]
		if !e.applies(a, c, season, seen) {
			continue
		}
		for j := range out {
			id := e.b.Causes[j].ID
			if (a.Cause == "*" || a.Cause == id) && !slices.Contains(a.Except, id) {
				out[j] = adjusted(out[j], a)
			}
		}
	}
	e.course(c, out)
	for i := range out {
		out[i] = min(out[i], topRate)
	}
	return out
}

func adjusted(rate float64, a *knowledge.Adjust) float64 {
	if a.Set > 0 {
		rate = a.Set
	}
	if a.Factor > 0 {
		rate *= a.Factor
	}
	if a.AtMost > 0 {
		rate = min(rate, a.AtMost)
	}
	return rate
}

const findingKey = "finding:"

// applies reports whether all conditions of a hold. A condition on something unknown does not hold.
func (e *Engine) applies(a *knowledge.Adjust, c *Case, season string, seen []*piece) bool {
	for key, want := range a.When {
		ok := false
		switch id, isFinding := strings.CutPrefix(key, findingKey); {
		case isFinding:
			p := pieceOf(seen, e.finding[id])
			ok = p != nil && slices.ContainsFunc(list(want), func(s string) bool { return p.surely(e.state(p.finding, s)) })
		case key == "month":
			ok = c.Month > 0 && slices.Contains(list(want), strconv.Itoa(c.Month))
		case key == "season":
			ok = slices.Contains(list(want), season)
		default:
			got, known := c.Context[key]
			ok = known && slices.Contains(list(want), got)
		}
		if !ok {
			return false
		}
	}
	return true
}

func list(s string) []string {
	parts := strings.Split(s, ",")
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	return parts
}

// impossible is the logarithm that stands for "can't be". It is far below any possible sum of logarithms and yet finite,
// so that leaving one finding out is a subtraction; below unthinkable a sum holds at least one.
const (
	impossible  = -1e6
	unthinkable = -1e5
)

func safeLog(p float64) float64 {
	if p <= 0 {
		return impossible
	}
	return math.Log(p)
}

// prior writes the logarithm of P(set) for every set: a cause is active by itself (its rate) or brought about by an
// active parent, and every cause outside of the set is neither. In most sets no member drives another: there it is a sum.
func (e *Engine) prior(rates []float64, season int, out []float64) {
	spared := e.spared[season]
	var quiet float64 // nothing active
	for _, r := range rates {
		quiet += math.Log1p(-r)
	}
	// alone[c]: how the logarithm changes when c becomes active and spares every other cause, its own chance aside.
	alone, joins := make([]float64, len(rates)), make([]float64, len(rates))
	for c, r := range rates {
		alone[c] = -math.Log1p(-r)
		for _, child := range e.children[c] {
			alone[c] += math.Log(spared[c][child])
		}
		joins[c] = alone[c] + safeLog(r)
	}
	out[0] = quiet
	for i := 1; i < len(out); i++ {
		if e.sets.linked[i] {
			out[i] = quiet + active(e.sets.of(i), rates, alone, spared)
			continue
		}
		out[i] = out[e.sets.parent[i]] + joins[e.sets.last[i]]
	}
}

// active is how the members of a set change the logarithm of the chance that nothing is active.
func active(members []int32, rates, alone []float64, spared [][]float64) float64 {
	sum, f := 0.0, 1.0
	for _, c := range members {
		inside := 1.0 // chance that no other member brings c about
		for _, p := range members {
			inside *= spared[p][c]
		}
		// The parents' misses on c, counted in alone, don't count: c is active.
		sum += alone[c]
		f *= (1 - (1-rates[c])*inside) / inside
	}
	return sum + safeLog(f)
}
