package sqlite

import (
	"context"
	"encoding/json"
	"time"

	"swardbook/store"
)

// AddVisit plans a visit; it may also be in any later state, as in an import.
func (db *DB) AddVisit(ctx context.Context, v store.Visit) (err error) {
	defer wrap(&err, "AddVisit(%s)", v.ID)
	return db.change(ctx, store.Change{What: "visit.planned", About: v.ID, Detail: v.Day}, func(t *tx) error { return t.addVisit(v) })
}

func (t *tx) addVisit(v store.Visit) error {
	if v.State == "" {
		v.State = store.Planned
	}
	if _, err := time.Parse(time.DateOnly, v.Day); err != nil {
		return &store.Error{Kind: store.Invalid, Say: "A visit needs a day such as 2026-08-27.", Err: err}
	}
	return t.exec(`INSERT INTO visits (id, property, crew, day, place, why, ask, state, sent_why, handed_in, changed)
		VALUES ($1, $2, nullif($3, ''), $4, $5, $6, $7, $8, $9, $10, $11)`,
		v.ID, v.Property, v.Crew, v.Day, v.Order, v.Why, v.Ask, string(v.State), v.SentWhy, formatTime(v.HandedIn), orNow(v.Changed, t.now))
}

const selectVisit = `SELECT v.id, v.property, coalesce(v.crew, ''), v.day, v.place, v.why, v.ask, v.state, v.sent_why, v.handed_in, v.changed FROM visits v`

const oneVisit = selectVisit + ` WHERE v.id = $1`

func scanVisit(row scanner) (v store.Visit, err error) {
	err = row.Scan(&v.ID, &v.Property, &v.Crew, &v.Day, &v.Order, &v.Why, &v.Ask, &v.State, &v.SentWhy, moments{&v.HandedIn}, moments{&v.Changed})
	return v, err
}

// Visit returns one visit.
func (db *DB) Visit(ctx context.Context, id string) (v store.Visit, err error) {
	defer wrap(&err, "Visit(%s)", id)
	err = db.read(ctx, func(t *tx) error { v, err = t.visit(id); return err })
	return v, err
}

func (t *tx) visit(id string) (store.Visit, error) {
	return one(t, notFound("visit"), scanVisit, oneVisit, id)
}

// Visits lists visits by day and their place on the day sheet.
func (db *DB) Visits(ctx context.Context, f store.VisitFilter) (list []store.Visit, err error) {
	defer wrap(&err, "Visits(%+v)", f)
	w, from, err := visitsWhere(f)
	if err != nil {
		return nil, err
	}
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanVisit, selectVisit+from+w.text+` ORDER BY v.day, v.place, v.id`, w.args...)
		return err
	})
	return list, err
}

func visitsWhere(f store.VisitFilter) (w where, from string, err error) {
	if f.Nobodys {
		w.and("(v.crew = ? OR v.crew IS NULL)", f.Crew)
	} else {
		w.equal("v.crew", f.Crew)
	}
	w.equal("v.property", f.Property)
	if f.Client != "" {
		w.and("v.property IN (SELECT id FROM properties WHERE client = ?)", f.Client)
	}
	if f.AtWork {
		from = ` JOIN properties p ON p.id = v.property JOIN clients c ON c.id = p.client`
		w.and("(v.state <> 'planned' OR p.archived = '' AND c.archived = '')")
	}
	if f.FromDay != "" {
		w.and("v.day >= ?", f.FromDay)
	}
	if f.ToDay != "" {
		w.and("v.day <= ?", f.ToDay)
	}
	if len(f.States) > 0 {
		states, err := json.Marshal(f.States)
		if err != nil {
			return w, "", err
		}
		w.and("v.state IN (SELECT value FROM json_each(?))", string(states))
	}
	return w, from, nil
}

// HadVisit reports whether a visit was somebody's before it was given to another one.
func (db *DB) HadVisit(ctx context.Context, visit, person string) (had bool, err error) {
	defer wrap(&err, "HadVisit(%s, %s)", visit, person)
	err = db.read(ctx, func(t *tx) error {
		return t.row(`SELECT EXISTS (SELECT 1 FROM visit_crews WHERE visit = $1 AND person = $2)`, visit, person).Scan(&had)
	})
	return had, err
}

// SetVisitState moves a visit by the office's hand; why is kept when it is sent back. What is signed off stays so.
func (db *DB) SetVisitState(ctx context.Context, id string, to store.VisitState, why string) (err error) {
	defer wrap(&err, "SetVisitState(%s, %s)", id, to)
	return db.change(ctx, store.Change{What: "visit.moved", About: id, Detail: string(to)}, func(t *tx) error {
		v, err := t.visit(id)
		if err != nil {
			return err
		}
		return t.moveVisit(v, to, why, t.now)
	})
}

// moveVisit puts a visit into a state. The sentence of a sending back stands until the visit is handed in again.
func (t *tx) moveVisit(v store.Visit, to store.VisitState, why string, handedIn time.Time) error {
	if v.State == store.SignedOff {
		return store.Errorf(store.Conflict, "This visit is signed off already.")
	}
	switch to {
	case store.SentBack:
		v.SentWhy = why
	case store.HandedIn:
		v.SentWhy, v.HandedIn = "", handedIn
	}
	return t.exec(`UPDATE visits SET state = $1, sent_why = $2, handed_in = $3, changed = $4 WHERE id = $5`,
		string(to), v.SentWhy, formatTime(v.HandedIn), formatTime(t.now), v.ID)
}
