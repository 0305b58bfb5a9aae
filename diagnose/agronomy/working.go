package agronomy

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Working is how a result came about. It marshals to JSON as it stands; Lines reads it to a person.
type Working struct {
	Formula string   `json:"formula"`           // the formula in words and letters
	Inputs  []Used   `json:"inputs"`            // what went in, in the order it was taken
	Steps   []Step   `json:"steps,omitempty"`   // what was worked out on the way, in order
	Result  string   `json:"result,omitempty"`  // the result with its unit
	Source  string   `json:"source"`            // where the formula is published, or how it is known
	Remarks []string `json:"remarks,omitempty"` // what the reader must know about this result
}

// Used is an input as it went in.
type Used struct {
	Name  string `json:"name"`
	Given string `json:"given"`          // as given, with its unit
	Is    string `json:"used,omitempty"` // as used, when a unit was converted
}

// Step is one value on the way.
type Step struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit,omitempty"`
	How   string  `json:"how,omitempty"`
}

// Lines is the working as lines for a page or a printout.
func (w Working) Lines() []string {
	lines := []string{w.Formula}
	for _, in := range w.Inputs {
		line := in.Name + ": " + in.Given
		if in.Is != "" {
			line += " = " + in.Is
		}
		lines = append(lines, line)
	}
	for _, s := range w.Steps {
		line := s.Name + " = " + Quantity{s.Value, s.Unit}.String()
		if s.How != "" {
			line += " (" + s.How + ")"
		}
		lines = append(lines, line)
	}
	if w.Result != "" {
		lines = append(lines, "Result: "+w.Result)
	}
	lines = append(lines, w.Remarks...)
	return append(lines, "Source: "+w.Source)
}

// String is the working as one sentence.
func (w Working) String() string { return strings.Join(w.Lines(), "; ") + "." }

// Result is one output: a value with the working that led to it.
type Result struct {
	Value
	Working Working
}

// Quantity is the number of a result.
func (r Result) Quantity() Quantity { return r.Value.Quantity() }

// As gives a number result in another unit; the working says so.
func (r Result) As(unit string) (Result, error) {
	given := r.Unit
	r, err := r.as(unit)
	if err == nil && given != unit && r.Working.Result != "" {
		r.Working.Result += " = " + r.Value.String()
	}
	return r, err
}

func (r Result) as(unit string) (Result, error) {
	switch r.Kind {
	case Number:
		v, err := convert(r.Number, r.Unit, unit)
		r.Value = Of(v, unit)
		return r, err
	case Numbers:
		out := make([]float64, len(r.Numbers))
		for i, x := range r.Numbers {
			v, err := convert(x, r.Unit, unit)
			if err != nil {
				return r, err
			}
			out[i] = v
		}
		r.Value = OfList(out, unit)
	}
	return r, nil
}

// Results are outputs by name.
type Results map[string]Result

// Sheet writes one calculation down while it is done. The first thing that is refused stays (Err) and everything after it
// is NaN, so that a function asks once, before it loops or answers.
type Sheet struct {
	working Working
	err     error
}

// NewSheet begins a calculation with its formula in words and its source.
func NewSheet(formula, source string) *Sheet {
	return &Sheet{working: Working{Formula: formula, Source: source}}
}

// Take reads a quantity as the input says, and writes down what was given and what it was converted to.
func (s *Sheet) Take(in Input, q Quantity) float64 {
	if s.err != nil {
		return math.NaN()
	}
	v, err := in.Number(q)
	if err != nil {
		s.err = err
		return math.NaN()
	}
	used := Used{Name: in.Name, Given: q.String()}
	if v != q.Value {
		used.Is = Quantity{v, in.WorkUnit(q.Unit)}.String()
	}
	s.working.Inputs = append(s.working.Inputs, used)
	return v
}

// TakeAll reads a list; each value is held to the input's range, and an empty list is refused.
func (s *Sheet) TakeAll(in Input, list Quantities) []float64 {
	if s.err != nil {
		return nil
	}
	if len(list.Values) == 0 {
		s.err = Refuse(in.Name, "", "a list of numbers, "+in.Range.Say(in.Unit))
		return nil
	}
	out := make([]float64, len(list.Values))
	for i, v := range list.Values {
		if in.Gaps && math.IsNaN(v) {
			out[i] = v
			continue
		}
		x, err := in.Number(Quantity{v, list.Unit})
		if err != nil {
			s.err = err
			return nil
		}
		out[i] = x
	}
	used := Used{Name: in.Name, Given: figures(list.Values) + spaced(list.Unit)}
	if len(list.Values) > 0 && in.WorkUnit(list.Unit) != list.Unit && !slices.Equal(out, list.Values) {
		used.Is = figures(out) + spaced(in.WorkUnit(list.Unit))
	}
	s.working.Inputs = append(s.working.Inputs, used)
	return out
}

// Choose reads a text that must be one of those known, and gives it as it is spelled there.
func (s *Sheet) Choose(in Input, given string) string {
	if s.err != nil {
		return ""
	}
	known, err := in.Option(given)
	if err != nil {
		s.err = err
		return ""
	}
	s.Note(in.Name, known)
	return known
}

// Note writes down an input that is not a number.
func (s *Sheet) Note(name, given string) {
	s.working.Inputs = append(s.working.Inputs, Used{Name: name, Given: given})
}

// Step writes down a value on the way, and gives it back. One that is not finite is not written down: a working is JSON,
// and the result will refuse it.
func (s *Sheet) Step(name string, v float64, unit, how string) float64 {
	if !finite(v) {
		return v
	}
	s.working.Steps = append(s.working.Steps, Step{name, v, unit, how})
	return v
}

// Remark adds a sentence the reader must know.
func (s *Sheet) Remark(sentence string) { s.working.Remarks = append(s.working.Remarks, sentence) }

// Refuse keeps an error, unless there is one.
func (s *Sheet) Refuse(err error) {
	if s.err == nil {
		s.err = err
	}
}

// Err is the first thing that was refused.
func (s *Sheet) Err() error { return s.err }

// Give is a result with the working so far. A number that is not finite is refused: it means that the inputs are beyond
// what the formula can carry.
func (s *Sheet) Give(v Value) Result {
	if v.Kind == Number && !finite(v.Number) || v.Kind == Numbers && !finite(v.Numbers...) {
		s.Refuse(RefuseSay("", v.String(), "smaller or larger inputs", "These inputs lead to no finite number."))
	}
	w := s.working
	w.Inputs = append([]Used(nil), w.Inputs...)
	w.Steps = append([]Step(nil), w.Steps...)
	w.Remarks = append([]string(nil), w.Remarks...)
	w.Result = v.String()
	return Result{v, w}
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// Number is Give for a number.
func (s *Sheet) Number(v float64, unit string) Result { return s.Give(Of(v, unit)) }

// String is a value as a person reads it.
func (v Value) String() string {
	switch v.Kind {
	case Number:
		return v.Quantity().String()
	case Numbers:
		return figures(v.Numbers) + spaced(v.Unit)
	case Text:
		return v.Text
	case Texts:
		return strings.Join(v.Texts, ", ")
	case Flag:
		return yesNo(v.Yes)
	case Flags:
		words := make([]string, len(v.Yeses))
		for i, yes := range v.Yeses {
			words[i] = yesNo(yes)
		}
		return strings.Join(words, ", ")
	}
	return fmt.Sprint(v.Data)
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// figures writes a list, its middle left out when it is long.
func figures(list []float64) string {
	const most = 40
	words := make([]string, 0, len(list))
	for i, v := range list {
		if len(list) > most && i == most-1 {
			words = append(words, "…")
			break
		}
		if math.IsNaN(v) {
			words = append(words, "missing")
			continue
		}
		words = append(words, Figure(v))
	}
	return strings.Join(words, ", ")
}
