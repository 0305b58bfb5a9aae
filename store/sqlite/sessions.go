package sqlite

import (
	"context"
	"time"

	"swardbook/store"
)

// AddSession signs a browser in, and forgets sessions that ran out.
func (db *DB) AddSession(ctx context.Context, tokenHash []byte, personID, agent string, ttl time.Duration) (err error) {
	defer wrap(&err, "AddSession(%s)", personID)
	return db.write(ctx, func(t *tx) error {
		t.concerns()
		now := formatTime(t.now)
		if err := t.exec(`DELETE FROM sessions WHERE expires <= $1`, now); err != nil {
			return err
		}
		return t.exec(`INSERT INTO sessions (token, person, agent, started, seen, expires) VALUES ($1, $2, $3, $4, $4, $5)`,
			tokenHash, personID, agent, now, formatTime(t.now.Add(ttl)))
	})
}

const oneSession = `SELECT s.started, s.seen, s.expires, s.agent, p.id, p.name, p.role, p.lang, p.hash, p.active
	FROM sessions s JOIN people p ON p.id = s.person WHERE s.token = $1`

// Session returns who is signed in with a token. One that ran out, or whose person is not active, is an error of kind SignIn.
func (db *DB) Session(ctx context.Context, tokenHash []byte) (s store.Session, err error) {
	defer wrap(&err, "Session")
	err = db.read(ctx, func(t *tx) error {
		s, err = one(t, notFound("session"), scanSession, oneSession, tokenHash)
		if err == nil && (!s.Expires.After(t.now) || !s.Person.Active) {
			err = store.Errorf(store.SignIn, "Sign in again.")
		}
		return err
	})
	return s, err
}

func scanSession(row scanner) (s store.Session, err error) {
	p := &s.Person
	err = row.Scan(moments{&s.Started}, moments{&s.Seen}, moments{&s.Expires}, &s.Agent, &p.ID, &p.Name, &p.Role, &p.Lang, &p.Hash, &p.Active)
	return s, err
}

// RenewSession lets a session live for ttl from now.
func (db *DB) RenewSession(ctx context.Context, tokenHash []byte, ttl time.Duration) (err error) {
	defer wrap(&err, "RenewSession")
	return db.write(ctx, func(t *tx) error {
		t.concerns()
		return t.execOne(notFound("session"), `UPDATE sessions SET seen = $1, expires = $2 WHERE token = $3`,
			formatTime(t.now), formatTime(t.now.Add(ttl)), tokenHash)
	})
}

// EndSession signs a browser out. One that is out already stays so.
func (db *DB) EndSession(ctx context.Context, tokenHash []byte) (err error) {
	defer wrap(&err, "EndSession")
	return db.write(ctx, func(t *tx) error {
		t.concerns()
		return t.exec(`DELETE FROM sessions WHERE token = $1`, tokenHash)
	})
}

// EndSessionsOf signs a person out everywhere.
func (db *DB) EndSessionsOf(ctx context.Context, person string) (err error) {
	defer wrap(&err, "EndSessionsOf(%s)", person)
	return db.change(ctx, store.Change{What: "person.signed-out", About: person}, func(t *tx) error { return t.exec(`DELETE FROM sessions WHERE person = $1`, person) })
}
