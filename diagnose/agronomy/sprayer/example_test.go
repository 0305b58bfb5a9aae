package sprayer_test

import (
	"fmt"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/sprayer"
)

// Where a zone stands after two applications of 4 fl oz of a product with 0.5 lb of active ingredient in a gallon.
func ExampleLabel_Against() {
	label := sprayer.Label{Max: agronomy.Q(1.5, "lb ai/acre/yr"), Strength: agronomy.Q(0.5, "lb ai/gal")}
	st, err := label.Against(agronomy.Qs("fl oz/1000 ft2", 4, 4), agronomy.Q(4, "fl oz/1000 ft2"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("applied", st.Applied.Value)
	fmt.Println("remaining", st.Remaining.Value)
	fmt.Println("another 4 fl oz:", st.Next.Value, "- at most", st.Largest.Value)
	// Output:
	// applied 1.36125 lb ai/acre
	// remaining 0.13875 lb ai/acre
	// another 4 fl oz: no - at most 0.8 fl oz/1000 ft2
}

// Tanks for 13,500 ft² at 2 gal/1000 ft² from a tank of 12 gal.
func ExampleFill() {
	tanks, _ := sprayer.Fill(agronomy.Q(13500, "ft2"), agronomy.Q(2, "gal/1000 ft2"), agronomy.Q(12, "gal"))
	fmt.Println(tanks.Total.Value, "=", tanks.Full.Value, "full and", tanks.Partial.Value)
	// Output: 27 gal = 2 full and 3 gal
}
