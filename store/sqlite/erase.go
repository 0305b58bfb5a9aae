package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"swardbook/store"
)

// Erasure says what erasing a client would take and what would stay. Words are the checks whose answers are free text, pictures those whose answers are photos.
func (db *DB) Erasure(ctx context.Context, client string, words, pictures []string) (e store.Erasure, err error) {
	defer wrap(&err, "Erasure(%s)", client)
	err = db.read(ctx, func(t *tx) error { e, err = t.erasure(client, words, pictures); return err })
	return e, err
}

// Conditions on what belongs to client $1.
const (
	ownProperties = `(SELECT id FROM properties WHERE client = $1)`
	ownVisits     = `(SELECT v.id FROM visits v JOIN properties p ON p.id = v.property WHERE p.client = $1)`
	erasedName    = "Erased"
)

func (t *tx) erasure(client string, words, pictures []string) (e store.Erasure, err error) {
	if e.Client, err = one(t, notFound("client"), scanClient, `SELECT `+clientColumns+` FROM clients WHERE id = $1`, client); err != nil {
		return e, err
	}
	err = t.row(`SELECT at, held FROM erased WHERE client = $1`, client).Scan(moments{&e.Done}, &e.Held)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return e, err
	}
	if e.Open, err = all(t, scanVisit, selectVisit+` WHERE v.id IN `+ownVisits+` AND v.state <> 'signed off' AND (v.state <> 'planned' OR v.id IN (SELECT visit FROM ops UNION ALL SELECT visit FROM applications UNION ALL SELECT visit FROM plans)) ORDER BY v.day`, client); err != nil {
		return e, err
	}
	lists, err := listed(words)
	if err != nil {
		return e, err
	}
	shown, err := listed(pictures)
	if err != nil {
		return e, err
	}
	if err := t.row(`SELECT (SELECT count(*) FROM properties WHERE client = $1), (SELECT count(*) FROM visits WHERE id IN `+ownVisits+`),
		(SELECT count(*) FROM ops WHERE visit IN `+ownVisits+` AND typed <> '' AND check_id IN (SELECT value FROM json_each($2))),
		(SELECT count(*) FROM links WHERE client = $1), (SELECT count(*) FROM applications WHERE property IN `+ownProperties+`)`, client, lists).
		Scan(&e.Properties, &e.Visits, &e.Notes, &e.Links, &e.Records); err != nil {
		return e, err
	}
	if e.Photos, err = all(t, scanText, `SELECT DISTINCT typed FROM ops WHERE visit IN `+ownVisits+` AND length(typed) = 64 AND check_id IN (SELECT value FROM json_each($2)) ORDER BY typed`, client, shown); err != nil {
		return e, err
	}
	if e.Done.IsZero() {
		e.Held, err = t.heldUntil(client)
	}
	return e, err
}

// heldUntil is the last day that a record of the client must be kept, "" when that is over or there is none.
func (t *tx) heldUntil(client string) (string, error) {
	var last string
	if err := t.row(`SELECT coalesce(max(day), '') FROM applications WHERE property IN `+ownProperties, client).Scan(&last); err != nil || last == "" {
		return "", err
	}
	day, err := time.Parse(time.DateOnly, last)
	if err != nil {
		return "", err
	}
	until := day.AddDate(store.LegalYears, 0, 0).Format(time.DateOnly)
	if until < t.now.Format(time.DateOnly) {
		return "", nil
	}
	return until, nil
}

// Erase empties everything personal of a client; what was measured stays without a name, and records of what was put down stay with name and address while the
// law holds them. Photos are to be removed from the disk by whoever keeps it (ErasedPhotos).
func (db *DB) Erase(ctx context.Context, client string, words, pictures []string) (e store.Erasure, err error) {
	defer wrap(&err, "Erase(%s)", client)
	err = db.change(ctx, store.Change{What: "client.erased", About: client}, func(t *tx) error {
		if e, err = t.erasure(client, words, pictures); err != nil {
			return err
		}
		if len(e.Open) > 0 {
			return store.Errorf(store.Conflict, "A visit of this client is not finished: sign it off first.")
		}
		if !e.Done.IsZero() {
			return store.Errorf(store.Conflict, "This client's data was erased already.")
		}
		if err := t.exec(`INSERT INTO erased (client, by_person, at, held) VALUES ($1, $2, $3, $4)`, client, store.Actor(ctx), formatTime(t.now), e.Held); err != nil {
			return err
		}
		return t.erasing(func() error { return t.erase(client, e, words, pictures) })
	})
	if err != nil {
		return e, err
	}
	return e, db.emptyLog(ctx)
}

// emptyLog copies the write-ahead log into the database and empties it: older pages stand in it until they are written over. Readers
// that are at work keep it for now; the next time it is copied it is written over from its beginning.
func (db *DB) emptyLog(ctx context.Context) error {
	var busy, size, copied int
	return db.writer.QueryRowContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &size, &copied)
}

// listed is a list as a query takes it.
func listed(values []string) (string, error) {
	text, err := json.Marshal(append([]string{}, values...))
	return string(text), err
}

// erasing lets f empty what was said.
func (t *tx) erasing(f func() error) error {
	if err := t.exec(`INSERT INTO erasing (one) VALUES (1)`); err != nil {
		return err
	}
	if err := f(); err != nil {
		return err
	}
	return t.exec(`DELETE FROM erasing`)
}

// erase goes from what was typed to what hangs on it. An emptied operation keeps its number, so that no phone finds a hole.
func (t *tx) erase(client string, e store.Erasure, words, pictures []string) error {
	type step struct {
		query string
		args  []any
	}
	free, err := listed(slices.Concat(words, pictures))
	if err != nil {
		return err
	}
	photos, err := listed(e.Photos)
	if err != nil {
		return err
	}
	const spoken = `visit IN ` + ownVisits + ` AND (kind = 'zone' OR aside <> '' OR check_id IN (SELECT value FROM json_each($2)))`
	steps := []step{
		{`INSERT INTO erased_ops (seq, after) SELECT seq, (SELECT coalesce(max(seq), 0) FROM ops) FROM ops WHERE ` + spoken + ` ON CONFLICT DO NOTHING`, []any{client, free}},
		{`INSERT INTO erased_photos (sha) SELECT value FROM json_each($1) WHERE value NOT IN (SELECT typed FROM ops WHERE length(typed) = 64 AND visit NOT IN
			(SELECT v.id FROM visits v JOIN properties p ON p.id = v.property WHERE p.client = $2)) ON CONFLICT DO NOTHING`, []any{photos, client}},
		{`DELETE FROM finds WHERE rowid IN (SELECT n FROM findable WHERE kind IN ('note', 'visit') AND place IN ` + ownVisits + `)`, []any{client}},
		{`DELETE FROM findable WHERE kind = 'note' AND place IN ` + ownVisits, []any{client}},
		{`UPDATE clashes SET raw = CAST('{}' AS BLOB), typed = '', detail = '' WHERE op IN (SELECT id FROM ops WHERE visit IN ` + ownVisits + `)`, []any{client}},
		{`UPDATE ops SET raw = CAST('{}' AS BLOB), typed = '', detail = '' WHERE ` + spoken, []any{client, free}},
		{`UPDATE taken_readings SET typed = '' WHERE visit IN ` + ownVisits + ` AND check_id IN (SELECT value FROM json_each($2))`, []any{client, free}},
		{`UPDATE settled SET why = '' WHERE op IN (SELECT id FROM ops WHERE visit IN ` + ownVisits + `)`, []any{client}},
		{`UPDATE reviews SET reason = '' WHERE visit IN ` + ownVisits, []any{client}},
		{`DELETE FROM photo_wants WHERE sha IN (SELECT sha FROM erased_photos)`, nil},
		{`DELETE FROM photos WHERE sha IN (SELECT sha FROM erased_photos)`, nil},
		{`DELETE FROM plan_drafts WHERE visit IN ` + ownVisits, []any{client}},
		{`UPDATE plan_steps SET why = '' WHERE plan IN (SELECT id FROM plans WHERE property IN ` + ownProperties + `)`, []any{client}},
		{`DELETE FROM links WHERE client = $1`, []any{client}},
		{`UPDATE plan_steps SET visit = NULL, state = 'dropped' WHERE visit IN (SELECT id FROM visits WHERE state = 'planned' AND id IN ` + ownVisits + `)`, []any{client}},
		{`DELETE FROM findable WHERE kind = 'visit' AND id IN (SELECT id FROM visits WHERE state = 'planned' AND id IN ` + ownVisits + `)`, []any{client}},
		{`DELETE FROM visits WHERE state = 'planned' AND id IN ` + ownVisits, []any{client}},
		{`UPDATE visits SET ask = '', sent_why = '' WHERE id IN ` + ownVisits, []any{client}},
		{`UPDATE zones SET name = 'Zone ' || (SELECT count(*) FROM zones z WHERE z.property = zones.property AND z.rowid <= zones.rowid), outline = '' WHERE property IN ` + ownProperties, []any{client}},
		{`UPDATE properties SET cautions = '[]', lat = NULL, lon = NULL, archived = CASE archived WHEN '' THEN $2 ELSE archived END WHERE client = $1`, []any{client, formatTime(t.now)}},
		{`UPDATE clients SET phone = '', email = '', note = '', archived = CASE archived WHEN '' THEN $2 ELSE archived END WHERE id = $1`, []any{client, formatTime(t.now)}},
		{`UPDATE audit SET detail = '' WHERE about = $1 OR about IN ` + ownProperties + ` OR about IN ` + ownVisits + ` OR about IN (SELECT id FROM zones WHERE property IN ` + ownProperties + `)
			OR about IN (SELECT id FROM plans WHERE property IN ` + ownProperties + `)`, []any{client}},
	}
	for i, s := range steps {
		if err := t.exec(s.query, s.args...); err != nil {
			return fmt.Errorf("step %d: %w", i+1, err)
		}
	}
	if err := t.emptyPlans(client); err != nil {
		return err
	}
	if e.Held != "" {
		return nil
	}
	return t.nameless(client)
}

// emptyPlans takes from signed plans what a person typed: names of zones, and why a rule was set aside. Steps and amounts stay.
func (t *tx) emptyPlans(client string) error {
	names := map[string]string{}
	zones, err := all(t, scanPair, `SELECT id, name FROM zones WHERE property IN `+ownProperties, client)
	if err != nil {
		return err
	}
	for _, z := range zones {
		names[z[0]] = z[1]
	}
	plans, err := all(t, scanPair, `SELECT id, body FROM plans WHERE property IN `+ownProperties, client)
	if err != nil {
		return err
	}
	for _, p := range plans {
		body, err := emptiedPlan([]byte(p[1]), names)
		if err != nil {
			return fmt.Errorf("plan %s: %w", p[0], err)
		}
		if err := t.exec(`UPDATE plans SET body = $2 WHERE id = $1`, p[0], string(body)); err != nil {
			return err
		}
	}
	return nil
}

func scanPair(row scanner) (pair [2]string, err error) {
	err = row.Scan(&pair[0], &pair[1])
	return pair, err
}

// emptiedPlan is a plan's body with other names of zones, and without reasons that a person gave.
func emptiedPlan(body []byte, names map[string]string) ([]byte, error) {
	d := json.NewDecoder(bytes.NewReader(body))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, err
	}
	emptyTyped(v, names)
	return json.Marshal(v)
}

func emptyTyped(v any, names map[string]string) {
	switch v := v.(type) {
	case []any:
		for _, part := range v {
			emptyTyped(part, names)
		}
	case map[string]any:
		if zone, ok := v["zone"].(string); ok && v["name"] != nil {
			v["name"] = names[zone]
		}
		if _, ok := v["by"].(string); ok && v["why"] != nil {
			v["why"] = ""
		}
		for _, part := range v {
			emptyTyped(part, names)
		}
	}
}

// nameless takes the name and the addresses, when no law holds them any more.
func (t *tx) nameless(client string) error {
	if err := t.exec(`UPDATE properties SET address = $2 WHERE client = $1`, client, erasedName); err != nil {
		return err
	}
	if err := t.exec(`UPDATE clients SET name = $2 WHERE id = $1`, client, erasedName); err != nil {
		return err
	}
	return t.exec(`UPDATE erased SET held = '' WHERE client = $1`, client)
}

// EraseDue takes the names and addresses that the law held until yesterday, and returns of how many clients.
func (db *DB) EraseDue(ctx context.Context) (n int, err error) {
	defer wrap(&err, "EraseDue")
	var due []string
	err = db.read(ctx, func(t *tx) error {
		due, err = all(t, scanText, `SELECT client FROM erased WHERE held <> '' AND held < $1`, t.now.Format(time.DateOnly))
		return err
	})
	for _, client := range due {
		if err == nil {
			err = db.change(ctx, store.Change{What: "client.erased-name", About: client}, func(t *tx) error { return t.nameless(client) })
			n++
		}
	}
	return n, err
}

// ErasedPhotos lists photos whose files are still to be removed.
func (db *DB) ErasedPhotos(ctx context.Context) (list []string, err error) {
	defer wrap(&err, "ErasedPhotos")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanText, `SELECT sha FROM erased_photos ORDER BY sha`)
		return err
	})
	return list, err
}

// PhotoErased notes that the file of an erased photo is gone.
func (db *DB) PhotoErased(ctx context.Context, sha string) (err error) {
	defer wrap(&err, "PhotoErased(%s)", sha)
	return db.write(ctx, func(t *tx) error { return t.exec(`DELETE FROM erased_photos WHERE sha = $1`, sha) })
}
