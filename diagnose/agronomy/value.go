package agronomy

import "encoding/json"

// Kind is what shape a value has.
type Kind string

// The kinds of values.
const (
	Number  Kind = "number"
	Numbers Kind = "list of numbers" // a single number is taken as a list of one
	Text    Kind = "text"
	Texts   Kind = "list of texts" // a single text is taken as a list of one
	Flag    Kind = "yes or no"
	Flags   Kind = "list of yes or no"
	Data    Kind = "structured" // points, obstructions, records: decoded JSON, read by the formula itself
)

// Value is one thing given to a formula, or given back by it.
type Value struct {
	Kind    Kind
	Number  float64
	Numbers []float64
	Text    string
	Texts   []string
	Yes     bool
	Yeses   []bool
	Data    any    // as encoding/json decodes it
	Unit    string // as given; remarks in it ("local date, UTC-7") are kept
}

// Of makes a number.
func Of(v float64, unit string) Value { return Value{Kind: Number, Number: v, Unit: unit} }

// OfList makes a list of numbers.
func OfList(v []float64, unit string) Value { return Value{Kind: Numbers, Numbers: v, Unit: unit} }

// OfText makes a text.
func OfText(v, unit string) Value { return Value{Kind: Text, Text: v, Unit: unit} }

// OfTexts makes a list of texts.
func OfTexts(v []string, unit string) Value { return Value{Kind: Texts, Texts: v, Unit: unit} }

// OfFlag makes a yes or no.
func OfFlag(v bool) Value { return Value{Kind: Flag, Yes: v, Unit: "boolean"} }

// OfFlags makes a list of yes or no.
func OfFlags(v []bool, unit string) Value { return Value{Kind: Flags, Yeses: v, Unit: unit} }

// Quantity is a number with its unit.
func (v Value) Quantity() Quantity { return Quantity{v.Number, v.Unit} }

// Quantities is a list with its unit; a single number is a list of one.
func (v Value) Quantities() Quantities {
	if v.Kind == Number {
		return Quantities{[]float64{v.Number}, v.Unit}
	}
	return Quantities{v.Numbers, v.Unit}
}

// TextList is a list of texts; a single text is a list of one.
func (v Value) TextList() []string {
	if v.Kind == Text {
		return []string{v.Text}
	}
	return v.Texts
}

// Any is the bare value, as encoding/json would give it.
func (v Value) Any() any {
	switch v.Kind {
	case Number:
		return v.Number
	case Numbers:
		return v.Numbers
	case Text:
		return v.Text
	case Texts:
		return v.Texts
	case Flag:
		return v.Yes
	case Flags:
		return v.Yeses
	}
	return v.Data
}

// MarshalJSON writes {"value": …, "unit": …}.
func (v Value) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Value any    `json:"value"`
		Unit  string `json:"unit"`
	}{v.Any(), v.Unit})
}

// Values are the inputs of one calculation by name.
type Values map[string]Value

// Has says whether every name is given.
func (v Values) Has(names ...string) bool {
	for _, name := range names {
		if _, ok := v[name]; !ok {
			return false
		}
	}
	return true
}

// Q is the number of a name, or the other when it isn't given.
func (v Values) Q(name string, other ...Quantity) Quantity {
	if x, ok := v[name]; ok || len(other) == 0 {
		return x.Quantity()
	}
	return other[0]
}

// List is the list of a name; empty when it isn't given.
func (v Values) List(name string) Quantities { return v[name].Quantities() }

// Text is the text of a name; empty when it isn't given.
func (v Values) Text(name string) string { return v[name].Text }
