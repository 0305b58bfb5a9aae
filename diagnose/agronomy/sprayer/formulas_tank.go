package sprayer

import "swardbook/diagnose/agronomy"

func inVolumeOf(unit string) bool {
	return agronomy.SameKind(unit, "lb/gal") || agronomy.SameKind(unit, "fl oz/gal")
}

func tankFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "tank_mix", Does: "Tanks for an area, product for each tank, and dilutions.", Source: mixSource,
		Inputs: []agronomy.Input{inTank, inOutput, inArea, inMixRate, inLabelTop, inConcentrate, inFinished, inVolume},
		Outputs: outputs("area_per_tank|area_per_full_tank acre; product_per_tank lb; product_per_full_tank fl oz; spray_total gal; spray gal; full_tanks count; partial_tank gal; tank_fills|tanks count; product_in_partial fl oz; product_in_partial_tank fl oz; product_total fl oz; " +
			"product_per_gallon fl oz/gal; product_volume gal; water gal; parts_water ratio; within_label boolean"),
		Ways: []way{
			{Needs: []string{"tank", "output"}, Run: agronomy.Gives("area_per_tank", func(v values) (agronomy.Result, error) { return AreaPerTank(v.Q("tank"), v.Q("output")) })},
			{Needs: []string{"product_rate", "label_max_rate"}, Run: func(v values) (results, error) {
				if err := WithinLabel(v.Q("product_rate"), v.Q("label_max_rate")); err != nil {
					return nil, err
				}
				s := agronomy.NewSheet("product rate ≤ the label's greatest rate", labelSource)
				s.Take(inRate, v.Q("product_rate"))
				s.Take(inLabelTop, v.Q("label_max_rate"))
				return results{"within_label": s.Give(agronomy.OfFlag(true))}, s.Err()
			}},
			{Needs: []string{"tank", "product_rate"}, May: []string{"output", "label_max_rate"}, Run: guarded(perTank)},
			{Needs: []string{"area", "output"}, May: []string{"tank"}, Run: job},
			{Needs: []string{"area", "product_rate"}, May: []string{"output", "tank", "label_max_rate"}, Run: guarded(jobProduct)},
			{Needs: []string{"output", "product_rate"}, May: []string{"label_max_rate"}, Run: guarded(perGallon)},
			{Needs: []string{"concentrate", "strength"}, May: []string{"volume"}, Run: func(v values) (results, error) { return diluted(v, v.Q("volume")) }},
			{Needs: []string{"concentrate", "strength", "tank"}, Run: func(v values) (results, error) { return diluted(v, v.Q("tank")) }},
		},
	}
}

// guarded lets no amount out for a rate above the label's greatest.
func guarded(run func(values) (results, error)) func(values) (results, error) {
	return func(v values) (results, error) {
		if v.Has("label_max_rate") {
			if err := WithinLabel(v.Q("product_rate"), v.Q("label_max_rate")); err != nil {
				return nil, err
			}
		}
		return run(v)
	}
}

func perTank(v values) (results, error) {
	rate := v.Q("product_rate")
	if inVolumeOf(rate.Unit) {
		r, err := ProductInTank(rate, v.Q("tank"))
		return results{"product_per_tank": r, "product_per_full_tank": r}, err
	}
	if !v.Has("output") {
		return nil, agronomy.RefuseSay("output", "", "given", "tank_mix needs output (spray on an area), since the product rate is on an area.")
	}
	r, err := ProductPerTank(rate, v.Q("output"), v.Q("tank"))
	return results{"product_per_tank": r, "product_per_full_tank": r}, err
}

func job(v values) (results, error) {
	if !v.Has("tank") {
		t, err := SprayTotal(v.Q("area"), v.Q("output"))
		return results{"spray_total": t, "spray": t}, err
	}
	t, err := Fill(v.Q("area"), v.Q("output"), v.Q("tank"))
	return results{"spray_total": t.Total, "spray": t.Total, "full_tanks": t.Full, "partial_tank": t.Partial, "tank_fills": t.Fills}, err
}

func jobProduct(v values) (results, error) {
	rate := v.Q("product_rate")
	if !inVolumeOf(rate.Unit) {
		return jobOnArea(v, rate)
	}
	if !v.Has("output") {
		return nil, agronomy.RefuseSay("output", "", "given", "tank_mix needs output (spray on an area) to say how much spray the area takes.")
	}
	spray, err := SprayTotal(v.Q("area"), v.Q("output"))
	if err != nil {
		return nil, err
	}
	total, err := ProductInTank(rate, spray.Quantity())
	if err != nil || !v.Has("tank") {
		return results{"product_total": total}, err
	}
	t, err := Fill(v.Q("area"), v.Q("output"), v.Q("tank"))
	if err != nil || t.Partial.Number == 0 {
		return results{"product_total": total}, err
	}
	part, err := ProductInTank(rate, t.Partial.Quantity())
	return results{"product_total": total, "product_in_partial": part, "product_in_partial_tank": part}, err
}

func jobOnArea(v values, rate quantity) (results, error) {
	total, err := ProductTotal(rate, v.Q("area"))
	if err != nil || !v.Has("output", "tank") {
		return results{"product_total": total}, err
	}
	t, err := Fill(v.Q("area"), v.Q("output"), v.Q("tank"))
	if err != nil {
		return nil, err
	}
	part, err := ProductInPartial(rate, v.Q("output"), t.Partial.Quantity())
	return results{"product_total": total, "product_in_partial": part, "product_in_partial_tank": part}, err
}

func perGallon(v values) (results, error) {
	if inVolumeOf(v.Q("product_rate").Unit) {
		r, err := MixRate(v.Q("product_rate"))
		return results{"product_per_gallon": r}, err
	}
	r, err := PerGallon(v.Q("product_rate"), v.Q("output"))
	return results{"product_per_gallon": r}, err
}

func diluted(v values, volume quantity) (results, error) {
	product, water, parts, err := Dilute(v.Q("concentrate"), v.Q("strength"), volume)
	if err != nil || volume.Unit == "" {
		return results{"parts_water": parts}, err
	}
	return results{"product_volume": product, "water": water, "parts_water": parts}, nil
}
