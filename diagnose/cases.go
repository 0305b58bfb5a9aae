package diagnose

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// fileCase is a case as people write it: findings by id, each a number, a state, a list of signs or measured values.
// Fields that are not named here are allowed and left alone.
type fileCase struct {
	ID       string                     `json:"id"`
	Season   string                     `json:"season"`
	Month    json.RawMessage            `json:"month"`
	Context  map[string]json.RawMessage `json:"context"`
	Findings map[string]json.RawMessage `json:"findings"`
	Before   []Earlier                  `json:"before"`
	Done     []Done                     `json:"done"`
}

// ReadCases reads an array of cases. A case without findings is a case too. Errors name the case and the field.
func ReadCases(r io.Reader) ([]Case, error) {
	dec := json.NewDecoder(r)
	var raw []json.RawMessage
	if err := dec.Decode(&raw); errors.Is(err, io.EOF) {
		return nil, errors.New("cases: the input is empty; a list of cases is wanted, [] for none")
	} else if err != nil {
		return nil, fmt.Errorf("cases: not a list of cases: %w", err)
	} else if raw == nil {
		return nil, errors.New("cases: null is not a list of cases")
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("cases: something follows the list of cases")
	}
	out := make([]Case, 0, len(raw))
	for i, one := range raw {
		c, err := readCase(one)
		if err != nil {
			name := strconv.Quote(c.ID)
			if c.ID == "" {
				name = strconv.Itoa(i + 1)
			}
			return nil, fmt.Errorf("case %s: %w", name, err)
		}
		out = append(out, c)
	}
	return out, nil
}

func readCase(raw json.RawMessage) (Case, error) {
	if !bytes.HasPrefix(raw, []byte("{")) {
		return Case{}, errors.New("is not an object")
	}
	var f fileCase
	if err := json.Unmarshal(raw, &f); err != nil {
		var wrong *json.UnmarshalTypeError
		if errors.As(err, &wrong) {
			return Case{ID: f.ID}, fmt.Errorf("%s: can't be a %s", wrong.Field, wrong.Value)
		}
		return Case{ID: f.ID}, err
	}
	c := Case{ID: f.ID, Season: f.Season, Observed: []Observed{}, Before: f.Before, Done: f.Done}
	var err error
	if c.Month, err = readMonth(f.Month); err != nil {
		return c, fmt.Errorf("month: %w", err)
	}
	if c.Context, err = readContext(f.Context); err != nil {
		return c, fmt.Errorf("context: %w", err)
	}
	for _, id := range slices.Sorted(maps.Keys(f.Findings)) {
		if isNull(f.Findings[id]) {
			continue // not looked at
		}
		o, err := readFinding(id, f.Findings[id])
		if err != nil {
			return c, fmt.Errorf("findings: %s: %w", id, err)
		}
		c.Observed = append(c.Observed, o)
	}
	return c, nil
}

func isNull(raw json.RawMessage) bool { return len(raw) == 0 || string(raw) == "null" }

var months = []string{
	"january", "february", "march", "april", "may", "june",
	"july", "august", "september", "october", "november", "december",
}

// readMonth takes 1 to 12, or an English name of which three letters are enough.
func readMonth(raw json.RawMessage) (int, error) {
	if isNull(raw) {
		return 0, nil
	}
	text := string(raw)
	var name string
	if json.Unmarshal(raw, &name) == nil {
		text = strings.ToLower(strings.TrimSpace(name))
	}
	if text == "" {
		return 0, nil
	}
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= 12 {
		return n, nil
	}
	i := slices.IndexFunc(months, func(m string) bool { return len(text) >= 3 && strings.HasPrefix(m, text) })
	if i < 0 {
		return 0, fmt.Errorf("%s is no month", raw)
	}
	return i + 1, nil
}

// readContext takes the context as free text. The keys of knowledge.Adjust stand as they are; what people write in other
// places is read too: that the visit is a routine one or follows a complaint, and that there are no sprinklers.
func readContext(raw map[string]json.RawMessage) (map[string]string, error) {
	out := map[string]string{}
	for _, key := range slices.Sorted(maps.Keys(raw)) {
		if isNull(raw[key]) {
			continue
		}
		var text string
		if err := json.Unmarshal(raw[key], &text); err != nil {
			return nil, fmt.Errorf("%s: is not text", key)
		}
		out[key] = text
	}
	loose(out, "visit", "routine", func(key, text string) bool { return strings.Contains(text, "routine visit") })
	loose(out, "visit", "complaint", func(key, text string) bool { return strings.Contains(text, "complain") })
	loose(out, "system", "none", func(key, text string) bool { return key == "irrigation" && text == "none" })
	return out, nil
}

// loose sets context[key] to value when another entry says so in its own words and key is not given.
func loose(context map[string]string, key, value string, says func(key, text string) bool) {
	if context[key] != "" {
		return
	}
	for k, text := range context {
		if says(k, strings.ToLower(strings.TrimSpace(text))) {
			context[key] = value
			return
		}
	}
}

type fileValues struct {
	Values []*float64 `json:"values"`
	Unit   string     `json:"unit"`
}

func readFinding(id string, raw json.RawMessage) (Observed, error) {
	o := Observed{Finding: id}
	switch raw[0] {
	case '"':
		err := json.Unmarshal(raw, &o.State)
		if err == nil && o.State == "" {
			err = errors.New("an empty text says nothing; leave the finding out")
		}
		return o, err
	case '[':
		var xs []*float64
		if json.Unmarshal(raw, &xs) == nil && len(xs) > 0 {
			return o, o.measured(xs, "")
		}
		if err := json.Unmarshal(raw, &o.Present); err != nil {
			return o, errors.New("is not a list of signs")
		}
		if len(o.Present) == 0 {
			return o, errors.New("an empty list says nothing; leave the finding out, or name the sign for none")
		}
		return o, nil
	case '{':
		v, err := readValues(raw)
		if err != nil {
			return o, err
		}
		return o, o.measured(v.Values, v.Unit)
	}
	var x float64
	if err := json.Unmarshal(raw, &x); err != nil {
		return o, fmt.Errorf("%s is neither a number, a state, a list of signs nor measured values", raw)
	}
	o.Number = &Number{Mean: x, N: 1}
	return o, nil
}

func readValues(raw json.RawMessage) (fileValues, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	var v fileValues
	if err := dec.Decode(&v); err != nil {
		return v, fmt.Errorf(`measured values are {"values": [numbers], "unit": text}: %w`, err)
	}
	return v, nil
}

// measured sets o to what was measured at several places.
func (o *Observed) measured(values []*float64, unit string) error {
	if len(values) == 0 {
		return errors.New("values: there is no number")
	}
	xs := make([]float64, len(values))
	for i, x := range values {
		switch {
		case x == nil:
			return errors.New("values: null is not a number")
		case *x < 0:
			return fmt.Errorf("values: %v can't be negative", *x)
		}
		xs[i] = *x
	}
	n := Average(xs)
	n.Unit = unit
	o.Number, o.values = &n, xs
	return nil
}
