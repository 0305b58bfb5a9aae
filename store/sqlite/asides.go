package sqlite

import (
	"context"

	"swardbook/store"
)

// Both a record that was set aside and other content under a known id wait for the office; they are read alike.
const (
	asideColumns = `o.device, o.n, o.kind, o.entity, o.base, o.edition, o.author, o.hlc, o.at, o.raw, o.sent_by, o.received, o.stamp`
	asidesAll    = `SELECT o.seq, o.id, ` + asideColumns + `, o.aside AS reason, o.detail, o.visit, o.zone, o.check_id, o.typed
		FROM ops o WHERE o.aside <> ''
	UNION ALL
	SELECT (SELECT seq FROM ops WHERE id = o.op), o.id, ` + asideColumns + `, 'clash', '` + clashSentence + `', o.visit, o.zone, o.check_id, o.typed
		FROM clashes o`
	clashSentence = "Two records came under one name. Both are kept; the office decides whether this one counts too."
	selectAside   = `SELECT o.seq, o.id, ` + asideColumns + `, o.reason, coalesce(s.how, ''), o.reason, o.detail, o.visit, o.zone, o.check_id, o.typed
		FROM (` + asidesAll + `) o LEFT JOIN settled s ON s.op = o.id`
)

func scanAside(row scanner) (a store.Aside, err error) {
	err = row.Scan(append(opDest(&a.Op), &a.Reason, &a.Detail, &a.Visit, &a.Zone, &a.Check, &a.Typed)...)
	return a, err
}

// Asides lists what was recorded and could not be taken in as it stands, oldest first.
func (db *DB) Asides(ctx context.Context, f store.AsideFilter) (list []store.Aside, err error) {
	defer wrap(&err, "Asides(%+v)", f)
	var w where
	w.equal("o.device", f.Device)
	w.equal("o.author", f.Author)
	w.equal("o.visit", f.Visit)
	if f.Open {
		w.and("s.how IS NULL")
	}
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanAside, selectAside+w.text+` ORDER BY o.seq, o.id`, w.args...)
		return err
	})
	return list, err
}

// SettleAside keeps the office's decision on a record that was set aside: "taken" makes it count as a reading, "left" does
// not. It stays in the log either way, and a decision stands.
func (db *DB) SettleAside(ctx context.Context, id, how, by, why string) (err error) {
	defer wrap(&err, "SettleAside(%s, %s)", id, how)
	if how != "taken" && how != "left" {
		return store.Errorf(store.Invalid, "A record is taken in or left out.")
	}
	return db.change(ctx, store.Change{By: by, What: "aside." + how, About: id, Detail: why}, func(t *tx) error {
		a, err := one(t, notFound("record that was set aside"), scanAside, selectAside+` WHERE o.id = $1`, id)
		if err != nil {
			return err
		}
		if a.Settled != "" {
			return store.Errorf(store.Conflict, "This was decided already.")
		}
		if how == "taken" {
			if err := t.takeAside(a); err != nil {
				return err
			}
		}
		return t.exec(`INSERT INTO settled (op, how, by_person, why, at) VALUES ($1, $2, $3, $4, $5)`, id, how, by, why, formatTime(t.now))
	})
}

// PlaceAside is SettleAside for a record of an unknown visit or zone: the office says where it belongs. A reading counts there; for
// anything else record names the further record that was made of it.
func (db *DB) PlaceAside(ctx context.Context, id, visit, zone, record, by, why string) (err error) {
	defer wrap(&err, "PlaceAside(%s, %s, %s)", id, visit, zone)
	return db.change(ctx, store.Change{By: by, What: "aside.taken", About: id, Detail: why}, func(t *tx) error {
		a, err := one(t, notFound("record that was set aside"), scanAside, selectAside+` WHERE o.id = $1`, id)
		if err != nil {
			return err
		}
		if a.Settled != "" {
			return store.Errorf(store.Conflict, "This was decided already.")
		}
		if record == "" {
			a.Visit, a.Zone = visit, zone
			if err := t.takeAside(a); err != nil {
				return err
			}
		}
		return t.exec(`INSERT INTO settled (op, how, by_person, why, at) VALUES ($1, $2, $3, $4, $5)`, id, "taken", by, why, formatTime(t.now))
	})
}

// takeAside makes a reading of what was set aside. Its visit and zone must be known by now.
func (t *tx) takeAside(a store.Aside) error {
	if a.Kind != "reading" || a.Check == "" {
		return store.Errorf(store.Invalid, "Only a reading can be taken in.")
	}
	var fits bool
	err := t.row(`SELECT EXISTS (SELECT 1 FROM visits v WHERE v.id = $1 AND ($2 = '' OR EXISTS (SELECT 1 FROM zones z WHERE z.id = $2 AND z.property = v.property)))`,
		a.Visit, a.Zone).Scan(&fits)
	if err != nil {
		return err
	}
	if !fits {
		return store.Errorf(store.Invalid, "The visit or the part of the lawn of this reading is not known.")
	}
	return t.exec(`INSERT INTO taken_readings (entry, id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base)
		VALUES (1 + `+newestEntry+`, $1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`,
		a.ID, a.Seq, a.Visit, a.Zone, a.Check, a.Typed, a.Edition, a.Author, a.Device, a.N, a.At, a.Stamp, a.Base)
}
