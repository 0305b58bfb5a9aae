package records_test

import (
	"fmt"
	"time"

	"swardbook/diagnose/agronomy/records"
)

// What a record lacks, and by when it is due.
func ExampleMissing() {
	record := map[string]string{
		"product name": "a granule of 0.5 % active ingredient", "EPA registration number": "", "total amount of product": "9 lb", "location": "front lawn", "size of area treated": "6000 ft2",
		"crop, commodity, stored product or site": "turf", "month, day and year": "2026-05-01", "certified applicator name": "A. Person", "certification number": "123",
	}
	missing, err := records.Missing(record, records.Case{})
	if err != nil {
		fmt.Println(err)
		return
	}
	terms, _ := records.TermsOf("", time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
	fmt.Println("missing:", missing)
	fmt.Println("due", terms.Due.Format(time.DateOnly), "keep until", terms.Keep.Format(time.DateOnly))
	// Output:
	// missing: [EPA registration number]
	// due 2026-05-15 keep until 2028-05-01
}
