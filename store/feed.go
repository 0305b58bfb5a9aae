package store

import "time"

// FeedRow is one operation as it goes out to phones.
type FeedRow struct {
	Seq    int64
	ID     string
	Device string
	Stamp  string
	Raw    []byte // the row's own JSON bytes
	Aside  bool   // set aside and not taken in since
}

// FeedPage is a piece of the feed. Asking again with Next goes on where it ends; More says whether there is anything yet.
type FeedPage struct {
	Gone []int64 // rows that were emptied since
	Rows []FeedRow
	Next int64
	More bool
}

// Device is one phone's store of records; a phone may have had several.
type Device struct {
	ID      string
	Through int64
	First   time.Time
	Last    time.Time
	Agent   string
	App     string
	Skew    time.Duration // the office's clock less the phone's
	Unsent  int           // what it still kept after its last contact, as it said then
	GivenUp time.Time     // when the office stopped waiting for it; zero when it waits
	People  []string      // ids of those who sent from it
}
