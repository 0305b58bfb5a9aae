package sqlite

import (
	"strings"

	"swardbook/store"
)

// atOnce is how many readings one statement inserts: going into SQLite and out again costs as much as a row.
const atOnce = 20

// A reading that is taken in, with what all of a batch share in front. Places without a number are bound without looking for one.
const (
	manyOps      = `INSERT INTO ops (device, sent_by, received, kind, aside, detail, id, n, entity, base, edition, author, hlc, at, raw, stamp, visit, zone, check_id, typed) VALUES `
	oneOfMany    = `(?1, ?2, ?3, 'reading', '', '', ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`
	thereAlready = ` ON CONFLICT (id) DO NOTHING`
	ours         = `SELECT EXISTS (SELECT 1 FROM ops WHERE id = $1 AND device = $2 AND n = $3)`
)

func insertMany() string {
	return manyOps + strings.Repeat(oneOfMany+", ", atOnce-1) + oneOfMany + thereAlready
}

// hold keeps a reading that is taken in until there are enough for one statement.
func (k *taking) hold(it store.Item) error {
	if k.held = append(k.held, it); len(k.held) == atOnce {
		return k.release()
	}
	return nil
}

// release inserts what is held, in its order.
func (k *taking) release() error {
	held := k.held
	k.held = k.held[:0]
	if len(held) < atOnce {
		for _, it := range held {
			if err := k.insert(it); err != nil {
				return err
			}
		}
		return nil
	}
	args := append(k.args[:0], k.batch.Device, k.batch.By, formatTime(k.now))
	for _, it := range held {
		args = append(args, it.ID, it.N, it.Entity, it.Base, it.Edition, it.Author, it.HLC, it.At, bytesOf(it), it.Stamp, it.About.Visit, it.About.Zone, it.About.Check, it.About.Typed)
	}
	k.args = args
	res, err := k.insertOps.ExecContext(k.ctx, args...)
	if err != nil {
		return err
	}
	stored, err := res.RowsAffected()
	if err != nil {
		return err
	}
	for _, it := range held {
		if err := k.stored(it, stored == atOnce); err != nil {
			return err
		}
	}
	return nil
}

// stored does what a reading says, when it is new; whole tells that all of its statement are.
func (k *taking) stored(it store.Item, whole bool) error {
	if !whole {
		if err := k.row(ours, it.ID, k.batch.Device, it.N).Scan(&whole); err != nil {
			return err
		}
	}
	if !whole {
		return k.repeat(it)
	}
	return k.project(it)
}
