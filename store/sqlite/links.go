package sqlite

import (
	"context"

	"swardbook/store"
)

// AddLink keeps a client's link under the hash of its token. A link to a visit must lead to one of the client's own.
func (db *DB) AddLink(ctx context.Context, tokenHash []byte, l store.Link) (err error) {
	defer wrap(&err, "AddLink(%s)", l.ID)
	return db.change(ctx, store.Change{What: "link.made", About: l.Client}, func(t *tx) error {
		if l.Visit != "" {
			var own bool
			if err := t.row(`SELECT EXISTS (SELECT 1 FROM visits v JOIN properties p ON p.id = v.property WHERE v.id = $1 AND p.client = $2)`, l.Visit, l.Client).Scan(&own); err != nil {
				return err
			}
			if !own {
				return notFound("visit")
			}
		}
		return t.exec(`INSERT INTO links (token, id, client, visit, year, by_person, made, expires) VALUES ($1, $2, $3, NULLIF($4, ''), $5, $6, $7, $8)`,
			tokenHash, l.ID, l.Client, l.Visit, l.Year, l.By, formatTime(t.now), formatTime(l.Expires))
	})
}

const linkColumns = `id, client, COALESCE(visit, ''), year, by_person, made, expires, revoked, opened, seen, times`

func scanLink(row scanner) (l store.Link, err error) {
	err = row.Scan(&l.ID, &l.Client, &l.Visit, &l.Year, &l.By, moments{&l.Made}, moments{&l.Expires}, moments{&l.Revoked}, moments{&l.Opened}, moments{&l.Seen}, &l.Times)
	return l, err
}

// Links lists a client's links, newest first.
func (db *DB) Links(ctx context.Context, client string) (list []store.Link, err error) {
	defer wrap(&err, "Links(%s)", client)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanLink, `SELECT `+linkColumns+` FROM links WHERE client = $1 ORDER BY made DESC, id`, client)
		return err
	})
	return list, err
}

// RevokeLink ends a link of a client for good.
func (db *DB) RevokeLink(ctx context.Context, client, id string) (err error) {
	defer wrap(&err, "RevokeLink(%s)", id)
	return db.change(ctx, store.Change{What: "link.revoked", About: client}, func(t *tx) error {
		return t.execOne(notFound("link"), `UPDATE links SET revoked = CASE revoked WHEN '' THEN $3 ELSE revoked END WHERE client = $1 AND id = $2`, client, id, formatTime(t.now))
	})
}

// OpenLink returns the link of a token and writes down that it was opened. One that is unknown, revoked or too old is not found; which of these it is, is not said.
func (db *DB) OpenLink(ctx context.Context, tokenHash []byte) (l store.Link, err error) {
	defer wrap(&err, "OpenLink")
	err = db.write(ctx, func(t *tx) error {
		l, err = one(t, notFound("page"), scanLink, `UPDATE links SET opened = CASE opened WHEN '' THEN $2 ELSE opened END, seen = $2, times = times + 1
			WHERE token = $1 AND revoked = '' AND expires > $2 RETURNING `+linkColumns, tokenHash, formatTime(t.now))
		return err
	})
	return l, err
}
