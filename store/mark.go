package store

// Mark names what a write was about. A write that names nothing was about everything, which is the rule; those that come often say less.
type Mark string

// Marks of lists over all properties.
const (
	MarkVisits       Mark = "visits"       // the state of any visit
	MarkApplications Mark = "applications" // any record of something put down
	MarkCalibrations Mark = "calibrations" // any calibration
	MarkAsides       Mark = "asides"       // anything set aside
)

// VisitMark is the mark of one visit: its state and its readings.
func VisitMark(id string) Mark { return Mark("visit " + id) }

// SaidMark is the mark of what the engine says of a visit.
func SaidMark(id string) Mark { return Mark("said " + id) }

// PropertyMark is the mark of one property: its zones, which visits it has, what was put down there.
func PropertyMark(id string) Mark { return Mark("property " + id) }
