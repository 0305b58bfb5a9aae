package seeding

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
	return []agronomy.Formula{plsFormula(), densityFormula(), blendFormula(), windowFormula()}
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

// withPLS are ways that need the pure live seed besides: as such, or as purity and germination.
func withPLS(needs, may []string, run func(values, quantity) (results, error)) []way {
	return []way{
		{Needs: append([]string{"purity", "germination"}, needs...), May: may, Run: func(v values) (results, error) {
			f, err := PLS(v.Q("purity"), v.Q("germination"))
			if err != nil {
				return nil, err
			}
			return run(v, f.Quantity())
		}},
		{Needs: append([]string{"pls_fraction"}, needs...), May: may, Run: func(v values) (results, error) { return run(v, v.Q("pls_fraction")) }},
	}
}

func plsFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "pure_live_seed", Does: "Pure live seed, bulk seed to buy, bags, and what lots really cost.", Source: plsSource + "; " + priceSource,
		Inputs:  []agronomy.Input{inPurity, inGermin, inPLS, inArea, inPLSRate, inBulkRate, inWanted, inBulk, inPrice, inBag, inSeedsLb},
		Outputs: outputs("pls_fraction fraction; pls %; bulk_seed|bulk|seed_needed lb; bulk_rate lb/1000 ft2; pls_rate lb/1000 ft2; pls_weight lb; pls_total lb; bags count; cost_per_lb_pls|cost_per_pls_lb|cost_per_kg_pls USD/lb; cost|total_cost USD; live_seeds_per_lb seeds/lb"),
		Ways: []way{{Needs: []string{"purity", "germination"}, Run: func(v values) (results, error) {
			f, err := PLS(v.Q("purity"), v.Q("germination"))
			if err != nil {
				return nil, err
			}
			percent, err := f.As("%")
			percent.Working.Result = percent.String()
			return results{"pls_fraction": f, "pls": percent}, err
		}}},
	}
	add := func(needs, may []string, run func(values, quantity) (results, error)) {
		f.Ways = append(f.Ways, withPLS(needs, may, run)...)
	}
	add([]string{"pls_wanted"}, []string{"bag", "price"}, func(v values, pls quantity) (results, error) {
		b, err := Bulk(v.Q("pls_wanted"), pls)
		return bought(v, b, err)
	})
	add([]string{"pls_rate"}, nil, func(v values, pls quantity) (results, error) {
		r, err := BulkRate(v.Q("pls_rate"), pls)
		return results{"bulk_rate": r}, err
	})
	add([]string{"pls_rate", "area"}, []string{"bag", "price"}, func(v values, pls quantity) (results, error) {
		b, err := BulkFor(v.Q("pls_rate"), v.Q("area"), pls)
		return bought(v, b, err)
	})
	add([]string{"bulk_rate"}, nil, func(v values, pls quantity) (results, error) {
		r, err := PLSRate(v.Q("bulk_rate"), pls)
		return results{"pls_rate": r}, err
	})
	add([]string{"bulk"}, nil, func(v values, pls quantity) (results, error) {
		r, err := PLSIn(v.Q("bulk"), pls)
		return results{"pls_weight": r, "pls_total": r}, err
	})
	add([]string{"price"}, []string{"bag"}, func(v values, pls quantity) (results, error) {
		r, err := CostPerPLS(v.Q("price"), v.Q("bag"), pls)
		return results{"cost_per_lb_pls": r}, err
	})
	add([]string{"seeds_per_lb"}, nil, func(v values, pls quantity) (results, error) {
		r, err := LiveSeeds(v.Q("seeds_per_lb"), pls)
		return results{"live_seeds_per_lb": r}, err
	})
	f.Ways = append(f.Ways, way{Needs: []string{"bulk_rate", "area"}, May: []string{"bag", "price"}, Run: func(v values) (results, error) {
		b, err := BulkFor(v.Q("bulk_rate"), v.Q("area"), agronomy.Q(1, "fraction"))
		return bought(v, b, err)
	}})
	return f
}

// bought is bulk seed with its bags and cost, as far as they are known.
func bought(v values, bulk agronomy.Result, err error) (results, error) {
	out := results{"bulk_seed": bulk}
	if err == nil && v.Has("bag") {
		out["bags"], err = Bags(bulk.Quantity(), v.Q("bag"))
	}
	if err == nil && v.Has("price") {
		out["cost"], err = Cost(bulk.Quantity(), v.Q("price"), v.Q("bag"))
	}
	return out, err
}

func densityFormula() agronomy.Formula {
	dense := func(v values, perLb quantity) (results, error) {
		d, err := Density(v.Q("rate"), perLb)
		if err != nil {
			return nil, err
		}
		out := results{"seeds_per_in2": d}
		for name, unit := range map[string]string{"seeds_per_ft2": "seeds/ft2", "seeds_per_m2": "seeds/m2", "seeds_per_cm2": "seeds/cm2"} {
			if out[name], err = d.As(unit); err != nil {
				return nil, err
			}
		}
		if !v.Has("purity", "germination") {
			return out, nil
		}
		pls, err := PLS(v.Q("purity"), v.Q("germination"))
		if err != nil {
			return nil, err
		}
		if out["live_seeds_per_in2"], err = LiveDensity(d, pls.Quantity()); err != nil {
			return nil, err
		}
		if v.Has("establishment") {
			out["plants_per_in2"], err = Plants(out["live_seeds_per_in2"], v.Q("establishment"))
		}
		return out, err
	}
	return agronomy.Formula{
		Name: "seed_density", Does: "Seeds on an area at a rate, and the rate for so many seeds.", Source: densitySource,
		Inputs:  []agronomy.Input{inRate, inSeedsLb, inSpecies, inPurity, inGermin, inEstablish, inPerIn2},
		Outputs: outputs("seeds_per_in2 seeds/in2; seeds_per_ft2 seeds/ft2; seeds_per_m2 seeds/m2; seeds_per_cm2 seeds/cm2; live_seeds_per_in2 seeds/in2; plants_per_in2 seeds/in2; rate lb/1000 ft2"),
		Ways: []way{
			{Needs: []string{"rate", "seeds_per_lb"}, May: []string{"purity", "germination", "establishment"}, Run: func(v values) (results, error) {
				return dense(v, v.Q("seeds_per_lb"))
			}},
			{Needs: []string{"rate", "species"}, May: []string{"purity", "germination", "establishment"}, Run: func(v values) (results, error) {
				list := Counts(v.Text("species"))
				if len(list) == 0 {
					return nil, agronomy.Refuse("species", v.Text("species"), "one whose seeds are counted in the table, or seeds_per_lb given")
				}
				return dense(v, agronomy.Q(list[0].Low, list[0].Unit))
			}},
			{Needs: []string{"target_seeds", "seeds_per_lb"}, Run: agronomy.Gives("rate", func(v values) (agronomy.Result, error) {
				return RateFor(v.Q("target_seeds"), v.Q("seeds_per_lb"))
			})},
		},
	}
}

func blendFormula() agronomy.Formula {
	f := agronomy.Formula{
		Name: "seed_blend", Does: "Shares of a mix by number of seeds, and the pure live seed of a blend of lots.", Source: countSource + "; " + blendSource,
		Inputs:  []agronomy.Input{inLots, inRate, inPLSWanted, inArea, inWeights, inCounts, inShares},
		Outputs: outputs("blend_pls|pls_fraction fraction; blend_pls_percent %; pls_rate lb/1000 ft2; bulk_rate lb/1000 ft2; bulk_seed lb; share_by_seed %; weight_shares %"),
		Ways: []way{
			{Needs: []string{"lots"}, May: []string{"rate", "wanted_pls_rate", "area"}, Run: lots},
			{Needs: []string{"weights", "counts"}, Run: agronomy.Gives("share_by_seed", func(v values) (agronomy.Result, error) { return Shares(v.List("weights"), v.List("counts")) })},
			{Needs: []string{"seed_shares", "counts"}, Run: agronomy.Gives("weight_shares", func(v values) (agronomy.Result, error) { return WeightsFor(v.List("seed_shares"), v.List("counts")) })},
		},
	}
	var all []string
	for _, n := range shortNames {
		all = append(all, n.Prefix+"_weight", n.Prefix+"_count")
	}
	for _, n := range shortNames {
		f.Inputs = append(f.Inputs, inWeightOf(n), inCountOf(n))
		f.Outputs = append(f.Outputs, agronomy.Output{Name: n.Prefix + "_share_by_seed", Unit: "%", Says: n.Species})
		f.Ways = append(f.Ways, way{Needs: []string{n.Prefix + "_weight", n.Prefix + "_count"}, May: all, Run: agronomy.Gives(n.Prefix+"_share_by_seed", func(v values) (agronomy.Result, error) {
			return ShareOf(v, n)
		})})
	}
	return f
}

var inPLSWanted = agronomy.Input{Name: "wanted_pls_rate", Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "pure live seed wanted on an area"}

func lots(v values) (results, error) {
	list, err := lotsFrom(v["lots"])
	if err != nil {
		return nil, err
	}
	pls, err := BlendPLS(list)
	if err != nil {
		return nil, err
	}
	percent, err := pls.As("%")
	out := results{"blend_pls": pls, "blend_pls_percent": percent}
	if err == nil && v.Has("rate") {
		out["pls_rate"], err = PLSRate(v.Q("rate"), pls.Quantity())
	}
	if err == nil && v.Has("rate", "area") {
		out["bulk_seed"], err = BulkFor(v.Q("rate"), v.Q("area"), agronomy.Q(1, "fraction"))
	}
	if err == nil && v.Has("wanted_pls_rate") {
		out["bulk_rate"], err = BulkRate(v.Q("wanted_pls_rate"), pls.Quantity())
	}
	if err == nil && v.Has("wanted_pls_rate", "area") {
		out["bulk_seed"], err = BulkFor(v.Q("wanted_pls_rate"), v.Q("area"), pls.Quantity())
	}
	return out, err
}

func windowFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "seeding_window", Does: "Whether the soil is warm enough, or too warm, for a species, its rates and its days to emerge.", Source: "Purdue University, optimum temperatures for seed germination, after Beard",
		Inputs:  []agronomy.Input{inSpecies, inSoil},
		Outputs: outputs("within_optimum text; low F; high F; days_to_emerge_low day; days_to_emerge_high day; rate_low lb/1000 ft2; rate_high lb/1000 ft2"),
		Ways: []way{
			{Needs: []string{"species", "soil_surface_temperature"}, Run: func(v values) (results, error) {
				r, err := InWindow(v.Text("species"), v.List("soil_surface_temperature"))
				if err == nil && v["soil_surface_temperature"].Kind == agronomy.Number {
					r.Value = agronomy.OfText(r.Texts[0], r.Unit)
				}
				return results{"within_optimum": r}, err
			}},
			{Needs: []string{"species"}, Run: facts},
		},
	}
}

// facts is what the tables know of a species.
func facts(v values) (results, error) {
	w, err := Window(v.Text("species"))
	if err != nil {
		return nil, err
	}
	out := results{}
	give := func(low, high, formula string, s Span) {
		sheet := agronomy.NewSheet(formula, s.Source)
		sheet.Note("species", v.Text("species"))
		out[low], out[high] = sheet.Number(s.Low, s.Unit), sheet.Number(s.High, s.Unit)
	}
	give("low", "high", "soil temperature at which it germinates best", w)
	for _, s := range Emergence(v.Text("species")) {
		give("days_to_emerge_low", "days_to_emerge_high", "days to emerge in warm moist soil", s)
	}
	for i, s := range Rates(v.Text("species"), "new") {
		if i == 0 {
			give("rate_low", "rate_high", "published rate for new turf", s)
		}
	}
	return out, nil
}
