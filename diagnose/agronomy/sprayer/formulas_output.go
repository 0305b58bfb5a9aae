package sprayer

import "swardbook/diagnose/agronomy"

// measured makes a way that knows the sprayed ground: the output follows, and everything that follows from an output.
func measured(ground func(values) (agronomy.Result, error), needs ...string) way {
	return way{Needs: append([]string{"caught"}, needs...), May: []string{"nozzles_caught", "time", "times", "product_rate", "area", "intended"}, Run: func(v values) (results, error) {
		g, err := ground(v)
		if err != nil {
			return nil, err
		}
		o, err := Output(v.Q("caught"), g.Quantity())
		if err != nil {
			return nil, err
		}
		read, err := Reading(v.Q("caught"), g.Quantity())
		if err != nil {
			return nil, err
		}
		return following(v, o, read)
	}}
}

// following is what an output leads to: the exact one, and the one that is read off the ounces where the ground is about
// 1/128 acre, which mixing goes by.
func following(v values, exact, read agronomy.Result) (results, error) {
	out, err := consequences(v, read.Quantity())
	if err != nil {
		return nil, err
	}
	out["output"] = exact
	if out["output_per_1000"], err = In1000(exact.Quantity()); err != nil {
		return nil, err
	}
	out["output_per_acre"], err = InAcre(exact.Quantity())
	return out, err
}

// consequences is what follows from an output, a product rate and an area.
func consequences(v values, output quantity) (out results, err error) {
	out = results{}
	if out["output_per_1000"], err = In1000(output); err != nil {
		return nil, err
	}
	if out["output_per_acre"], err = InAcre(output); err != nil {
		return nil, err
	}
	if out["area_per_gallon"], err = AreaPerGallon(output); err != nil {
		return nil, err
	}
	if out["area_per_litre"], err = AreaPerLitre(output); err != nil {
		return nil, err
	}
	if v.Has("intended") {
		if out["error"], err = OffIntended(output, v.Q("intended")); err != nil {
			return nil, err
		}
	}
	if v.Has("product_rate") {
		if out["product_per_gallon"], err = PerGallon(v.Q("product_rate"), output); err != nil {
			return nil, err
		}
	}
	if v.Has("area") {
		if out["spray"], err = SprayTotal(v.Q("area"), output); err != nil {
			return nil, err
		}
		out["spray_total"] = out["spray"]
	}
	return out, nil
}

func outputFormula() agronomy.Formula {
	plot := func(v values) (agronomy.Result, error) { return Plot(agronomy.Quantities(v.List("plot"))) }
	known := func(v values) (agronomy.Result, error) {
		s := agronomy.NewSheet("ground as measured", courseSource)
		s.Take(inTestArea, v.Q("test_area"))
		return s.Number(v.Q("test_area").Value, v.Q("test_area").Unit), s.Err()
	}
	run := func(width string) func(values) (agronomy.Result, error) {
		return func(v values) (agronomy.Result, error) { return RunArea(v.Q(width), v.Q("distance")) }
	}
	f := agronomy.Formula{
		Name: "sprayer_output", Does: "Spray on an area from a catch, from flow and speed, or after a change; and what follows for product and tank.", Source: courseSource + "; " + gunSource + "; " + flowSource,
		Inputs: []agronomy.Input{inCaught, inNozzles, inPlot, inTestArea, inWidth, inSpacing, inSwath, inDistance, inTime, inTimes, inSpeed, inFlow, inOutput, inIntended, inRate, inArea,
			inOutput1, inOutput2, inSpeed1, inSpeed2, inPress1, inPress2, inSpacing1, inSpacing2},
		Outputs: outputs("output|gal_per_acre|gpa gal/acre; output_per_1000|gal_per_1000 gal/1000 ft2; output_per_acre gal/acre; area_per_gallon ft2; area_per_litre m2; product_per_gallon fl oz/gal; product_per_1000 fl oz/1000 ft2; product_total gal; product lb; spray gal; spray_total gal; " +
			"error %; mean_time s; speed mi/h; course_length ft; nozzle_flow gal/min; output_2|flow_2 gal/acre; pressure_2 psi; speed_2 mi/h"),
		Ways: []way{
			measured(plot, "plot"), measured(known, "test_area"), measured(run("row_width"), "row_width", "distance"), measured(boom, "nozzle_spacing", "distance"), measured(run("swath"), "swath", "distance"),
			{Needs: []string{"caught", "swath"}, May: []string{"time", "times", "product_rate", "area", "intended"}, Run: func(v values) (results, error) {
				o, err := GunOutput(v.Q("caught"))
				if err != nil {
					return nil, err
				}
				return following(v, o, o)
			}},
			{Needs: []string{"caught", "time", "speed", "nozzle_spacing"}, May: []string{"nozzles_caught", "product_rate", "area", "intended"}, Run: byCatch("nozzle_spacing")},
			{Needs: []string{"caught", "time", "speed", "row_width"}, May: []string{"product_rate", "area", "intended"}, Run: byCatch("row_width")},
			{Needs: []string{"nozzle_flow", "speed", "nozzle_spacing"}, May: []string{"product_rate", "area", "intended"}, Run: byFlow("nozzle_spacing")},
			{Needs: []string{"nozzle_flow", "speed", "row_width"}, May: []string{"product_rate", "area", "intended"}, Run: byFlow("row_width")},
			{Needs: []string{"caught", "row_width"}, May: []string{"time", "times", "product_rate", "area", "intended"}, Run: byCourse},
			{Needs: []string{"caught", "nozzle_spacing"}, May: []string{"nozzles_caught", "time", "times", "product_rate", "area", "intended"}, Run: byCourse},
			{Needs: []string{"output"}, May: []string{"product_rate", "area", "intended"}, Run: func(v values) (results, error) { return consequences(v, v.Q("output")) }},
			{Needs: []string{"output", "speed", "nozzle_spacing"}, Run: agronomy.Gives("nozzle_flow", func(v values) (agronomy.Result, error) {
				return FlowFor(v.Q("output"), v.Q("speed"), v.Q("nozzle_spacing"))
			})},
			{Needs: []string{"output", "nozzle_flow", "nozzle_spacing"}, Run: agronomy.Gives("speed", func(v values) (agronomy.Result, error) {
				return SpeedFor(v.Q("output"), v.Q("nozzle_flow"), v.Q("nozzle_spacing"))
			})},
			{Needs: []string{"product_rate"}, Run: agronomy.Gives("product_per_1000", func(v values) (agronomy.Result, error) { return ProductPer1000(v.Q("product_rate")) })},
			{Needs: []string{"product_rate", "area"}, Run: func(v values) (results, error) {
				t, err := ProductTotal(v.Q("product_rate"), v.Q("area"))
				return results{"product_total": t, "product": t}, err
			}},
			{Needs: []string{"times"}, Run: agronomy.Gives("mean_time", func(v values) (agronomy.Result, error) { return MeanTime(v.List("times")) })},
			{Needs: []string{"swath"}, Run: agronomy.Gives("course_length", func(v values) (agronomy.Result, error) { return GunCourse(v.Q("swath")) })},
			{Needs: []string{"distance", "time"}, Run: agronomy.Gives("speed", func(v values) (agronomy.Result, error) { return Speed(v.Q("distance"), v.Q("time")) })},
			{Needs: []string{"output_1", "speed_1", "speed_2"}, May: []string{"pressure_1", "pressure_2", "spacing_1", "spacing_2"}, Run: changed},
			{Needs: []string{"output_1", "pressure_1", "pressure_2"}, May: []string{"spacing_1", "spacing_2"}, Run: changed},
			{Needs: []string{"output_1", "spacing_1", "spacing_2"}, Run: changed},
			{Needs: []string{"output_1", "output_2", "pressure_1"}, Run: agronomy.Gives("pressure_2", func(v values) (agronomy.Result, error) {
				return PressureFor(v.Q("output_1"), v.Q("output_2"), v.Q("pressure_1"))
			})},
			{Needs: []string{"output_1", "output_2", "speed_1"}, Run: agronomy.Gives("speed_2", func(v values) (agronomy.Result, error) {
				return SpeedAfter(v.Q("output_1"), v.Q("output_2"), v.Q("speed_1"))
			})},
		},
	}
	return f
}

// boom is the ground that the caught nozzles of a boom cover.
func boom(v values) (agronomy.Result, error) {
	w, err := WidthOf(v.Q("nozzle_spacing"), v.Q("nozzles_caught", agronomy.Q(1, "count")))
	if err != nil {
		return w, err
	}
	return RunArea(w.Quantity(), v.Q("distance"))
}

func byCatch(width string) func(values) (results, error) {
	return func(v values) (results, error) {
		nozzles := agronomy.Q(1, "count")
		if width == "nozzle_spacing" {
			nozzles = v.Q("nozzles_caught", nozzles)
		}
		flow, err := CaughtFlow(v.Q("caught"), v.Q("time"), nozzles)
		if err != nil {
			return nil, err
		}
		o, err := OutputByFlow(flow.Quantity(), v.Q("speed"), v.Q(width))
		if err != nil {
			return nil, err
		}
		out, err := following(v, o, o)
		if err == nil {
			out["nozzle_flow"] = flow
		}
		return out, err
	}
}

func byFlow(width string) func(values) (results, error) {
	return func(v values) (results, error) {
		o, err := OutputByFlow(v.Q("nozzle_flow"), v.Q("speed"), v.Q(width))
		if err != nil {
			return nil, err
		}
		return following(v, o, o)
	}
}

// byCourse reads a catch on the course of CourseLength: of one nozzle, when several of a boom were caught.
func byCourse(v values) (results, error) {
	caught := v.Q("caught")
	if v.Has("nozzles_caught") && v.Has("nozzle_spacing") {
		caught.Value /= v.Q("nozzles_caught").Value
	}
	o, err := CourseReading(caught)
	if err != nil {
		return nil, err
	}
	return following(v, o, o)
}

func changed(v values) (results, error) {
	c := Change{}
	if v.Has("speed_1", "speed_2") {
		c.Speed1, c.Speed2 = v.Q("speed_1"), v.Q("speed_2")
	}
	if v.Has("pressure_1", "pressure_2") {
		c.Pressure1, c.Pressure2 = v.Q("pressure_1"), v.Q("pressure_2")
	}
	if v.Has("spacing_1", "spacing_2") {
		c.Spacing1, c.Spacing2 = v.Q("spacing_1"), v.Q("spacing_2")
	}
	r, err := OutputAfter(v.Q("output_1"), c)
	return results{"output_2": r}, err
}
