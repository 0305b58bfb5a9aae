package soiltest

import (
	_ "embed"
	"fmt"
	"math"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/rows"
)

//go:embed data/ranges.csv
var rangesText string

var ranges = rows.Must(rangesText, "set", "nutrient", "extractant", "soil", "class", "low", "high", "source")

// Range is a line of the table of soil-test ranges, ppm.
type Range struct {
	Set, Nutrient, Extractant, Soil, Class string
	Low, High                              float64 // High is +Inf where the class has no end
	Source                                 string
}

// Ranges are the lines of one set ("delaware", "sufficiency", "minimum", "home_lawn", "finer") for a nutrient ("p", "k")
// and an extractant ("mehlich3", "bray_p1", "olsen"), in the table's order.
func Ranges(set, nutrient, extractant string) []Range {
	var out []Range
	for _, r := range ranges {
		if r["set"] == set && r["nutrient"] == nutrient && r["extractant"] == extractant {
			out = append(out, Range{set, nutrient, extractant, r["soil"], r["class"], r.Number("low"), r.Or("high", math.Inf(1)), r["source"]})
		}
	}
	return out
}

func inPPM(name, says string) agronomy.Input {
	return agronomy.Input{Name: name, Kind: agronomy.Numbers, Unit: "ppm", Range: agronomy.Between(0, 1e6), Says: says}
}

// each applies a reading to every value and gives a text list, with the working.
func each(name, says, formula, source string, list agronomy.Quantities, read func(float64) string) (agronomy.Result, error) {
	s := agronomy.NewSheet(formula, source)
	values := s.TakeAll(inPPM(name, says), list)
	words := make([]string, len(values))
	for i, v := range values {
		words[i] = read(v)
	}
	return s.Give(agronomy.OfTexts(words, "per value")), s.Err()
}

// Class is the class of each value in a set of classes. A class holds up to its high; what is above belongs to the next.
func Class(set, nutrient, extractant, name string, list agronomy.Quantities) (agronomy.Result, error) {
	table := Ranges(set, nutrient, extractant)
	if len(table) == 0 {
		return agronomy.Result{}, agronomy.Refuse(name, list2(list), "of a nutrient and extractant that the set "+set+" has classes for")
	}
	var words []string
	for _, r := range table {
		words = append(words, r.Class+" "+span(r))
	}
	return each(name, nutrient+" by "+extractant, strings.Join(words, "; "), table[0].Source, list, func(v float64) string {
		for _, r := range table {
			if v <= r.High {
				return r.Class
			}
		}
		return table[len(table)-1].Class
	})
}

func list2(list agronomy.Quantities) string { return fmt.Sprint(len(list.Values), " values") }

func span(r Range) string {
	if math.IsInf(r.High, 1) {
		return "over " + agronomy.Figure(r.Low)
	}
	return agronomy.Figure(r.Low) + "-" + agronomy.Figure(r.High)
}

// Sufficiency says of each value whether it is below, within or above a sufficiency range: "below 27-54". soil is "any",
// or "sand" and "other" for potassium.
func Sufficiency(nutrient, extractant, soil, name string, list agronomy.Quantities) (agronomy.Result, error) {
	for _, r := range Ranges("sufficiency", nutrient, extractant) {
		if r.Soil == soil {
			return each(name, nutrient+" by "+extractant, "sufficiency range "+span(r)+" ppm by "+extractant, r.Source, list, func(v float64) string {
				return place(v, r.Low, r.High) + " " + span(r)
			})
		}
	}
	return agronomy.Result{}, agronomy.Refuse(name, list2(list), "of a nutrient, extractant and soil that have a sufficiency range")
}

func place(v, low, high float64) string {
	switch {
	case v < low:
		return "below"
	case v > high:
		return "above"
	}
	return "within"
}

// Minimum says of each value whether it is below, at or above the minimum level: "above 37".
func Minimum(nutrient, name string, list agronomy.Quantities) (agronomy.Result, error) {
	r := Ranges("minimum", nutrient, "mehlich3")
	if len(r) == 0 {
		return agronomy.Result{}, agronomy.Refuse(name, list2(list), "of phosphorus or potassium by Mehlich-3")
	}
	return each(name, nutrient+" by mehlich3", "minimum level "+agronomy.Figure(r[0].Low)+" ppm", r[0].Source, list, func(v float64) string {
		words := map[bool]string{true: "above", false: "below"}[v > r[0].Low]
		if v == r[0].Low {
			words = "at"
		}
		return words + " " + agronomy.Figure(r[0].Low)
	})
}

// Advised says of each Mehlich-3 phosphorus value whether phosphorus is advised on a home lawn: "yes" below 45. The
// study also says "45 or less", so that the very value is open.
func Advised(name string, list agronomy.Quantities) (agronomy.Result, error) {
	r := Ranges("home_lawn", "p", "mehlich3")[0]
	res, err := each(name, "p by mehlich3", "phosphorus advised below "+agronomy.Figure(r.Low)+" ppm", r.Source, list, func(v float64) string {
		return map[bool]string{true: "yes", false: "no"}[v < r.Low]
	})
	res.Working.Remarks = append(res.Working.Remarks, "A law or the label may still forbid phosphorus.")
	return res, err
}

// MinimumLevel is the level of "p" or "k" by Mehlich-3 that isn't to be fallen below, ppm.
func MinimumLevel(nutrient string) agronomy.Quantity {
	for _, r := range Ranges("minimum", nutrient, "mehlich3") {
		return agronomy.Q(r.Low, "ppm")
	}
	return agronomy.Quantity{}
}
