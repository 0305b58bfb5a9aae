package diagnose

import (
	"math"
	"slices"
)

// scratch is the working memory of one case.
type scratch struct {
	season  int
	seen    []*piece    // all that was observed
	counted []*piece    // without the ignored
	factors [][]float64 // by counted piece: log P(piece | set)
	room    [][]float64 // for those that have to be computed

	measured [][]float64 // by counted piece that is a number: P(piece | set)
	weights  []float64   // by counted piece: its share as a member of groups
	rates    []float64   // by cause: its rate before anything was found
	before   []float64   // log of the chance of every set before anything was found, made when it is asked for
	log      []float64   // log of the unnormalised posterior
	post     []float64   // posterior of every set
	near     []int32     // the sets that matter: those that are not faint
	like     []float64   // by cause
	may      []int32     // sets that may matter when something of what was found is left out
	left     []float64   // by these: the factor that takes it out
	undone   []float64   // by these: the same, of one piece
	top      float64     // of log
	total    float64     // of the posterior, in shares of the likeliest set
	without  []float64   // by cause: likelihood then
	worth    *worth      // memory for the worth of checks
}

func newScratch(sets, causes int) *scratch {
	return &scratch{
		log: make([]float64, sets), before: make([]float64, sets), post: make([]float64, sets), left: make([]float64, sets), undone: make([]float64, sets), without: make([]float64, causes),
	}
}

// roomFor makes room for the i-th factor, once.
func (w *scratch) roomFor(i int) {
	for len(w.room) <= i {
		w.room = append(w.room, make([]float64, len(w.log)))
		w.measured = append(w.measured, make([]float64, len(w.log)))
	}
}

// weigh computes the posterior of every set and the likelihood of every cause.
func (e *Engine) weigh(c *Case, w *scratch) (ignored []string, err error) {
	if w.season, err = e.season(c); err != nil {
		return nil, err
	}
	if err = e.readCourse(c); err != nil {
		return nil, err
	}
	if w.seen, err = e.read(c); err != nil {
		return nil, err
	}
	w.counted, ignored = e.counts(w.seen)
	w.factors = w.factors[:0]
	for i, p := range w.counted {
		w.roomFor(i)
		w.factors = append(w.factors, e.factor(w, i, p))
	}
	w.weights = e.share(w.counted, w.factors)
	w.rates = e.rates(c, e.b.Seasons[w.season], w.seen)
	e.prior(w.rates, w.season, w.log)
	for i := range w.counted {
		f, share := w.factors[i], w.weights[i]
		for s := range w.log {
			w.log[s] += share * f[s]
		}
	}
	if w.top = highest(w.log); w.top < unthinkable {
		return nil, &Contradiction{Case: c.ID, Findings: e.clash(w)}
	}
	w.total = softmax(w.log, w.top, w.post)
	w.like = e.likelihoods(w.post, w.like)
	w.near = w.near[:0]
	for i, p := range w.post {
		if p >= faint {
			w.near = append(w.near, int32(i))
		}
	}
	return ignored, nil
}

// negligible is how far below the likeliest set a logarithm may lie and still be worth an exponential: all that is left out
// is below a ten-thousandth of a billionth.
const negligible = -40

// softmax writes the distribution whose logarithms, up to a constant, are logs, top the highest of them. It returns the sum
// by which it was scaled.
func softmax(logs []float64, top float64, out []float64) (sum float64) {
	for i, l := range logs {
		if l -= top; l < negligible {
			out[i] = 0
			continue
		}
		out[i] = math.Exp(l)
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return sum
}

// highest is the largest of logarithms, none of which is NaN.
func highest(logs []float64) float64 {
	top := math.Inf(-1)
	for _, l := range logs {
		if l > top {
			top = l
		}
	}
	return top
}

// likelihoods sums a distribution over sets into each cause's likelihood.
func (e *Engine) likelihoods(post, out []float64) []float64 {
	if out == nil {
		out = make([]float64, len(e.b.Causes))
	}
	clear(out)
	start, members := e.sets.start, e.sets.members
	for i, p := range post {
		if p == 0 {
			continue
		}
		for m := start[i]; m < start[i+1]; m++ {
			out[members[m]] += p
		}
	}
	for c := range out {
		out[c] = min(out[c], 1)
	}
	return out
}

// share gives each piece its weight: of the members of a group that say one thing twice, the most telling counts in full
// and the others by GroupShare. How telling a piece is: the most that a single cause changes its chance.
func (e *Engine) share(pieces []*piece, factors [][]float64) []float64 {
	weights := slices.Repeat([]float64{1}, len(pieces))
	for _, group := range e.groups {
		best, most := -1, 0.0
		for i, p := range pieces {
			if !slices.Contains(group, p.finding) {
				continue
			}
			if t := e.tell(factors[i]); best < 0 || t > most+1e-12 {
				best, most = i, t
			}
		}
		for i, p := range pieces {
			if i != best && slices.Contains(group, p.finding) {
				weights[i] = min(weights[i], e.b.Settings.GroupShare)
			}
		}
	}
	return weights
}

func (e *Engine) tell(factor []float64) float64 {
	var most float64
	for c := range e.b.Causes {
		most = max(most, math.Abs(factor[c+1]-factor[0]))
	}
	return most
}

// clash names the findings that can't all be true: one that is impossible by itself, two that exclude each other, or all.
func (e *Engine) clash(w *scratch) []string {
	id := func(i int) string { return e.b.Findings[w.counted[i].finding].ID }
	for i := range w.counted {
		if e.excluded(w, i, i) {
			return []string{id(i)}
		}
	}
	for i := range w.counted {
		for j := i + 1; j < len(w.counted); j++ {
			if e.excluded(w, i, j) {
				return []string{id(i), id(j)}
			}
		}
	}
	var all []string
	for i := range w.counted {
		all = append(all, id(i))
	}
	return all
}

func (e *Engine) excluded(w *scratch, i, j int) bool {
	for s := range w.log {
		if w.factors[i][s] > unthinkable && w.factors[j][s] > unthinkable {
			return false
		}
	}
	return true
}
