package sqlite

import (
	"context"
	"unicode/utf8"

	"swardbook/store"
)

// longestDetail bounds a line of the audit log, in bytes.
const longestDetail = 2000

// change is write with a line in the audit log, in the same transaction: neither is there without the other. Who changed it is
// c.By, or whoever ctx names.
func (db *DB) change(ctx context.Context, c store.Change, f func(*tx) error) error {
	return db.write(ctx, func(t *tx) error {
		if err := f(t); err != nil {
			return err
		}
		return t.audit(c)
	})
}

func (t *tx) audit(c store.Change) error {
	if c.By == "" {
		c.By = store.Actor(t.ctx)
	}
	return t.exec(`INSERT INTO audit (at, by_person, what, about, detail) VALUES ($1, $2, $3, $4, $5)`, formatTime(t.now), c.By, c.What, c.About, clipped(c.Detail))
}

// clipped cuts a text between two runes.
func clipped(text string) string {
	if len(text) <= longestDetail {
		return text
	}
	text = text[:longestDetail]
	for !utf8.ValidString(text) {
		text = text[:len(text)-1]
	}
	return text + "…"
}

// Audit lists the newest lines of the audit log first.
func (db *DB) Audit(ctx context.Context, f store.AuditFilter) (list []store.Change, err error) {
	defer wrap(&err, "Audit")
	var w where
	w.equal("by_person", f.By)
	w.equal("what", f.What)
	w.equal("about", f.About)
	if f.Before > 0 {
		w.and("seq < ?", f.Before)
	}
	if f.Limit <= 0 {
		f.Limit = 100
	}
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanChange, `SELECT seq, at, by_person, what, about, detail FROM audit`+w.text+` ORDER BY seq DESC LIMIT ?`, append(w.args, f.Limit)...)
		return err
	})
	return list, err
}

func scanChange(row scanner) (c store.Change, err error) {
	err = row.Scan(&c.Seq, moments{&c.At}, &c.By, &c.What, &c.About, &c.Detail)
	return c, err
}

// AuditKinds lists every kind of change there is a line of.
func (db *DB) AuditKinds(ctx context.Context) (list []string, err error) {
	defer wrap(&err, "AuditKinds")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanText, `SELECT DISTINCT what FROM audit ORDER BY what`)
		return err
	})
	return list, err
}
