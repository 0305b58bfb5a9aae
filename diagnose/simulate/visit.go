package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// World makes up visits by one bundle.
type World struct {
	know   *knowledge.Bundle
	engine *diagnose.Engine
	top    map[string]float64 // by measured finding: the largest value that is drawn
}

// NewWorld makes up visits as b says the world is; e is the engine made of b.
func NewWorld(b *knowledge.Bundle, e *diagnose.Engine) *World {
	w := &World{know: b, engine: e, top: map[string]float64{}}
	for _, c := range b.Checks {
		for _, y := range c.Yields {
			if c.Usual != nil {
				w.top[y.Finding] = c.Usual.High
			}
		}
	}
	return w
}

// Visit is a zone whose truth is known, with what every check would show there.
type Visit struct {
	Case   diagnose.Case // nothing observed yet
	Active []int         // causes by place, rising
	shown  map[string]diagnose.Observed
}

// Draw makes up one visit: a month of the season (of the year when season is ""), the causes that are active there, and what is to be found.
func (w *World) Draw(season string, context map[string]string, r *rand.Rand) (Visit, error) {
	var months []int
	for i, s := range w.know.SeasonOf {
		if season == "" || s == season {
			months = append(months, i+1)
		}
	}
	if len(months) == 0 {
		return Visit{}, fmt.Errorf("there is no season %q", season)
	}
	v := Visit{Case: diagnose.Case{Month: months[r.IntN(len(months))], Context: context}, shown: map[string]diagnose.Observed{}}
	drawn, err := w.engine.Draw(v.Case, r)
	if err != nil {
		return Visit{}, err
	}
	v.Active = drawn.Active
	for i := range w.know.Findings {
		f := &w.know.Findings[i]
		p, _ := w.engine.Chances(f.ID, drawn.Season, v.Active)
		v.shown[f.ID] = observe(f, p, r)
	}
	shown := func(finding string) string { return v.shown[finding].State }
	for i := range w.know.Findings { // when all that limits depend on is drawn
		f := &w.know.Findings[i]
		if o := v.shown[f.ID]; len(f.Bands) > 0 {
			o.Number = w.measure(f, f.BandsWith(shown), o.State, r)
			v.shown[f.ID] = o
		}
	}
	return v, nil
}

// observe draws what a finding shows, given the chances of its states.
func observe(f *knowledge.Finding, p []float64, r *rand.Rand) diagnose.Observed {
	o := diagnose.Observed{Finding: f.ID}
	if f.Multi {
		for s, state := range f.States {
			switch {
			case p[s] == 0: // the sign for none of them
			case r.Float64() < p[s]:
				o.Present = append(o.Present, state.ID)
			default:
				o.Absent = append(o.Absent, state.ID)
			}
		}
		return o
	}
	o.State = f.States[pick(p, r)].ID
	return o
}

// pick draws a place by its chance.
func pick(p []float64, r *rand.Rand) int {
	x := r.Float64()
	for i, q := range p {
		if x -= q; x < 0 {
			return i
		}
	}
	return len(p) - 1
}

// measure draws a true value, anywhere in the band of a state as far as readings usually go, and a reading with the check's error.
func (w *World) measure(f *knowledge.Finding, bands []knowledge.Band, state string, r *rand.Rand) *diagnose.Number {
	at := slices.IndexFunc(bands, func(b knowledge.Band) bool { return b.State == state })
	band := bands[at]
	high := band.High
	if at == len(bands)-1 {
		if top, ok := w.top[f.ID]; ok && top > band.Low {
			high = min(high, top)
		} else {
			high = min(high, 2*band.Low)
		}
	}
	is := band.Low + (high-band.Low)*r.Float64()
	read := is + (f.ErrAbs+f.ErrRel*math.Abs(is))*r.NormFloat64()
	return &diagnose.Number{Mean: max(read, 0), N: 1}
}

// Look is what a check shows in a visit.
func (v *Visit) Look(c *checks.Check) []diagnose.Observed {
	var out []diagnose.Observed
	for _, y := range c.Yields {
		o, ok := v.shown[y.Finding]
		if !ok {
			continue
		}
		if o.Number != nil && c.Kind == checks.Choice {
			o.Number = nil // looked at, not measured
		} else if o.Number != nil {
			o.State = ""
		}
		out = append(out, o)
	}
	return out
}

// With adds what a check shows to a case. What another check said of the same finding stays.
func (v *Visit) With(c diagnose.Case, check *checks.Check) diagnose.Case {
	seen := slices.Clone(c.Observed)
	for _, o := range v.Look(check) {
		if !slices.ContainsFunc(seen, func(s diagnose.Observed) bool { return s.Finding == o.Finding }) {
			seen = append(seen, o)
		}
	}
	c.Observed = seen
	return c
}
