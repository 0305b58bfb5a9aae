package store

import "time"

// LegalYears is how long records of what was put down must be kept: 7 CFR 110.3 and 40 CFR 171.303(b)(7), two years from the application. A state may
// ask for more.
const LegalYears = 2

// Erasure is what erasing a client's data takes away and what stays, before and after it was done.
type Erasure struct {
	Client     Client
	Open       []Visit // that are not finished: nothing is erased while there are any
	Properties int
	Visits     int
	Notes      int // typed texts
	Photos     []string
	Links      int
	Records    int    // of what was put down
	Held       string // the last day that the law keeps name and addresses, "" when it does not
	Done       time.Time
}
