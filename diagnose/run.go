package diagnose

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"

	"swardbook/diagnose/checks"
)

// Refused stands in the place of an answer to a case that can't be weighed.
type Refused struct {
	ID    string `json:"id"`
	Error string `json:"error"`
}

// Run reads cases from r, weighs each and writes a JSON array to w, one answer to a line, in order. A case that can't be
// weighed, because of what it says or because its findings can't all be true, gets a Refused in its place and stops no
// other; the error then says how many there were. Input that is no list of cases is an error before anything is written.
func Run(e *Engine, r io.Reader, w io.Writer) error {
	cases, err := ReadCases(r)
	if err != nil {
		return err
	}
	sep, refused := "[\n", 0
	for i := range cases {
		e.derive(&cases[i])
		var out any
		a, err := e.Diagnose(cases[i])
		if out = a; err != nil {
			refused++
			out = Refused{cases[i].ID, err.Error()}
		}
		line, err := json.Marshal(out)
		if err != nil {
			return err
		}
		if _, err := w.Write(append([]byte(sep), line...)); err != nil {
			return err
		}
		sep = ",\n"
	}
	end := "\n]\n"
	if len(cases) == 0 {
		end = "[]\n"
	}
	if _, err := io.WriteString(w, end); err != nil {
		return err
	}
	if refused > 0 {
		return fmt.Errorf("%d of %d cases could not be weighed; their places say why", refused, len(cases))
	}
	return nil
}

// derive adds what listed measurements say besides their mean, as a check does when its readings are typed: how far apart
// they lie, or the highest. What a case says itself stands.
func (e *Engine) derive(c *Case) {
	for i := range slices.Clone(c.Observed) {
		o := c.Observed[i]
		if len(o.values) < 2 {
			continue
		}
		f, known := e.finding[o.Finding]
		if !known {
			continue
		}
		unit, ok := e.unit(e.b.Findings[f].ID, o.Number.Unit)
		if !ok {
			continue
		}
		own := scaled(o.values, unit.Mul/unit.Div)
		for k := range e.b.Checks {
			for _, y := range besides(&e.b.Checks[k], o.Finding) {
				said := slices.ContainsFunc(c.Observed, func(x Observed) bool { return x.Finding == y.Finding })
				if more, ok := yielded(y, checks.Value{Numbers: own}); ok && !said && !math.IsInf(more.Number.Mean, 0) {
					c.Observed = append(c.Observed, more)
				}
			}
		}
	}
}

// besides are the other findings of a check whose mean yields finding.
func besides(c *checks.Check, finding string) []checks.Yield {
	if !slices.ContainsFunc(c.Yields, func(y checks.Yield) bool { return y.Finding == finding && y.From == fromMean }) {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(c.Yields), func(y checks.Yield) bool { return y.Finding == finding })
}
