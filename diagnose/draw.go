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

// Shown is what counts of one finding of a case.
type Shown struct {
	Finding int       // place in the catalogue
	State   []float64 // chance of what was seen under each state: 1 at a state that was seen; nil for signs
	Present []int     // signs that are there
	Absent  []int     // signs that were looked for and are not there
}

// Shown lists the findings of a case that count, in catalogue order, without those that say nothing in this context.
func (e *Engine) Shown(c Case) ([]Shown, error) {
	seen, err := e.read(&c)
	if err != nil {
		return nil, err
	}
	kept, _ := e.counts(seen)
	out := make([]Shown, len(kept))
	for i, p := range kept {
		out[i] = e.shown(p)
	}
	return out, nil
}

func (e *Engine) shown(p *piece) Shown {
	s := Shown{Finding: p.finding}
	for _, part := range p.parts {
		switch {
		case p.shown >= 0 && part.state >= 0:
			s.State = make([]float64, len(e.b.Findings[p.finding].States))
			s.State[part.state] = 1
		case p.shown >= 0:
			s.State = part.weight
		case part.state == signYes:
			s.Present = append(s.Present, part.at)
		default:
			s.Absent = append(s.Absent, part.at)
		}
	}
	return s
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
