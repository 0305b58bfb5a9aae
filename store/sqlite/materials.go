package sqlite

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"swardbook/store"
)

// SaveMaterial keeps a material as a further version and returns that. Nothing before it changes.
func (db *DB) SaveMaterial(ctx context.Context, m store.Material, by string) (version int64, err error) {
	defer wrap(&err, "SaveMaterial(%s)", m.ID)
	m.Version, m.Changed = 0, nil
	body, err := json.Marshal(m)
	if err != nil {
		return 0, err
	}
	err = db.change(ctx, store.Change{By: by, What: "material.saved", About: m.ID, Detail: m.Name}, func(t *tx) error {
		return t.row(`INSERT INTO materials (id, body, by_person, at) VALUES ($1, $2, $3, $4) RETURNING version`, m.ID, string(body), by, formatTime(t.now)).Scan(&version)
	})
	return version, err
}

func scanMaterial(row scanner) (m store.Material, err error) {
	var id, body string
	var version int64
	var at time.Time
	if err := row.Scan(&version, &id, &body, moments{&at}); err != nil {
		return m, err
	}
	err = json.Unmarshal([]byte(body), &m)
	m.ID, m.Version, m.Changed = id, version, &at
	return m, err
}

// Materials lists the newest version of every material, retired ones too, in the order they were first made.
func (db *DB) Materials(ctx context.Context) (list []store.Material, err error) {
	defer wrap(&err, "Materials")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanMaterial, `SELECT m.version, m.id, m.body, m.at FROM materials m
			JOIN (SELECT id, max(version) AS newest, min(version) AS made FROM materials GROUP BY id) x ON x.newest = m.version ORDER BY x.made`)
		return err
	})
	return list, err
}

// MaterialVersions lists every version of every material, oldest first.
func (db *DB) MaterialVersions(ctx context.Context) (list []store.Material, err error) {
	defer wrap(&err, "MaterialVersions")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanMaterial, `SELECT version, id, body, at FROM materials ORDER BY version`)
		return err
	})
	return list, err
}

// Material returns a version of a material, the newest for version 0.
func (db *DB) Material(ctx context.Context, id string, version int64) (m store.Material, err error) {
	defer wrap(&err, "Material(%s, %d)", id, version)
	err = db.read(ctx, func(t *tx) error {
		m, err = one(t, notFound("material"), scanMaterial, `SELECT version, id, body, at FROM materials
			WHERE id = $1 AND ($2 = 0 OR version = $2) ORDER BY version DESC LIMIT 1`, id, version)
		return err
	})
	return m, err
}

// Setting reads what the firm decided under a name into v; v stays as it is when it decided nothing.
func (db *DB) Setting(ctx context.Context, name string, v any) (err error) {
	defer wrap(&err, "Setting(%s)", name)
	return db.read(ctx, func(t *tx) error {
		text, err := one(t, notFound("setting"), scanText, `SELECT value FROM settings WHERE name = $1`, name)
		var none *store.Error
		if errors.As(err, &none) && none.Kind == store.NotFound {
			return nil
		}
		if err != nil {
			return err
		}
		return json.Unmarshal([]byte(text), v)
	})
}

// SaveSetting keeps what the firm decided under a name.
func (db *DB) SaveSetting(ctx context.Context, name string, v any) (err error) {
	defer wrap(&err, "SaveSetting(%s)", name)
	value, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return db.change(ctx, store.Change{What: "setting.saved", About: name, Detail: string(value)}, func(t *tx) error {
		return t.exec(`INSERT INTO settings (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = excluded.value`, name, string(value))
	})
}
