package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"swardbook/store"
)

// Through is the number up to which everything of a device is durable, 0 for one that is not known.
func (db *DB) Through(ctx context.Context, device string) (through int64, err error) {
	defer wrap(&err, "Through(%s)", device)
	err = db.read(ctx, func(t *tx) error {
		err := t.row(`SELECT through FROM devices WHERE id = $1`, device).Scan(&through)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return through, err
}

const selectOp = `SELECT o.seq, o.id, o.device, o.n, o.kind, o.entity, o.base, o.edition, o.author, o.hlc, o.at, o.raw, o.sent_by, o.received,
	o.stamp, o.aside, coalesce(s.how, '') FROM ops o LEFT JOIN settled s ON s.op = o.id`

func opDest(o *store.Op) []any {
	return []any{&o.Seq, &o.ID, &o.Device, &o.N, &o.Kind, &o.Entity, &o.Base, &o.Edition, &o.Author, &o.HLC, &o.At, &o.Raw, &o.SentBy,
		moments{&o.Received}, &o.Stamp, &o.Aside, &o.Settled}
}

func scanOp(row scanner) (o store.Op, err error) {
	err = row.Scan(opDest(&o)...)
	return o, err
}

// Ops lists operations in the order they became durable.
func (db *DB) Ops(ctx context.Context, f store.OpFilter) (list []store.Op, err error) {
	defer wrap(&err, "Ops(%+v)", f)
	var w where
	w.equal("o.device", f.Device)
	w.equal("o.visit", f.Visit)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanOp, selectOp+w.text+` ORDER BY o.seq`, w.args...)
		return err
	})
	return list, err
}

// Seq is the newest feed number, 0 while nothing was recorded.
func (db *DB) Seq(ctx context.Context) (seq int64, err error) {
	defer wrap(&err, "Seq")
	err = db.read(ctx, func(t *tx) error { seq, err = t.seq(); return err })
	return seq, err
}

const selectSeq = `SELECT coalesce(max(seq), 0) FROM ops`

func (t *tx) seq() (seq int64, err error) {
	err = t.row(selectSeq).Scan(&seq)
	return seq, err
}

// Feed returns at most limit operations on these visits after the feed number since; nil stands for all visits and what
// belongs to none. Next is beyond all that was looked at, so that asking again never looks at it twice.
func (db *DB) Feed(ctx context.Context, since int64, limit int, visits []string) (page store.FeedPage, err error) {
	defer wrap(&err, "Feed(%d, %d)", since, limit)
	var w where
	w.and("o.seq > ?", since)
	if visits != nil {
		ids, err := json.Marshal(visits)
		if err != nil {
			return page, err
		}
		w.and("o.visit IN (SELECT value FROM json_each(?))", string(ids))
	}
	err = db.read(ctx, func(t *tx) error {
		gone, err := all(t, scanNumber, `SELECT seq FROM erased_ops WHERE after >= $1 ORDER BY seq`, since)
		if err != nil {
			return err
		}
		defer func() { page.Gone = gone }()
		rows, err := all(t, scanFeedRow, `SELECT o.seq, o.id, o.device, o.stamp, o.raw, o.aside <> '' AND coalesce(s.how, '') <> 'taken'
			FROM ops o LEFT JOIN settled s ON s.op = o.id`+w.text+` ORDER BY o.seq LIMIT ?`, append(w.args, limit+1)...)
		if err != nil {
			return err
		}
		if len(rows) > limit {
			page = store.FeedPage{Rows: rows[:limit], Next: rows[limit-1].Seq, More: true}
			return nil
		}
		seq, err := t.seq()
		page = store.FeedPage{Rows: rows, Next: max(since, seq)}
		return err
	})
	return page, err
}

func scanNumber(row scanner) (n int64, err error) {
	err = row.Scan(&n)
	return n, err
}

func scanFeedRow(row scanner) (r store.FeedRow, err error) {
	err = row.Scan(&r.Seq, &r.ID, &r.Device, &r.Stamp, &r.Raw, &r.Aside)
	return r, err
}

// Devices lists every phone that ever sent, the one heard of longest ago first.
func (db *DB) Devices(ctx context.Context) (list []store.Device, err error) {
	defer wrap(&err, "Devices")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanDevice, selectDevices+` ORDER BY d.last_seen, d.id`)
		return err
	})
	return list, err
}

// SilentDevices lists phones that keep something, were last heard of before a moment, and were not given up since.
func (db *DB) SilentDevices(ctx context.Context, before time.Time) (list []store.Device, err error) {
	defer wrap(&err, "SilentDevices")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanDevice, selectDevices+` WHERE d.unsent > 0 AND d.last_seen < $1 AND d.given_up < d.last_seen ORDER BY d.last_seen, d.id`, formatTime(before))
		return err
	})
	return list, err
}

const selectDevices = `SELECT d.id, d.through, d.first_seen, d.last_seen, d.agent, d.app, d.skew_ms, d.unsent, d.given_up,
			coalesce((SELECT group_concat(person, char(10)) FROM (SELECT person FROM device_people WHERE device = d.id ORDER BY first_seen, person)), '')
			FROM devices d`

func scanDevice(row scanner) (d store.Device, err error) {
	var people string
	var skew int64
	err = row.Scan(&d.ID, &d.Through, moments{&d.First}, moments{&d.Last}, &d.Agent, &d.App, &skew, &d.Unsent, moments{&d.GivenUp}, &people)
	d.Skew = time.Duration(skew) * time.Millisecond
	if people != "" {
		d.People = strings.Split(people, "\n")
	}
	return d, err
}

// GiveUp notes that the office waits for a phone no longer: it is lost, or gone with the person. Hearing of it again ends that.
func (db *DB) GiveUp(ctx context.Context, device string) (err error) {
	defer wrap(&err, "GiveUp(%s)", device)
	return db.change(ctx, store.Change{What: "phone.given-up", About: device}, func(t *tx) error {
		return t.execOne(notFound("phone"), `UPDATE devices SET given_up = $2 WHERE id = $1`, device, formatTime(t.now))
	})
}

// Here counts how many of these operations the log has, under whatever number.
func (db *DB) Here(ctx context.Context, ids []string) (n int, err error) {
	defer wrap(&err, "Here(%d ids)", len(ids))
	list, err := json.Marshal(ids)
	if err != nil {
		return 0, err
	}
	err = db.read(ctx, func(t *tx) error {
		return t.row(`SELECT count(*) FROM ops WHERE id IN (SELECT value FROM json_each($1))`, string(list)).Scan(&n)
	})
	return n, err
}
