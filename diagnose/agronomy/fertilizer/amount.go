package fertilizer

import (
	"swardbook/diagnose/agronomy"
)

const (
	amountSource   = "University of Nebraska-Lincoln, Lawn fertilizer calculations; Rutgers turfgrass mathematics worksheet"
	nutrientSource = "University of Minnesota, Understanding and using lawn fertilizers, tables 7.2-7.4"
	appliedSource  = "Penn State, Determining how much nitrogen or active ingredient you are applying (2025)"
	unitSource     = "exact units: 0.45359237 kg a pound, 0.3048 m a foot, 43,560 ft² an acre"
)

var (
	inTargetN = agronomy.Input{Name: "target_n", Also: []string{"n_rate", "rate_n", "target", "nitrogen_rate", "target_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "nitrogen wanted on an area"}
	inTargetP = agronomy.Input{Name: "target_p2o5", Also: []string{"p2o5_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "P2O5 wanted on an area"}
	inTargetK = agronomy.Input{Name: "target_k2o", Also: []string{"k2o_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "K2O wanted on an area"}
	inGradeN  = agronomy.Input{Name: "grade_n", Also: []string{"n_percent", "nitrogen", "analysis_n", "percent_n"}, Unit: "%", Range: agronomy.AboveTo(0, greatestN), Says: "nitrogen in the product"}
	inGradeP  = agronomy.Input{Name: "grade_p2o5", Also: []string{"p2o5_percent"}, Unit: "%", Range: agronomy.AboveTo(0, 99), Says: "P2O5 in the product"}
	inGradeK  = agronomy.Input{Name: "grade_k2o", Also: []string{"k2o_percent"}, Unit: "%", Range: agronomy.AboveTo(0, 99), Says: "K2O in the product"}
	inArea    = agronomy.Input{Name: "area", Also: []string{"lawn_area", "zone_area"}, Unit: "ft2", Range: agronomy.Above(0), Says: "ground to treat"}
	inBag     = agronomy.Input{Name: "bag", Also: []string{"bag_weight", "bag_size"}, Unit: "lb", Range: agronomy.Above(0), Says: "weight of a bag"}
	inProduct = agronomy.Input{Name: "product_rate", Also: []string{"fertilizer_rate", "rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "product on an area"}
	inWeight  = agronomy.Input{Name: "product", Also: []string{"product_total", "weight", "amount"}, Unit: "lb", Range: agronomy.Above(0), Says: "weight of product"}
)

// nutrient is one of the three on a bag: how it is asked for and how it is given.
type nutrient struct {
	name, symbol string
	target, in   agronomy.Input
}

var nutrients = []nutrient{
	{"n", "N", inTargetN, inGradeN},
	{"p2o5", "P2O5", inTargetP, inGradeP},
	{"k2o", "K2O", inTargetK, inGradeK},
}

// ProductRate is the product that brings a rate of nitrogen, per area as the rate is given. N percent is never rounded
// on the way.
func ProductRate(targetN, gradeN agronomy.Quantity) (agronomy.Result, error) {
	return productRate(nutrients[0], targetN, gradeN)
}

func productRate(n nutrient, target, grade agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product rate = "+n.symbol+" wanted ÷ ("+n.symbol+" % ÷ 100)", amountSource)
	rate, g := s.Take(n.target, target), s.Take(n.in, grade)
	return s.In(rate/(g/100), "lb/1000 ft2", agronomy.MassOn(target.Unit)), s.Err()
}

// PerAcre is a rate on an acre, or on a hectare for a metric one.
func PerAcre(rate agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("rate on an acre = rate on 1000 ft² × 43.56", unitSource)
	r := s.Take(inProduct, rate)
	if agronomy.Metric(rate.Unit) {
		return s.In(r, "lb/1000 ft2", "kg/ha"), s.Err()
	}
	return s.In(r, "lb/1000 ft2", "lb/acre"), s.Err()
}

// Total is the product for an area, in pounds, or in kilograms when the area is metric.
func Total(rate, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("total = rate × area", amountSource)
	r, a := s.Take(inProduct, rate), s.Take(inArea, area)
	return s.In(r*a/1000, "lb", agronomy.MassLike(area.Unit)), s.Err()
}

// Bags is how many bags to load: rounded up.
func Bags(total, bag agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("bags = total ÷ weight of a bag, rounded up", amountSource)
	t, b := s.Take(inWeight, total), s.Take(inBag, bag)
	s.Step("exactly", t/b, "count", "")
	return s.Number(agronomy.Up(t/b), "count"), s.Err()
}

// Need is what a feeding takes.
type Need struct {
	Rate    agronomy.Result // product on an area, as the target is given
	PerAcre agronomy.Result
	Total   agronomy.Result // product for the area
	Bags    agronomy.Result // whole bags; zero when no bag is given
}

// Amount is the whole of a feeding for one area: rate, total and bags. A bag of value 0 leaves the bags out.
func Amount(targetN, gradeN, area, bag agronomy.Quantity) (Need, error) {
	rate, err := ProductRate(targetN, gradeN)
	if err != nil {
		return Need{}, err
	}
	return needOf(rate, area, bag)
}

func needOf(rate agronomy.Result, area, bag agronomy.Quantity) (n Need, err error) {
	n.Rate = rate
	if n.PerAcre, err = PerAcre(rate.Quantity()); err != nil {
		return n, err
	}
	if area.Unit == "" {
		return n, nil
	}
	if n.Total, err = Total(rate.Quantity(), area); err != nil || bag.Unit == "" {
		return n, err
	}
	n.Bags, err = Bags(n.Total.Quantity(), bag)
	return n, err
}

func (n Need) results() agronomy.Results {
	out := agronomy.Results{"product_rate": n.Rate, "product_per_acre": n.PerAcre}
	if n.Total.Unit != "" {
		out["total"], out["product_total"] = n.Total, n.Total
	}
	if n.Bags.Unit != "" {
		out["bags"] = n.Bags
	}
	return out
}

// Nutrients is what a weight of product holds: nitrogen, P2O5 and K2O, and the elements P and K, in the weight's unit.
// A nutrient that the grade doesn't hold is 0.
func Nutrients(weight agronomy.Quantity, g Grade) (agronomy.Results, error) {
	if err := g.check(); err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("nutrient = weight × percent ÷ 100; P = 0.4364 × P2O5; K = 0.8301 × K2O", nutrientSource+"; "+oxideSource)
	w := s.Take(inWeight, weight)
	s.Note("grade", g.String())
	unit := agronomy.Bare(weight.Unit)
	give := func(percent float64) agronomy.Result {
		return s.Number(agronomy.MustConvert(w*percent/100, "lb", unit), unit)
	}
	if s.Err() != nil {
		return nil, s.Err()
	}
	return agronomy.Results{
		"n": give(g.N), "p2o5": give(g.P2O5), "k2o": give(g.K2O), "p": give(g.P2O5 * PInP2O5), "k": give(g.K2O * KInK2O),
	}, s.Err()
}

// rateOf is the nutrient that a rate of product brings: "n" takes grade_n and so on. The result is per area as the rate
// is given.
func rateOf(n nutrient, product, grade agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet(n.symbol+" rate = product rate × "+n.symbol+" % ÷ 100", appliedSource)
	r, g := s.Take(inProduct, product), s.Take(n.in, grade)
	return s.In(r*g/100, "lb/1000 ft2", agronomy.MassOn(product.Unit)), s.Err()
}

// NitrogenRate is the nitrogen that a rate of product brings.
func NitrogenRate(product, gradeN agronomy.Quantity) (agronomy.Result, error) {
	return rateOf(nutrients[0], product, gradeN)
}

// RateFromTotal is the product rate of a weight spread over an area.
func RateFromTotal(weight, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product rate = weight ÷ area", appliedSource)
	w, a := s.Take(inWeight, weight), s.Take(inArea, area)
	return s.In(w/a*1000, "lb/1000 ft2", agronomy.MassOn(area.Unit)), s.Err()
}

var inRate = agronomy.Input{Name: "rate", Also: []string{"product_rate", "n_rate"}, Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "any weight on an area"}

// rateUnits are the units a rate is given in by RateUnits, by the name of the output.
var rateUnits = map[string]string{
	"kg_per_ha": "kg/ha", "g_per_m2": "g/m2", "lb_per_acre": "lb/acre", "lb_per_1000": "lb/1000 ft2", "lb_per_1000_ft2": "lb/1000 ft2",
	"kg_per_100m2": "kg/100 m2", "oz_per_1000": "oz/1000 ft2", "oz_per_yd2": "oz/yd2",
}

// unitNames are further names of these outputs.
var unitNames = map[string][]string{
	"lb_per_1000": {"lb_per_1000ft2", "per_1000", "lb_per_1000_sqft"}, "kg_per_100m2": {"kg_per_100_m2"}, "oz_per_1000": {"oz_per_1000ft2", "oz_per_1000_ft2"}, "lb_per_acre": {"per_acre"},
}

// RateUnits gives a weight on an area in every unit in use, with the substance left out.
func RateUnits(rate agronomy.Quantity) (agronomy.Results, error) {
	s := agronomy.NewSheet("1 lb/1000 ft² = 43.56 lb/acre = 48.824 kg/ha = 4.8824 g/m²", unitSource)
	r := s.Take(inRate, rate)
	out := agronomy.Results{}
	if s.Err() != nil {
		return nil, s.Err()
	}
	for name, unit := range rateUnits {
		out[name] = s.Number(agronomy.MustConvert(r, "lb/1000 ft2", unit), unit)
	}
	return out, s.Err()
}

var inHeld = agronomy.Input{Name: "nutrient", Unit: "lb", Range: agronomy.AtLeast(0), Says: "weight of a nutrient"}

// RateFromTotalOf is a weight of a nutrient on an area.
func RateFromTotalOf(held agronomy.Result, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("rate = weight ÷ area", appliedSource)
	w, a := s.Take(inHeld, held.Quantity()), s.Take(inArea, area)
	return s.In(w/a*1000, "lb/1000 ft2", agronomy.MassOn(area.Unit)), s.Err()
}

// NTotal is the nitrogen that a rate brings to an area.
func NTotal(nRate, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("nitrogen = N rate × area", appliedSource)
	n, a := s.Take(inTargetN, nRate), s.Take(inArea, area)
	return s.In(n*a/1000, "lb", agronomy.MassLike(area.Unit)), s.Err()
}

var inShare = agronomy.Input{Name: "share", Unit: "%", Range: agronomy.Between(0, 100), Says: "share of a mix"}

// Part is a share of a weight, in the weight's unit.
func Part(weight, share agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("part = weight × share ÷ 100", blendSource)
	w, p := s.Take(inWeight, weight), s.Take(inShare, share)
	return s.In(w*p/100, "lb", agronomy.Bare(weight.Unit)), s.Err()
}
