package soiltest_test

import (
	"fmt"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/soiltest"
)

// Lime for an acidity between two rows of the table, as a material of 85 %, at most 50 lb/1000 ft² at once.
func ExampleFromTable() {
	lime, err := soiltest.FromTable(agronomy.Q(5.0, "meq/100 g"), agronomy.Q(6.5, "pH"), agronomy.Q(5.8, "pH"))
	if err != nil {
		fmt.Println(err)
		return
	}
	material, _ := soiltest.Material(lime.Quantity(), agronomy.Q(85, "%"), agronomy.Quantity{})
	times, _ := soiltest.Applications(material.Quantity(), agronomy.Q(50, "lb/1000 ft2"))
	fmt.Println(lime.Value, "|", material.Value, "|", times.Value, "applications")
	// Output: 90 lb CCE/1000 ft2 | 105.8824 lb/1000 ft2 | 3 applications
}

// The same number means different things under different extractants.
func ExampleSufficiency() {
	for _, extractant := range []string{"mehlich3", "bray_p1", "olsen"} {
		r, _ := soiltest.Sufficiency("p", extractant, "any", "p", agronomy.Qs("ppm", 22))
		fmt.Println(extractant, r.Value)
	}
	// Output:
	// mehlich3 below 27-54
	// bray_p1 within 15-30
	// olsen within 12-28
}
