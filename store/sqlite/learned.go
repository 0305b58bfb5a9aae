package sqlite

import (
	"context"
	"time"

	"swardbook/store"
)

const selectLearned = `SELECT l.id, l.base, l.edition, l.overlay, l.report, l.by_person, l.at, coalesce(u.by_person, ''), coalesce(u.at, '')
	FROM learned l LEFT JOIN learned_undone u ON u.learned = l.id`

func scanLearned(row scanner) (l store.Learned, err error) {
	err = row.Scan(&l.ID, &l.Base, &l.Edition, &l.Overlay, &l.Report, &l.By, moments{&l.At}, &l.UndoneBy, moments{&l.UndoneAt})
	return l, err
}

// Learned lists everything that was ever accepted, oldest first. The last one that stands is in force.
func (db *DB) Learned(ctx context.Context) (list []store.Learned, err error) {
	defer wrap(&err, "Learned")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanLearned, selectLearned+` ORDER BY l.seq`)
		return err
	})
	return list, err
}

// inForce is the id of what was accepted last and stands, "" when there is none.
func (t *tx) inForce() (id string, err error) {
	err = t.row(`SELECT coalesce((SELECT id FROM learned WHERE id NOT IN (SELECT learned FROM learned_undone) ORDER BY seq DESC LIMIT 1), '')`).Scan(&id)
	return id, err
}

// AcceptLearned lets l be in force from now on. after is the id of what was in force when l was made of it, "" for none; when that changed
// meanwhile it is a conflict.
func (db *DB) AcceptLearned(ctx context.Context, l store.Learned, after string) (err error) {
	defer wrap(&err, "AcceptLearned(%s)", l.ID)
	return db.change(ctx, store.Change{By: l.By, What: "knowledge.accepted", About: l.ID, Detail: l.Edition}, func(t *tx) error {
		if err := t.wantInForce(after); err != nil {
			return err
		}
		return t.exec(`INSERT INTO learned (id, base, edition, overlay, report, by_person, at) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			l.ID, l.Base, l.Edition, string(l.Overlay), string(l.Report), l.By, orNow(l.At, t.now))
	})
}

// UndoLearned takes back what was accepted last; anything else is a conflict. What was accepted before it is in force again.
func (db *DB) UndoLearned(ctx context.Context, id, by string, at time.Time) (err error) {
	defer wrap(&err, "UndoLearned(%s)", id)
	return db.change(ctx, store.Change{By: by, What: "knowledge.undone", About: id}, func(t *tx) error {
		if err := t.wantInForce(id); err != nil {
			return err
		}
		return t.exec(`INSERT INTO learned_undone (learned, by_person, at) VALUES ($1, $2, $3)`, id, by, orNow(at, t.now))
	})
}

func (t *tx) wantInForce(id string) error {
	now, err := t.inForce()
	if err == nil && now != id {
		err = store.Errorf(store.Conflict, "Somebody else changed the knowledge meanwhile. Look again.")
	}
	return err
}

// Diagnoses lists every answer ever given about a visit, oldest first.
func (db *DB) Diagnoses(ctx context.Context, visit string) (list []store.Diagnosis, err error) {
	defer wrap(&err, "Diagnoses(%s)", visit)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanDiagnosis, selectDiagnosis+` WHERE d.visit = $1 ORDER BY d.seq`, visit)
		return err
	})
	return list, err
}
