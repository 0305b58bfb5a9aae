package fertilizer

import "swardbook/diagnose/agronomy"

const liquidSource = "nitrogen in a gallon = density × N % ÷ 100 (label arithmetic; extension pages on liquid fertilizer)"

var (
	inDensity  = agronomy.Input{Name: "density", Also: []string{"weight_per_gallon", "product_density"}, Unit: "lb/gal", Range: agronomy.Between(5, 20), Says: "weight of a gallon"}
	inPerGal   = agronomy.Input{Name: "n_per_gal", Also: []string{"n_per_gallon", "lb_n_per_gal"}, Unit: "lb/gal", Range: agronomy.Above(0), Says: "nitrogen in a gallon"}
	inVolume   = agronomy.Input{Name: "volume", Also: []string{"product_volume", "gallons"}, Unit: "gal", Range: agronomy.Above(0), Says: "volume of product"}
	inLiquid   = agronomy.Input{Name: "liquid_rate", Also: []string{"product_rate", "rate"}, Unit: "gal/1000 ft2", Range: agronomy.Above(0), Says: "liquid product on an area"}
	inGalPrice = agronomy.Input{Name: "price", Also: []string{"price_per_gal", "price_per_gallon"}, Unit: "USD/gal", Range: agronomy.AtLeast(0), Says: "price of a gallon"}
)

// heldPerVolume is what a gallon (or a litre, by the density's unit) holds of a nutrient.
func heldPerVolume(n nutrient, density, grade agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet(n.symbol+" in a gallon = density × "+n.symbol+" % ÷ 100", liquidSource)
	d, g := s.Take(inDensity, density), s.Take(n.in, grade)
	if agronomy.Metric(density.Unit) {
		return s.In(d*g/100, "lb/gal", "kg/L"), s.Err()
	}
	return s.Number(d*g/100, "lb/gal"), s.Err()
}

// NPerVolume is the nitrogen in a gallon or a litre.
func NPerVolume(density, gradeN agronomy.Quantity) (agronomy.Result, error) {
	return heldPerVolume(nutrients[0], density, gradeN)
}

// LiquidRate is the liquid product that brings a rate of nitrogen.
func LiquidRate(targetN, nPerVolume agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("liquid rate = N wanted ÷ N in a gallon", liquidSource)
	t, n := s.Take(inTargetN, targetN), s.Take(inPerGal, nPerVolume)
	return s.In(t/n, "gal/1000 ft2", agronomy.VolumeOn(targetN.Unit)), s.Err()
}

// LiquidRateSmall is a liquid rate in the small measure that a person pours: fl oz/1000 ft2 or mL/100 m2.
func LiquidRateSmall(rate agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("1 gal = 128 fl oz", unitSource)
	r := s.Take(inLiquid, rate)
	if agronomy.Metric(rate.Unit) {
		return s.In(r, "gal/1000 ft2", "mL/100 m2"), s.Err()
	}
	return s.In(r, "gal/1000 ft2", "fl oz/1000 ft2"), s.Err()
}

// LiquidTotal is the liquid for an area.
func LiquidTotal(rate, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("total = rate × area", liquidSource)
	r, a := s.Take(inLiquid, rate), s.Take(inArea, area)
	return s.In(r*a/1000, "gal", agronomy.VolumeLike(area.Unit)), s.Err()
}

// LiquidN is the nitrogen that a rate of liquid brings.
func LiquidN(rate, nPerVolume agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("N rate = liquid rate × N in a gallon", liquidSource)
	r, n := s.Take(inLiquid, rate), s.Take(inPerGal, nPerVolume)
	return s.In(r*n, "lb/1000 ft2", agronomy.MassOn(rate.Unit)), s.Err()
}

// LiquidWeight is the weight of a volume of product.
func LiquidWeight(volume, density agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("weight = volume × density", liquidSource)
	v, d := s.Take(inVolume, volume), s.Take(inDensity, density)
	return s.In(v*d, "lb", agronomy.MassLike(volume.Unit)), s.Err()
}

// LiquidCostOfN is the price of a pound (or kilogram) of nitrogen in a liquid.
func LiquidCostOfN(price, nPerVolume agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost of N = price of a gallon ÷ N in a gallon", liquidSource)
	p, n := s.Take(inGalPrice, price), s.Take(inPerGal, nPerVolume)
	if agronomy.Metric(nPerVolume.Unit) {
		return s.In(p/n, "USD/lb", "USD/kg"), s.Err()
	}
	return s.Number(p/n, "USD/lb"), s.Err()
}

// LiquidCost is what a volume of product costs.
func LiquidCost(volume, price agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost = volume × price of a gallon", liquidSource)
	v, p := s.Take(inVolume, volume), s.Take(inGalPrice, price)
	return s.Number(v*p, "USD"), s.Err()
}
