package seeding_test

import (
	"fmt"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/seeding"
)

// Seed to buy for 6500 ft² at 3 lb of pure live seed, of a lot with 97 % purity and 88 % germination.
func ExampleBulkFor() {
	pls, _ := seeding.PLS(agronomy.Q(97, "%"), agronomy.Q(88, "%"))
	bulk, err := seeding.BulkFor(agronomy.Q(3, "lb PLS/1000 ft2"), agronomy.Q(6500, "ft2"), pls.Quantity())
	if err != nil {
		fmt.Println(err)
		return
	}
	bags, _ := seeding.Bags(bulk.Quantity(), agronomy.Q(25, "lb"))
	fmt.Printf("%.4f, %.2f %s, %v bag\n", pls.Number, bulk.Number, bulk.Unit, bags.Number)
	// Output: 0.8536, 22.84 lb, 1 bag
}

// Ten percent of small seed by weight is half of all seeds.
func ExampleShares() {
	shares, _ := seeding.Shares(agronomy.Qs("%", 10, 90), agronomy.Qs("seeds/lb", 2.2e6, 2.3e5))
	fmt.Printf("%.1f %% and %.1f %%\n", shares.Numbers[0], shares.Numbers[1])
	// Output: 51.5 % and 48.5 %
}
