package learn

import (
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// counts is what one case adds.
type counts struct {
	season int
	rates  []tally           // by cause; nil when the case does not count for rates
	drives []tally           // by drive
	links  map[place]*states // where something was found
}

// tally is one chance's case: Hits of Of, each in part.
type tally struct {
	hits, of float64
	labels   int
}

// place is where a link stands: a finding, the sign (0 for findings with states), a cause.
type place struct{ finding, sign, cause int }

// states are the cases of one link, by state; of a sign yes and no.
type states struct {
	n      []float64
	labels int
}

// sums are counts over all cases, the rates by season.
type sums struct {
	rates  [][]tally // by season and cause
	drives []tally
	links  map[place]*states
}

func newSums(k *knowledge.Loaded) *sums {
	s := &sums{drives: make([]tally, len(k.Bundle.Drives)), links: map[place]*states{}}
	for range k.Bundle.Seasons {
		s.rates = append(s.rates, make([]tally, len(k.Bundle.Causes)))
	}
	return s
}

func (s *sums) add(c *counts) {
	for i, t := range c.rates {
		s.rates[c.season][i].add(t)
	}
	for i, t := range c.drives {
		s.drives[i].add(t)
	}
	for at, x := range c.links {
		to := s.links[at]
		if to == nil {
			to = &states{n: make([]float64, len(x.n))}
			s.links[at] = to
		}
		for i, n := range x.n {
			to.n[i] += n
		}
		to.labels += x.labels
	}
}

func (t *tally) add(x tally) {
	t.hits += x.hits
	t.of += x.of
	t.labels += x.labels
}

// weighing is one case on its way.
type weighing struct {
	*step
	confirmed, ruledOut []int
	firing              diagnose.Firing
	masses              *masses
	sets                [][]int32
	mass                []float64
}

func (s *step) weigh(c *Case) (*counts, error) {
	w := &weighing{step: s, confirmed: s.places(c.Confirmed), ruledOut: s.places(c.RuledOut), masses: newMasses(len(s.cause))}
	var err error
	if w.firing, err = s.engine.Firing(c.Case); err != nil {
		return nil, err
	}
	if err := w.gather(c.Case); err != nil {
		return nil, err
	}
	shown, err := s.engine.Shown(c.Case)
	if err != nil {
		return nil, err
	}
	out := &counts{season: w.firing.Season, links: w.links(shown)}
	if c.First && c.Case.Context["visit"] != "routine" {
		out.rates, out.drives = w.rates(), w.drivings()
	}
	return out, nil
}

// gather sums the sets that fit the labels. Where none does, as when more causes are confirmed than the engine takes at a time, the
// confirmed ones are the set.
func (w *weighing) gather(c diagnose.Case) error {
	most := w.know.Bundle.Settings.MaxSet
	err := w.engine.Sets(c, func(set []int32, p float64) {
		if !w.fits(set) {
			return
		}
		w.masses.add(set, p, most-len(set), &w.firing)
		w.sets = append(w.sets, slices.Clone(set))
		w.mass = append(w.mass, p)
	})
	if err != nil || w.masses.all > 0 {
		return err
	}
	var set []int32
	for _, at := range w.confirmed {
		set = append(set, int32(at))
	}
	slices.Sort(set)
	w.masses.add(set, 1, 0, &w.firing)
	w.sets, w.mass = [][]int32{set}, []float64{1}
	return nil
}

func (w *weighing) fits(set []int32) bool {
	for _, at := range w.confirmed {
		if !slices.Contains(set, int32(at)) {
			return false
		}
	}
	return !slices.ContainsFunc(w.ruledOut, func(at int) bool { return slices.Contains(set, int32(at)) })
}

func (w *weighing) labelled(cause int) bool {
	return slices.Contains(w.confirmed, cause) || slices.Contains(w.ruledOut, cause)
}

// rates counts for each cause how far it came by itself.
func (w *weighing) rates() []tally {
	out := make([]tally, len(w.cause))
	for c := range out {
		all, self := w.masses.causeMass(c)
		times := w.firing.Times[c]
		switch {
		case times == 0:
			continue
		case slices.Contains(w.ruledOut, c):
			out[c] = tally{of: times}
		case all > 0:
			out[c] = tally{hits: self / all, of: times}
		}
		if w.labelled(c) {
			out[c].labels = 1
		}
	}
	return out
}

// drivings counts for each drive how far the parent is active, and how far it brought the child about.
func (w *weighing) drivings() []tally {
	out := make([]tally, len(w.drives))
	for i, d := range w.drives {
		all, active, fired := w.masses.driveMass(d)
		if all <= 0 {
			continue
		}
		season := (1 - w.firing.Spare[d.parent][d.child]) / w.know.Bundle.Drives[i].P
		out[i] = tally{hits: fired / all, of: season * active / all}
		if slices.Contains(w.confirmed, d.parent) && w.labelled(d.child) {
			out[i].labels = 1
		}
	}
	return out
}

// links counts for each finding that counts, and each cause that alone speaks of it in a set, what was found.
func (w *weighing) links(shown []diagnose.Shown) map[place]*states {
	out := map[place]*states{}
	for _, s := range shown {
		if s.State != nil {
			w.link(out, s, 0, s.State)
		}
		for _, sign := range s.Present {
			w.link(out, s, sign, []float64{1, 0})
		}
		for _, sign := range s.Absent {
			w.link(out, s, sign, []float64{0, 1})
		}
	}
	return out
}

func (w *weighing) link(out map[place]*states, s diagnose.Shown, sign int, seen []float64) {
	speaks := w.speaks[s.Finding][sign]
	mass := make([]float64, len(speaks))
	for i, set := range w.sets {
		if c := only(set, speaks); c >= 0 {
			mass[c] += w.mass[i]
		}
	}
	for c, m := range mass {
		if share := m / w.masses.all; share > faint {
			out[place{s.Finding, sign, c}] = w.found(s, sign, c, share, seen)
		}
	}
}

// faint is the part of a case below which it is not counted for a link.
const faint = 1e-4

// only is the one member of a set that speaks, -1 when none or several do.
func only(set []int32, speaks []bool) int {
	found := -1
	for _, c := range set {
		if !speaks[c] {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = int(c)
	}
	return found
}

// found shares a case among the states that what was seen may stand for.
func (w *weighing) found(s diagnose.Shown, sign, c int, share float64, seen []float64) *states {
	p := w.alone(s.Finding, w.firing.Season, c)
	if w.know.Bundle.Findings[s.Finding].Multi {
		p = []float64{p[sign], 1 - p[sign]}
	}
	x := &states{n: make([]float64, len(p))}
	var sum float64
	for i := range p {
		x.n[i] = p[i] * seen[i]
		sum += x.n[i]
	}
	for i := range x.n {
		if sum > 0 {
			x.n[i] *= share / sum
		}
	}
	if slices.Contains(w.confirmed, c) {
		x.labels = 1
	}
	return x
}
