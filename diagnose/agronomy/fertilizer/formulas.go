package fertilizer

import (
	"strings"

	"swardbook/diagnose/agronomy"
)

type (
	values  = agronomy.Values
	results = agronomy.Results
	way     = agronomy.Way
	output  = agronomy.Output
)

// Formulas are this subject's entries of the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{
		amountFormula(), nutrientsFormula(), oxideFormula(), costFormula(), appliedFormula(), unitsFormula(),
		slowFormula(), spreaderFormula(), seasonFormula(), coverageFormula(), blendFormula(), liquidFormula(),
	}
}

// nitrogen is the nitrogen of a product, given as percent or within a grade.
func nitrogen(v values) (agronomy.Quantity, error) {
	if v.Has("grade_n") {
		return v.Q("grade_n"), nil
	}
	g, err := gradeFrom(v["grade"])
	if err == nil {
		err = g.needN()
	}
	return agronomy.Q(g.N, "%"), err
}

// withN are ways that need the nitrogen of a product besides, once for a percent and once for a grade.
func withN(needs []string, may []string, run func(values, agronomy.Quantity) (results, error)) []way {
	var out []way
	for _, as := range []string{"grade_n", "grade"} {
		out = append(out, way{Needs: append([]string{as}, needs...), May: may, Run: func(v values) (results, error) {
			n, err := nitrogen(v)
			if err != nil {
				return nil, err
			}
			return run(v, n)
		}})
	}
	return out
}

// outputs reads "name|further name unit", parted by semicolons.
func outputs(list string) []output {
	var out []output
	for _, item := range strings.Split(list, ";") {
		name, unit, _ := strings.Cut(strings.TrimSpace(item), " ")
		names := strings.Split(name, "|")
		out = append(out, output{Name: names[0], Also: names[1:], Unit: unit})
	}
	return out
}

func amountFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "fertilizer_amount", Does: "Product, bags and cost for a rate of a nutrient.", Source: amountSource,
		Inputs:  []agronomy.Input{inTargetN, inGradeN, inGrade, inTargetP, inGradeP, inTargetK, inGradeK, inArea, inBag, inPrice},
		Outputs: outputs("product_rate|rate|product_per_1000 lb/1000 ft2; product_per_acre|rate_per_acre lb/acre; product_total lb; total lb; bags|bag_count count; cost USD; n_rate lb/1000 ft2; p2o5_rate lb/1000 ft2; k2o_rate lb/1000 ft2"),
	}
	for _, n := range nutrients {
		f.Ways = append(f.Ways, way{Needs: []string{n.target.Name, n.in.Name}, May: []string{"area", "bag", "price"}, Run: func(v values) (results, error) {
			return feed(v, n, v.Q(n.in.Name))
		}}, way{Needs: []string{n.target.Name, "grade"}, May: []string{"area", "bag", "price"}, Run: func(v values) (results, error) {
			g, err := gradeFrom(v["grade"])
			if err != nil {
				return nil, err
			}
			if g.Percent(n.name) == 0 {
				return nil, agronomy.Refuse("grade", g.String(), "a grade with "+n.symbol)
			}
			return feed(v, n, agronomy.Q(g.Percent(n.name), "%"))
		}})
	}
	return f
}

func feed(v values, n nutrient, grade agronomy.Quantity) (results, error) {
	rate, err := productRate(n, v.Q(n.target.Name), grade)
	if err != nil {
		return nil, err
	}
	need, err := needOf(rate, v.Q("area"), v.Q("bag"))
	if err != nil {
		return nil, err
	}
	out := need.results()
	if v.Has("grade") {
		if err := bring(v, rate, out); err != nil {
			return nil, err
		}
	}
	if v.Has("price", "bag", "area") {
		out["cost"], err = Cost(need.Total.Quantity(), v.Q("bag"), v.Q("price"))
	}
	return out, err
}

// bring adds what a rate of a graded product brings of each nutrient that it holds.
func bring(v values, rate agronomy.Result, out results) error {
	g, err := gradeFrom(v["grade"])
	if err != nil {
		return err
	}
	for _, n := range nutrients {
		if g.Percent(n.name) == 0 {
			continue
		}
		if out[n.name+"_rate"], err = rateOf(n, rate.Quantity(), agronomy.Q(g.Percent(n.name), "%")); err != nil {
			return err
		}
	}
	return nil
}

func nutrientsFormula() agronomy.Formula {
	run := func(v values, g Grade) (results, error) {
		out, err := Nutrients(productWeight(v), g)
		if err != nil || !v.Has("area") {
			return out, err
		}
		for _, name := range []string{"n", "p2o5", "k2o", "p", "k"} {
			if out[name+"_rate"], err = RateFromTotalOf(out[name], v.Q("area")); err != nil {
				return nil, err
			}
		}
		return out, nil
	}
	byGrade := func(v values) (results, error) {
		g, err := gradeFrom(v["grade"])
		if err != nil {
			return nil, err
		}
		return run(v, g)
	}
	byPercents := func(v values) (results, error) {
		g, err := gradeOfPercents(v)
		if err != nil {
			return nil, err
		}
		return run(v, g)
	}
	f := agronomy.Formula{
		Name: "nutrients_in_product", Does: "What a bag or a weight of product holds.", Source: nutrientSource,
		Inputs:  []agronomy.Input{inBag, inWeight, inGrade, inGradeN, inGradeP, inGradeK, inArea},
		Outputs: outputs("n lb; p2o5 lb; k2o lb; p lb; k lb; n_rate lb/1000 ft2; p2o5_rate lb/1000 ft2; k2o_rate lb/1000 ft2; p_rate lb/1000 ft2; k_rate lb/1000 ft2"),
	}
	for _, weight := range []string{"product", "bag"} {
		f.Ways = append(f.Ways, way{Needs: []string{weight, "grade"}, May: []string{"area"}, Run: byGrade})
		for _, first := range []string{"grade_n", "grade_p2o5", "grade_k2o"} {
			f.Ways = append(f.Ways, way{Needs: []string{weight, first}, May: []string{"area", "grade_n", "grade_p2o5", "grade_k2o"}, Run: byPercents})
		}
	}
	return f
}

// productWeight is the weight given as a weight, or else as a bag.
func productWeight(v values) agronomy.Quantity { return v.Q("product", v.Q("bag")) }

// gradeOfPercents is a grade given by its single percents; those left out are 0.
func gradeOfPercents(v values) (Grade, error) {
	s := agronomy.NewSheet("", "")
	percent := [3]float64{}
	for i, n := range nutrients {
		if v.Has(n.in.Name) {
			percent[i] = s.Take(n.in, v.Q(n.in.Name))
		}
	}
	g := Grade{percent[0], percent[1], percent[2]}
	if s.Err() != nil {
		return g, s.Err()
	}
	return g, g.check()
}

func oxideFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "oxide_element", Does: "Phosphate and potash as phosphorus and potassium, and back.", Source: oxideSource,
		Inputs:  []agronomy.Input{inNutrient("p2o5"), inNutrient("k2o"), inNutrient("p"), inNutrient("k"), inWeights},
		Outputs: outputs("p %; k %; p2o5 %; k2o %; p2o5_to_p ratio; p_to_p2o5 ratio; k2o_to_k ratio; k_to_k2o ratio"),
	}
	for _, from := range []string{"p2o5", "k2o", "p", "k"} {
		f.Ways = append(f.Ways, way{Needs: []string{from}, Run: func(v values) (results, error) {
			to, r, err := OxideElement(from, v.Q(from))
			return results{to: r}, err
		}})
	}
	f.Ways = append(f.Ways, way{Needs: []string{"atomic_weights"}, Run: func(v values) (results, error) { return OxideRatios(v["atomic_weights"].Numbers) }})
	return f
}

func costFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "fertilizer_cost", Does: "What nitrogen costs, by weight and by area.", Source: costSource,
		Inputs:  []agronomy.Input{inPrice, inBag, inGradeN, inGrade, inRateN, inArea},
		Outputs: outputs("n_per_bag lb; cost_per_lb_n|cost_per_kg_n USD/lb; cost_per_acre_at_1lb USD/acre; cost_per_acre|cost_per_ha USD/acre; cost_per_1000|cost_per_1000_ft2|cost_per_1000ft2 USD/1000 ft2; cost|total_cost USD"),
	}
	f.Ways = append(f.Ways, withN([]string{"bag"}, nil, func(v values, n agronomy.Quantity) (results, error) {
		r, err := NPerBag(v.Q("bag"), n)
		return results{"n_per_bag": r}, err
	})...)
	f.Ways = append(f.Ways, withN([]string{"price"}, []string{"bag", "rate_n", "area"}, costs)...)
	return f
}

func costs(v values, n agronomy.Quantity) (results, error) {
	per, err := CostOfN(v.Q("price"), v.Q("bag"), n)
	if err != nil {
		return nil, err
	}
	out := results{"cost_per_lb_n": per}
	if out["cost_per_acre_at_1lb"], err = CostPerArea(per.Quantity(), agronomy.Q(1, "lb/1000 ft2")); err != nil || !v.Has("rate_n") {
		return out, err
	}
	if out["cost_per_acre"], err = CostPerArea(per.Quantity(), v.Q("rate_n")); err != nil {
		return out, err
	}
	if out["cost_per_1000"], err = CostPer1000(per.Quantity(), v.Q("rate_n")); err != nil || !v.Has("area") {
		return out, err
	}
	out["cost"], err = CostForArea(per.Quantity(), v.Q("rate_n"), v.Q("area"))
	return out, err
}

func unitsFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "rate_units", Does: "A weight on an area in other units.", Source: unitSource,
		Inputs: []agronomy.Input{inRate},
		Ways:   []way{{Needs: []string{"rate"}, Run: func(v values) (results, error) { return RateUnits(v.Q("rate")) }}},
	}
	for name, unit := range rateUnits {
		f.Outputs = append(f.Outputs, output{Name: name, Also: unitNames[name], Unit: unit})
	}
	return f
}

func appliedFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "nitrogen_applied", Does: "Nutrients that a rate, or a weight on an area, of product brings.", Source: appliedSource,
		Inputs:  []agronomy.Input{inProduct, inWeight, inArea, inGradeN, inGrade, inGradeP, inGradeK},
		Outputs: outputs("n_rate|n_applied|nitrogen_rate lb/1000 ft2; p2o5_rate lb/1000 ft2; k2o_rate lb/1000 ft2; product_rate lb/1000 ft2; n_total lb"),
	}
	for _, n := range nutrients {
		for _, by := range []string{n.in.Name, "grade"} {
			f.Ways = append(f.Ways, way{Needs: []string{"product_rate", by}, May: []string{"area"}, Run: func(v values) (results, error) {
				return applied(v, n, v.Q("product_rate"))
			}}, way{Needs: []string{"product", "area", by}, Run: func(v values) (results, error) {
				rate, err := RateFromTotal(v.Q("product"), v.Q("area"))
				if err != nil {
					return nil, err
				}
				out, err := applied(v, n, rate.Quantity())
				if err == nil {
					out["product_rate"] = rate
				}
				return out, err
			}})
		}
	}
	return f
}

// applied is one nutrient of a rate of product; of a grade without it, nothing.
func applied(v values, n nutrient, rate agronomy.Quantity) (results, error) {
	percent := v.Q(n.in.Name)
	if !v.Has(n.in.Name) {
		g, err := gradeFrom(v["grade"])
		if err != nil || g.Percent(n.name) == 0 {
			return nil, err
		}
		percent = agronomy.Q(g.Percent(n.name), "%")
	}
	r, err := rateOf(n, rate, percent)
	if err != nil {
		return nil, err
	}
	out := results{n.name + "_rate": r}
	if n.name == "n" && v.Has("area") {
		out["n_total"], err = NTotal(r.Quantity(), v.Q("area"))
	}
	return out, err
}
