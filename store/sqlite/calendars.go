package sqlite

import (
	"context"

	"swardbook/store"
)

// SetCalendar keeps the address of a person's calendar under the hash of its token; the one before ends.
func (db *DB) SetCalendar(ctx context.Context, tokenHash []byte, person string) (err error) {
	defer wrap(&err, "SetCalendar(%s)", person)
	return db.change(ctx, store.Change{What: "calendar.made", About: person}, func(t *tx) error {
		return t.exec(`INSERT INTO calendars (token, person, made) VALUES ($1, $2, $3)
			ON CONFLICT (person) DO UPDATE SET token = excluded.token, made = excluded.made, seen = ''`, tokenHash, person, formatTime(t.now))
	})
}

// EndCalendar ends the address of a person's calendar.
func (db *DB) EndCalendar(ctx context.Context, person string) (err error) {
	defer wrap(&err, "EndCalendar(%s)", person)
	return db.change(ctx, store.Change{What: "calendar.ended", About: person}, func(t *tx) error {
		return t.execOne(notFound("calendar"), `DELETE FROM calendars WHERE person = $1`, person)
	})
}

const calendarColumns = `person, made, seen`

func scanCalendar(row scanner) (c store.Calendar, err error) {
	err = row.Scan(&c.Person, moments{&c.Made}, moments{&c.Seen})
	return c, err
}

// Calendar tells of a person's calendar, NotFound when there is none.
func (db *DB) Calendar(ctx context.Context, person string) (c store.Calendar, err error) {
	defer wrap(&err, "Calendar(%s)", person)
	err = db.read(ctx, func(t *tx) error {
		c, err = one(t, notFound("calendar"), scanCalendar, `SELECT `+calendarColumns+` FROM calendars WHERE person = $1`, person)
		return err
	})
	return c, err
}

// OpenCalendar returns the calendar of a token and writes down that it was read.
func (db *DB) OpenCalendar(ctx context.Context, tokenHash []byte) (c store.Calendar, err error) {
	defer wrap(&err, "OpenCalendar")
	err = db.write(ctx, func(t *tx) error {
		c, err = one(t, notFound("page"), scanCalendar, `UPDATE calendars SET seen = $2
			WHERE token = $1 AND person IN (SELECT id FROM people WHERE active = 1) RETURNING `+calendarColumns, tokenHash, formatTime(t.now))
		return err
	})
	return c, err
}
