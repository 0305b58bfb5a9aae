package diagnose

import "slices"

// Firing is how causes come about in one case before anything is looked at, in catalogue order.
type Firing struct {
	Season int         // place in the bundle's seasons
	Rate   []float64   // chance to be active by itself in this context
	Times  []float64   // by how much the context multiplies the base rate of the season; 0 where it puts another in its place
	Spare  [][]float64 // by parent and child: chance that an active parent does not bring the child about
}

// Firing returns the chances by which causes come about in c.
func (e *Engine) Firing(c Case) (Firing, error) {
	s, seen, err := e.before(&c)
	if err != nil {
		return Firing{}, err
	}
	season := e.b.Seasons[s]
	f := Firing{Season: s, Rate: e.rates(&c, season, seen), Spare: e.spared[s], Times: make([]float64, len(e.b.Causes))}
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
