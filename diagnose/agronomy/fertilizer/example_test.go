package fertilizer_test

import (
	"fmt"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/fertilizer"
)

// A feeding of 0.9 lb of nitrogen on 45 acres with a product of 25 % nitrogen in bags of 50 lb.
func ExampleAmount() {
	need, err := fertilizer.Amount(agronomy.Q(0.9, "lb/1000 ft2"), agronomy.Q(25, "%"), agronomy.Q(45, "acre"), agronomy.Q(50, "lb"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(need.Rate.Value, "|", need.Total.Value, "|", need.Bags.Value, "bags")
	for _, line := range need.Total.Working.Lines() {
		fmt.Println(line)
	}
	// Output:
	// 3.6 lb/1000 ft2 | 7056.72 lb | 142 bags
	// total = rate × area
	// product_rate: 3.6 lb/1000 ft2
	// area: 45 acre = 1960200 ft2
	// Result: 7056.72 lb
	// Source: University of Nebraska-Lincoln, Lawn fertilizer calculations; Rutgers turfgrass mathematics worksheet
}

// A limit that is broken is said in the working.
func ExampleAllowed() {
	maryland, _ := fertilizer.CapOf("Maryland")
	ok, _ := fertilizer.Allowed(agronomy.Q(0.9, "lb/1000 ft2"), agronomy.Q(0.2, "fraction"), maryland)
	fmt.Println(ok.Value, ok.Working.Remarks)
	// Output: no [Not allowed: soluble above 0.7 lb/1000 ft².]
}
