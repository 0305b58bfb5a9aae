package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"swardbook/store"
)

// Retention is how long things are kept: for always before anybody said otherwise.
func (db *DB) Retention(ctx context.Context) (r store.Retention, err error) {
	defer wrap(&err, "Retention")
	err = db.read(ctx, func(t *tx) error { r, err = t.retention(); return err })
	return r, err
}

func (t *tx) retention() (r store.Retention, err error) {
	err = t.row(`SELECT photo_years, client_years FROM retention`).Scan(&r.PhotoYears, &r.ClientYears)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return r, err
}

// SaveRetention sets how long things are kept. Nothing goes before LetGo is called.
func (db *DB) SaveRetention(ctx context.Context, r store.Retention) (err error) {
	defer wrap(&err, "SaveRetention")
	if min(r.PhotoYears, r.ClientYears) < 0 || max(r.PhotoYears, r.ClientYears) > store.MostYears {
		return store.Errorf(store.Invalid, "Give whole years from 1 to %d, or nothing to keep them for always.", store.MostYears)
	}
	detail := fmt.Sprintf("photos %d, former clients %d", r.PhotoYears, r.ClientYears)
	return db.change(ctx, store.Change{What: "firm.retention", Detail: detail}, func(t *tx) error {
		return t.exec(`INSERT INTO retention (one, photo_years, client_years) VALUES (1, $1, $2)
			ON CONFLICT (one) DO UPDATE SET photo_years = excluded.photo_years, client_years = excluded.client_years`, r.PhotoYears, r.ClientYears)
	})
}

// Overdue is what r would take now: photos that no later visit names, and clients long in the archive that were not erased yet and have no
// visit that is not finished. Pictures are the checks whose answers are photos.
func (db *DB) Overdue(ctx context.Context, r store.Retention, pictures []string) (o store.Overdue, err error) {
	defer wrap(&err, "Overdue")
	err = db.read(ctx, func(t *tx) error { o, err = t.overdue(r, pictures); return err })
	return o, err
}

func (t *tx) overdue(r store.Retention, pictures []string) (o store.Overdue, err error) {
	shown, err := listed(pictures)
	if err != nil {
		return o, err
	}
	if r.PhotoYears > 0 {
		o.Photos, err = all(t, scanText, `SELECT o.typed FROM ops o JOIN visits v ON v.id = o.visit JOIN photos p ON p.sha = o.typed
			WHERE o.check_id IN (SELECT value FROM json_each($2)) AND length(o.typed) = 64 GROUP BY o.typed HAVING max(v.day) < $1 ORDER BY o.typed`,
			t.now.AddDate(-r.PhotoYears, 0, 0).Format(time.DateOnly), shown)
		if err != nil {
			return o, err
		}
	}
	if r.ClientYears > 0 {
		o.Clients, err = all(t, scanText, `SELECT id FROM clients WHERE archived <> '' AND archived < $1 AND id NOT IN (SELECT client FROM erased) AND id NOT IN
			(SELECT p.client FROM visits v JOIN properties p ON p.id = v.property WHERE v.state NOT IN ('signed off', 'planned')) ORDER BY id`,
			formatTime(t.now.AddDate(-r.ClientYears, 0, 0)))
	}
	return o, err
}

// LetGo takes what is overdue, and says how much. Photos are to be removed from the disk by whoever keeps it (ErasedPhotos); a client
// that can't be erased now, for a visit that is not finished, is left for another day.
func (db *DB) LetGo(ctx context.Context, words, pictures []string) (photos, clients int, err error) {
	defer wrap(&err, "LetGo")
	r, err := db.Retention(ctx)
	if err != nil {
		return 0, 0, err
	}
	o, err := db.Overdue(ctx, r, pictures)
	if err != nil {
		return 0, 0, err
	}
	for _, client := range o.Clients {
		switch _, err := db.Erase(ctx, client, words, pictures); {
		case store.KindOf(err) == store.Conflict:
		case err != nil:
			return 0, clients, err
		default:
			clients++
		}
	}
	if len(o.Photos) == 0 {
		return 0, clients, nil
	}
	list, err := listed(o.Photos)
	if err != nil {
		return 0, clients, err
	}
	err = db.change(ctx, store.Change{What: "photos.let-go", Detail: fmt.Sprint(len(o.Photos))}, func(t *tx) error { return t.letGo(list) })
	return len(o.Photos), clients, err
}

func (t *tx) letGo(photos string) error {
	return errors.Join(
		t.exec(`INSERT INTO let_go (sha, at) SELECT value, $2 FROM json_each($1) WHERE true ON CONFLICT DO NOTHING`, photos, formatTime(t.now)),
		t.exec(`INSERT INTO erased_photos (sha) SELECT value FROM json_each($1) WHERE true ON CONFLICT DO NOTHING`, photos),
		t.exec(`DELETE FROM photo_wants WHERE sha IN (SELECT value FROM json_each($1))`, photos),
		t.exec(`DELETE FROM photos WHERE sha IN (SELECT value FROM json_each($1))`, photos),
	)
}

// WasLetGo reports whether a photo was removed because its time was over.
func (db *DB) WasLetGo(ctx context.Context, sha string) (gone bool, err error) {
	defer wrap(&err, "WasLetGo(%s)", sha)
	err = db.read(ctx, func(t *tx) error {
		return t.row(`SELECT EXISTS (SELECT 1 FROM let_go WHERE sha = $1)`, sha).Scan(&gone)
	})
	return gone, err
}
