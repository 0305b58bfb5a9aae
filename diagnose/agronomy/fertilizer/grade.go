// Package fertilizer holds the arithmetic of feeding: product for a rate of nitrogen, nutrients in a product, oxide and
// element, slow release and the law's limits, cost, spreaders, liquids, blends of two products and a season's total.
package fertilizer

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"swardbook/diagnose/agronomy"
)

// Grade is the three numbers on a bag, percent of its weight: nitrogen, P2O5 and K2O.
type Grade struct{ N, P2O5, K2O float64 }

// greatestN is the nitrogen of the richest fertilizer there is, percent.
const greatestN = 82

const gradeWords = "three numbers like 25-0-10 (N, P2O5, K2O), each 0 or more, N at most 82, together below 100"

var inGrade = agronomy.Input{Name: "grade", Also: []string{"analysis", "fertilizer_grade"}, Kind: agronomy.Data, Unit: "text", Says: "grade of the product, " + gradeWords}

// ParseGrade reads "46-0-0"; a fourth and further numbers (sulphur, iron) are taken and left aside.
func ParseGrade(text string) (Grade, error) {
	var numbers []float64
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("-–:, /%", r) }) {
		v, err := strconv.ParseFloat(part, 64)
		if err != nil {
			return Grade{}, agronomy.Refuse("grade", fmt.Sprintf("%.40q", text), gradeWords)
		}
		numbers = append(numbers, v)
	}
	return gradeOf(numbers, fmt.Sprintf("%.40q", text))
}

// gradeOf holds numbers to what a grade can be. The three may reach 100 only where nothing but nutrients is in the bag,
// which no product is.
func gradeOf(n []float64, given string) (Grade, error) {
	if len(n) < 3 || len(n) > 6 {
		return Grade{}, agronomy.Refuse("grade", given, gradeWords)
	}
	for _, v := range n {
		if !(v >= 0 && v < 100) {
			return Grade{}, agronomy.Refuse("grade", given, gradeWords)
		}
	}
	g := Grade{n[0], n[1], n[2]}
	if g.N > greatestN || g.N+g.P2O5+g.K2O >= 100 || g.N+g.P2O5+g.K2O == 0 {
		return Grade{}, agronomy.Refuse("grade", given, gradeWords)
	}
	return g, nil
}

// gradeFrom reads a grade given as text or as a list of numbers.
func gradeFrom(v agronomy.Value) (Grade, error) {
	switch v.Kind {
	case agronomy.Text:
		return ParseGrade(v.Text)
	case agronomy.Numbers:
		return gradeOf(v.Numbers, v.String())
	}
	return Grade{}, agronomy.Refuse("grade", fmt.Sprintf("%.40q", v.String()), gradeWords)
}

// String writes a grade as on the bag.
func (g Grade) String() string {
	return agronomy.Figure(g.N) + "-" + agronomy.Figure(g.P2O5) + "-" + agronomy.Figure(g.K2O)
}

// check refuses a grade made by hand that no bag can bear.
func (g Grade) check() error {
	_, err := gradeOf([]float64{g.N, g.P2O5, g.K2O}, g.String())
	return err
}

// needN refuses a grade without nitrogen where nitrogen is asked for.
func (g Grade) needN() error {
	if err := g.check(); err != nil {
		return err
	}
	if g.N == 0 {
		return agronomy.Refuse("grade", g.String(), "a grade with nitrogen (its first number above 0)")
	}
	return nil
}

// Percent of a grade by nutrient: "n", "p2o5", "k2o".
func (g Grade) Percent(nutrient string) float64 {
	switch nutrient {
	case "n":
		return g.N
	case "p2o5":
		return g.P2O5
	case "k2o":
		return g.K2O
	}
	return math.NaN()
}

// Atomic weights, IUPAC 2021, abridged.
const (
	weightP = 30.973762
	weightK = 39.0983
	weightO = 15.999
)

// PInP2O5 and KInK2O are the element's share of its oxide by weight: 0.4364 and 0.8301.
const (
	PInP2O5 = 2 * weightP / (2*weightP + 5*weightO)
	KInK2O  = 2 * weightK / (2*weightK + weightO)
)

const oxideSource = "atomic weights of P, K and O; Penn State, How much phosphorus and potassium are really in your fertilizer (2022); Virginia Tech SPES-201 (2020)"

// oxides says which element an oxide's name stands for and back.
var oxides = map[string]struct {
	to, formula string
	factor      float64
}{
	"p2o5": {"p", "P = 0.4364 × P2O5", PInP2O5},
	"k2o":  {"k", "K = 0.8301 × K2O", KInK2O},
	"p":    {"p2o5", "P2O5 = 2.2914 × P", 1 / PInP2O5},
	"k":    {"k2o", "K2O = 1.2046 × K", 1 / KInK2O},
}

func inNutrient(name string) agronomy.Input {
	return agronomy.Input{Name: name, Unit: "%", Or: []string{"lb", "lb/1000 ft2", "lb/ft3"}, Range: agronomy.AtLeast(0), Says: strings.ToUpper(name) + " as percent, weight, or weight on an area"}
}

// OxideElement turns "p2o5" into "p", "k2o" into "k", and back, and names what it gives. The result is in the unit given,
// without the substance.
func OxideElement(from string, given agronomy.Quantity) (string, agronomy.Result, error) {
	o, ok := oxides[from]
	if !ok {
		return "", agronomy.Result{}, agronomy.Refuse("nutrient", fmt.Sprintf("%.20q", from), "one of: p2o5, k2o, p, k")
	}
	s := agronomy.NewSheet(o.formula, oxideSource)
	in := inNutrient(from)
	v := s.Take(in, given)
	if in.WorkUnit(given.Unit) == "%" && v > 100 {
		s.Refuse(agronomy.Refuse(from, given.String(), "from 0 to 100 %"))
	}
	return o.to, s.Number(given.Value*o.factor, agronomy.Bare(given.Unit)), s.Err()
}

var inWeights = agronomy.Input{Name: "atomic_weights", Kind: agronomy.Data, Unit: "P, K, O", Says: "atomic weights of P, K and O, in this order"}

// OxideRatios are the four factors between oxide and element that follow from the atomic weights of P, K and O.
func OxideRatios(weights []float64) (agronomy.Results, error) {
	if len(weights) != 3 {
		return nil, agronomy.Refuse("atomic_weights", fmt.Sprint(len(weights), " numbers"), "three numbers: P, K, O")
	}
	for _, w := range weights {
		if !(w > 0 && w < 1000) {
			return nil, agronomy.Refuse("atomic_weights", agronomy.Figure(w), "above 0 and below 1000")
		}
	}
	p, k, o := weights[0], weights[1], weights[2]
	s := agronomy.NewSheet("P in P2O5 = 2 P ÷ (2 P + 5 O); K in K2O = 2 K ÷ (2 K + O)", "Virginia Tech SPES-201, unit conversions for nutrient management (2020); the formula is stoichiometry")
	s.Note("atomic_weights", agronomy.Figure(p)+", "+agronomy.Figure(k)+", "+agronomy.Figure(o))
	inP, inK := 2*p/(2*p+5*o), 2*k/(2*k+o)
	return agronomy.Results{
		"p2o5_to_p": s.Number(inP, "ratio"), "p_to_p2o5": s.Number(1/inP, "ratio"),
		"k2o_to_k": s.Number(inK, "ratio"), "k_to_k2o": s.Number(1/inK, "ratio"),
	}, s.Err()
}
