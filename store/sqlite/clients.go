package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"

	"swardbook/store"
)

// AddClient adds a client.
func (db *DB) AddClient(ctx context.Context, c store.Client) (err error) {
	defer wrap(&err, "AddClient(%s)", c.ID)
	return db.change(ctx, store.Change{What: "client.added", About: c.ID}, func(t *tx) error {
		return t.addClient(c)
	})
}

func (t *tx) addClient(c store.Client) error {
	return t.exec(`INSERT INTO clients (id, name, phone, email, note, photos, created, archived) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		c.ID, c.Name, c.Phone, c.Email, c.Note, c.Photos, orNow(c.Created, t.now), formatTime(c.Archived))
}

const clientColumns = `id, name, phone, email, note, photos, created, archived`

func scanClient(row scanner) (c store.Client, err error) {
	err = row.Scan(&c.ID, &c.Name, &c.Phone, &c.Email, &c.Note, &c.Photos, moments{&c.Created}, moments{&c.Archived})
	return c, err
}

// Clients lists all clients by name.
func (db *DB) Clients(ctx context.Context) (list []store.Client, err error) {
	defer wrap(&err, "Clients")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanClient, `SELECT `+clientColumns+` FROM clients ORDER BY name COLLATE NOCASE, id`)
		return err
	})
	return list, err
}

// Client returns one client.
func (db *DB) Client(ctx context.Context, id string) (c store.Client, err error) {
	defer wrap(&err, "Client(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		c, err = one(t, notFound("client"), scanClient, `SELECT `+clientColumns+` FROM clients WHERE id = $1`, id)
		return err
	})
	return c, err
}

// AddProperty adds an address of a client.
func (db *DB) AddProperty(ctx context.Context, p store.Property) (err error) {
	defer wrap(&err, "AddProperty(%s)", p.ID)
	return db.change(ctx, store.Change{What: "property.added", About: p.ID}, func(t *tx) error { return t.addProperty(p) })
}

func (t *tx) addProperty(p store.Property) error {
	cautions, err := json.Marshal(append([]string{}, p.Cautions...))
	if err != nil {
		return err
	}
	lat, lon := degrees(p.Place)
	return t.exec(`INSERT INTO properties (id, client, address, system, region, cautions, created, lat, lon, archived) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
		p.ID, p.Client, p.Address, p.System, p.Region, string(cautions), orNow(p.Created, t.now), lat, lon, formatTime(p.Archived))
}

// degrees are a place's latitude and longitude, NULL where nobody said.
func degrees(p *store.LonLat) (lat, lon sql.NullFloat64) {
	if p != nil {
		lat, lon = sql.NullFloat64{Float64: p[1], Valid: true}, sql.NullFloat64{Float64: p[0], Valid: true}
	}
	return lat, lon
}

const propertyColumns = `id, client, address, system, region, cautions, created, lat, lon, archived`

func scanProperty(row scanner) (p store.Property, err error) {
	var cautions string
	var lat, lon sql.NullFloat64
	if err = row.Scan(&p.ID, &p.Client, &p.Address, &p.System, &p.Region, &cautions, moments{&p.Created}, &lat, &lon, moments{&p.Archived}); err != nil {
		return p, err
	}
	if lat.Valid && lon.Valid {
		p.Place = &store.LonLat{lon.Float64, lat.Float64}
	}
	err = json.Unmarshal([]byte(cautions), &p.Cautions)
	return p, err
}

// Properties lists the addresses of a client, of all clients when it is empty, by address.
func (db *DB) Properties(ctx context.Context, client string) (list []store.Property, err error) {
	defer wrap(&err, "Properties(%s)", client)
	var w where
	w.equal("client", client)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanProperty, `SELECT `+propertyColumns+` FROM properties`+w.text+` ORDER BY address COLLATE NOCASE, id`, w.args...)
		return err
	})
	return list, err
}

const oneProperty = `SELECT ` + propertyColumns + ` FROM properties WHERE id = $1`

// Property returns one address.
func (db *DB) Property(ctx context.Context, id string) (p store.Property, err error) {
	defer wrap(&err, "Property(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		p, err = one(t, notFound("property"), scanProperty, oneProperty, id)
		return err
	})
	return p, err
}

// AddZone adds a part of a lawn.
func (db *DB) AddZone(ctx context.Context, z store.Zone) (err error) {
	defer wrap(&err, "AddZone(%s)", z.ID)
	return db.change(ctx, store.Change{What: "zone.added", About: z.ID}, func(t *tx) error {
		return t.addZone(z)
	})
}

func (t *tx) addZone(z store.Zone) error {
	return t.exec(`INSERT INTO zones (id, property, name, area_sqft, made, created, outline, archived) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		z.ID, z.Property, z.Name, z.AreaSqFt, z.Made, orNow(z.Created, t.now), z.Outline, formatTime(z.Archived))
}

const (
	insertZone  = `INSERT INTO zones (id, property, name, area_sqft, made, created) VALUES ($1, $2, $3, $4, $5, $6)`
	zoneColumns = `id, property, name, area_sqft, made, created, outline, archived`
)

func scanZone(row scanner) (z store.Zone, err error) {
	err = row.Scan(&z.ID, &z.Property, &z.Name, &z.AreaSqFt, &z.Made, moments{&z.Created}, &z.Outline, moments{&z.Archived})
	return z, err
}

// Zones lists the zones of a property in the order they were made.
func (db *DB) Zones(ctx context.Context, property string) (list []store.Zone, err error) {
	defer wrap(&err, "Zones(%s)", property)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanZone, `SELECT `+zoneColumns+` FROM zones WHERE property = $1 ORDER BY created, rowid`, property)
		return err
	})
	return list, err
}

const oneZone = `SELECT ` + zoneColumns + ` FROM zones WHERE id = $1`

// Zone returns one zone.
func (db *DB) Zone(ctx context.Context, id string) (z store.Zone, err error) {
	defer wrap(&err, "Zone(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		z, err = one(t, notFound("zone"), scanZone, oneZone, id)
		return err
	})
	return z, err
}
