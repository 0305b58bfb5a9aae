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
	out := e.plain(w)
	e.candidates(w)
	for i, p := range w.counted {
		e.leaveOut(w, i)
		for c := range out {
			e.blame(&out[c], p, c, w.season, logOdds(w.like[c])-logOdds(w.without[c]))
		}
	}
	e.carry(w, out)
	for c := range out {
		sortWeights(out[c].For)
		sortWeights(out[c].Against)
	}
	return out
}

// trifling is negligible for what a person is only told in words: all that is left out is far below a thousandth.
const trifling = -16

// slip is trifling as a share: what is left out only adds, so that all sets together come to at least 1.
const slip = 1e-7

// leaveOut writes each cause's likelihood without piece i to w.without.
func (e *Engine) leaveOut(w *scratch, i int) {
	e.undo(w, i, w.left)
	e.withoutIt(w, []int{i})
}

// carry sets what the next visit may start from: the likelihoods without the site's facts.
func (e *Engine) carry(w *scratch, out []Likelihood) {
	for k := range w.may {
		w.left[k] = 1
	}
	var site []int
	for i, p := range w.counted {
		if e.b.Findings[p.finding].Kind != siteKind {
			continue
		}
		site = append(site, i)
		e.undo(w, i, w.undone)
		for k := range w.may {
			w.left[k] *= w.undone[k]
		}
	}
	e.withoutIt(w, site)
	for c := range out {
		out[c].Carried = w.without[c]
	}
}

// undo writes, by candidate, the factor that takes piece i out of a posterior. Of a state that is certain it is kept: most
// answers ask for the same ones again.
func (e *Engine) undo(w *scratch, i int, to []float64) {
	p, f, share := w.counted[i], w.factors[i], w.weights[i]
	if len(p.parts) == 1 && p.parts[0].state >= 0 {
		row := e.model[w.season][p.finding].vars[p.parts[0].at].undoRow(p.parts[0].state, share)
		for k, s := range w.may {
			to[k] = row[s]
		}
		return
	}
	if share == 1 && p.parts[0].state < 0 {
		measured := w.measured[i]
		for k, s := range w.may {
			to[k] = 1 / measured[s]
		}
		return
	}
	for k, s := range w.may {
		to[k] = math.Exp(-share * f[s])
	}
}

// candidates lists the sets that may matter when a finding is left out, or the site's facts together. Leaving out only adds to
// a logarithm, so a set that stays trifling against the likeliest with the most that it can gain stays so against any.
func (e *Engine) candidates(w *scratch) {
	clear(w.left)
	gains := w.left // by set, so far
	for i, p := range w.counted {
		f, share := w.factors[i], w.weights[i]
		if e.b.Findings[p.finding].Kind == siteKind {
			continue
		}
		for s, l := range f {
			gains[s] = max(gains[s], -share*l)
		}
	}
	for i, p := range w.counted {
		if e.b.Findings[p.finding].Kind == siteKind {
			f, share := w.factors[i], w.weights[i]
			for s, l := range f {
				gains[s] -= share * l
			}
		}
	}
	w.may = w.may[:0]
	least := highest(w.log) + trifling
	for s, l := range w.log {
		if l+gains[s] >= least {
			w.may = append(w.may, int32(s))
		}
	}
}

// withoutIt turns the posterior of the candidates, with w.left taken out of it, into likelihoods, in w.without. Where the
// posterior is nothing, because of a piece that is left out, it is computed anew from what remains.
func (e *Engine) withoutIt(w *scratch, pieces []int) {
	out, start, members := w.without, e.sets.start, e.sets.members
	clear(out)
	var sum float64
	for k, s := range w.may {
		p := w.post[s] * w.left[k]
		if w.post[s] == 0 {
			l := w.log[s] - w.top
			for _, i := range pieces {
				l -= w.weights[i] * w.factors[i][s]
			}
			p = math.Exp(l) / w.total
		}
		if p < slip {
			continue
		}
		sum += p
		for m := start[s]; m < start[s+1]; m++ {
			out[members[m]] += p
		}
	}
	for c := range out {
		out[c] = min(out[c]/sum, 1)
	}
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
