package sprayer

import (
	"strings"

	"swardbook/diagnose/agronomy"
)

const appliedSource = "Penn State Extension, Determining how much nitrogen or active ingredient you are applying (2025)"

var (
	inAIMax   = agronomy.Input{Name: "label_max", Also: []string{"label_max_ai"}, Unit: "lb/acre", Or: []string{"lb/acre/yr"}, Range: agronomy.Above(0), Says: "the label's greatest rate of active ingredient"}
	inGranule = agronomy.Input{Name: "product_rate", Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "granules on an area"}
	inBrought = agronomy.Input{Name: "ai_rate", Unit: "lb/acre", Range: agronomy.AtLeast(0), Says: "active ingredient on an area"}
)

// NutrientRate is the nitrogen that granules bring.
func NutrientRate(rate, gradeN agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("N rate = product rate × N % ÷ 100", appliedSource)
	r, n := s.Take(inGranule, rate), s.Take(inGradeN, gradeN)
	return s.In(r*n/100, "lb/1000 ft2", agronomy.MassOn(rate.Unit)), s.Err()
}

// GranuleWithin says whether a rate of active ingredient keeps the label's greatest.
func GranuleWithin(aiRate, most agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("active ingredient ≤ label maximum", labelSource)
	r, m := s.Take(inBrought, aiRate), s.Take(inAIMax, most)
	return s.Give(agronomy.OfFlag(agronomy.NoMore(r, m))), s.Err()
}

// LargestGranuleRate is the greatest rate of granules that keeps the label's maximum, rounded down to four digits.
func LargestGranuleRate(most, percent agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product = label maximum ÷ (% ÷ 100), rounded down", labelSource)
	m, p := s.Take(inAIMax, most), s.Take(inDry, percent)
	unit := agronomy.MassOn(strings.TrimSuffix(most.Unit, "/yr"))
	r, err := s.In(m/(p/100), "lb/acre", unit), s.Err()
	if err != nil {
		return r, err
	}
	return s.Number(RoundSafe(r.Number, unit), unit), s.Err()
}

// bothAreas is a rate of granules on the small area (1000 ft2, or m2) and on the large (acre, or hectare).
func bothAreas(rate agronomy.Quantity) (small, large agronomy.Result, err error) {
	s := agronomy.NewSheet("lb/acre = lb/1000 ft² × 43.56", unitSource)
	r := s.Take(inGranule, rate)
	if agronomy.Metric(rate.Unit) {
		return s.In(r, "lb/1000 ft2", "g/m2"), s.In(r, "lb/1000 ft2", "kg/ha"), s.Err()
	}
	return s.Number(r, "lb/1000 ft2"), s.In(r, "lb/1000 ft2", "lb/acre"), s.Err()
}
