package soiltest

import (
	"math"

	"swardbook/diagnose/agronomy"
)

const (
	minimumSource = "Woods, Stowell and Gelernter, minimum-level guideline: required = expected use + minimum − test; weight of soil = depth × bulk density"
	sliceSource   = "2,000,000 lb of soil on an acre, 6.7 in deep: 1 ppm = 2 lb/acre there only (Virginia Tech SPES-201, unit factors)"
	oxideSource   = "atomic weights of P, K and O (Virginia Tech SPES-201)"
	sodiumSource  = "SAR = Na ÷ √((Ca + Mg) ÷ 2), meq/L of the saturated paste; ESP by USDA Handbook 60 (1954, memory)"
	gypsumSource  = "Oster and others (1999) as given by North Dakota State University"
)

// toOxide are P2O5 over P and K2O over K.
var toOxide = map[string]float64{"p": (2*30.973762 + 5*15.999) / (2 * 30.973762), "k": (2*39.0983 + 15.999) / (2 * 39.0983)}

var (
	inDepth    = agronomy.Input{Name: "sampling_depth", Also: []string{"depth"}, Unit: "in", Range: agronomy.AboveTo(0, 40), Says: "depth the sample stands for"}
	inDensity  = agronomy.Input{Name: "bulk_density", Unit: "g/cm3", Range: agronomy.Within(0.05, 2.65), Says: "bulk density of the soil"}
	inUse      = agronomy.Input{Name: "expected_use", Also: []string{"use"}, Unit: "ppm", Range: agronomy.AtLeast(0), Says: "what the grass takes until the next test, in ppm of this soil"}
	inMinimum  = agronomy.Input{Name: "minimum", Also: []string{"minimum_level"}, Unit: "ppm", Range: agronomy.AtLeast(0), Says: "level not to fall below"}
	inTestMass = agronomy.Input{Name: "deficit", Unit: "ppm", Range: agronomy.Between(0, 1e5), Says: "what is lacking"}
)

func inTest(nutrient string) agronomy.Input {
	if nutrient == "" {
		return inAnyTest
	}
	in := agronomy.Input{Name: nutrient + "_test", Unit: "ppm", Range: agronomy.Between(0, 1e6), Says: "elemental " + nutrient + " of the test"}
	return in
}

// Required is what to add of a nutrient ("p", "k", "" for one not named), in ppm of the soil: expected use plus minimum less the test, never less than nothing.
func Required(nutrient string, use, minimum, test agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("required = expected use + minimum − test, not below 0", minimumSource)
	u, m, t := s.Take(inUse, use), s.Take(inMinimum, minimum), s.Take(inTest(nutrient), test)
	if u+m-t < 0 {
		s.Remark("The soil holds enough.")
	}
	return s.Number(math.Max(0, u+m-t), "ppm"), s.Err()
}

// OnGround is what a deficit in ppm weighs on the ground for a depth and a bulk density, as the element.
func OnGround(deficit, depth, density agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("weight = ppm × 10⁻⁶ × bulk density × depth × area", minimumSource)
	d, z, r := s.Take(inTestMass, deficit), s.Take(inDepth, depth), s.Take(inDensity, density)
	kgPerM2 := s.Step("soil", r*1000*z*0.0254, "kg/m2", "bulk density × depth") * d * 1e-6
	if agronomy.Metric(depth.Unit) {
		return s.In(kgPerM2, "kg/m2", "kg/ha"), s.Err()
	}
	return s.In(kgPerM2, "kg/m2", "lb/1000 ft2"), s.Err()
}

// AsOxide is a weight of the element "p" or "k" as P2O5 or K2O, in its unit without the substance.
func AsOxide(nutrient string, element agronomy.Result) (agronomy.Result, error) {
	factor, ok := toOxide[nutrient]
	if !ok {
		return agronomy.Result{}, agronomy.Refuse("nutrient", nutrient, "p or k")
	}
	s := agronomy.NewSheet(map[string]string{"p": "P2O5 = 2.2914 × P", "k": "K2O = 1.2046 × K"}[nutrient], oxideSource)
	s.Note(nutrient, element.Value.String())
	return s.Number(element.Number*factor, agronomy.Bare(element.Unit)), s.Err()
}

// FurrowSlice is a test in ppm as pounds on an acre of the slice 6.7 in deep.
func FurrowSlice(nutrient string, test agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("lb/acre = 2 × ppm, for a slice of 6.7 in", sliceSource)
	t := s.Take(inTest(nutrient), test)
	s.Remark("Turf cores are often 3 or 4 in deep: then this doesn't hold.")
	return s.Number(2*t, "lb/acre"), s.Err()
}

// Equivalent weights, mg/meq, as soil laboratories use them.
const (
	weightNa = 22.99
	weightCa = 20.04
	weightMg = 12.15
)

func inIon(name, says string) agronomy.Input {
	return agronomy.Input{Name: name, Unit: "meq/L", Or: []string{"mg/L", "ppm"}, Range: agronomy.AtLeast(0), Says: says}
}

var ions = map[string]struct {
	weight, charge float64
	says           string
}{"na": {weightNa, 1, "sodium"}, "ca": {weightCa, 2, "calcium"}, "mg": {weightMg, 2, "magnesium"}}

// Milliequivalents is a concentration of "na", "ca" or "mg" in meq/L; it may be given in mg/L, ppm (of water), mmol/L.
func Milliequivalents(ion string, given agronomy.Quantity) (agronomy.Result, error) {
	known, ok := ions[ion]
	if !ok {
		return agronomy.Result{}, agronomy.Refuse("ion", ion, "na, ca or mg")
	}
	in := inIon(ion, known.says)
	s := agronomy.NewSheet("meq/L = mg/L ÷ "+agronomy.Figure(known.weight), sodiumSource)
	v := s.Take(in, given)
	switch {
	case in.WorkUnit(given.Unit) != "meq/L":
		v /= known.weight
	case isMole(given.Unit):
		v = s.Step("charge", v*known.charge, "meq/L", "mmol/L × charge")
	}
	return s.Number(v, "meq/L"), s.Err()
}

var inSAR = agronomy.Input{Name: "sar", Unit: "ratio", Range: agronomy.Between(0, 1000), Says: "sodium adsorption ratio"}

// SAR is the sodium adsorption ratio.
func SAR(na, ca, mg agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("SAR = Na ÷ √((Ca + Mg) ÷ 2)", sodiumSource)
	n, c, m := s.Take(inIon("na", "sodium"), na), s.Take(inIon("ca", "calcium"), ca), s.Take(inIon("mg", "magnesium"), mg)
	if s.Err() == nil && c+m <= 0 {
		s.Refuse(agronomy.Refuse("ca", ca.String(), "above 0 meq/L, or mg; without either there is no ratio"))
	}
	return s.Number(n/math.Sqrt((c+m)/2), "ratio"), s.Err()
}

// Exchangeable is the exchangeable sodium ratio and percentage that go with a SAR; sodic from ESP 15 or SAR 13.
func Exchangeable(sar agronomy.Quantity) (esr, esp, sodic agronomy.Result, err error) {
	s := agronomy.NewSheet("ESR = −0.0126 + 0.01475 × SAR; ESP = 100 × ESR ÷ (1 + ESR)", sodiumSource)
	r := s.Take(inSAR, sar)
	x := -0.0126 + 0.01475*r
	if x < 0 {
		s.Remark("Below a SAR of 0.85 the relation falls under zero; it is taken as 0.")
		x = 0
	}
	p := 100 * x / (1 + x)
	return s.Number(x, "ratio"), s.Number(p, "%"), s.Give(agronomy.OfFlag(p >= 15 || r >= 13)), s.Err()
}

var (
	inF       = agronomy.Input{Name: "F", Also: []string{"f", "calcium_factor", "efficiency_factor"}, Unit: "ratio", Range: agronomy.Between(1, 1.5), Says: "calcium factor, 1.1 to 1.3 as a rule"}
	inSoilD   = agronomy.Input{Name: "depth", Also: []string{"soil_depth"}, Unit: "m", Range: agronomy.AboveTo(0, 2), Says: "depth to be treated"}
	inSoilBD  = agronomy.Input{Name: "bulk_density", Unit: "Mg/m3", Range: agronomy.Within(0.05, 2.65), Says: "bulk density of the soil"}
	inCEC     = agronomy.Input{Name: "cec", Unit: "cmol/kg", Range: agronomy.AboveTo(0, 200), Says: "cation exchange capacity"}
	inESP0    = agronomy.Input{Name: "esp_initial", Also: []string{"esp"}, Unit: "%", Range: agronomy.Between(0, 100), Says: "exchangeable sodium now"}
	inESP1    = agronomy.Input{Name: "esp_target", Also: []string{"esp_final"}, Unit: "%", Range: agronomy.Between(0, 100), Says: "exchangeable sodium aimed at"}
	inPurity  = agronomy.Input{Name: "purity", Unit: "%", Range: agronomy.AboveTo(1, 100), Says: "purity of the gypsum (100 when not given)"}
	inGypsumR = agronomy.Input{Name: "gypsum", Unit: "Mg/ha", Range: agronomy.AtLeast(0), Says: "gypsum on an area"}
)

// Gypsum is the gypsum that lowers exchangeable sodium, in Mg/ha; purity enters as percent.
func Gypsum(factor, depth, density, cec, espNow, espTarget, purity agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gypsum (Mg/ha) = 8.6 × F × depth × bulk density × CEC × (ESP now − ESP target) ÷ purity %", gypsumSource)
	f, d, r, c := s.Take(inF, factor), s.Take(inSoilD, depth), s.Take(inSoilBD, density), s.Take(inCEC, cec)
	e0, e1, p := s.Take(inESP0, espNow), s.Take(inESP1, espTarget), s.Take(inPurity, purity)
	s.Remark("Gypsum does not raise pH, and works only with drainage and water to leach.")
	if e0 <= e1 {
		s.Remark("Sodium is at the target already: no gypsum.")
		e0 = e1
	}
	return s.Number(8.6*f*d*r*c*(e0-e1)/p, "Mg/ha"), s.Err()
}

// GypsumIn is gypsum in another unit of weight on an area.
func GypsumIn(gypsum agronomy.Quantity, unit string) (agronomy.Result, error) {
	s := agronomy.NewSheet("1 Mg/ha = 0.446 ton/acre = 20.48 lb/1000 ft²", "exact units")
	g := s.Take(inGypsumR, gypsum)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.In(g, "Mg/ha", unit), s.Err()
}

// GypsumTotal is gypsum for an area.
func GypsumTotal(gypsum, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("total = rate × area", gypsumSource)
	g, a := s.Take(inGypsumR, gypsum), s.Take(inArea, area)
	return s.In(agronomy.MustConvert(g, "Mg/ha", "lb/1000 ft2")*a/1000, "lb", agronomy.MassLike(area.Unit)), s.Err()
}
