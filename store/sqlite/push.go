package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"time"

	"swardbook/store"
)

// session is a transaction that takes batches in.
type session struct {
	*tx
	statements
}

// taking is one batch on its way in.
type taking struct {
	*session
	batch  store.Batch
	skew   time.Duration // our clock less the phone's
	had    int64         // every number up to here was durable before
	last   string        // stamp of this phone's newest row
	visits map[string]*store.Visit
	zones  map[string]bool // those that are there
	held   []store.Item    // readings to be inserted together
	args   []any
	res    store.PushResult
}

// push stores a batch. A hole and a fork are results; the caller undoes what was stored on the way.
func (s *session) push(b store.Batch) (store.PushResult, error) {
	k := &taking{session: s, batch: b, visits: map[string]*store.Visit{}, zones: map[string]bool{}}
	if !b.Sent.IsZero() {
		k.skew = s.now.Sub(b.Sent)
	}
	err := k.through.QueryRowContext(s.ctx, b.Device).Scan(&k.had, &k.last)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return k.res, err
	}
	k.res.Through = k.had
	if len(b.Items) > 0 && b.Items[0].N > k.had+1 {
		k.res.Hole = true
		return k.finish()
	}
	if err := k.take(); err != nil || k.res.Fork {
		return k.refused(err)
	}
	if err := k.meet(); err != nil {
		return k.res, err
	}
	return k.finish()
}

// take goes through the items in their order until one shows a fork.
func (k *taking) take() error {
	for _, it := range k.batch.Items {
		var err error
		if it.N <= k.had {
			err = k.again(it)
		} else {
			err = k.new(it)
			k.res.Through = it.N
		}
		if err != nil {
			return fmt.Errorf("number %d: %w", it.N, err)
		}
		if k.res.Fork {
			return nil
		}
	}
	return k.release()
}

// refused is the result of a fork: nothing of the batch is kept.
func (k *taking) refused(err error) (store.PushResult, error) {
	if err != nil {
		return k.res, err
	}
	k.res = store.PushResult{Through: k.had, Fork: true}
	return k.finish()
}

const selectLacking = `SELECT w.sha FROM photos p JOIN photo_wants w ON w.sha = p.sha AND w.device = $1 WHERE p.complete = 0 ORDER BY w.n, w.sha`

// finish adds what every answer says.
func (k *taking) finish() (store.PushResult, error) {
	var err error
	if k.res.Epoch, err = k.epoch(); err != nil {
		return k.res, err
	}
	if k.res.Seq, err = k.seq(); err != nil {
		return k.res, err
	}
	k.res.Missing, err = all(k.tx, scanText, selectLacking, k.batch.Device)
	return k.res, err
}

func scanText(row scanner) (s string, err error) {
	err = row.Scan(&s)
	return s, err
}

// meet notes the phone, how far it is, and who sent from it.
func (k *taking) meet() error {
	b, now := k.batch, formatTime(k.now)
	if _, err := k.seen.ExecContext(k.ctx, b.Device, k.res.Through, now, b.Agent, b.App, k.skew.Milliseconds(), b.Unsent); err != nil {
		return err
	}
	_, err := k.seenBy.ExecContext(k.ctx, b.Device, b.By, now)
	return err
}

// again compares an item with what its number held before.
func (k *taking) again(it store.Item) error {
	var id string
	if err := k.numberOf.QueryRowContext(k.ctx, k.batch.Device, it.N).Scan(&id); err != nil {
		return err
	}
	if id != it.ID {
		k.res.Fork = true
		return nil
	}
	return k.compare(it)
}

// compare keeps other content under an id that is there already.
func (k *taking) compare(it store.Item) error {
	var raw []byte
	var aside string
	if err := k.rawOf.QueryRowContext(k.ctx, it.ID).Scan(&raw, &aside); err != nil {
		return err
	}
	k.res.Aside = k.res.Aside || aside != ""
	if string(raw) == "{}" || sameContent(raw, it.Raw) { // emptied: it does not come back
		return nil
	}
	k.res.Clash = append(k.res.Clash, it.N)
	k.concerns(store.MarkAsides)
	return k.clash(it)
}

// clash keeps the content once, however often it comes.
func (k *taking) clash(it store.Item) error {
	var there bool
	var count int
	err := k.row(`SELECT count(*), coalesce(max(raw = $2), 0) FROM clashes WHERE op = $1`, it.ID, it.Raw).Scan(&count, &there)
	if err != nil || there {
		return err
	}
	it.Stamp = stampOf(it.HLC, k.skew, k.now)
	args := append([]any{it.ID}, k.opArgs(it)...)
	args[1] = fmt.Sprintf("%s~%d", it.ID, count+2)
	if err := k.exec(moreContent, args...); err != nil {
		return err
	}
	return k.wants(it)
}

// new stores an item whose number was not there.
func (k *taking) new(it store.Item) error {
	if err := k.judge(&it); err != nil {
		return err
	}
	k.res.Aside = k.res.Aside || it.Aside != ""
	if it.Aside != "" {
		k.concerns(store.MarkAsides)
	}
	if r := it.Reading; r != nil { // it counts as the log says it
		it.Kind, it.About = "reading", store.Place{Visit: r.Visit, Zone: r.Zone, Check: r.Check, Typed: r.Typed}
	}
	it.Stamp = afterStamp(stampOf(it.HLC, k.skew, k.now), k.last)
	k.last = it.Stamp
	if it.Reading != nil {
		return k.hold(it)
	}
	if err := k.release(); err != nil {
		return err
	}
	return k.insert(it)
}

// insert stores one item and does what it says.
func (k *taking) insert(it store.Item) error {
	res, err := k.insertOp.ExecContext(k.ctx, k.opArgs(it)...)
	if err != nil {
		return err
	}
	stored, err := res.RowsAffected()
	if err != nil {
		return err
	}
	if stored == 0 { // the id came before under another number or from another phone
		return k.repeat(it)
	}
	if it.Seq, err = res.LastInsertId(); err != nil {
		return err
	}
	return k.project(it)
}

// repeat gives a number to an id that has one already. This phone may be the one that has the photos.
func (k *taking) repeat(it store.Item) error {
	if err := k.exec(repeat, k.batch.Device, it.N, it.ID); err != nil {
		return err
	}
	if err := k.wants(it); err != nil {
		return err
	}
	return k.compare(it)
}

const (
	opColumns   = `id, device, n, kind, entity, base, edition, author, hlc, at, raw, sent_by, received, stamp, aside, detail, visit, zone, check_id, typed`
	repeat      = `INSERT INTO repeats (device, n, id) VALUES ($1, $2, $3)`
	moreContent = `INSERT INTO clashes (op, ` + opColumns + `) VALUES (` + opPlaces + `, $21)`
	opPlaces    = `$1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20`
)

// opArgs are the values of opColumns. Which phone, who sent and when it came are the batch's and ours, whatever the item says.
func (k *taking) opArgs(it store.Item) []any {
	return []any{it.ID, k.batch.Device, it.N, it.Kind, it.Entity, it.Base, it.Edition, it.Author, it.HLC, it.At, bytesOf(it), k.batch.By,
		formatTime(k.now), it.Stamp, it.Aside, it.Detail, it.About.Visit, it.About.Zone, it.About.Check, it.About.Typed}
}

// bytesOf are the bytes an item came in; never NULL.
func bytesOf(it store.Item) []byte {
	if it.Raw == nil {
		return []byte{}
	}
	return it.Raw
}
