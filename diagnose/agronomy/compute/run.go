package compute

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
)

// Answer is what came of one check.
type Answer struct {
	ID      string            `json:"id"`
	Outputs map[string]Output `json:"outputs"`
	Unused  []string          `json:"unused,omitempty"` // inputs that no part of the formula could use
	Error   *string           `json:"error"`            // a sentence, or null
	Refused *Refused          `json:"refused,omitempty"`
}

// Output is one result with its working.
type Output struct {
	Value   any              `json:"value"`
	Unit    string           `json:"unit"`
	Working agronomy.Working `json:"working"`

	result agronomy.Result
}

// Refused says which input was at fault, for a form that marks it.
type Refused struct {
	Input   string `json:"input"`
	Given   string `json:"given,omitempty"`
	Allowed string `json:"allowed"`
}

// Run answers every check, in order.
func (r *Registry) Run(checks []Check) []Answer {
	answers := make([]Answer, len(checks))
	for i, c := range checks {
		answers[i] = r.Answer(c)
	}
	return answers
}

// Answer runs one check: every output that the inputs allow, in the unit the check expects it in when it says so.
func (r *Registry) Answer(c Check) Answer {
	a := Answer{ID: c.ID, Outputs: map[string]Output{}}
	f, err := r.Formula(c.Formula, slices.Sorted(maps.Keys(c.Inputs)))
	if err != nil {
		return a.refuse(err)
	}
	values, err := inputs(f, c.Inputs)
	if err != nil {
		return a.refuse(err)
	}
	results, unused, err := Calculate(f, values)
	a.Unused = unused
	for name := range c.Expect {
		if own := outputOf(f, name); own != name && results[own].Kind != "" {
			results[name] = results[own]
		}
	}
	for name, res := range results {
		if e, ok := c.Expect[name]; ok && e.Value.Unit != "" {
			if as, err := res.As(e.Value.Unit); err == nil {
				res = as
			}
		}
		a.Outputs[name] = Output{res.Any(), res.Unit, res.Working, res}
	}
	if err != nil {
		return a.refuse(err)
	}
	return a
}

// outputOf is the own name of an output that is asked for by one of its further names.
func outputOf(f agronomy.Formula, name string) string {
	for _, o := range f.Outputs {
		if slices.Contains(o.Also, name) {
			return o.Name
		}
	}
	return name
}

func (a Answer) refuse(err error) Answer {
	say := err.Error()
	a.Error = &say
	var in *agronomy.InputError
	if errors.As(err, &in) {
		a.Refused = &Refused{in.Input, in.Given, in.Allowed}
	}
	return a
}

// Calculate runs every way of a formula whose needs are given. It gives the outputs, the inputs that no way used, and the
// first refusal; outputs of ways that were not refused stay.
func Calculate(f agronomy.Formula, v agronomy.Values) (results agronomy.Results, unused []string, err error) {
	results = agronomy.Results{}
	used := map[string]bool{}
	ran := false
	for _, way := range f.Ways {
		if !v.Has(way.Needs...) {
			continue
		}
		ran = true
		for _, name := range slices.Concat(way.Needs, way.May) {
			used[name] = true
		}
		out, wayErr := way.Run(v)
		if wayErr != nil {
			err = first(err, wayErr)
			continue
		}
		for name, res := range out {
			if _, ok := results[name]; !ok {
				results[name] = res
			}
		}
	}
	if !ran {
		return results, nil, missing(f, v)
	}
	if len(results) == 0 && err == nil {
		err = agronomy.RefuseSay("", "", "a set of inputs that leads to a result", fmt.Sprintf("%s: these inputs together allow no result; it takes %s.", f.Name, strings.Join(inputNames(f), ", ")))
	}
	for _, name := range slices.Sorted(maps.Keys(v)) {
		if !used[name] {
			unused = append(unused, name)
		}
	}
	return results, unused, err
}

func first(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

// missing says what would let the formula run: the way that lacks least, and which inputs it lacks.
func missing(f agronomy.Formula, v agronomy.Values) error {
	var best []string
	for _, way := range f.Ways {
		lack := slices.DeleteFunc(slices.Clone(way.Needs), func(name string) bool { return v.Has(name) })
		if best == nil || len(lack) < len(best) {
			best = lack
		}
	}
	words := make([]string, len(best))
	for i, name := range best {
		in, _ := inputOf(f, name)
		words[i] = fmt.Sprintf("%s (%s)", name, Describe(in))
	}
	name := ""
	if len(best) > 0 {
		name = best[0]
	}
	return agronomy.RefuseSay(name, "", "given", fmt.Sprintf("%s needs %s.", f.Name, strings.Join(words, " and ")))
}

// Describe says in words what an input is and what is allowed.
func Describe(in agronomy.Input) string {
	says := in.Says
	if len(in.OneOf) > 0 {
		return strings.TrimPrefix(says+": one of "+strings.Join(in.OneOf, ", "), ": ")
	}
	if in.Kind == "" || in.Kind == agronomy.Number || in.Kind == agronomy.Numbers {
		return strings.TrimPrefix(says+", "+in.Range.Say(in.Unit), ", ")
	}
	return says
}

// inputs turns what was given into values under the formula's own names, and refuses what it can't take.
func inputs(f agronomy.Formula, given map[string]Given) (agronomy.Values, error) {
	values := agronomy.Values{}
	for _, name := range slices.Sorted(maps.Keys(given)) {
		in, ok := inputOf(f, name)
		if !ok {
			return nil, agronomy.RefuseSay(name, "", strings.Join(inputNames(f), ", "), fmt.Sprintf("%s takes no input %.60q; it takes %s.", f.Name, name, strings.Join(inputNames(f), ", ")))
		}
		if values.Has(in.Name) {
			return nil, agronomy.RefuseSay(in.Name, name, "given once", fmt.Sprintf("%s is given twice, once as %s.", in.Name, name))
		}
		asked := in
		asked.Name = name // a refusal speaks of it as it was given
		v, err := accept(asked, given[name])
		if err != nil {
			return nil, err
		}
		values[in.Name] = v
	}
	return values, nil
}

func inputNames(f agronomy.Formula) []string {
	names := make([]string, len(f.Inputs))
	for i, in := range f.Inputs {
		names[i] = in.Name
	}
	return names
}

// accept holds a value to the kind, unit and range its input declares.
func accept(in agronomy.Input, g Given) (agronomy.Value, error) {
	v := g.Value
	if g.Fault != "" {
		return v, agronomy.RefuseSay(in.Name, "", Describe(in), fmt.Sprintf("%s %s; it must be %s.", in.Name, g.Fault, Describe(in)))
	}
	kind := in.Kind
	if kind == "" {
		kind = agronomy.Number
	}
	if !fits(kind, v.Kind) {
		return v, agronomy.RefuseSay(in.Name, v.String(), "a "+string(kind), fmt.Sprintf("%s must be a %s, and a %s was given.", in.Name, kind, v.Kind))
	}
	switch kind {
	case agronomy.Number, agronomy.Numbers:
		return numbers(in, v)
	case agronomy.Text, agronomy.Texts:
		return texts(in, v)
	}
	return v, nil
}

// fits says whether a given kind will do: a list may have one member only, given bare.
func fits(want, given agronomy.Kind) bool {
	switch want {
	case agronomy.Data:
		return true
	case agronomy.Numbers:
		return given == agronomy.Numbers || given == agronomy.Number
	case agronomy.Texts:
		return given == agronomy.Texts || given == agronomy.Text
	case agronomy.Flags:
		return given == agronomy.Flags || given == agronomy.Flag
	}
	return want == given
}

func numbers(in agronomy.Input, v agronomy.Value) (agronomy.Value, error) {
	if v.Unit == "" {
		if !plainUnit(in.Unit) {
			return v, agronomy.RefuseSay(in.Name, v.String(), "given with a unit like "+in.Unit, fmt.Sprintf("%s has no unit; give it one, like %s.", in.Name, in.Unit))
		}
		v.Unit = in.Unit
	}
	list := v.Quantities()
	if len(list.Values) == 0 {
		return v, agronomy.Refuse(in.Name, "", "a list of numbers, "+in.Range.Say(in.Unit))
	}
	for _, x := range list.Values {
		if in.Gaps && math.IsNaN(x) {
			continue
		}
		if math.IsNaN(x) {
			return v, agronomy.RefuseSay(in.Name, "", "given for every place of the list", in.Name+" has a gap; every value of it must be given.")
		}
		if _, err := in.Number(agronomy.Q(x, v.Unit)); err != nil {
			return v, err
		}
	}
	return v, nil
}

// plainUnit is a unit that may be left away, since nothing else could be meant.
func plainUnit(unit string) bool {
	return agronomy.SameKind(unit, "count") || unit == "fraction" || unit == "ratio" || unit == "pH"
}

func texts(in agronomy.Input, v agronomy.Value) (agronomy.Value, error) {
	list := slices.Clone(v.TextList())
	if len(list) == 0 {
		return v, agronomy.Refuse(in.Name, "", Describe(in))
	}
	for i, x := range list {
		known, err := in.Option(x)
		if err != nil {
			return v, err
		}
		list[i] = known
	}
	if v.Kind == agronomy.Text {
		v.Text = list[0]
	}
	v.Texts = list
	return v, nil
}
