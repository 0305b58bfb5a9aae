package sqlite

import (
	"context"
	"strings"

	"swardbook/store"
)

// Epoch names this database until a restore gives it another name.
func (db *DB) Epoch(ctx context.Context) (epoch string, err error) {
	defer wrap(&err, "Epoch")
	err = db.read(ctx, func(t *tx) error { epoch, err = t.epoch(); return err })
	return epoch, err
}

const selectEpoch = `SELECT epoch FROM meta`

func (t *tx) epoch() (epoch string, err error) {
	err = t.row(selectEpoch).Scan(&epoch)
	return epoch, err
}

// RenewEpoch gives the database another name. It is called after a restore: phones then send again what is missing.
func (db *DB) RenewEpoch(ctx context.Context) (err error) {
	defer wrap(&err, "RenewEpoch")
	return db.change(ctx, store.Change{What: "database.restored"}, func(t *tx) error { return t.exec(`UPDATE meta SET epoch = lower(hex(randomblob(16)))`) })
}

// Empty reports whether nobody can sign in yet.
func (db *DB) Empty(ctx context.Context) (empty bool, err error) {
	defer wrap(&err, "Empty")
	err = db.read(ctx, func(t *tx) error { empty, err = t.empty(); return err })
	return empty, err
}

func (t *tx) empty() (empty bool, err error) {
	err = t.row(`SELECT NOT EXISTS (SELECT 1 FROM people)`).Scan(&empty)
	return empty, err
}

// Firm returns the firm, NotFound before there is one.
func (db *DB) Firm(ctx context.Context) (f store.Firm, err error) {
	defer wrap(&err, "Firm")
	return db.firm.Get("", db.Changed(), func() (f store.Firm, err error) {
		err = db.read(ctx, func(t *tx) error {
			f, err = one(t, notFound("firm yet"), scanFirm, `SELECT name, units, zone FROM firm`)
			return err
		})
		return f, err
	})
}

func scanFirm(row scanner) (f store.Firm, err error) {
	err = row.Scan(&f.Name, &f.Units, &f.Zone)
	return f, err
}

// SaveFirm changes the firm.
func (db *DB) SaveFirm(ctx context.Context, f store.Firm) (err error) {
	defer wrap(&err, "SaveFirm(%s)", f.Name)
	return db.change(ctx, store.Change{What: "firm.changed", Detail: f.Name + ", " + f.Units + ", " + f.Zone}, func(t *tx) error { return t.saveFirm(f) })
}

func (t *tx) saveFirm(f store.Firm) error {
	return t.exec(`INSERT INTO firm (one, name, units, zone) VALUES (1, $1, $2, $3)
		ON CONFLICT (one) DO UPDATE SET name = excluded.name, units = excluded.units, zone = excluded.zone`, f.Name, f.Units, f.Zone)
}

// CreateFirm begins an empty database with its firm and the owner.
func (db *DB) CreateFirm(ctx context.Context, f store.Firm, owner store.Person) (err error) {
	defer wrap(&err, "CreateFirm(%s)", f.Name)
	return db.change(ctx, store.Change{By: owner.ID, What: "firm.created", Detail: f.Name + ", " + f.Units + ", " + f.Zone}, func(t *tx) error {
		empty, err := t.empty()
		if err != nil {
			return err
		}
		if !empty {
			return store.Errorf(store.Conflict, "This database has a firm already.")
		}
		if err := t.saveFirm(f); err != nil {
			return err
		}
		return t.addPerson(owner)
	})
}

// AddPerson adds someone who may sign in. The name must be free among active people.
func (db *DB) AddPerson(ctx context.Context, p store.Person) (err error) {
	defer wrap(&err, "AddPerson(%s)", p.ID)
	return db.change(ctx, store.Change{What: "person.added", About: p.ID, Detail: string(p.Role)}, func(t *tx) error { return t.addPerson(p) })
}

func (t *tx) addPerson(p store.Person) error {
	if p.Active {
		if err := t.nameFree(p.Name, p.ID); err != nil {
			return err
		}
	}
	return t.exec(`INSERT INTO people (id, name, fold, role, lang, hash, active) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		p.ID, p.Name, fold(p.Name), string(p.Role), p.Lang, p.Hash, p.Active)
}

func (t *tx) nameFree(name, id string) error {
	var taken bool
	err := t.row(`SELECT EXISTS (SELECT 1 FROM people WHERE fold = $1 AND active = 1 AND id <> $2)`, fold(name), id).Scan(&taken)
	if err == nil && taken {
		err = store.Errorf(store.Conflict, "Someone is called %s already.", name)
	}
	return err
}

func fold(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

const personColumns = `id, name, role, lang, hash, active`

func scanPerson(row scanner) (p store.Person, err error) {
	err = row.Scan(&p.ID, &p.Name, &p.Role, &p.Lang, &p.Hash, &p.Active)
	return p, err
}

const onePerson = `SELECT ` + personColumns + ` FROM people WHERE id = $1`

// Person returns one person, active or not.
func (db *DB) Person(ctx context.Context, id string) (p store.Person, err error) {
	defer wrap(&err, "Person(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		p, err = one(t, notFound("person"), scanPerson, onePerson, id)
		return err
	})
	return p, err
}

// PersonByName returns the active person with a name, whatever its case.
func (db *DB) PersonByName(ctx context.Context, name string) (p store.Person, err error) {
	defer wrap(&err, "PersonByName")
	err = db.read(ctx, func(t *tx) error {
		p, err = one(t, notFound("person"), scanPerson, `SELECT `+personColumns+` FROM people WHERE fold = $1 AND active = 1`, fold(name))
		return err
	})
	return p, err
}

// People lists everyone by name, only those who are active when active is true.
func (db *DB) People(ctx context.Context, active bool) (list []store.Person, err error) {
	defer wrap(&err, "People")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanPerson, `SELECT `+personColumns+` FROM people WHERE active = 1 OR NOT $1 ORDER BY fold, id`, active)
		return err
	})
	return list, err
}

// SetPasscode replaces the hash of a person's passcode.
func (db *DB) SetPasscode(ctx context.Context, id, hash string) (err error) {
	defer wrap(&err, "SetPasscode(%s)", id)
	return db.change(ctx, store.Change{What: "person.passcode", About: id}, func(t *tx) error {
		return t.execOne(notFound("person"), `UPDATE people SET hash = $1 WHERE id = $2`, hash, id)
	})
}

// SetActive lets a person sign in again or no more. Who may no more is signed out everywhere; one owner always remains.
func (db *DB) SetActive(ctx context.Context, id string, active bool) (err error) {
	defer wrap(&err, "SetActive(%s)", id)
	what := "person.back"
	if !active {
		what = "person.left"
	}
	return db.change(ctx, store.Change{What: what, About: id}, func(t *tx) error {
		p, err := one(t, notFound("person"), scanPerson, `SELECT `+personColumns+` FROM people WHERE id = $1`, id)
		if err != nil {
			return err
		}
		if active {
			err = t.nameFree(p.Name, id)
		} else {
			err = t.mayLeave(p)
		}
		if err != nil {
			return err
		}
		return t.exec(`UPDATE people SET active = $1 WHERE id = $2`, active, id)
	})
}

func (t *tx) mayLeave(p store.Person) error {
	if p.Role == store.Owner {
		if err := t.anotherOwner(p); err != nil {
			return err
		}
	}
	if err := t.exec(`DELETE FROM calendars WHERE person = $1`, p.ID); err != nil {
		return err
	}
	return t.exec(`DELETE FROM sessions WHERE person = $1`, p.ID)
}

// anotherOwner refuses when nobody but p is an owner.
func (t *tx) anotherOwner(p store.Person) error {
	var others int
	err := t.row(`SELECT count(*) FROM people WHERE role = 'owner' AND active = 1 AND id <> $1`, p.ID).Scan(&others)
	if err == nil && others == 0 {
		err = store.Errorf(store.Conflict, "%s is the only owner. Make someone else owner first.", p.Name)
	}
	return err
}
