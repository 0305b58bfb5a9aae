package store

import "time"

// Found is one thing that was found by words.
type Found struct {
	Kind  string // "client", "property", "visit" or "note"
	ID    string // of the client, the property or the visit; of a note, that of its visit
	Title string // name, address, or address and day
	Words string // what was found: a note's text, what a client said

	Archived time.Time // zero: at work
}

// Link is an address without an account that shows a client one visit or one season.
type Link struct {
	ID      string
	Client  string
	Visit   string // "": a season
	Year    int    // 0: a visit
	By      string // person id
	Made    time.Time
	Expires time.Time
	Revoked time.Time // zero: it holds
	Opened  time.Time // first; zero: never
	Seen    time.Time // last
	Times   int
}

// Open reports whether the link leads anywhere at a moment.
func (l Link) Open(now time.Time) bool { return l.Revoked.IsZero() && now.Before(l.Expires) }

// Calendar is an address at which a person's visits and steps are read as a calendar.
type Calendar struct {
	Person string
	Made   time.Time
	Seen   time.Time // last; zero: never
}
