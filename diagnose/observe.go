package diagnose

import (
	"math"
	"slices"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// CheckValue is the current reading of one check in one zone.
type CheckValue struct {
	Check string       `json:"check"`
	Value checks.Value `json:"value"`
}

// Observe turns the current readings of a zone into observations, in catalogue order of findings. A blank reading, a
// reading of an unknown check and a number taken too few times say nothing. Where two readings speak of one finding, the
// later one counts.
func Observe(b *knowledge.Bundle, readings []CheckValue) []Observed {
	byFinding := map[string]Observed{}
	for _, r := range readings {
		i := slices.IndexFunc(b.Checks, func(c checks.Check) bool { return c.ID == r.Check })
		if i < 0 || r.Value.Blank {
			continue
		}
		for _, y := range b.Checks[i].Yields {
			if o, ok := yielded(y, r.Value); ok {
				byFinding[y.Finding] = o
			}
		}
	}
	out := []Observed{}
	for i := range b.Findings {
		if o, ok := byFinding[b.Findings[i].ID]; ok {
			out = append(out, o)
		}
	}
	return out
}

// The ways of Yield.From.
const (
	fromState = "state"
	fromSigns = "signs"
	fromMean  = "mean"
	fromRange = "range"
	fromMax   = "max"
	fromSum   = "sum"
)

// yielded makes the observation that value yields; false when it says nothing.
func yielded(y checks.Yield, v checks.Value) (Observed, bool) {
	o := Observed{Finding: y.Finding}
	switch y.From {
	case fromState:
		o.State = v.State
		return o, v.State != ""
	case fromSigns:
		o.Present, o.Absent = v.Present, v.Absent
		return o, len(v.Present)+len(v.Absent) > 0
	}
	if len(v.Numbers) < max(y.MinN, 1) {
		return o, false
	}
	switch y.From {
	case fromMean:
		n := Average(v.Numbers)
		o.Number = &n
	case fromRange:
		o.Number = &Number{Mean: slices.Max(v.Numbers) - slices.Min(v.Numbers), N: 1}
	case fromSum:
		o.Number = &Number{Mean: sum(v.Numbers), N: 1}
	case fromMax:
		o.Number = &Number{Mean: slices.Max(v.Numbers), N: 1}
	}
	return o, o.Number != nil
}

func sum(xs []float64) float64 {
	total := 0.0
	for _, x := range xs {
		total += x
	}
	return total
}

// Average is the mean, sample standard deviation and count of xs.
func Average(xs []float64) Number {
	n := Number{N: len(xs)}
	for _, x := range xs {
		n.Mean += x
	}
	n.Mean /= float64(len(xs))
	if len(xs) < 2 {
		return n
	}
	var squares float64
	for _, x := range xs {
		squares += (x - n.Mean) * (x - n.Mean)
	}
	n.SD = math.Sqrt(squares / float64(len(xs)-1))
	return n
}
