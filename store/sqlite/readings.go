package sqlite

import (
	"cmp"
	"context"

	"swardbook/store"
)

// Readings lists every reading of a visit in the order it became durable, with which of them counts.
func (db *DB) Readings(ctx context.Context, visit string) ([]store.Reading, error) {
	return db.readings(ctx, `visit = $1`, visit)
}

// ReadingsOfProperty lists every reading of all visits to a property.
func (db *DB) ReadingsOfProperty(ctx context.Context, property string) ([]store.Reading, error) {
	return db.readings(ctx, `visit IN (SELECT id FROM visits WHERE property = $1)`, property)
}

func (db *DB) readings(ctx context.Context, condition, id string) (list []store.Reading, err error) {
	defer wrap(&err, "readings(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		rows, err := all(t, scanReading, `SELECT seq, id, visit, zone, check_id, typed, edition, author, device, at, stamp, base, n, entry
			FROM readings WHERE `+condition+` ORDER BY seq, id`, id)
		if err != nil {
			return err
		}
		choices, err := all(t, scanChoice, `SELECT reading, known FROM reviews WHERE kind = 'choose' AND `+condition+` ORDER BY seq`, id)
		list = db.weigh(rows, choices)
		return err
	})
	return list, err
}

// numbered is a reading with its number on the phone and its place in the order they began to count.
type numbered struct {
	store.Reading
	n, entry int64
}

func scanReading(row scanner) (r numbered, err error) {
	err = row.Scan(&r.Seq, &r.ID, &r.Visit, &r.Zone, &r.Check, &r.Typed, &r.Edition, &r.Author, &r.Device, &r.At, &r.Stamp, &r.Base, &r.n, &r.entry)
	return r, err
}

// choice is a manager's word which of the readings known then counts.
type choice struct {
	reading string
	known   int64
}

func scanChoice(row scanner) (c choice, err error) {
	err = row.Scan(&c.reading, &c.known)
	return c, err
}

// cell is what answers compete for.
type cell struct{ visit, zone, check string }

// weigh marks in each cell the reading that counts and those in dispute.
func (db *DB) weigh(rows []numbered, choices []choice) []store.Reading {
	cells, cellOf := map[cell][]*numbered{}, map[string]cell{}
	for i := range rows {
		r := &rows[i]
		at := cell{r.Visit, r.Zone, r.Check}
		cells[at] = append(cells[at], r)
		cellOf[r.ID] = at
	}
	latest := map[cell]choice{}
	for _, c := range choices { // oldest first: the last one of a cell holds
		latest[cellOf[c.reading]] = c
	}
	for at, list := range cells {
		if c, ok := latest[at]; ok {
			list = afterChoice(list, c)
		}
		db.mark(heads(list))
	}
	out := make([]store.Reading, len(rows))
	for i, r := range rows {
		out[i] = r.Reading
	}
	return out
}

// afterChoice leaves the reading chosen and those that came since.
func afterChoice(list []*numbered, c choice) []*numbered {
	var left []*numbered
	for _, r := range list {
		if r.ID == c.reading || r.entry > c.known {
			left = append(left, r)
		}
	}
	return left
}

// heads are the readings that no later one was made in knowledge of. Knowing goes before clocks: who saw an answer and gave
// another one means it.
func heads(list []*numbered) []*numbered {
	var out []*numbered
	for _, r := range list {
		superseded := false
		for _, later := range list {
			superseded = superseded || knows(later, r)
		}
		if !superseded {
			out = append(out, r)
		}
	}
	return out
}

// knows reports whether a was made after b on the same phone, or after its author had seen b.
func knows(a, b *numbered) bool {
	if a.Device == b.Device {
		return a.n > b.n
	}
	return a.Seq > b.Seq && a.Base >= b.Seq
}

// mark says which head counts, the one with the highest stamp, and which differ from another one.
func (db *DB) mark(heads []*numbered) {
	var best *numbered
	for _, r := range heads {
		if best == nil || compareStamps(r, best) > 0 {
			best = r
		}
		for _, other := range heads {
			if r.Device != other.Device && db.differ(r.Check, r.Typed, other.Typed) {
				r.Dispute = true
			}
		}
	}
	if best != nil {
		best.Current = true
	}
}

func compareStamps(a, b *numbered) int {
	return cmp.Or(cmp.Compare(a.Stamp, b.Stamp), cmp.Compare(a.Device, b.Device), cmp.Compare(a.n, b.n), cmp.Compare(a.ID, b.ID))
}
