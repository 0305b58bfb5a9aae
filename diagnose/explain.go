package diagnose

import (
	"math"
	"slices"
)

// doubt keeps likelihoods away from 0 and 1 before they become odds: nothing seen in a lawn is surer than one in a million.
const doubt = 1e-6

// slight is the least change of log-odds that is worth telling.
const slight = 0.01

func logOdds(p float64) float64 {
	p = min(max(p, doubt), 1-doubt)
	return math.Log(p) - math.Log1p(-p)
}

// explain lists every cause in catalogue order with what speaks for and against it: the change of its log-odds when one
// finding is left out as evidence; the others keep their weights, and the rates what the context made of them.
func (e *Engine) explain(w *scratch) []Likelihood {
	out := make([]Likelihood, len(e.b.Causes))
	for c := range out {
		out[c] = Likelihood{ID: e.b.Causes[c].ID, Likelihood: w.like[c], DrivenBy: []string{}, For: []Weight{}, Against: []Weight{}}
	}
	without := make([]float64, len(out))
	for i, p := range w.counted {
		e.leaveOut(w, i)
		without = e.likelihoods(w.left, without)
		for c := range out {
			e.blame(&out[c], p, c, w.season, logOdds(w.like[c])-logOdds(without[c]))
		}
	}
	for c := range out {
		sortWeights(out[c].For)
		sortWeights(out[c].Against)
	}
	return out
}

// leaveOut writes the posterior without piece i to w.left.
func (e *Engine) leaveOut(w *scratch, i int) {
	f, share := w.factors[i], w.weights[i]
	for s := range w.left {
		w.left[s] = w.log[s] - share*f[s]
	}
	softmax(w.left, w.left)
}

func (e *Engine) blame(l *Likelihood, p *piece, cause, season int, change float64) {
	if math.Abs(change) < slight {
		return
	}
	know := &e.b.Findings[p.finding]
	weight := Weight{Finding: know.ID, State: e.shownFor(p, cause, season, change > 0), Weight: math.Abs(change)}
	if change > 0 {
		l.For = append(l.For, weight)
		return
	}
	l.Against = append(l.Against, weight)
}

// shownFor is the state to name: what the piece shows, or of several signs the one that speaks loudest in this direction.
func (e *Engine) shownFor(p *piece, cause, season int, speaksFor bool) string {
	know := &e.b.Findings[p.finding]
	if p.shown >= 0 {
		return know.States[p.shown].ID
	}
	if len(p.present) == 0 {
		return e.none[know.ID]
	}
	best, loudest := p.present[0], math.Inf(-1)
	for _, s := range p.present {
		v := e.model[season][p.finding].vars[s]
		given := v.given[cause]
		if given == nil {
			continue
		}
		loud := given[signYes] - v.base[signYes]
		if !speaksFor {
			loud = -loud
		}
		if loud > loudest {
			best, loudest = s, loud
		}
	}
	return know.States[best].ID
}

func sortWeights(ws []Weight) {
	slices.SortStableFunc(ws, func(a, b Weight) int { return falling(a.Weight, b.Weight) })
}

// falling orders larger grid values first and leaves equal ones as they stand.
func falling(a, b float64) int {
	switch x, y := grid(a), grid(b); {
	case x > y:
		return -1
	case x < y:
		return 1
	}
	return 0
}
