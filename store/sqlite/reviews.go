package sqlite

import (
	"context"
	"strings"

	"swardbook/store"
)

// SaveDiagnosis keeps a further answer of the engine.
func (db *DB) SaveDiagnosis(ctx context.Context, d store.Diagnosis) (err error) {
	defer wrap(&err, "SaveDiagnosis(%s)", d.ID)
	answer, err := Packed(d.Answer)
	if err != nil {
		return err
	}
	return db.write(ctx, func(t *tx) error {
		t.concerns(store.SaidMark(d.Visit))
		return t.exec(`INSERT INTO diagnoses (id, visit, zone, edition, input_hash, made, answer) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			d.ID, d.Visit, d.Zone, d.Edition, d.InputHash, orNow(d.Made, t.now), answer)
	})
}

const selectDiagnosis = `SELECT d.id, d.visit, d.zone, d.edition, d.input_hash, d.made, d.answer FROM diagnoses d`

func scanDiagnosis(row scanner) (d store.Diagnosis, err error) {
	err = row.Scan(&d.ID, &d.Visit, &d.Zone, &d.Edition, &d.InputHash, moments{&d.Made}, packed{&d.Answer})
	return d, err
}

// LatestDiagnoses returns the newest answer for each zone of a visit, by zone.
func (db *DB) LatestDiagnoses(ctx context.Context, visit string) (list []store.Diagnosis, err error) {
	defer wrap(&err, "LatestDiagnoses(%s)", visit)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanDiagnosis, selectDiagnosis+` WHERE d.seq IN (SELECT max(seq) FROM diagnoses WHERE visit = $1 GROUP BY zone) ORDER BY d.zone`, visit)
		return err
	})
	return list, err
}

// DiagnosesBefore lists the answers about zones of a property that visits before a day were given, the newest of the latest visit
// first, without the answers themselves: whoever looks for the last that says something seldom needs more than one of each zone.
func (db *DB) DiagnosesBefore(ctx context.Context, property, day string) (list []store.Diagnosis, err error) {
	defer wrap(&err, "DiagnosesBefore(%s, %s)", property, day)
	scan := func(row scanner) (d store.Diagnosis, err error) {
		err = row.Scan(&d.ID, &d.Visit, &d.Zone)
		return d, err
	}
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scan, `SELECT d.id, d.visit, d.zone FROM diagnoses d JOIN visits v ON v.id = d.visit
			WHERE v.property = $1 AND v.day < $2 ORDER BY v.day DESC, d.seq DESC`, property, day)
		return err
	})
	return list, err
}

// Diagnosis is one answer; NotFound when there is none of that id.
func (db *DB) Diagnosis(ctx context.Context, id string) (d store.Diagnosis, err error) {
	defer wrap(&err, "Diagnosis(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		d, err = one(t, notFound("diagnosis"), scanDiagnosis, selectDiagnosis+` WHERE d.id = $1`, id)
		return err
	})
	return d, err
}

// DiagnosesOfProperty lists every answer ever given about a property, oldest first.
func (db *DB) DiagnosesOfProperty(ctx context.Context, property string) (list []store.Diagnosis, err error) {
	defer wrap(&err, "DiagnosesOfProperty(%s)", property)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanDiagnosis, selectDiagnosis+` JOIN visits v ON v.id = d.visit WHERE v.property = $1 ORDER BY d.seq`, property)
		return err
	})
	return list, err
}

// AddReview keeps what a manager said. A sign off or a sending back moves the visit in the same transaction.
func (db *DB) AddReview(ctx context.Context, r store.Review) (err error) {
	defer wrap(&err, "AddReview(%s, %s)", r.Visit, r.Kind)
	detail := r.Reason
	if r.Cause != "" {
		detail = r.Cause + ": " + r.Judgement + ". " + r.Reason
	}
	return db.change(ctx, store.Change{By: r.By, What: "visit." + strings.ReplaceAll(r.Kind, " ", "-"), About: r.Visit, Detail: detail}, func(t *tx) error {
		v, err := t.visit(r.Visit)
		if err != nil {
			return err
		}
		switch r.Kind {
		case "sign off":
			err = t.moveVisit(v, store.SignedOff, "", t.now)
		case "send back":
			err = t.moveVisit(v, store.SentBack, r.Reason, t.now)
		case "choose":
			err = t.mayChoose(r)
		}
		if err != nil {
			return err
		}
		return t.exec(`INSERT INTO reviews (id, visit, zone, kind, cause, judgement, reading, reason, diagnosis, engine, by_person, at, known)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, `+newestEntry+`)`,
			r.ID, r.Visit, r.Zone, r.Kind, r.Cause, r.Judgement, r.Reading, r.Reason, r.Diagnosis, r.Engine, r.By, orNow(r.At, t.now))
	})
}

// newestEntry is the place of the last reading that could have begun to count.
const newestEntry = `max((SELECT coalesce(max(seq), 0) * 1048576 FROM ops), (SELECT coalesce(max(entry), 0) FROM taken_readings))`

func (t *tx) mayChoose(r store.Review) error {
	var there bool
	err := t.row(`SELECT EXISTS (SELECT 1 FROM readings WHERE id = $1 AND visit = $2)`, r.Reading, r.Visit).Scan(&there)
	if err == nil && !there {
		err = notFound("reading in this visit")
	}
	return err
}

func scanReview(row scanner) (r store.Review, err error) {
	err = row.Scan(&r.ID, &r.Visit, &r.Zone, &r.Kind, &r.Cause, &r.Judgement, &r.Reading, &r.Reason, &r.Diagnosis, &r.Engine, &r.By, moments{&r.At})
	return r, err
}

// Reviews lists what was said of a visit, in the order it was said.
func (db *DB) Reviews(ctx context.Context, visit string) (list []store.Review, err error) {
	defer wrap(&err, "Reviews(%s)", visit)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanReview, `SELECT id, visit, zone, kind, cause, judgement, reading, reason, diagnosis, engine, by_person, at
			FROM reviews WHERE visit = $1 ORDER BY seq`, visit)
		return err
	})
	return list, err
}
