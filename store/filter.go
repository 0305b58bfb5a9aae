package store

// VisitFilter says which visits are meant; what is empty does not narrow.
type VisitFilter struct {
	Crew     string // person id
	Nobodys  bool   // those that nobody has, too
	Property string
	Client   string
	FromDay  string // first and last day, both included
	ToDay    string
	States   []VisitState
	AtWork   bool // leave out what is only planned for a property or a client that is archived
}

// AsideFilter says which records that were set aside are meant; what is empty does not narrow.
type AsideFilter struct {
	Device string
	Author string
	Visit  string
	Open   bool // only those not settled
}

// OpFilter says which operations are meant; what is empty does not narrow.
type OpFilter struct {
	Device string
	Visit  string
}
