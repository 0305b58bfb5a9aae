package degreedays

import (
	"regexp"
	"strconv"
	"strings"

	"swardbook/diagnose/agronomy"
)

type values = agronomy.Values
type results = agronomy.Results

// outputOf is what the sum of a method is called.
var outputOf = map[Method]string{Average: "gdd_average", Modified: "gdd_modified", Sine: "single_sine", Triangle: "single_triangle"}

// Formulas are what this package adds to the registry.
func Formulas() []agronomy.Formula {
	outputs := []agronomy.Output{{Name: "total", Unit: "F day", Says: "sum by the method asked for; by the modified one when an upper threshold is given, else by the average"},
		{Name: "cumulative", Unit: "F day", Says: "sums from the first day on; with a sum carried, the sum after the last day"}, {Name: "week", Unit: "F day", Says: "sum of these days alone"},
		{Name: "daily", Unit: "F day"}, {Name: "in_window", Unit: "boolean", Says: "of several sums one for each"}, {Name: "first_day_in_window", Unit: "day index from 1"}, {Name: "estimated", Unit: "boolean", Says: "missing days were put in"},
		{Name: "gdd_c", Unit: "C day"}, {Name: "gdd_f", Unit: "F day"}}
	for _, m := range Methods {
		outputs = append(outputs, agronomy.Output{Name: outputOf[m], Unit: "F day", Says: string(m)}, agronomy.Output{Name: outputOf[m] + "_total", Unit: "F day"})
	}
	for _, e := range Events() {
		outputs = append(outputs, agronomy.Output{Name: e.Name, Unit: "per value", Says: e.Says})
	}
	return []agronomy.Formula{{
		Name: "degree_days", Does: "Sums of warmth by four methods, and the windows they have reached.", Source: ipm + "; " + practice,
		Inputs:  []agronomy.Input{inTmax, inTmin, inMean, inBase, inUpper, inMethod, inCarried, inWindow, inCumulative, inGDD},
		Outputs: outputs,
		Ways: []agronomy.Way{
			{Needs: []string{"tmax", "tmin", "base"}, May: []string{"upper", "method", "carried", "window"}, Run: runDays},
			{Needs: []string{"soil_temperature", "base"}, May: []string{"carried", "window"}, Run: runMeans},
			{Needs: []string{"cumulative"}, May: []string{"base", "method"}, Run: runEvents},
			{Needs: []string{"cumulative", "window"}, Run: runWindow},
			{Needs: []string{"gdd"}, Run: func(v values) (results, error) {
				s := agronomy.NewSheet("a difference converts by 1.8, with no 32", "definition of the degrees")
				f := s.Take(inGDD, v.Q("gdd"))
				return results{"gdd_c": s.Number(f/1.8, "C day"), "gdd_f": s.Number(f, "F day")}, s.Err()
			}},
		},
	}, soilFormula()}
}

// runDays counts by every method that the thresholds allow.
func runDays(v values) (results, error) {
	single := v["tmax"].Kind == agronomy.Number
	out := results{}
	main := mainMethod(v)
	for _, m := range Methods {
		if m == Modified && !v.Has("upper") {
			continue
		}
		upper := v.Q("upper")
		if m == Average {
			upper = agronomy.Quantity{} // the plain average knows no upper threshold
		}
		sum, err := Count(m, v.List("tmax"), v.List("tmin"), v.Q("base"), upper, v.Q("carried"))
		if err != nil {
			return nil, err
		}
		out[outputOf[m]], out[outputOf[m]+"_total"] = sum.Days, sum.Total
		if single {
			out[outputOf[m]] = sum.Total
		}
		if m == main {
			if err := follow(out, sum, v, single); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// mainMethod is the one whose sum is carried on: as asked, else the modified when its threshold is there, else the average.
func mainMethod(v values) Method {
	switch {
	case v.Has("method"):
		return Method(v.Text("method"))
	case v.Has("upper") && !v.Has("carried") && !v.Has("window"):
		return Modified
	}
	return Average
}

func runMeans(v values) (results, error) {
	sum, err := CountMeans(v.List("soil_temperature"), v.Q("base"), v.Q("carried"))
	if err != nil {
		return nil, err
	}
	out := results{}
	return out, follow(out, sum, v, v["soil_temperature"].Kind == agronomy.Number)
}

// follow adds what follows from the sum that is carried on.
func follow(out results, sum Sums, v values, single bool) error {
	out["total"], out["daily"], out["cumulative"] = sum.Total, sum.Days, sum.Cumulative
	est := sum.Total
	est.Value = agronomy.OfFlag(sum.Filled > 0)
	out["estimated"] = est
	n := len(sum.Cumulative.Numbers)
	if v.Has("carried") {
		out["week"] = sum.Total
		out["cumulative"] = last(sum.Cumulative)
	} else if n == 7 {
		out["week"] = sum.Total
	}
	if single {
		out["daily"], out["cumulative"] = sum.Total, last(sum.Cumulative)
	}
	if !v.Has("window") {
		return nil
	}
	in, err := window(sum.Cumulative.Quantities(), v, !single)
	for name, r := range in {
		out[name] = r
	}
	return err
}

func last(list agronomy.Result) agronomy.Result {
	list.Value = agronomy.Of(list.Numbers[len(list.Numbers)-1], list.Unit)
	list.Working.Result = list.Value.String()
	return list
}

func window(sums agronomy.Quantities, v values, days bool) (results, error) {
	now := agronomy.Q(sums.Values[len(sums.Values)-1], sums.Unit)
	in, err := InWindow(now, v.List("window"))
	if err != nil {
		return nil, err
	}
	out := results{"in_window": in}
	if days {
		first, err := FirstDayIn(sums, v.List("window"))
		if err != nil {
			return nil, err
		}
		if first.Number > 0 {
			first.Unit = "day index from 1"
			out["first_day_in_window"] = first
		}
	}
	return out, nil
}

// runWindow says of each sum whether it lies in the window.
func runWindow(v values) (results, error) {
	sums := v.List("cumulative")
	out, err := window(sums, v, true)
	if err != nil || v["cumulative"].Kind != agronomy.Numbers {
		return out, err
	}
	words := make([]string, len(sums.Values))
	for i, sum := range sums.Values {
		in, err := InWindow(agronomy.Q(sum, sums.Unit), v.List("window"))
		if err != nil {
			return nil, err
		}
		words[i] = map[bool]string{true: "yes", false: "no"}[in.Yes]
	}
	r := out["in_window"]
	r.Value = agronomy.OfTexts(words, "per value")
	r.Working.Result = r.String()
	out["in_window"] = r
	return out, nil
}

var baseRemark = regexp.MustCompile(`base (-?\d+(?:\.\d+)?) ?([FC])`)

// runEvents says which events sums have reached. A window holds for sums made its own way only, so the base, and the
// method when it is named, must be those of the event; both may stand as remarks in the unit ("F day, base 50 F, …").
func runEvents(v values) (results, error) {
	base, method, err := madeBy(v)
	if err != nil {
		return nil, err
	}
	out := results{}
	for _, e := range Events() {
		if at, err := base.In(e.Unit[:1]); err != nil || at < e.Base-1e-9 || at > e.Base+1e-9 || method != "" && method != e.Method {
			continue
		}
		words := []string{}
		var r agronomy.Result
		for _, sum := range v.List("cumulative").Values {
			if r, err = e.Reached(agronomy.Q(sum, v["cumulative"].Unit)); err != nil {
				return nil, err
			}
			words = append(words, r.Text)
		}
		if v["cumulative"].Kind == agronomy.Numbers {
			r.Value = agronomy.OfTexts(words, "per value")
		}
		r.Working.Result = r.String()
		out[e.Name] = r
	}
	if len(out) == 0 && !v.Has("window") {
		return nil, agronomy.RefuseSay("base", base.String(), "the base of a published window", "No published window is made with base "+base.String()+" and this method.")
	}
	return out, nil
}

// madeBy is the base and method of sums, from the inputs or from the remarks in their unit.
func madeBy(v values) (base agronomy.Quantity, method Method, err error) {
	unit := v["cumulative"].Unit
	method = Method(v.Text("method"))
	for _, m := range Methods {
		if method == "" && strings.Contains(unit, string(m)) {
			method = m
		}
	}
	if v.Has("base") {
		return v.Q("base"), method, nil
	}
	found := baseRemark.FindStringSubmatch(unit)
	if found == nil && v.Has("window") {
		return agronomy.Quantity{Unit: "F"}, method, nil
	}
	if found == nil {
		return base, method, agronomy.RefuseSay("base", "", "the temperature from which the sums were made", "Which windows the sums have reached depends on their base; give base, or name it in the unit (F day, base 50 F).")
	}
	at, err := strconv.ParseFloat(found[1], 64)
	return agronomy.Q(at, found[2]), method, err
}
