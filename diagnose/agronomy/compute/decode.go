package compute

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"swardbook/diagnose/agronomy"
)

// Check is one calculation as it is asked for, with what is expected of it when that is known.
type Check struct {
	ID      string
	Formula string
	Inputs  map[string]Given
	Expect  map[string]Expected
	Source  string
}

// Given is an input before the formula has looked at it. Fault says what is wrong with its form, if anything.
type Given struct {
	Value agronomy.Value
	Fault string
}

// Expected is a value with the greatest difference allowed, in the unit of the value.
type Expected struct {
	Value     agronomy.Value
	Tolerance float64
	Fault     string
}

// wire is the JSON form of a check; further keys are for people.
type wire struct {
	ID      any                        `json:"id"`
	Formula string                     `json:"formula"`
	Inputs  map[string]json.RawMessage `json:"inputs"`
	Expect  map[string]json.RawMessage `json:"expect"`
	Source  string                     `json:"source"`
}

// Decode reads one check, or an array of them. It refuses text that is not JSON of that shape; an input of a wrong form
// is kept with its fault, so that one bad check doesn't hide the others.
func Decode(r io.Reader) ([]Check, error) {
	raw, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	raw = bytes.TrimSpace(bytes.TrimPrefix(raw, []byte("\ufeff")))
	if len(raw) == 0 {
		return nil, errors.New("there is nothing to compute: give a check, or an array of checks, as JSON")
	}
	if raw[0] == '{' {
		raw = append(append([]byte{'['}, raw...), ']')
	}
	var list []wire
	if err := json.Unmarshal(raw, &list); err != nil {
		return nil, fmt.Errorf("this is not a check or an array of checks: %s", plain(err, raw))
	}
	checks := make([]Check, len(list))
	for i, w := range list {
		checks[i] = w.check()
	}
	return checks, nil
}

// plain says where JSON is wrong in words.
func plain(err error, raw []byte) string {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		line := 1 + bytes.Count(raw[:min(int(syntax.Offset), len(raw))], []byte("\n"))
		return fmt.Sprintf("line %d: %v", line, err)
	}
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) {
		line := 1 + bytes.Count(raw[:min(int(kind.Offset), len(raw))], []byte("\n"))
		return fmt.Sprintf("line %d: %s can't be a %s", line, or(kind.Field, "a check"), kind.Value)
	}
	return err.Error()
}

func or(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

func (w wire) check() Check {
	c := Check{Formula: w.Formula, Source: w.Source, Inputs: map[string]Given{}, Expect: map[string]Expected{}}
	if w.ID != nil {
		c.ID = fmt.Sprint(w.ID)
	}
	for name, raw := range w.Inputs {
		v, _, err := decodeValue(raw)
		c.Inputs[name] = Given{Value: v, Fault: text(err)}
	}
	for name, raw := range w.Expect {
		v, tolerance, err := decodeValue(raw)
		c.Expect[name] = Expected{Value: v, Tolerance: tolerance, Fault: text(err)}
	}
	return c
}

func text(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// decodeValue reads {"value": …, "unit": "…", "tolerance": …}, or a bare value without a unit.
func decodeValue(raw json.RawMessage) (agronomy.Value, float64, error) {
	var boxed struct {
		Value     json.RawMessage `json:"value"`
		Unit      *string         `json:"unit"`
		Tolerance float64         `json:"tolerance"`
	}
	if len(raw) > 0 && raw[0] == '{' {
		if err := json.Unmarshal(raw, &boxed); err != nil {
			return agronomy.Value{}, 0, errors.New("can't be read: its value, unit or tolerance has a wrong form")
		}
		if boxed.Value != nil {
			raw = boxed.Value
		}
	}
	var any any
	if err := json.Unmarshal(raw, &any); err != nil {
		return agronomy.Value{}, 0, errors.New("holds a number too large to be used")
	}
	v, err := valueOf(any)
	if boxed.Unit != nil {
		v.Unit = *boxed.Unit
	}
	return v, boxed.Tolerance, err
}

// valueOf tells the kind of a decoded value.
func valueOf(x any) (agronomy.Value, error) {
	switch x := x.(type) {
	case float64:
		return agronomy.Of(x, ""), nil
	case string:
		return agronomy.OfText(x, ""), nil
	case bool:
		return agronomy.Value{Kind: agronomy.Flag, Yes: x}, nil
	case []any:
		return listOf(x), nil
	case nil:
		return agronomy.Value{}, errors.New("has no value")
	}
	return agronomy.Value{Kind: agronomy.Data, Data: x}, nil
}

// listOf tells a list of numbers, texts or yes and no from one of anything else. A null among numbers is a gap, NaN.
func listOf(list []any) agronomy.Value {
	v := agronomy.Value{Kind: agronomy.Numbers, Data: list}
	for i, item := range list {
		kind := agronomy.Data
		switch item := item.(type) {
		case float64:
			kind, v.Numbers = agronomy.Numbers, append(v.Numbers, item)
		case nil:
			kind, v.Numbers = agronomy.Numbers, append(v.Numbers, math.NaN())
		case string:
			kind, v.Texts = agronomy.Texts, append(v.Texts, item)
		case bool:
			kind, v.Yeses = agronomy.Flags, append(v.Yeses, item)
		}
		if i == 0 {
			v.Kind = kind
		}
		if kind == agronomy.Data || kind != v.Kind {
			return agronomy.Value{Kind: agronomy.Data, Data: list}
		}
	}
	return v
}
