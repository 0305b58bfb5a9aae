package sqlite

import (
	"context"

	"swardbook/store"
)

// Factor returns a person's second factor, also one that is being set up.
func (db *DB) Factor(ctx context.Context, person string) (f store.Factor, err error) {
	defer wrap(&err, "Factor(%s)", person)
	err = db.read(ctx, func(t *tx) error {
		f, err = one(t, notFound("second factor"), scanFactor, `SELECT secret, since, step, (SELECT count(*) FROM recovery_codes WHERE person = $1) FROM factors WHERE person = $1`, person)
		return err
	})
	return f, err
}

func scanFactor(row scanner) (f store.Factor, err error) {
	err = row.Scan(&f.Secret, moments{&f.Since}, &f.Step, &f.Left)
	return f, err
}

// BeginFactor keeps a secret until its first code proves that the authenticator has it. One that is in force is not replaced.
func (db *DB) BeginFactor(ctx context.Context, person string, secret []byte) (err error) {
	defer wrap(&err, "BeginFactor(%s)", person)
	return db.write(ctx, func(t *tx) error {
		return t.execOne(store.Errorf(store.Conflict, "A second factor is in force already."),
			`INSERT INTO factors (person, secret, since, step) VALUES ($1, $2, '', 0) ON CONFLICT (person) DO UPDATE SET secret = excluded.secret, step = 0 WHERE since = ''`, person, secret)
	})
}

// ConfirmFactor puts the secret in force that was begun with, after its code of a step was right, with the hashes of its recovery codes.
func (db *DB) ConfirmFactor(ctx context.Context, person string, step int64, recovery [][]byte) (err error) {
	defer wrap(&err, "ConfirmFactor(%s)", person)
	return db.change(ctx, store.Change{What: "person.second-on", About: person}, func(t *tx) error {
		if err := t.execOne(notFound("second factor that is being set up"), `UPDATE factors SET since = $2, step = $3 WHERE person = $1 AND since = ''`, person, formatTime(t.now), step); err != nil {
			return err
		}
		return t.recovery(person, recovery)
	})
}

// RenewRecovery puts other recovery codes in place of those a person has.
func (db *DB) RenewRecovery(ctx context.Context, person string, recovery [][]byte) (err error) {
	defer wrap(&err, "RenewRecovery(%s)", person)
	return db.change(ctx, store.Change{What: "person.recovery-renewed", About: person}, func(t *tx) error { return t.recovery(person, recovery) })
}

func (t *tx) recovery(person string, hashes [][]byte) error {
	if err := t.exec(`DELETE FROM recovery_codes WHERE person = $1`, person); err != nil {
		return err
	}
	for _, hash := range hashes {
		if err := t.exec(`INSERT INTO recovery_codes (code, person) VALUES ($1, $2)`, hash, person); err != nil {
			return err
		}
	}
	return nil
}

// UseFactor marks the code of a step as used. One that was used before, or is older than one that was, is an error of kind SignIn.
func (db *DB) UseFactor(ctx context.Context, person string, step int64) (err error) {
	defer wrap(&err, "UseFactor(%s)", person)
	return db.write(ctx, func(t *tx) error {
		return t.execOne(store.Errorf(store.SignIn, "This code was used already. Wait for the next one."),
			`UPDATE factors SET step = $2 WHERE person = $1 AND since <> '' AND step < $2`, person, step)
	})
}

// UseRecovery spends a recovery code. One that is unknown or spent is an error of kind SignIn.
func (db *DB) UseRecovery(ctx context.Context, person string, hash []byte) (err error) {
	defer wrap(&err, "UseRecovery(%s)", person)
	return db.change(ctx, store.Change{By: person, What: "person.recovery-used", About: person}, func(t *tx) error {
		return t.execOne(store.Errorf(store.SignIn, "This recovery code is not one of yours, or was used."), `DELETE FROM recovery_codes WHERE code = $1 AND person = $2`, hash, person)
	})
}

// DropFactor lets a person sign in with the passcode alone.
func (db *DB) DropFactor(ctx context.Context, person string) (err error) {
	defer wrap(&err, "DropFactor(%s)", person)
	return db.change(ctx, store.Change{What: "person.second-off", About: person}, func(t *tx) error {
		if err := t.recovery(person, nil); err != nil {
			return err
		}
		return t.execOne(notFound("second factor"), `DELETE FROM factors WHERE person = $1`, person)
	})
}

// Factors lists who has a second factor in force.
func (db *DB) Factors(ctx context.Context) (list []string, err error) {
	defer wrap(&err, "Factors")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanText, `SELECT person FROM factors WHERE since <> '' ORDER BY person`)
		return err
	})
	return list, err
}
