package diagnose

import (
	"math/rand/v2"
	"slices"
)

// Drawn is what Draw made up: which causes are active, in catalogue order.
type Drawn struct {
	Season string
	Active []int // rising
}

// Draw makes up which causes are active in a case before anything is looked at, from the rates of its context and by the
// drives, without a limit on their number. What was observed in c counts only where rates depend on it.
func (e *Engine) Draw(c Case, r *rand.Rand) (Drawn, error) {
	s, seen, err := e.before(&c)
	if err != nil {
		return Drawn{}, err
	}
	rates := e.rates(&c, e.b.Seasons[s], seen)
	d := Drawn{Season: e.b.Seasons[s]}
	for _, at := range e.downward() {
		inactive := 1 - rates[at]
		for _, parent := range d.Active {
			inactive *= e.spared[s][parent][at]
		}
		if r.Float64() >= inactive {
			d.Active = append(d.Active, at)
		}
	}
	slices.Sort(d.Active)
	return d, nil
}

// before reads what a case says apart from its findings.
func (e *Engine) before(c *Case) (season int, seen []*piece, err error) {
	if season, err = e.season(c); err != nil {
		return 0, nil, err
	}
	seen, err = e.read(c)
	return season, seen, err
}

// downward lists the causes so that each stands after all that drive it.
func (e *Engine) downward() []int {
	order := make([]int, 0, len(e.b.Causes))
	placed := make([]bool, len(e.b.Causes))
	var place func(c int)
	place = func(c int) {
		if placed[c] {
			return
		}
		placed[c] = true
		for _, l := range e.links {
			if l.child == c {
				place(l.parent)
			}
		}
		order = append(order, c)
	}
	for c := range e.b.Causes {
		place(c)
	}
	return order
}

// Chances returns P(state | exactly these causes are active) in a season for one finding, in the order of its states. Of a finding
// with several signs it is the chance of each sign by itself, and 0 for the sign that means none of them. ok is false when
// the finding or the season is unknown.
func (e *Engine) Chances(finding, season string, active []int) (p []float64, ok bool) {
	f, known := e.finding[finding]
	s := slices.Index(e.b.Seasons, season)
	if !known || s < 0 {
		return nil, false
	}
	site := e.b.Findings[f].Kind == siteKind
	m := e.model[s][f]
	if !m.signs {
		return m.vars[0].chances(active, site), true
	}
	p = make([]float64, len(m.vars))
	for i, v := range m.vars {
		if v != nil {
			p[i] = v.chances(active, site)[signYes]
		}
	}
	return p, true
}

// chances is what fill computes, for one set of any size.
func (v *variable) chances(active []int, site bool) []float64 {
	out := make([]float64, v.states)
	var sum float64
	for st, b := range v.base {
		leak, missing := max(b, floorOf(site)), 1.0
		for _, c := range active {
			hide, miss := v.effect(c, st, site)
			leak *= hide
			missing *= miss
		}
		out[st] = leak*missing + (1 - missing)
		sum += out[st]
	}
	if sum > 0 {
		for st := range out {
			out[st] /= sum
		}
	}
	return out
}

// Sets weighs one case and gives visit every set of causes with its posterior, from the empty one on; what is visited belongs to
// the engine and lasts until visit returns. Sets of posterior 0 are left out.
func (e *Engine) Sets(c Case, visit func(active []int32, p float64)) error {
	w := e.pool.Get().(*scratch)
	defer e.pool.Put(w)
	if _, err := e.weigh(&c, w); err != nil {
		return err
	}
	for i, p := range w.post {
		if p > 0 {
			visit(e.sets.of(i), p)
		}
	}
	return nil
}

// Firing is how causes come about in one case before anything is looked at, in catalogue order.
type Firing struct {
	Rate  []float64   // chance to be active by itself in this context
	Times []float64   // by how much the context multiplies the base rate of the season; 0 where it puts another in its place
	Spare [][]float64 // by parent and child: chance that an active parent does not bring the child about
}

// Firing returns the chances by which causes come about in c.
func (e *Engine) Firing(c Case) (Firing, error) {
	s, seen, err := e.before(&c)
	if err != nil {
		return Firing{}, err
	}
	season := e.b.Seasons[s]
	f := Firing{Rate: e.rates(&c, season, seen), Spare: e.spared[s], Times: make([]float64, len(e.b.Causes))}
	for i := range f.Times {
		f.Times[i] = e.times(&c, season, seen, i)
	}
	return f, nil
}

// times is by how much the context multiplies the base rate of a cause, 0 where it puts another rate in its place.
func (e *Engine) times(c *Case, season string, seen []*piece, cause int) float64 {
	know := &e.b.Causes[cause]
	rate, times := rateOf(know, season), 1.0
	for i := range e.b.Adjust {
		a := &e.b.Adjust[i]
		if a.Cause != "*" && a.Cause != know.ID || slices.Contains(a.Except, know.ID) || !e.applies(a, c, season, seen) {
			continue
		}
		if a.Set > 0 || a.AtMost > 0 && rate > a.AtMost {
			return 0
		}
		if a.Factor > 0 {
			rate, times = rate*a.Factor, times*a.Factor
		}
	}
	if rate > topRate {
		return 0
	}
	return times
}
