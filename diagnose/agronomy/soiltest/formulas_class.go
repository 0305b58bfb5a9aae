package soiltest

import "swardbook/diagnose/agronomy"

var (
	inP          = inPPM("p", "phosphorus, without its extractant: then every range is shown")
	inK          = inPPM("k", "potassium by Mehlich-3")
	inExtractant = agronomy.Input{Name: "extractant", Also: []string{"method"}, Kind: agronomy.Text, OneOf: []string{"Mehlich-3", "Bray-P1", "Olsen"}, Says: "how the laboratory extracted it"}
	inSoil       = agronomy.Input{Name: "soil", Also: []string{"texture"}, Kind: agronomy.Text, OneOf: []string{"sand", "other"}, Says: "sand, or any other soil"}
	extractants  = map[string]string{"Mehlich-3": "mehlich3", "Bray-P1": "bray_p1", "Olsen": "olsen"}
)

// inAnyTest is a test whose nutrient isn't named, since the sum is the same for all.
var inAnyTest = agronomy.Input{Name: "soil_test", Also: []string{"test", "test_value"}, Unit: "ppm", Range: agronomy.Between(0, 1e6), Says: "what the test found, of whichever nutrient"}

func also(in agronomy.Input, names ...string) agronomy.Input {
	in.Also = append(in.Also, names...)
	return in
}

func classFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "soil_test_class", Does: "Classes of phosphorus and potassium by extractant, what a deficit weighs on the ground, and ppm as pounds.", Source: "soil-test sets by laboratory and state; each result names its own",
		Inputs: []agronomy.Input{
			also(inPPM("mehlich3_p", "phosphorus by Mehlich-3"), "p_mehlich3"), also(inPPM("bray_p1", "phosphorus by Bray-P1"), "bray_p1_p", "p_bray_p1", "bray_p"), also(inPPM("olsen_p", "phosphorus by Olsen"), "p_olsen", "olsen"),
			inP, also(inPPM("mehlich3_k", "potassium by Mehlich-3"), "k_mehlich3"), inK, inExtractant, inSoil, inDepth, inDensity, also(inUse), also(inMinimum),
			deficitOf("p"), deficitOf("k"), also(inTest("p"), "test_p"), also(inTest("k"), "test_k"), inAnyTest,
		},
		Outputs: outputs("class text; finer_class text; p_recommended text; mehlich3 text; bray_p1 text; olsen text; sand text; other_soil text; minimum_level text; required ppm; requirement ppm; deficit ppm; " +
			"p lb/1000 ft2; p2o5 lb/1000 ft2; k lb/1000 ft2; k2o lb/1000 ft2; lb_per_acre_6_7in lb/acre; as_p2o5 lb/acre; as_k2o lb/acre"),
	}
	f.Ways = append(f.Ways, phosphorus()...)
	f.Ways = append(f.Ways, potassium()...)
	for _, n := range []string{"p", "k"} {
		f.Ways = append(f.Ways, weights(n)...)
	}
	f.Ways = append(f.Ways, way{Needs: []string{"soil_test", "expected_use", "minimum"}, Run: func(v values) (results, error) {
		r, err := Required("", v.Q("expected_use"), v.Q("minimum"), v.Q("soil_test"))
		return results{"required": r, "requirement": r, "deficit": r}, err
	}})
	return f
}

func deficitOf(nutrient string) agronomy.Input {
	in := inTestMass
	in.Name, in.Also = "deficit_"+nutrient, []string{nutrient + "_deficit"}
	return in
}

// reading makes an output out of a function that reads every value of an input; a single value gives a single text.
func reading(input, output string, read func(agronomy.Quantities) (agronomy.Result, error)) way {
	return way{Needs: []string{input}, Run: func(v values) (results, error) {
		r, err := read(v.List(input))
		if err == nil && v[input].Kind == agronomy.Number {
			r.Value = agronomy.OfText(r.Texts[0], r.Unit)
		}
		return results{output: r}, err
	}}
}

func sufficient(input, output, nutrient, extractant, soil string) way {
	return reading(input, output, func(l agronomy.Quantities) (agronomy.Result, error) {
		return Sufficiency(nutrient, extractant, soil, input, l)
	})
}

func classed(input, output, set, nutrient, extractant string) way {
	return reading(input, output, func(l agronomy.Quantities) (agronomy.Result, error) {
		return Class(set, nutrient, extractant, input, l)
	})
}

func phosphorus() []way {
	ways := []way{
		classed("mehlich3_p", "class", "delaware", "p", "mehlich3"), classed("mehlich3_p", "finer_class", "finer", "p", "mehlich3"),
		reading("mehlich3_p", "p_recommended", func(l agronomy.Quantities) (agronomy.Result, error) { return Advised("mehlich3_p", l) }),
		sufficient("mehlich3_p", "mehlich3", "p", "mehlich3", "any"),
		reading("mehlich3_p", "minimum_level", func(l agronomy.Quantities) (agronomy.Result, error) { return Minimum("p", "mehlich3_p", l) }),
		sufficient("bray_p1", "bray_p1", "p", "bray_p1", "any"), classed("bray_p1", "class", "finer", "p", "bray_p1"), classed("bray_p1", "finer_class", "finer", "p", "bray_p1"),
		sufficient("olsen_p", "olsen", "p", "olsen", "any"), classed("olsen_p", "class", "finer", "p", "olsen"), classed("olsen_p", "finer_class", "finer", "p", "olsen"),
	}
	for name, key := range map[string]string{"mehlich3": "Mehlich-3", "bray_p1": "Bray-P1", "olsen": "Olsen"} {
		one := sufficient("p", name, "p", name, "any")
		ways = append(ways, way{Needs: one.Needs, May: []string{"extractant"}, Run: func(v values) (results, error) {
			if v.Has("extractant") && v.Text("extractant") != key {
				return nil, nil
			}
			return one.Run(v)
		}})
	}
	return append(ways, way{Needs: []string{"p", "extractant"}, Run: func(v values) (results, error) {
		set := map[bool]string{true: "delaware", false: "finer"}[v.Text("extractant") == "Mehlich-3"]
		return classed("p", "class", set, "p", extractants[v.Text("extractant")]).Run(v)
	}})
}

func potassium() []way {
	var ways []way
	for _, input := range []string{"mehlich3_k", "k"} {
		ways = append(ways, classed(input, "class", "delaware", "k", "mehlich3"), classed(input, "finer_class", "finer", "k", "mehlich3"),
			reading(input, "minimum_level", func(l agronomy.Quantities) (agronomy.Result, error) { return Minimum("k", input, l) }))
		for output, soil := range map[string]string{"sand": "sand", "other_soil": "other"} {
			one := sufficient(input, output, "k", "mehlich3", soil)
			ways = append(ways, way{Needs: one.Needs, May: []string{"soil"}, Run: func(v values) (results, error) {
				if v.Has("soil") && v.Text("soil") != soil {
					return nil, nil
				}
				return one.Run(v)
			}})
		}
	}
	return ways
}

// weights are the ways from ppm of an element to weights on the ground.
func weights(n string) []way {
	onGround := func(v values, deficit quantity) (results, error) {
		m, err := OnGround(deficit, v.Q("sampling_depth"), v.Q("bulk_density"))
		if err != nil {
			return nil, err
		}
		oxide, err := AsOxide(n, m)
		return results{n: m, map[string]string{"p": "p2o5", "k": "k2o"}[n]: oxide}, err
	}
	ways := []way{
		{Needs: []string{"deficit_" + n, "sampling_depth", "bulk_density"}, Run: func(v values) (results, error) { return onGround(v, v.Q("deficit_"+n)) }},
	}
	for _, test := range []string{n + "_test", "mehlich3_" + n} {
		required := func(v values) (agronomy.Result, error) {
			given := v.List(test)
			if len(given.Values) != 1 {
				return agronomy.Result{}, agronomy.Refuse(test, list2(given), "one value, to say what is required")
			}
			return Required(n, v.Q("expected_use"), v.Q("minimum", MinimumLevel(n)), agronomy.Q(given.Values[0], given.Unit))
		}
		ways = append(ways, way{Needs: []string{test, "expected_use"}, May: []string{"minimum"}, Run: func(v values) (results, error) {
			r, err := required(v)
			return results{"required": r, "requirement": r, "deficit": r}, err
		}}, way{Needs: []string{test, "expected_use", "sampling_depth", "bulk_density"}, May: []string{"minimum"}, Run: func(v values) (results, error) {
			r, err := required(v)
			if err != nil {
				return nil, err
			}
			return onGround(v, r.Quantity())
		}})
	}
	return append(ways, way{
		Needs: []string{n + "_test"}, Run: func(v values) (results, error) {
			lb, err := FurrowSlice(n, v.Q(n+"_test"))
			if err != nil {
				return nil, err
			}
			oxide, err := AsOxide(n, lb)
			return results{"lb_per_acre_6_7in": lb, map[string]string{"p": "as_p2o5", "k": "as_k2o"}[n]: oxide}, err
		}})
}
