package compute

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"swardbook/diagnose/agronomy"
)

// Compare says what of a check's expectations its answer doesn't meet, one sentence each; nothing when all are met. A
// check that expects nothing, and one that was refused, fails.
func Compare(c Check, a Answer) []string {
	var fails []string
	if a.Error != nil {
		fails = append(fails, *a.Error)
	}
	if len(c.Expect) == 0 {
		return append(fails, "nothing is expected of it")
	}
	for _, name := range slices.Sorted(maps.Keys(c.Expect)) {
		out, ok := a.Outputs[name]
		if !ok {
			fails = append(fails, fmt.Sprintf("%s was expected and not given; given were %v", name, slices.Sorted(maps.Keys(a.Outputs))))
			continue
		}
		if say := differs(c.Expect[name], out.result); say != "" {
			fails = append(fails, name+": "+say)
		}
	}
	return fails
}

// differs says how a result misses what was expected, or nothing.
func differs(e Expected, got agronomy.Result) string {
	if e.Fault != "" {
		return "what is expected " + e.Fault
	}
	switch {
	case emptyList(e.Value) && emptyList(got.Value):
		return ""
	case e.Value.Kind == agronomy.Number || e.Value.Kind == agronomy.Numbers:
		return numbersDiffer(e, got)
	case e.Value.Kind == got.Kind && e.Value.String() == got.String() && len(e.Value.Texts) == len(got.Texts):
		return ""
	}
	return fmt.Sprintf("expected %s, got %s", e.Value, got.Value)
}

// emptyList is a list of nothing, which has no kind of its own in JSON.
func emptyList(v agronomy.Value) bool {
	isList := v.Kind == agronomy.Numbers || v.Kind == agronomy.Texts || v.Kind == agronomy.Flags
	return isList && len(v.Numbers)+len(v.Texts)+len(v.Yeses) == 0
}

func numbersDiffer(e Expected, got agronomy.Result) string {
	want := e.Value.Quantities()
	if got.Kind != agronomy.Number && got.Kind != agronomy.Numbers {
		return fmt.Sprintf("expected %s, got %s", e.Value, got.Value)
	}
	if e.Value.Unit != "" {
		as, err := got.As(e.Value.Unit)
		if err != nil {
			return err.Error()
		}
		got = as
	}
	have := got.Quantities()
	if len(have.Values) != len(want.Values) {
		return fmt.Sprintf("expected %d values, got %d", len(want.Values), len(have.Values))
	}
	for i, w := range want.Values {
		if d := math.Abs(have.Values[i] - w); !(d <= e.Tolerance+1e-9*math.Max(1e-3, math.Abs(w))) {
			return fmt.Sprintf("expected %s within %g, got %s", agronomy.Q(w, want.Unit), e.Tolerance, agronomy.Q(have.Values[i], have.Unit))
		}
	}
	return ""
}
