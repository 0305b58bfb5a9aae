package diagnose

import "slices"

// Path is how the likelihood of one cause came about: from its rate in the season to the answer, finding by finding.
type Path struct {
	ID     string
	Season float64   // chance in this season, by the knowledge alone
	Known  float64   // chance after what is known beforehand of visit and place
	Rate   float64   // chance after what went before in the zone
	Before float64   // chance before anything is found: by itself, or brought about by another cause
	After  []float64 // chance after the first finding, after the first two …; the last is the answer's likelihood
}

// Taken is a finding as it was taken into account.
type Taken struct {
	Finding string
	States  []string // the state it shows, of a number the likeliest; of signs all that were seen, or the one that means none
	Share   float64  // 1; less where another finding says the same
}

// Paths is how all likelihoods of one answer came about. Findings come in catalogue order; in another order each would
// multiply by another number, and the product would be the same.
type Paths struct {
	Season  string
	Taken   []Taken
	Causes  []Path // in catalogue order
	Nothing Path   // that nothing is wrong; it has no rate of its own
}

// Of is the path of a cause; false for one that the knowledge lacks.
func (p *Paths) Of(cause string) (Path, bool) {
	at := slices.IndexFunc(p.Causes, func(x Path) bool { return x.ID == cause })
	if at < 0 {
		return Path{}, false
	}
	return p.Causes[at], true
}

// Times is by how much the i-th finding multiplied the odds of the cause. NaN where either chance is 0 or 1.
func (p Path) Times(i int) float64 {
	before := p.Before
	if i > 0 {
		before = p.After[i-1]
	}
	return Odds(p.After[i]) / Odds(before)
}

// Likelihood is where the path ends.
func (p Path) Likelihood() float64 {
	if len(p.After) == 0 {
		return p.Before
	}
	return p.After[len(p.After)-1]
}

// Odds are a chance as one number to 1.
func Odds(p float64) float64 { return p / (1 - p) }

// Paths weighs one case as Diagnose does and tells how each likelihood came about. Errors are those of Diagnose.
func (e *Engine) Paths(c Case) (Paths, error) {
	w := e.pool.Get().(*scratch)
	defer e.pool.Put(w)
	if _, err := e.weigh(&c, w); err != nil {
		return Paths{}, err
	}
	season := e.b.Seasons[w.season]
	out := Paths{Season: season, Causes: make([]Path, len(e.b.Causes))}
	without := c
	without.Before, without.Done = nil, nil
	known := e.rates(&without, season, w.seen)
	logs, post := make([]float64, len(w.log)), make([]float64, len(w.log))
	e.prior(w.rates, w.season, logs)
	softmax(logs, highest(logs), post)
	like := e.likelihoods(post, nil)
	for i := range out.Causes {
		id := &e.b.Causes[i]
		out.Causes[i] = Path{ID: id.ID, Season: rateOf(id, season), Known: known[i], Rate: w.rates[i], Before: like[i], After: make([]float64, 0, len(w.counted))}
	}
	out.Nothing.Before = post[0]
	for k, p := range w.counted {
		f, share := w.factors[k], w.weights[k]
		for s := range logs {
			logs[s] += share * f[s]
		}
		softmax(logs, highest(logs), post)
		like = e.likelihoods(post, like)
		for i := range out.Causes {
			out.Causes[i].After = append(out.Causes[i].After, like[i])
		}
		out.Nothing.After = append(out.Nothing.After, post[0])
		out.Taken = append(out.Taken, Taken{Finding: e.b.Findings[p.finding].ID, States: e.shownOf(p), Share: share})
	}
	return out, nil
}

// shownOf names what a piece shows.
func (e *Engine) shownOf(p *piece) []string {
	know := &e.b.Findings[p.finding]
	switch {
	case p.shown >= 0:
		return []string{know.States[p.shown].ID}
	case len(p.present) == 0:
		return []string{e.none[know.ID]}
	}
	out := make([]string, len(p.present))
	for i, s := range p.present {
		out[i] = know.States[s].ID
	}
	return out
}
