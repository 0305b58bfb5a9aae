package soiltest

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
	return []agronomy.Formula{limeFormula(), classFormula(), sodiumFormula(), gypsumFormula()}
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

// isMole says whether a unit counts moles, not charges.
func isMole(unit string) bool {
	return strings.Contains(unit, "mol") && !strings.Contains(unit, "molc")
}

var limeMay = []string{"material_cce", "fineness", "max_per_application", "area", "bag"}

func limeFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "lime", Does: "Lime from a soil test, as material, in applications.", Source: tableSource + "; " + bufferSource,
		Inputs:  []agronomy.Input{inAcidity, inGoal, inPH, inBuffer, inTarget, inResidual, inNeed, inCCE, inFineness, inSurface, inArea, inBag},
		Outputs: outputs("lime lb CCE/1000 ft2; acidity meq/100 cm3; factor ratio; lime_per_1000|lime_per_1000_ft2 lb/1000 ft2; material|material_rate lb/1000 ft2; applications count; each_application lb/1000 ft2; material_total lb; bags count"),
		Ways: []way{
			{Needs: []string{"exchangeable_acidity", "ph_goal"}, May: append([]string{"soil_ph"}, limeMay...), Run: func(v values) (results, error) {
				l, err := FromTable(v.Q("exchangeable_acidity"), v.Q("ph_goal"), v.Q("soil_ph"))
				if err != nil {
					return nil, err
				}
				out, err := spread(v, l.Quantity())
				if err == nil {
					out["lime"] = l
				}
				return out, err
			}},
			{Needs: []string{"buffer_ph", "soil_ph", "target_ph"}, May: append([]string{"residual_credit"}, limeMay...), Run: func(v values) (results, error) {
				b, err := FromBuffer(v.Q("buffer_ph"), v.Q("soil_ph"), v.Q("target_ph"), v.Q("residual_credit"))
				if err != nil {
					return nil, err
				}
				per, err := b.Lime.As("lb/1000 ft2")
				if err != nil {
					return nil, err
				}
				out, err := spread(v, per.Quantity())
				if err == nil {
					out["acidity"], out["factor"], out["lime"], out["lime_per_1000"] = b.Acidity, b.Factor, b.Lime, per
				}
				return out, err
			}},
			{Needs: []string{"lime_cce", "material_cce"}, May: []string{"fineness", "max_per_application", "area", "bag"}, Run: func(v values) (results, error) {
				return spread(v, v.Q("lime_cce"))
			}},
		},
	}
}

// spread is a requirement as material, applications and bags, as far as they can be told.
func spread(v values, need quantity) (out results, err error) {
	out = results{}
	if !v.Has("material_cce") {
		return out, nil
	}
	if out["material"], err = Material(need, v.Q("material_cce"), v.Q("fineness")); err != nil {
		return nil, err
	}
	material := out["material"].Quantity()
	if v.Has("max_per_application") {
		if out["applications"], err = Applications(material, v.Q("max_per_application")); err != nil {
			return nil, err
		}
		if out["applications"].Number >= 1 {
			if out["each_application"], err = Each(material, out["applications"].Quantity()); err != nil {
				return nil, err
			}
		}
	}
	if !v.Has("area") {
		return out, nil
	}
	if out["material_total"], err = Total(material, v.Q("area")); err != nil || !v.Has("bag") {
		return out, err
	}
	out["bags"], err = Bags(out["material_total"].Quantity(), v.Q("bag"))
	return out, err
}

func sodiumFormula() agronomy.Formula {
	exchange := func(sar quantity) (results, error) {
		esr, esp, sodic, err := Exchangeable(sar)
		return results{"esr": esr, "esp": esp, "sodic": sodic}, err
	}
	f := agronomy.Formula{
		Name: "sodium_ratio", Does: "Sodium adsorption ratio, and the exchangeable sodium that goes with it.", Source: sodiumSource,
		Inputs:  []agronomy.Input{inIon("na", "sodium"), inIon("ca", "calcium"), inIon("mg", "magnesium"), inSAR},
		Outputs: outputs("na_meq meq/L; ca_meq meq/L; mg_meq meq/L; sar ratio; esr ratio; esp %; sodic boolean"),
	}
	f.Ways = append(f.Ways, way{Needs: []string{"na", "ca", "mg"}, Run: func(v values) (out results, err error) {
		out = results{}
		for ion := range ions {
			if out[ion+"_meq"], err = Milliequivalents(ion, v.Q(ion)); err != nil {
				return nil, err
			}
		}
		out["sar"], err = SAR(out["na_meq"].Quantity(), out["ca_meq"].Quantity(), out["mg_meq"].Quantity())
		return out, err
	}}, way{Needs: []string{"na", "ca", "mg"}, Run: func(v values) (results, error) {
		var meq [3]agronomy.Result
		for i, ion := range []string{"na", "ca", "mg"} {
			r, err := Milliequivalents(ion, v.Q(ion))
			if err != nil {
				return nil, err
			}
			meq[i] = r
		}
		sar, err := SAR(meq[0].Quantity(), meq[1].Quantity(), meq[2].Quantity())
		if err != nil || sar.Number > inSAR.Range.Max {
			return nil, err
		}
		return exchange(sar.Quantity())
	}}, way{Needs: []string{"sar"}, Run: func(v values) (results, error) { return exchange(v.Q("sar")) }})
	return f
}

func gypsumFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "gypsum", Does: "Gypsum that lowers exchangeable sodium.", Source: gypsumSource,
		Inputs:  []agronomy.Input{inF, inSoilD, inSoilBD, inCEC, inESP0, inESP1, inPurity, inArea},
		Outputs: outputs("gypsum Mg/ha; gypsum_tons ton/acre; gypsum_per_1000 lb/1000 ft2; gypsum_total lb"),
		Ways: []way{{Needs: []string{"depth", "bulk_density", "cec", "esp_initial", "esp_target"}, May: []string{"F", "purity", "area"}, Run: func(v values) (results, error) {
			g, err := Gypsum(v.Q("F", agronomy.Q(1.1, "ratio")), v.Q("depth"), v.Q("bulk_density"), v.Q("cec"), v.Q("esp_initial"), v.Q("esp_target"), v.Q("purity", agronomy.Q(100, "%")))
			if err != nil {
				return nil, err
			}
			out := results{"gypsum": g}
			if out["gypsum_tons"], err = GypsumIn(g.Quantity(), "ton/acre"); err != nil {
				return nil, err
			}
			if out["gypsum_per_1000"], err = GypsumIn(g.Quantity(), "lb/1000 ft2"); err != nil || !v.Has("area") {
				return out, err
			}
			out["gypsum_total"], err = GypsumTotal(g.Quantity(), v.Q("area"))
			return out, err
		}}},
	}
}
