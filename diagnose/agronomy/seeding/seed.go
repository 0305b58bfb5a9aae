// Package seeding holds the arithmetic of seed: pure live seed, bulk to buy, seeds on an area, blends, and the soil
// temperatures at which a species germinates.
package seeding

import (
	"swardbook/diagnose/agronomy"
)

const (
	plsSource     = "LSU AgCenter, Pure live seed calculation; Texas Department of Transportation, Pure live seed; Cornell, Seeding rates for sports fields"
	priceSource   = "Penn State, Calculating the price of pure live seed"
	densitySource = "University of Illinois, grass seeds per pound (1995); University of Massachusetts, Seeding rate considerations: target 7 to 14 plants/in²"
)

var (
	inPurity    = agronomy.Input{Name: "purity", Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "pure seed by weight; of coated seed the label's purity already counts the coating as inert"}
	inGermin    = agronomy.Input{Name: "germination", Also: []string{"germ"}, Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "seeds that germinate"}
	inPLS       = agronomy.Input{Name: "pls_fraction", Also: []string{"pls"}, Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "pure live seed in the bulk, where purity and germination aren't given"}
	inArea      = agronomy.Input{Name: "area", Also: []string{"lawn_area"}, Unit: "ft2", Range: agronomy.Above(0), Says: "ground to seed"}
	inPLSRate   = agronomy.Input{Name: "pls_rate", Also: []string{"overseed_rate", "seeding_rate", "target_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "pure live seed on an area"}
	inBulkRate  = agronomy.Input{Name: "bulk_rate", Also: []string{"rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "seed as bought on an area"}
	inWanted    = agronomy.Input{Name: "pls_wanted", Also: []string{"pls_weight"}, Unit: "lb", Range: agronomy.Above(0), Says: "pure live seed wanted"}
	inBulk      = agronomy.Input{Name: "bulk", Also: []string{"bulk_weight", "seed"}, Unit: "lb", Range: agronomy.Above(0), Says: "seed as bought"}
	inPrice     = agronomy.Input{Name: "price", Also: []string{"price_per_lb", "cost_per_lb"}, Unit: "USD/lb", Or: []string{"USD/bag", "USD"}, Range: agronomy.AtLeast(0), Says: "price of a pound, or of a bag when the bag is given"}
	inBag       = agronomy.Input{Name: "bag", Also: []string{"bag_weight", "bag_size"}, Unit: "lb", Range: agronomy.Above(0), Says: "weight of a bag"}
	inSeedsLb   = agronomy.Input{Name: "seeds_per_lb", Also: []string{"seed_count", "count"}, Unit: "count/lb", Range: agronomy.Above(0), Says: "seeds in a pound"}
	inRate      = agronomy.Input{Name: "rate", Also: []string{"seeding_rate", "bulk_rate", "pls_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "seed on an area"}
	inPerIn2    = agronomy.Input{Name: "target_seeds", Also: []string{"seeds_per_in2", "target_density", "seeds_per_ft2"}, Unit: "count/in2", Range: agronomy.Above(0), Says: "seeds wanted on an area"}
	inEstablish = agronomy.Input{Name: "establishment", Also: []string{"survival"}, Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "live seeds that become plants"}
)

// PLS is the pure live seed in bulk seed, a fraction in (0, 1].
func PLS(purity, germination agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("PLS = purity × germination", plsSource)
	p, g := s.Take(inPurity, purity), s.Take(inGermin, germination)
	return s.Number(p/100*(g/100), "fraction"), s.Err()
}

// Bulk is the seed to weigh for a weight of pure live seed, in its unit.
func Bulk(plsWanted, pls agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("bulk = pure live seed wanted ÷ PLS", plsSource)
	w, f := s.Take(inWanted, plsWanted), s.Take(inPLS, pls)
	return s.In(w/f, "lb", agronomy.Bare(plsWanted.Unit)), s.Err()
}

// BulkRate is the seed as bought on an area that brings a rate of pure live seed.
func BulkRate(plsRate, pls agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("bulk rate = PLS rate ÷ PLS", plsSource)
	r, f := s.Take(inPLSRate, plsRate), s.Take(inPLS, pls)
	return s.In(r/f, "lb/1000 ft2", agronomy.MassOn(plsRate.Unit)), s.Err()
}

// BulkFor is the seed to buy for an area.
func BulkFor(plsRate, area, pls agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("bulk = PLS rate × area ÷ 1000 ÷ PLS", plsSource)
	r, a, f := s.Take(inPLSRate, plsRate), s.Take(inArea, area), s.Take(inPLS, pls)
	s.Step("pure live seed", r*a/1000, "lb", "")
	return s.In(r*a/1000/f, "lb", agronomy.MassLike(area.Unit)), s.Err()
}

// PLSRate is the pure live seed on an area that a rate of seed as bought brings.
func PLSRate(bulkRate, pls agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("PLS rate = bulk rate × PLS", plsSource)
	r, f := s.Take(inBulkRate, bulkRate), s.Take(inPLS, pls)
	return s.In(r*f, "lb/1000 ft2", agronomy.MassOn(bulkRate.Unit)), s.Err()
}

// PLSIn is the pure live seed in a weight of seed as bought.
func PLSIn(bulk, pls agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("pure live seed = bulk × PLS", plsSource)
	b, f := s.Take(inBulk, bulk), s.Take(inPLS, pls)
	return s.In(b*f, "lb", agronomy.Bare(bulk.Unit)), s.Err()
}

// Bags is how many bags to load: rounded up.
func Bags(bulk, bag agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("bags = bulk ÷ weight of a bag, rounded up", plsSource)
	b, w := s.Take(inBulk, bulk), s.Take(inBag, bag)
	s.Step("exactly", b/w, "count", "")
	return s.Number(agronomy.Up(b/w), "count"), s.Err()
}

// perPound is the price of a pound from a price by weight, or by the bag.
func perPound(s *agronomy.Sheet, price, bag agronomy.Quantity) float64 {
	p := s.Take(inPrice, price)
	if inPrice.WorkUnit(price.Unit) == "USD/lb" || s.Err() != nil {
		return p
	}
	return s.Step("price of a pound", p/s.Take(inBag, bag), "USD/lb", "price ÷ weight of the bag")
}

// CostPerPLS is what a pound (or kilogram) of pure live seed costs: lots are compared by that. The bag is asked for only
// when the price is of a bag.
func CostPerPLS(price, bag, pls agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost of pure live seed = price ÷ PLS", priceSource)
	p, f := perPound(s, price, bag), s.Take(inPLS, pls)
	if agronomy.Metric(price.Unit) {
		return s.In(p/f, "USD/lb", "USD/kg"), s.Err()
	}
	return s.Number(p/f, "USD/lb"), s.Err()
}

// Cost is what a weight of bulk seed costs.
func Cost(bulk, price, bag agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cost = bulk × price", priceSource)
	b, p := s.Take(inBulk, bulk), perPound(s, price, bag)
	return s.Number(b*p, "USD"), s.Err()
}

// LiveSeeds is the live seeds in a pound of bulk seed.
func LiveSeeds(seedsPerLb, pls agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("live seeds in a pound = seeds in a pound × PLS", "hydroseeding association, Live seeds")
	n, f := s.Take(inSeedsLb, seedsPerLb), s.Take(inPLS, pls)
	return s.Number(n*f, "seeds/lb"), s.Err()
}

// Density is the seeds on a square inch at a rate.
func Density(rate, seedsPerLb agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("seeds/in² = rate × seeds in a pound ÷ 144,000", densitySource)
	r, n := s.Take(inRate, rate), s.Take(inSeedsLb, seedsPerLb)
	return s.Number(r*n/144000, "seeds/in2"), s.Err()
}

// RateFor is the rate that puts down so many seeds.
func RateFor(target, seedsPerLb agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("rate = seeds/in² × 144,000 ÷ seeds in a pound", densitySource)
	d, n := s.Take(inPerIn2, target), s.Take(inSeedsLb, seedsPerLb)
	unit := "lb/1000 ft2"
	if agronomy.Metric(target.Unit) {
		unit = "g/m2"
	}
	return s.In(d*144000/n, "lb/1000 ft2", unit), s.Err()
}

// living is a density times a share: of live seeds, of those that become plants.
func living(density agronomy.Result, formula string, in agronomy.Input, share agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet(formula, densitySource)
	d, f := s.Take(inPerIn2, density.Quantity()), s.Take(in, share)
	if in.Unit == "%" {
		f /= 100
	}
	return s.Number(d*f, "seeds/in2"), s.Err()
}

// LiveDensity is the live seeds on a square inch.
func LiveDensity(density agronomy.Result, pls agronomy.Quantity) (agronomy.Result, error) {
	return living(density, "live seeds/in² = seeds/in² × PLS", inPLS, pls)
}

// Plants is the plants on a square inch that live seeds become; 7 to 14 are aimed at.
func Plants(density agronomy.Result, establishment agronomy.Quantity) (agronomy.Result, error) {
	r, err := living(density, "plants/in² = live seeds/in² × establishment", inEstablish, establishment)
	if err == nil && (r.Number < 7 || r.Number > 14) {
		r.Working.Remarks = append(r.Working.Remarks, "7 to 14 plants on a square inch are aimed at.")
	}
	return r, err
}
