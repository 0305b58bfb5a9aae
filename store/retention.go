package store

// Retention is how long a firm keeps what no law makes it keep. 0 is for always.
type Retention struct {
	PhotoYears  int // photos, from the day of the visit
	ClientYears int // contact, notes and photos of a client, from the day they were put into the archive
}

// MostYears is the longest time that can be set.
const MostYears = 99

// Overdue is what the set times would take now.
type Overdue struct {
	Photos  []string // digests
	Clients []string // ids
}
