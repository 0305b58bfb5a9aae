package fertilizer

import "swardbook/diagnose/agronomy"

func slowFormula() agronomy.Formula {
	judge := func(v values, slow agronomy.Quantity) (results, error) {
		c, err := CapOf(v.Text("place"))
		if err != nil {
			return nil, err
		}
		out := results{}
		soluble, err := SolubleN(v.Q("n_rate"), slow)
		if err != nil {
			return nil, err
		}
		out["soluble_n"], out["soluble_n_rate"] = soluble, soluble
		out["allowed"], err = Allowed(v.Q("n_rate"), slow, c)
		return out, err
	}
	fraction := func(v values) (agronomy.Result, error) { return SlowFraction(v.Q("slow_n"), v.Q("total_n")) }
	class := func(slow agronomy.Quantity) (results, error) {
		r, err := SlowClass(slow)
		return results{"class": r}, err
	}
	return agronomy.Formula{
		Name: "slow_release", Does: "Slow and soluble nitrogen, and whether a rate keeps the law's limits.", Source: slowSource,
		Inputs:  []agronomy.Input{inTotalN, inSlowN, inSlowShare, inNRate, inPlace},
		Outputs: outputs("slow_fraction fraction; class|release_class|slow_class text; soluble_n lb/1000 ft2; soluble_n_rate lb/1000 ft2; allowed boolean; product_rate lb/1000 ft2"),
		Ways: []way{
			{Needs: []string{"slow_release_fraction_of_n"}, Run: func(v values) (results, error) { return class(v.Q("slow_release_fraction_of_n")) }},
			{Needs: []string{"n_rate", "slow_release_fraction_of_n"}, May: []string{"place"}, Run: func(v values) (results, error) {
				return judge(v, v.Q("slow_release_fraction_of_n"))
			}},
			{Needs: []string{"total_n", "slow_n"}, Run: func(v values) (results, error) {
				f, err := fraction(v)
				if err != nil {
					return nil, err
				}
				out, err := class(f.Quantity())
				out["slow_fraction"] = f
				return out, err
			}},
			{Needs: []string{"total_n", "slow_n", "n_rate"}, May: []string{"place"}, Run: func(v values) (results, error) {
				f, err := fraction(v)
				if err != nil {
					return nil, err
				}
				return judge(v, f.Quantity())
			}},
			{Needs: []string{"total_n", "n_rate"}, Run: agronomy.Gives("product_rate", func(v values) (agronomy.Result, error) {
				return ProductRate(v.Q("n_rate"), v.Q("total_n"))
			})},
		},
	}
}

func spreaderFormula() agronomy.Formula {
	measured := func(v values, area agronomy.Quantity) (results, error) {
		rate, err := SpreaderRate(v.Q("collected"), area)
		if err != nil {
			return nil, err
		}
		out := results{"rate": rate}
		if v.Has("target") {
			if out["error"], err = RateError(rate.Quantity(), v.Q("target")); err != nil {
				return nil, err
			}
		}
		if v.Has("grade_n") && rate.Number > 0 {
			out["n_rate"], err = NitrogenRate(rate.Quantity(), v.Q("grade_n"))
		}
		return out, err
	}
	aimed := func(v values, area agronomy.Quantity) (results, error) {
		r, err := ToCollect(v.Q("target"), area)
		return results{"to_collect": r}, err
	}
	course := func(run func(values, agronomy.Quantity) (results, error)) func(values) (results, error) {
		return func(v values) (results, error) {
			a, err := TestArea(v.Q("width"), v.Q("length"))
			if err != nil {
				return nil, err
			}
			out, err := run(v, a.Quantity())
			if err == nil {
				out["test_area"] = a
			}
			return out, err
		}
	}
	plain := func(run func(values, agronomy.Quantity) (results, error)) func(values) (results, error) {
		return func(v values) (results, error) { return run(v, v.Q("test_area")) }
	}
	return agronomy.Formula{
		Name: "spreader_calibration", Does: "What a spreader puts down, how far that is off, and the rate of each pass.", Source: spreaderSource,
		Inputs:  []agronomy.Input{inCollected, inTestArea, inWidth, inLength, inAim, inRun, inPasses, inAimN, inGradeN},
		Outputs: outputs("rate|actual_rate lb/1000 ft2; error|error_percent|deviation %; test_area ft2; to_collect|collect lb; n_rate lb/1000 ft2; n_per_pass lb/1000 ft2; product_per_pass|rate_per_pass lb/1000 ft2; product_rate lb/1000 ft2"),
		Ways: []way{
			{Needs: []string{"collected", "test_area"}, May: []string{"target", "grade_n"}, Run: plain(measured)},
			{Needs: []string{"collected", "width", "length"}, May: []string{"target", "grade_n"}, Run: course(measured)},
			{Needs: []string{"rate", "target"}, Run: agronomy.Gives("error", func(v values) (agronomy.Result, error) { return RateError(v.Q("rate"), v.Q("target")) })},
			{Needs: []string{"target", "test_area"}, Run: plain(aimed)},
			{Needs: []string{"target", "width", "length"}, Run: course(aimed)},
			{Needs: []string{"passes", "target_n_total"}, Run: agronomy.Gives("n_per_pass", func(v values) (agronomy.Result, error) {
				return NPerPass(v.Q("target_n_total"), v.Q("passes"))
			})},
			{Needs: []string{"passes", "target"}, Run: agronomy.Gives("product_per_pass", func(v values) (agronomy.Result, error) {
				return ProductPerPass(v.Q("target"), v.Q("passes"))
			})},
			{Needs: []string{"target_n_total", "grade_n"}, Run: agronomy.Gives("product_rate", func(v values) (agronomy.Result, error) {
				return ProductRate(v.Q("target_n_total"), v.Q("grade_n"))
			})},
			{Needs: []string{"passes", "target_n_total", "grade_n"}, Run: func(v values) (results, error) {
				rate, err := ProductRate(v.Q("target_n_total"), v.Q("grade_n"))
				if err != nil {
					return nil, err
				}
				each, err := ProductPerPass(rate.Quantity(), v.Q("passes"))
				return results{"product_per_pass": each}, err
			}},
		},
	}
}

func seasonFormula() agronomy.Formula {
	total := func(v values) (agronomy.Result, error) { return SeasonTotal(v.List("applications"), v.List("credits")) }
	return agronomy.Formula{
		Name: "season_nitrogen", Does: "Nitrogen of a year on one zone against its cap.", Source: seasonSource,
		Inputs:  []agronomy.Input{inApplications, inCredits, inCap, inNext, inOnce},
		Outputs: outputs("season_total|total lb/1000 ft2; remaining lb/1000 ft2; over_cap|exceeded boolean; next_allowed boolean; per_application_ok boolean"),
		Ways: []way{
			{Needs: []string{"applications"}, May: []string{"credits"}, Run: agronomy.Gives("season_total", total)},
			{Needs: []string{"applications", "season_cap"}, May: []string{"credits", "next"}, Run: func(v values) (results, error) {
				t, err := total(v)
				if err != nil {
					return nil, err
				}
				out := results{}
				if out["remaining"], err = Remaining(t.Quantity(), v.Q("season_cap")); err != nil {
					return nil, err
				}
				if out["over_cap"], err = OverCap(t.Quantity(), v.Q("season_cap")); err != nil || !v.Has("next") {
					return out, err
				}
				out["next_allowed"], err = NextAllowed(t.Quantity(), v.Q("next"), v.Q("season_cap"))
				return out, err
			}},
			{Needs: []string{"applications", "per_application_cap"}, Run: agronomy.Gives("per_application_ok", func(v values) (agronomy.Result, error) {
				return EachWithin(v.List("applications"), v.Q("per_application_cap"))
			})},
		},
	}
}

func coverageFormula() agronomy.Formula {
	covers := func(v values, rate agronomy.Quantity) (results, error) {
		r, err := Coverage(v.Q("bag"), rate)
		if err != nil {
			return nil, err
		}
		out := results{"coverage": r}
		if !v.Has("area") {
			return out, nil
		}
		if out["product_total"], err = Total(rate, v.Q("area")); err != nil {
			return nil, err
		}
		if out["bags"], err = Bags(out["product_total"].Quantity(), v.Q("bag")); err != nil {
			return nil, err
		}
		out["left_over"], err = LeftOver(out["bags"].Quantity(), v.Q("bag"), out["product_total"].Quantity())
		return out, err
	}
	f := agronomy.Formula{
		Name: "bag_coverage", Does: "The ground that a bag covers, and how many to load.", Source: coverageSource,
		Inputs:  []agronomy.Input{inBag, inProduct, inGradeN, inGrade, inTargetN, inArea},
		Outputs: outputs("coverage|area_per_bag|covers ft2; bags|bag_count count; product_total lb; left_over lb; product_rate lb/1000 ft2"),
		Ways: []way{{Needs: []string{"bag", "product_rate"}, May: []string{"area"}, Run: func(v values) (results, error) {
			return covers(v, v.Q("product_rate"))
		}}},
	}
	f.Ways = append(f.Ways, withN([]string{"bag", "target_n"}, []string{"area"}, func(v values, n agronomy.Quantity) (results, error) {
		rate, err := ProductRate(v.Q("target_n"), n)
		if err != nil {
			return nil, err
		}
		out, err := covers(v, rate.Quantity())
		if err == nil {
			out["product_rate"] = rate
		}
		return out, err
	})...)
	return f
}

// place is which of the two a product is, in numbers.
var place = map[string]string{"a": "1", "b": "2"}

func inGradeOf(which string) agronomy.Input {
	in := inGrade
	in.Name, in.Also = "grade_"+which, []string{"product_" + which, "grade_" + place[which]}
	return in
}

func blendFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "two_product_blend", Does: "Two products that bring two nutrients together, or what a mix of both holds.", Source: blendSource,
		Inputs: []agronomy.Input{inGradeOf("a"), inGradeOf("b"), inTargetN, inTargetP, inTargetK, inAmount("a"), inAmount("b"), inWanted, inWeight, inArea},
		Outputs: outputs("rate_a|rate_1|product_a|product_1 lb/1000 ft2; rate_b|rate_2|product_b|product_2 lb/1000 ft2; total_a|total_1 lb; total_b|total_2 lb; n_rate lb/1000 ft2; p2o5_rate lb/1000 ft2; k2o_rate lb/1000 ft2; " +
			"blend_total lb; n lb; p2o5 lb; k2o lb; blend_n %; blend_p2o5 %; blend_k2o %; blend_grade text; share_a %; share_b %"),
	}
	for _, second := range []string{"k2o", "p2o5"} {
		f.Ways = append(f.Ways, way{Needs: []string{"grade_a", "grade_b", "target_n", "target_" + second}, May: []string{"area"}, Run: func(v values) (results, error) {
			return mixed(v, second)
		}})
	}
	f.Ways = append(f.Ways,
		way{Needs: []string{"grade_a", "grade_b", "amount_a", "amount_b"}, Run: func(v values) (results, error) {
			a, b, err := bothGrades(v)
			if err != nil {
				return nil, err
			}
			return Blend(a, b, v.Q("amount_a"), v.Q("amount_b"))
		}},
		way{Needs: []string{"grade_a", "grade_b", "wanted_n"}, May: []string{"product"}, Run: shared})
	return f
}

func bothGrades(v values) (a, b Grade, err error) {
	if a, err = gradeFrom(v["grade_a"]); err != nil {
		return a, b, err
	}
	b, err = gradeFrom(v["grade_b"])
	return a, b, err
}

func mixed(v values, second string) (results, error) {
	a, b, err := bothGrades(v)
	if err != nil {
		return nil, err
	}
	m, err := TwoProducts(a, b, v.Q("target_n"), second, v.Q("target_"+second))
	if err != nil {
		return nil, err
	}
	out := results{"rate_a": m.RateA, "rate_b": m.RateB, "n_rate": m.Brings[0], "p2o5_rate": m.Brings[1], "k2o_rate": m.Brings[2]}
	if !v.Has("area") {
		return out, nil
	}
	for _, which := range []string{"a", "b"} {
		if out["rate_"+which].Number <= 0 {
			continue // this product isn't needed
		}
		if out["total_"+which], err = Total(out["rate_"+which].Quantity(), v.Q("area")); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func shared(v values) (results, error) {
	a, b, err := bothGrades(v)
	if err != nil {
		return nil, err
	}
	sa, sb, err := SharesFor(a, b, v.Q("wanted_n"))
	if err != nil {
		return nil, err
	}
	out := results{"share_a": sa, "share_b": sb}
	if !v.Has("product") {
		return out, nil
	}
	for which, share := range map[string]agronomy.Result{"a": sa, "b": sb} {
		if out["total_"+which], err = Part(v.Q("product"), share.Quantity()); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func liquidFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "liquid_fertilizer", Does: "Nitrogen in a gallon, and liquid for a rate of nitrogen.", Source: liquidSource,
		Inputs: []agronomy.Input{inDensity, inPerGal, inGradeN, inGrade, inTargetN, inLiquid, inArea, inVolume, inGalPrice},
		Outputs: outputs("n_per_gal|n_per_gallon|n_lb_per_gal lb/gal; lb_n_per_gal lb/gal; product_rate|gal_per_1000 gal/1000 ft2; product_per_1000|fl_oz_per_1000 fl oz/1000 ft2; product_total gal; n_rate lb/1000 ft2; " +
			"product_weight lb; n lb; p2o5 lb; k2o lb; p lb; k lb; cost_per_lb_n USD/lb; cost USD"),
	}
	for _, what := range []string{"target_n", "liquid_rate", "price"} {
		f.Ways = append(f.Ways, way{Needs: []string{"n_per_gal", what}, May: []string{"target_n", "liquid_rate", "area", "price"}, Run: func(v values) (results, error) {
			return poured(v, v.Q("n_per_gal"))
		}})
	}
	f.Ways = append(f.Ways, withN([]string{"density"}, []string{"target_n", "liquid_rate", "area", "price"}, func(v values, n agronomy.Quantity) (results, error) {
		held, err := NPerVolume(v.Q("density"), n)
		if err != nil {
			return nil, err
		}
		out, err := poured(v, held.Quantity())
		if err == nil {
			out["n_per_gal"], out["lb_n_per_gal"] = held, held
		}
		return out, err
	})...)
	f.Ways = append(f.Ways, way{Needs: []string{"volume", "density", "grade"}, Run: func(v values) (results, error) {
		g, err := gradeFrom(v["grade"])
		if err != nil {
			return nil, err
		}
		w, err := LiquidWeight(v.Q("volume"), v.Q("density"))
		if err != nil {
			return nil, err
		}
		out, err := Nutrients(w.Quantity(), g)
		if err == nil {
			out["product_weight"] = w
		}
		return out, err
	}})
	return f
}

func poured(v values, perVolume agronomy.Quantity) (out results, err error) {
	out = results{}
	rate := v.Q("liquid_rate")
	if v.Has("target_n") {
		if out["product_rate"], err = LiquidRate(v.Q("target_n"), perVolume); err != nil {
			return nil, err
		}
		rate = out["product_rate"].Quantity()
	}
	if v.Has("price") {
		if out["cost_per_lb_n"], err = LiquidCostOfN(v.Q("price"), perVolume); err != nil {
			return nil, err
		}
	}
	if rate.Unit == "" {
		return out, nil
	}
	if out["product_per_1000"], err = LiquidRateSmall(rate); err != nil {
		return nil, err
	}
	if out["n_rate"], err = LiquidN(rate, perVolume); err != nil || !v.Has("area") {
		return out, err
	}
	if out["product_total"], err = LiquidTotal(rate, v.Q("area")); err != nil || !v.Has("price") {
		return out, err
	}
	out["cost"], err = LiquidCost(out["product_total"].Quantity(), v.Q("price"))
	return out, err
}
