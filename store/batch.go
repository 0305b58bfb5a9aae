package store

import "time"

// Batch is what one phone sends at once: a run without holes of its own numbers, oldest first. It may be empty: then it only asks.
type Batch struct {
	Device string
	Epoch  string
	App    string // build of the page that sent it
	Agent  string
	By     string // person whose session sent it
	Sent   time.Time
	Unsent int  // what the phone keeps besides these items, as it says
	ByFile bool // handed over as a file, which a withdrawn phone may be
	Items  []Item
}

// Item is one operation with what it does when it is taken in. At most one of Reading, Zone, Visit, Application and
// Calibration is set, and none when Op.Aside is not empty.
type Item struct {
	Op
	Detail  string // why it is set aside, for the person
	About   Place  // what it speaks of, as far as it could be read
	Reading *Reading
	Zone    *Zone
	Visit   *VisitChange
	Photos  []Photo

	Application *Application
	Calibration *Calibration
}

// Nothing takes away what the item does: it is set aside.
func (it *Item) Nothing() {
	it.Reading, it.Zone, it.Visit, it.Application, it.Calibration = nil, nil, nil, nil, nil
}

// Place is the visit, zone and check that an operation speaks of.
type Place struct {
	Visit, Zone, Check, Typed string
}

// VisitChange moves a visit on.
type VisitChange struct {
	Visit string
	State VisitState
	At    time.Time
}

// PushResult is what became durable. Hole and Fork are answers too: nothing was stored then.
type PushResult struct {
	Epoch   string
	Through int64 // every operation of the device up to here is durable
	Seq     int64 // newest feed number
	Hole    bool
	Fork    bool
	Clash   []int64  // numbers whose id was used before with other content; both are kept
	Fresh   []string // ids taken in by this push; none that was set aside
	Aside   bool     // some of what was sent is set aside, by this push or an earlier one
	Missing []string // photo names that rows of this device carry and the office lacks
}
