package sqlite

import (
	"context"

	"swardbook/store"
)

func scanPhoto(row scanner) (p store.Photo, err error) {
	err = row.Scan(&p.SHA, &p.Size, &p.Type, &p.Complete)
	return p, err
}

const selectPhoto = `SELECT sha, size, type, complete FROM photos`

// PhotoState returns what is known of a photo: named by a row, or complete, or NotFound.
func (db *DB) PhotoState(ctx context.Context, sha string) (p store.Photo, err error) {
	defer wrap(&err, "PhotoState(%s)", sha)
	err = db.read(ctx, func(t *tx) error {
		p, err = one(t, notFound("photo"), scanPhoto, selectPhoto+` WHERE sha = $1`, sha)
		return err
	})
	return p, err
}

// PhotoDone enters a photo whose bytes are safe. Entering it twice is harmless.
func (db *DB) PhotoDone(ctx context.Context, p store.Photo) (err error) {
	defer wrap(&err, "PhotoDone(%s)", p.SHA)
	return db.write(ctx, func(t *tx) error {
		t.concerns()
		return t.exec(`INSERT INTO photos (sha, size, type, complete) VALUES ($1, $2, $3, 1)
			ON CONFLICT (sha) DO UPDATE SET size = excluded.size, type = excluded.type, complete = 1`, p.SHA, p.Size, p.Type)
	})
}

// PhotoGone notes that the bytes of a photo are not there after all, so that phones are asked for them again.
func (db *DB) PhotoGone(ctx context.Context, sha string) (err error) {
	defer wrap(&err, "PhotoGone(%s)", sha)
	return db.write(ctx, func(t *tx) error {
		t.concerns()
		return t.execOne(notFound("photo"), `UPDATE photos SET complete = 0 WHERE sha = $1`, sha)
	})
}

// PhotoList lists every photo that is entered as complete.
func (db *DB) PhotoList(ctx context.Context) ([]store.Photo, error) { return db.photos(ctx, 1) }

// MissingPhotos lists every photo that a row names and the office lacks.
func (db *DB) MissingPhotos(ctx context.Context) ([]store.Photo, error) { return db.photos(ctx, 0) }

func (db *DB) photos(ctx context.Context, complete int) (list []store.Photo, err error) {
	defer wrap(&err, "photos(complete %d)", complete)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanPhoto, selectPhoto+` WHERE complete = $1 ORDER BY sha`, complete)
		return err
	})
	return list, err
}
