package store

import "time"

// Learned is what a person let the firm's own cases change in the knowledge.
type Learned struct {
	ID       string
	Base     string // edition of the knowledge it was laid over
	Edition  string // edition of what came of it
	Overlay  []byte // JSON: file → text, all that is laid over
	Report   []byte // JSON of learn.Report, as it was shown
	By       string // person id
	At       time.Time
	UndoneBy string // person id, "" as long as it stands
	UndoneAt time.Time
}

// Stands reports whether it was not undone.
func (l Learned) Stands() bool { return l.UndoneBy == "" }
