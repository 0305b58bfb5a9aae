package fertilizer

import "swardbook/diagnose/agronomy"

const costSource = "USGA Green Section Record 60(05), Does the grass know the cost of fertilizer (2022)"

var (
	inPrice     = agronomy.Input{Name: "price", Also: []string{"bag_price", "price_per_bag", "cost"}, Unit: "USD/bag", Or: []string{"USD", "USD/lb", "USD/ft3"}, Range: agronomy.AtLeast(0), Says: "price of a bag, of a weight or of a volume"}
	inCostPerLb = agronomy.Input{Name: "cost_per_lb_n", Unit: "USD/lb", Range: agronomy.AtLeast(0), Says: "cost of a pound of nitrogen"}
	inRateN     = agronomy.Input{Name: "rate_n", Also: []string{"n_rate", "target_n"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "nitrogen on an area"}
)

// NPerBag is the nitrogen in a bag, in the bag's unit of weight.
func NPerBag(bag, gradeN agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("N in a bag = weight × N % ÷ 100", costSource)
	b, n := s.Take(inBag, bag), s.Take(inGradeN, gradeN)
	return s.In(b*n/100, "lb", agronomy.Bare(bag.Unit)), s.Err()
}

// CostOfN is the price of a pound of nitrogen (of a kilogram, for a bag in kilograms). The price is of a bag; or of a
// weight (USD/ton), then the bag is left out (value 0, no unit).
func CostOfN(price, bag, gradeN agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost of N = price ÷ (weight of the bag × N % ÷ 100)", costSource)
	p := s.Take(inPrice, price)
	unit, like := inPrice.WorkUnit(price.Unit), price.Unit
	perLb := p
	switch {
	case s.Err() != nil:
		return agronomy.Result{}, s.Err()
	case unit == "USD/ft3":
		s.Refuse(agronomy.Refuse("price", price.String(), "given for a bag or a weight"))
	case unit != "USD/lb":
		like = bag.Unit
		perLb = s.Step("price of a pound of product", p/s.Take(inBag, bag), "USD/lb", "price ÷ weight of the bag")
	}
	n := s.Take(inGradeN, gradeN)
	if agronomy.Metric(like) {
		return s.In(perLb/(n/100), "USD/lb", "USD/kg"), s.Err()
	}
	return s.Number(perLb/(n/100), "USD/lb"), s.Err()
}

// CostPerArea is what a rate of nitrogen costs: on an acre, or on a hectare for a metric rate.
func CostPerArea(costOfN, rateN agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost on an acre = cost of a pound of N × 43.56 × N rate on 1000 ft²", costSource)
	c, r := s.Take(inCostPerLb, costOfN), s.Take(inRateN, rateN)
	if agronomy.Metric(rateN.Unit) {
		return s.In(c*r*43.56, "USD/acre", "USD/ha"), s.Err()
	}
	return s.Number(c*r*43.56, "USD/acre"), s.Err()
}

// CostPer1000 is CostPerArea on 1000 ft2, or on 100 m2 for a metric rate.
func CostPer1000(costOfN, rateN agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost on 1000 ft² = cost of a pound of N × N rate on 1000 ft²", costSource)
	c, r := s.Take(inCostPerLb, costOfN), s.Take(inRateN, rateN)
	if agronomy.Metric(rateN.Unit) {
		return s.In(c*r, "USD/1000 ft2", "USD/100 m2"), s.Err()
	}
	return s.Number(c*r, "USD/1000 ft2"), s.Err()
}

// CostForArea is what a rate of nitrogen costs on one area.
func CostForArea(costOfN, rateN, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost = cost of a pound of N × N rate × area", costSource)
	c, r, a := s.Take(inCostPerLb, costOfN), s.Take(inRateN, rateN), s.Take(inArea, area)
	return s.Number(c*r*a/1000, "USD"), s.Err()
}

// Cost is what a weight of product costs at the price of a bag or of a weight.
func Cost(total, bag, price agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost = product ÷ weight of a bag × price of a bag", costSource)
	t, p := s.Take(inWeight, total), s.Take(inPrice, price)
	switch inPrice.WorkUnit(price.Unit) {
	case "USD/ft3":
		s.Refuse(agronomy.Refuse("price", price.String(), "given for a bag or a weight"))
	case "USD/lb":
		return s.Number(t*p, "USD"), s.Err()
	}
	return s.Number(t/s.Take(inBag, bag)*p, "USD"), s.Err()
}
