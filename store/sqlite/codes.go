package sqlite

import (
	"context"
	"time"

	"swardbook/store"
)

// AddCode lets a person sign in once without a passcode within ttl. A code they had before, and every code that ran out, is gone.
func (db *DB) AddCode(ctx context.Context, codeHash []byte, person string, ttl time.Duration) (err error) {
	defer wrap(&err, "AddCode(%s)", person)
	return db.change(ctx, store.Change{What: "person.code", About: person}, func(t *tx) error {
		p, err := one(t, notFound("person"), scanPerson, `SELECT `+personColumns+` FROM people WHERE id = $1`, person)
		if err != nil {
			return err
		}
		if !p.Active {
			return store.Errorf(store.Conflict, "%s may not sign in any more.", p.Name)
		}
		if err := t.exec(`DELETE FROM codes WHERE person = $1 OR expires <= $2`, person, formatTime(t.now)); err != nil {
			return err
		}
		return t.exec(`INSERT INTO codes (code, person, expires) VALUES ($1, $2, $3)`, codeHash, person, formatTime(t.now.Add(ttl)))
	})
}

// UseCode returns whose code it is, and the code is gone. One that is unknown, used or too old is an error of kind SignIn; which
// of these it is, is not said.
func (db *DB) UseCode(ctx context.Context, codeHash []byte) (p store.Person, err error) {
	defer wrap(&err, "UseCode")
	spent := store.Errorf(store.SignIn, "This code was used already or is too old. Ask for a new one.")
	err = db.write(ctx, func(t *tx) error {
		p, err = one(t, spent, scanPerson, `DELETE FROM codes WHERE code = $1 AND expires > $2
			RETURNING person, (SELECT name FROM people WHERE id = person), (SELECT role FROM people WHERE id = person),
			(SELECT lang FROM people WHERE id = person), (SELECT hash FROM people WHERE id = person), (SELECT active FROM people WHERE id = person)`,
			codeHash, formatTime(t.now))
		if err != nil {
			return err
		}
		if !p.Active {
			return spent
		}
		return t.audit(store.Change{By: p.ID, What: "person.code-used", About: p.ID})
	})
	return p, err
}

// Withdraw takes nothing more from a lost phone and signs everybody out who used it; with again it is heard once more. What it
// keeps may still come by file.
func (db *DB) Withdraw(ctx context.Context, device string, again bool) (err error) {
	defer wrap(&err, "Withdraw(%s)", device)
	what := "phone.withdrawn"
	if again {
		what = "phone.heard-again"
	}
	return db.change(ctx, store.Change{What: what, About: device}, func(t *tx) error {
		at := formatTime(t.now)
		if again {
			at = ""
		}
		if err := t.execOne(notFound("phone"), `UPDATE devices SET withdrawn = $2 WHERE id = $1`, device, at); err != nil || again {
			return err
		}
		return t.exec(`DELETE FROM sessions WHERE person IN (SELECT person FROM device_people WHERE device = $1)`, device)
	})
}

// Withdrawn lists the phones that nothing is taken from any more, with the moment.
func (db *DB) Withdrawn(ctx context.Context) (list map[string]time.Time, err error) {
	defer wrap(&err, "Withdrawn")
	list = map[string]time.Time{}
	err = db.read(ctx, func(t *tx) error {
		type row struct {
			id string
			at time.Time
		}
		rows, err := all(t, func(s scanner) (r row, err error) { err = s.Scan(&r.id, moments{&r.at}); return r, err },
			`SELECT id, withdrawn FROM devices WHERE withdrawn <> ''`)
		for _, r := range rows {
			list[r.id] = r.at
		}
		return err
	})
	return list, err
}

const selectWithdrawn = `SELECT EXISTS (SELECT 1 FROM devices WHERE id = $1 AND withdrawn <> '')`

// mayPush refuses what a withdrawn phone sends over the network. The sentence is shown on that phone.
func (t *tx) mayPush(b store.Batch) error {
	var withdrawn bool
	err := t.row(selectWithdrawn, b.Device).Scan(&withdrawn)
	if err == nil && withdrawn && !b.ByFile {
		err = store.Errorf(store.SignIn, "The office has withdrawn this phone. Everything on it is kept: save a copy, and a manager can take it in.")
	}
	return err
}
