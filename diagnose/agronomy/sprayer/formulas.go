package sprayer

import (
	"strings"

	"swardbook/diagnose/agronomy"
)

type (
	values   = agronomy.Values
	results  = agronomy.Results
	way      = agronomy.Way
	quantity = agronomy.Quantity
)

// Formulas are this subject's entries of the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{
		courseFormula(), outputFormula(), activeFormula(), granuleFormula(), tankFormula(), speedFormula(), labelFormula(), unitsFormula(), nozzleFormula(),
	}
}

// outputs reads "name|further name unit", parted by semicolons.
func outputs(list string) []agronomy.Output {
	var out []agronomy.Output
	for _, item := range strings.Split(list, ";") {
		name, unit, _ := strings.Cut(strings.TrimSpace(item), " ")
		names := strings.Split(name, "|")
		out = append(out, agronomy.Output{Name: names[0], Also: names[1:], Unit: unit})
	}
	return out
}

func courseFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "calibration_course", Does: "How far to go so that the ounces caught read as gallons on an acre.", Source: courseSource,
		Inputs:  []agronomy.Input{inSpacing, inWidth, inSwath, inSpeed, inPlot},
		Outputs: outputs("calibration_distance|distance ft; course_length ft; time s; area|plot_area ft2; error|error_percent %"),
	}
	for _, width := range []string{"nozzle_spacing", "row_width", "swath"} {
		f.Ways = append(f.Ways, way{Needs: []string{width}, May: []string{"speed"}, Run: func(v values) (results, error) {
			d, err := CourseLength(v.Q(width))
			if err != nil {
				return nil, err
			}
			out := results{"calibration_distance": d}
			if v.Has("speed") {
				out["time"], err = TimeFor(d.Quantity(), v.Q("speed"))
			}
			return out, err
		}})
	}
	f.Ways = append(f.Ways, way{Needs: []string{"plot"}, Run: func(v values) (results, error) {
		a, err := Plot(v.List("plot"))
		if err != nil {
			return nil, err
		}
		off, err := OffShare(a.Quantity())
		return results{"area": a, "error": off}, err
	}})
	f.Ways = append(f.Ways, way{Needs: []string{"swath"}, Run: agronomy.Gives("course_length", func(v values) (agronomy.Result, error) { return GunCourse(v.Q("swath")) })})
	return f
}

func speedFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "walking_speed", Does: "Speed from timed runs, or the time for a course at a speed.", Source: speedSource,
		Inputs:  []agronomy.Input{inDistance, inTime, inTimes, inSpeed},
		Outputs: outputs("speed|ground_speed|walking_speed mi/h; mean_time s; time s"),
		Ways: []way{
			{Needs: []string{"distance", "times"}, Run: func(v values) (results, error) {
				t, err := MeanTime(v.List("times"))
				if err != nil {
					return nil, err
				}
				sp, err := Speed(v.Q("distance"), t.Quantity())
				return results{"mean_time": t, "speed": sp}, err
			}},
			{Needs: []string{"distance", "time"}, Run: agronomy.Gives("speed", func(v values) (agronomy.Result, error) { return Speed(v.Q("distance"), v.Q("time")) })},
			{Needs: []string{"distance", "speed"}, Run: agronomy.Gives("time", func(v values) (agronomy.Result, error) { return TimeFor(v.Q("distance"), v.Q("speed")) })},
		},
	}
}

func activeFormula() agronomy.Formula {
	more := func(v values, product agronomy.Result) (results, error) {
		out := results{"product": product, "product_rate": product}
		var err error
		if out["product_per_1000"], err = ProductPer1000(product.Quantity()); err != nil || !v.Has("area") {
			return out, err
		}
		out["product_total"], err = ProductTotal(product.Quantity(), v.Q("area"))
		return out, err
	}
	return agronomy.Formula{
		Name: "product_from_active", Does: "Product for a rate of active ingredient or acid equivalent, and back.", Source: activeSource,
		Inputs:  []agronomy.Input{inAIRate, inFormulation, inStrength, inRate, inArea},
		Outputs: outputs("product lb/acre; product_rate lb/acre; product_per_1000 fl oz/1000 ft2; product_total lb; ai_rate lb/acre; ai_total lb"),
		Ways: []way{
			{Needs: []string{"ai_rate", "formulation"}, May: []string{"area"}, Run: func(v values) (results, error) {
				p, err := productFrom(v.Q("ai_rate"), v.Q("formulation"))
				if err != nil {
					return nil, err
				}
				return more(v, p)
			}},
			{Needs: []string{"ai_rate", "concentration"}, May: []string{"area"}, Run: func(v values) (results, error) {
				p, err := ProductFromLiquid(v.Q("ai_rate"), v.Q("concentration"))
				if err != nil {
					return nil, err
				}
				return more(v, p)
			}},
			{Needs: []string{"product_rate", "formulation"}, May: []string{"area"}, Run: back("formulation")},
			{Needs: []string{"product_rate", "concentration"}, May: []string{"area"}, Run: back("concentration")},
		},
	}
}

// inFormulation is how strong a product is: a dry one by its share, a liquid by what a gallon holds.
var inFormulation = func() agronomy.Input {
	in := inDry
	in.Or = []string{inStrength.Unit}
	in.Says = "active ingredient in a dry product, or in a gallon of a liquid"
	return in
}()

func productFrom(rate, formulation quantity) (agronomy.Result, error) {
	if agronomy.SameKind(formulation.Unit, inStrength.Unit) {
		return ProductFromLiquid(rate, formulation)
	}
	return ProductFromDry(rate, formulation)
}

// back goes from product to active ingredient.
func back(strength string) func(values) (results, error) {
	return func(v values) (results, error) {
		ai, err := ActiveRate(v.Q("product_rate"), v.Q(strength))
		if err != nil {
			return nil, err
		}
		out := results{"ai_rate": ai}
		if v.Has("area") {
			out["ai_total"], err = ProductTotal(ai.Quantity(), v.Q("area"))
		}
		return out, err
	}
}

var inGradeN = agronomy.Input{Name: "grade_n", Unit: "%", Range: agronomy.AboveTo(0, 82), Says: "nitrogen in the granule, when it is a fertilizer too"}

func granuleFormula() agronomy.Formula {
	inPercent := inDry
	inPercent.Also = append([]string{"ai_percent", "concentration", "percent_ai", "ai"}, "active_ingredient")
	inGranule := agronomy.Input{Name: "product_rate", Also: []string{"product", "granule_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "granules on an area"}
	inActive := inAIRate
	inActive.Also = []string{"target_ai", "rate"}
	return agronomy.Formula{
		Name: "active_ingredient_granule", Does: "Active ingredient that granules bring, granules for a rate of it, and the nitrogen that comes with them.", Source: appliedSource,
		Inputs:  []agronomy.Input{inGranule, inPercent, inActive, inArea, inGradeN, inAIMax},
		Outputs: outputs("ai_rate|ai_per_acre lb/acre; ai_per_1000 lb/1000 ft2; product_rate lb/acre; product_per_1000 lb/1000 ft2; product_per_acre lb/acre; product_total lb; ai_total lb; n_rate lb/1000 ft2; within_label boolean; largest_product_rate lb/1000 ft2"),
		Ways: []way{
			{Needs: []string{"product_rate", "formulation"}, May: []string{"area", "grade_n", "label_max"}, Run: func(v values) (results, error) {
				return granules(v, v.Q("product_rate"))
			}},
			{Needs: []string{"ai_rate", "formulation"}, May: []string{"area", "grade_n", "label_max"}, Run: func(v values) (results, error) {
				p, err := ProductFromDry(v.Q("ai_rate"), v.Q("formulation"))
				if err != nil {
					return nil, err
				}
				out, err := granules(v, p.Quantity())
				if err == nil {
					out["product_rate"] = p
				}
				return out, err
			}},
			{Needs: []string{"label_max", "formulation"}, Run: agronomy.Gives("largest_product_rate", func(v values) (agronomy.Result, error) {
				return LargestGranuleRate(v.Q("label_max"), v.Q("formulation"))
			})},
		},
	}
}

func granules(v values, rate quantity) (out results, err error) {
	out = results{}
	if out["ai_rate"], err = ActiveRate(rate, v.Q("formulation")); err != nil {
		return nil, err
	}
	if out["ai_per_1000"], err = out["ai_rate"].As(agronomy.MassOn(map[bool]string{true: "g/m2", false: "ft2"}[agronomy.Metric(rate.Unit)])); err != nil {
		return nil, err
	}
	if out["product_per_1000"], out["product_per_acre"], err = bothAreas(rate); err != nil {
		return nil, err
	}
	if v.Has("grade_n") {
		if out["n_rate"], err = NutrientRate(rate, v.Q("grade_n")); err != nil {
			return nil, err
		}
	}
	if v.Has("label_max") {
		if out["within_label"], err = GranuleWithin(out["ai_rate"].Quantity(), v.Q("label_max")); err != nil {
			return nil, err
		}
	}
	if !v.Has("area") {
		return out, nil
	}
	if out["product_total"], err = ProductTotal(rate, v.Q("area")); err != nil {
		return nil, err
	}
	out["ai_total"], err = ProductTotal(out["ai_rate"].Quantity(), v.Q("area"))
	return out, err
}

func labelFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "label_maximum", Does: "Where a zone stands against a label's maximum in its period, its interval and its number of applications.", Source: labelSource,
		Inputs:  []agronomy.Input{inRates, inLabelMax, inEither2, inNextRate, inSince, inInterval, inMostTimes},
		Outputs: outputs("applied|applied_ai|total_applied lb/acre; remaining lb/acre; exceeded boolean; over_maximum boolean; next_same_rate_allowed boolean; next_allowed boolean; largest_next_rate fl oz/1000 ft2; interval_ok boolean; count_ok boolean; applications_ok boolean"),
		Ways: []way{
			{Needs: []string{"product_rates", "label_max"}, May: []string{"concentration", "next_rate"}, Run: stand},
			{Needs: []string{"days_since_last", "minimum_interval"}, Run: agronomy.Gives("interval_ok", func(v values) (agronomy.Result, error) {
				return IntervalKept(v.Q("days_since_last"), v.Q("minimum_interval"))
			})},
			{Needs: []string{"product_rates", "max_applications"}, Run: func(v values) (results, error) {
				r, err := CountKept(len(v.List("product_rates").Values), v.Q("max_applications"))
				return results{"count_ok": r, "applications_ok": r}, err
			}},
		},
	}
}

func stand(v values) (results, error) {
	rates := v.List("product_rates")
	l := Label{Max: v.Q("label_max"), Strength: v.Q("concentration")}
	if len(rates.Values) == 0 {
		return nil, agronomy.Refuse("product_rates", "", "a list of rates")
	}
	last := agronomy.Q(rates.Values[len(rates.Values)-1], rates.Unit)
	out := results{}
	if last.Value > 0 {
		same, err := l.Against(rates, last)
		if err != nil {
			return nil, err
		}
		out["next_same_rate_allowed"] = same.Next
	}
	next := v.Q("next_rate", last)
	if next.Value <= 0 {
		next.Value = 1 // nothing was put down: only what the maximum leaves is asked for
	}
	st, err := l.Against(rates, next)
	if err != nil {
		return nil, err
	}
	out["applied"], out["remaining"], out["exceeded"], out["over_maximum"], out["largest_next_rate"] = st.Applied, st.Remaining, st.Exceeded, st.Exceeded, st.Largest
	if v.Has("next_rate") {
		out["next_allowed"] = st.Next
	}
	return out, nil
}

var inEither2 = func() agronomy.Input {
	in := inEither
	in.Also = []string{"formulation", "acid_equivalent", "ai_per_gal", "ai", "ai_percent"}
	return in
}()

func unitsFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "spray_units", Does: "A product or spray rate in other units.", Source: unitSource,
		Inputs: []agronomy.Input{inAnyRate},
		Outputs: outputs("per_1000 fl oz/1000 ft2; per_acre fl oz/acre; ml_per_100m2 mL/100 m2; l_per_ha L/ha; ml_per_m2 mL/m2; ml_per_1000 mL/1000 ft2; fl_oz_per_acre fl oz/acre; pt_per_acre pt/acre; qt_per_acre qt/acre; " +
			"gal_per_acre gal/acre; gal_per_1000 gal/1000 ft2; lb_per_1000 lb/1000 ft2; oz_per_acre oz/acre; lb_per_acre lb/acre; g_per_100m2 g/100 m2; kg_per_ha kg/ha; g_per_m2 g/m2"),
		Ways: []way{{Needs: []string{"rate"}, Run: func(v values) (results, error) { return Units(v.Q("rate")) }}},
	}
}

func nozzleFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "nozzle_check", Does: "Which nozzles are off the mean and to be replaced.", Source: "LSU AgCenter, Sprayer calibration",
		Inputs:  []agronomy.Input{inOutputs, inMostOff, inRated},
		Outputs: outputs("mean gal/min; deviations %; worst_deviation|max_deviation %; replace text; replace_count count"),
		Ways: []way{{Needs: []string{"outputs"}, May: []string{"limit", "rated"}, Run: func(v values) (results, error) {
			n, err := CheckNozzles(v.List("outputs"), v.Q("limit", agronomy.Q(10, "%")), v.Q("rated"))
			return results{"mean": n.Mean, "deviations": n.Deviations, "worst_deviation": n.Worst, "replace": n.Replace, "replace_count": n.Count}, err
		}}},
	}
}
