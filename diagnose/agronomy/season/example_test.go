package season_test

import (
	"fmt"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/season"
)

// Three pounds in the year on cool-season turf, at most one at once.
func ExampleProgramme() {
	list, err := season.Programme("cool-season", "", agronomy.Q(3, "lb N/1000 ft2"), agronomy.Q(1, "lb N/1000 ft2"))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range list {
		fmt.Println(f.When, f.Rate)
	}
	// Output:
	// early May 1
	// early September 1
	// late October or November 1
}
