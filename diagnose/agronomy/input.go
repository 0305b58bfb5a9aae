package agronomy

import (
	"fmt"
	"math"
	"strings"
)

// Input is one thing a formula takes: what it is called, in which unit the formula works, and what is allowed. It stands
// once, beside the typed function that takes it; the registry shows the same one.
type Input struct {
	Name  string
	Also  []string // further names it goes by
	Kind  Kind     // Number when empty
	Unit  string   // the formula's own unit; any unit of the same dimension is taken. For texts and data: a remark
	Or    []string // units of other dimensions that are taken too (a catch may be a volume or a depth)
	Range Range    // in Unit
	OneOf []string // for texts: what is known; empty takes any
	Gaps  bool     // for lists: members may be missing (null); they are NaN
	Says  string
}

// Range is what values are allowed. The zero Range allows every finite number.
type Range struct {
	Min, Max         float64
	HasMin, HasMax   bool
	MinOpen, MaxOpen bool
}

// AtLeast allows lo and above.
func AtLeast(lo float64) Range { return Range{Min: lo, HasMin: true} }

// Above allows what is greater than lo.
func Above(lo float64) Range { return Range{Min: lo, HasMin: true, MinOpen: true} }

// Between allows lo to hi, both included.
func Between(lo, hi float64) Range { return Range{Min: lo, Max: hi, HasMin: true, HasMax: true} }

// AboveTo allows what is greater than lo, up to hi.
func AboveTo(lo, hi float64) Range {
	return Range{Min: lo, Max: hi, HasMin: true, HasMax: true, MinOpen: true}
}

// Within allows what lies between lo and hi, neither included.
func Within(lo, hi float64) Range {
	return Range{Min: lo, Max: hi, HasMin: true, HasMax: true, MinOpen: true, MaxOpen: true}
}

// Holds says whether a number is allowed. Rounding in the last digits of a converted number doesn't count against it.
func (r Range) Holds(v float64) bool {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return false
	}
	if r.HasMin && (v < r.Min-hair(r.Min) || r.MinOpen && v <= r.Min) {
		return false
	}
	return !r.HasMax || v <= r.Max+hair(r.Max) && (!r.MaxOpen || v < r.Max)
}

func hair(limit float64) float64 { return 1e-12 * math.Abs(limit) }

// Say is the range in words: "above 0 min", "from 0 to 1".
func (r Range) Say(unit string) string {
	lo, hi := Figure(r.Min)+spaced(unit), Figure(r.Max)+spaced(unit)
	switch {
	case r.HasMin && r.HasMax && r.MinOpen:
		return fmt.Sprintf("above %s and %s %s", lo, map[bool]string{true: "below", false: "up to"}[r.MaxOpen], hi)
	case r.HasMin && r.HasMax && r.MaxOpen:
		return fmt.Sprintf("from %s and below %s", lo, hi)
	case r.HasMin && r.HasMax:
		return fmt.Sprintf("from %s to %s", Figure(r.Min), hi)
	case r.HasMin && r.MinOpen:
		return "above " + lo
	case r.HasMin:
		return lo + " or more"
	case r.HasMax && r.MaxOpen:
		return "below " + hi
	case r.HasMax:
		return hi + " or less"
	}
	return "any number" + inUnit(unit)
}

func inUnit(unit string) string {
	if s := spaced(unit); s != "" {
		return " in" + s
	}
	return ""
}

// InputError is an input that can't be used, in one plain sentence that names it, what was given and what is allowed.
type InputError struct {
	Input   string // name of the input; "" when the formula itself is meant
	Given   string // as a person would read it; "" when missing
	Allowed string // what would do
	Say     string // the sentence
}

// Error is the sentence.
func (e *InputError) Error() string { return e.Say }

// Refuse makes an InputError whose sentence is "NAME is GIVEN, but must be ALLOWED".
func Refuse(name, given, allowed string) *InputError {
	say := fmt.Sprintf("%s is %s, but must be %s.", name, given, allowed)
	if given == "" {
		say = fmt.Sprintf("%s is missing; it must be %s.", name, allowed)
	}
	return &InputError{Input: name, Given: given, Allowed: allowed, Say: say}
}

// RefuseSay makes an InputError with a sentence of its own, for rules between inputs.
func RefuseSay(name, given, allowed, say string) *InputError {
	return &InputError{Input: name, Given: given, Allowed: allowed, Say: say}
}

// Number reads one quantity in the input's own unit and refuses what is not allowed.
func (in Input) Number(q Quantity) (float64, error) {
	unit := in.WorkUnit(q.Unit)
	v, err := q.In(unit)
	if err != nil {
		like := strings.Join(append([]string{in.Unit}, in.Or...), " or ")
		return math.NaN(), RefuseSay(in.Name, q.Unit, "a unit like "+like, fmt.Sprintf("%s must be given in a unit like %s: %v.", in.Name, like, err))
	}
	if !in.Range.Holds(v) {
		return math.NaN(), Refuse(in.Name, q.String(), in.Range.Say(unit))
	}
	return v, nil
}

// WorkUnit is the unit that a value given in some unit is worked in: Unit, or the one of Or that is of its dimension.
func (in Input) WorkUnit(given string) string {
	for _, other := range in.Or {
		if SameKind(given, other) {
			return other
		}
	}
	return in.Unit
}

// Option finds a text among the known ones, whatever its capitals, hyphens and blanks at the ends.
func (in Input) Option(given string) (string, error) {
	for _, known := range in.OneOf {
		if sameWord(known, given) {
			return known, nil
		}
	}
	if len(in.OneOf) == 0 && strings.TrimSpace(given) != "" {
		return given, nil
	}
	return "", Refuse(in.Name, quoted(given), "one of: "+strings.Join(in.OneOf, ", "))
}

func quoted(given string) string {
	if given == "" {
		return ""
	}
	return fmt.Sprintf("%.80q", given)
}

var wordForm = strings.NewReplacer("-", " ", "_", " ", "–", " ", "  ", " ")

func sameWord(a, b string) bool {
	return strings.EqualFold(wordForm.Replace(strings.TrimSpace(a)), wordForm.Replace(strings.TrimSpace(b)))
}
