package diagnose

import (
	"math"
	"slices"
	"sync/atomic"

	"swardbook/diagnose/knowledge"
)

// variable is one question with exclusive answers: a finding with its states, or one sign of a multi finding with the
// answers yes and no.
type variable struct {
	states int
	base   []float64   // share of each state when nothing is wrong
	given  [][]float64 // by cause: share of each state when only that cause is active; nil when it says nothing
	p      []float64   // P(state | set), state by state
	logs   []atomic.Pointer[[]float64]
	undos  [2][]atomic.Pointer[[]float64] // of pieces that count in full, and by their share
}

// undoRow is 1 over row to the power of share, made when it is first asked for; there are two shares: 1 and the groups'.
func (v *variable) undoRow(state int, share float64) []float64 {
	at := &v.undos[0][state]
	if share != 1 {
		at = &v.undos[1][state]
	}
	if r := at.Load(); r != nil {
		return *r
	}
	logs := v.logRow(state)
	r := make([]float64, len(logs))
	for i, l := range logs {
		r[i] = math.Exp(-share * l)
	}
	at.Store(&r)
	return r
}

// logRow is the logarithm of row, made when it is first asked for: most states are never seen.
func (v *variable) logRow(state int) []float64 {
	if l := v.logs[state].Load(); l != nil {
		return *l
	}
	row := v.row(state)
	l := make([]float64, len(row))
	for i, p := range row {
		l[i] = safeLog(p)
	}
	v.logs[state].Store(&l)
	return l
}

// row is P(state | set) over all sets.
func (v *variable) row(state int) []float64 {
	n := len(v.p) / v.states
	return v.p[state*n : (state+1)*n]
}

// finding is a knowledge.Finding made ready for one season.
type finding struct {
	vars  []*variable // one, or one per state for a multi finding (nil at its none state)
	signs bool
}

// sign states of a multi finding's variables.
const (
	signYes = iota
	signNo
)

// baseOf returns the base shares of f in season, and the key that they stand under.
func baseOf(f *knowledge.Finding, season string) ([]float64, string) {
	if b, ok := f.Base[season]; ok {
		return b, season
	}
	return f.Base["all"], "all"
}

// listed gathers the rows of f by cause: the stated share of each state, or -1 where no row speaks.
func (e *Engine) listed(f *knowledge.Finding) (map[int][]float64, error) {
	rows := map[int][]float64{}
	for _, r := range f.Rows {
		c, ok := e.cause[r.Cause]
		if !ok {
			return nil, bundleError("finding %s: row for unknown cause %q", f.ID, r.Cause)
		}
		s := slices.IndexFunc(f.States, func(s knowledge.State) bool { return s.ID == r.State })
		if s < 0 {
			return nil, bundleError("finding %s: row for unknown state %q", f.ID, r.State)
		}
		if !(r.P >= 0 && r.P <= 1) {
			return nil, bundleError("finding %s: state %s, cause %s: %v is no chance", f.ID, r.State, r.Cause, r.P)
		}
		if rows[c] == nil {
			rows[c] = slices.Repeat([]float64{-1}, len(f.States))
		}
		if rows[c][s] >= 0 {
			return nil, bundleError("finding %s: state %s, cause %s stands twice", f.ID, r.State, r.Cause)
		}
		rows[c][s] = r.P
	}
	return rows, nil
}

// build makes f ready for season.
func (e *Engine) build(f *knowledge.Finding, season string) (*finding, error) {
	base, _ := baseOf(f, season)
	if len(base) != len(f.States) || len(base) == 0 {
		return nil, bundleError("finding %s: %d base shares in %s for %d states", f.ID, len(base), season, len(f.States))
	}
	rows, err := e.listed(f)
	if err != nil {
		return nil, err
	}
	site := f.Kind == siteKind
	if f.Multi {
		return e.buildSigns(f, base, rows, site)
	}
	return e.buildStates(f, base, rows, site)
}

func (e *Engine) buildStates(f *knowledge.Finding, base []float64, rows map[int][]float64, site bool) (*finding, error) {
	sum := total(base)
	if math.Abs(sum-1) > 0.02 || slices.Min(base) < 0 {
		return nil, bundleError("finding %s: base shares add up to %v", f.ID, sum)
	}
	v := &variable{states: len(base), base: scaled(base, 1/sum), given: make([][]float64, len(e.b.Causes))}
	for c, listed := range rows {
		given, err := complete(v.base, listed)
		if err != nil {
			return nil, bundleError("finding %s, cause %s: %v", f.ID, e.b.Causes[c].ID, err)
		}
		v.given[c] = given
	}
	v.fill(e.sets, site)
	return &finding{vars: []*variable{v}}, nil
}

func (e *Engine) buildSigns(f *knowledge.Finding, base []float64, rows map[int][]float64, site bool) (*finding, error) {
	out := &finding{signs: true, vars: make([]*variable, len(f.States))}
	for s := range f.States {
		if f.States[s].ID == e.none[f.ID] {
			continue
		}
		b := base[s]
		if !(b >= 0 && b < 1) {
			return nil, bundleError("finding %s: sign %s has base chance %v", f.ID, f.States[s].ID, b)
		}
		v := &variable{states: 2, base: []float64{b, 1 - b}, given: make([][]float64, len(e.b.Causes))}
		for c, listed := range rows {
			if p := listed[s]; p >= 0 {
				v.given[c] = []float64{p, 1 - p}
			}
		}
		v.fill(e.sets, site)
		out.vars[s] = v
	}
	return out, nil
}

// complete turns the listed shares of one cause (-1: not listed) into a distribution. What is left of 1 is spread over
// the states that are not listed in proportion to base.
func complete(base, listed []float64) ([]float64, error) {
	var stated, rest float64
	open := 0
	for s, p := range listed {
		if p >= 0 {
			stated += p
			continue
		}
		rest += base[s]
		open++
	}
	if stated > 1.15 || open == 0 && stated < 0.8 {
		return nil, bundleError("the states add up to %v", stated)
	}
	scale := 1.0
	switch {
	case open == 0:
		scale = 1 / stated
	case stated > 0.99:
		scale = 0.99 / stated
	}
	left := 1 - stated*scale
	out := make([]float64, len(base))
	for s, p := range listed {
		switch {
		case p >= 0:
			out[s] = p * scale
		case open == 0: // nothing left to spread
		case rest > 0:
			out[s] = left * base[s] / rest
		default:
			out[s] = left / float64(open)
		}
	}
	return out, nil
}

// tiny stands in for a base share of zero where a site finding has to divide by it.
const tiny = 1e-9

// fill computes P(state | set) for every set, each from the set it grows from.
//
// A cause that makes a state rarer than usual suppresses only the background; one that makes it commoner produces it by
// itself, whatever the others do. A site finding is older than its cause and is not produced: there the ratios multiply.
// Either way the states of one set are scaled to add up to 1, and a single cause gives its own table exactly.
func (v *variable) fill(s *sets, site bool) {
	v.p = make([]float64, v.states*s.count)
	v.logs = make([]atomic.Pointer[[]float64], v.states)
	for i := range v.undos {
		v.undos[i] = make([]atomic.Pointer[[]float64], v.states)
	}
	missing := make([]float64, s.count) // chance that no cause of the set produces the state
	for st := range v.states {
		row, b := v.row(st), v.base[st]
		row[0], missing[0] = 1, 1
		for i := 1; i < s.count; i++ {
			hide, miss := v.effect(int(s.last[i]), st, site)
			row[i] = row[s.parent[i]] * hide
			missing[i] = missing[s.parent[i]] * miss
		}
		for i := range row {
			row[i] = max(b, floorOf(site))*row[i]*missing[i] + (1 - missing[i])
		}
	}
	v.normalise(s.count)
}

func floorOf(site bool) float64 {
	if site {
		return tiny
	}
	return 0
}

// effect is what cause does to the background of state (a factor) and the chance that it fails to produce the state.
func (v *variable) effect(cause, state int, site bool) (hide, miss float64) {
	given := v.given[cause]
	if given == nil {
		return 1, 1
	}
	p, b := given[state], v.base[state]
	switch {
	case site:
		return p / max(b, tiny), 1
	case p < b:
		return p / b, 1
	case p > b:
		return 1, (1 - p) / (1 - b)
	}
	return 1, 1
}

func (v *variable) normalise(count int) {
	for i := range count {
		var sum float64
		for st := range v.states {
			sum += v.p[st*count+i]
		}
		if sum == 0 {
			continue // every state excluded: such a set explains nothing
		}
		for st := range v.states {
			v.p[st*count+i] /= sum
		}
	}
}

func total(xs []float64) float64 {
	var sum float64
	for _, x := range xs {
		sum += x
	}
	return sum
}

func scaled(xs []float64, by float64) []float64 {
	out := make([]float64, len(xs))
	for i, x := range xs {
		out[i] = x * by
	}
	return out
}
