package sqlite

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"swardbook/store"
)

// SaveClient changes a client's name, how to reach them, and what they said of photos.
func (db *DB) SaveClient(ctx context.Context, c store.Client) (err error) {
	defer wrap(&err, "SaveClient(%s)", c.ID)
	return db.change(ctx, store.Change{What: "client.changed", About: c.ID, Detail: clientSays(c)}, func(t *tx) error {
		return t.execOne(notFound("client"), `UPDATE clients SET name = $2, phone = $3, email = $4, note = $5, photos = $6 WHERE id = $1`, c.ID, c.Name, c.Phone, c.Email, c.Note, c.Photos)
	})
}

// clientSays has what was said of photos: whoever looks later must see since when it held.
func clientSays(c store.Client) string {
	if c.Photos == store.NotAsked {
		return c.Name
	}
	return c.Name + ", photos " + string(c.Photos)
}

// SaveProperty changes what is known of an address; whose it is stays.
func (db *DB) SaveProperty(ctx context.Context, p store.Property) (err error) {
	defer wrap(&err, "SaveProperty(%s)", p.ID)
	cautions, err := json.Marshal(append([]string{}, p.Cautions...))
	if err != nil {
		return err
	}
	return db.change(ctx, store.Change{What: "property.changed", About: p.ID, Detail: p.Address}, func(t *tx) error {
		return t.execOne(notFound("property"), `UPDATE properties SET address = $2, system = $3, region = $4, cautions = $5 WHERE id = $1`,
			p.ID, p.Address, p.System, p.Region, string(cautions))
	})
}

// SaveZone changes a zone's name and area. Records that were made before keep the area they were made with; the audit log has both.
func (db *DB) SaveZone(ctx context.Context, z store.Zone) (err error) {
	defer wrap(&err, "SaveZone(%s)", z.ID)
	was, err := db.Zone(ctx, z.ID)
	if err != nil {
		return err
	}
	return db.change(ctx, store.Change{What: "zone.changed", About: z.ID, Detail: zoneSays(was, z)}, func(t *tx) error {
		return t.exec(`UPDATE zones SET name = $2, area_sqft = $3 WHERE id = $1`, z.ID, z.Name, z.AreaSqFt)
	})
}

func (t *tx) zone(id string) (store.Zone, error) {
	return one(t, notFound("zone"), scanZone, `SELECT `+zoneColumns+` FROM zones WHERE id = $1`, id)
}

func zoneSays(was, is store.Zone) string {
	says := is.Name
	if was.Name != is.Name {
		says = was.Name + " → " + is.Name
	}
	if was.AreaSqFt != is.AreaSqFt {
		says += fmt.Sprintf(", %.0f → %.0f sq ft", was.AreaSqFt, is.AreaSqFt)
	}
	return says
}

// SaveSketch keeps where a property is and the outlines of some of its zones with their areas, all at once.
func (db *DB) SaveSketch(ctx context.Context, property string, place *store.LonLat, zones []store.Zone) (err error) {
	defer wrap(&err, "SaveSketch(%s)", property)
	return db.change(ctx, store.Change{What: "property.sketched", About: property}, func(t *tx) error {
		lat, lon := degrees(place)
		if err := t.execOne(notFound("property"), `UPDATE properties SET lat = $2, lon = $3 WHERE id = $1`, property, lat, lon); err != nil {
			return err
		}
		for _, z := range zones {
			was, err := t.zone(z.ID)
			if err == nil && was.Property != property {
				err = notFound("zone")
			}
			if err == nil {
				err = t.exec(`UPDATE zones SET outline = $2, area_sqft = $3 WHERE id = $1`, z.ID, z.Outline, z.AreaSqFt)
			}
			if err == nil && was.AreaSqFt != z.AreaSqFt {
				z.Name = was.Name
				err = t.audit(store.Change{What: "zone.changed", About: z.ID, Detail: zoneSays(was, z)})
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// ArchiveClient takes a client out of the lists, or back when back is true. Records stay as they are.
func (db *DB) ArchiveClient(ctx context.Context, id string, back bool) (err error) {
	defer wrap(&err, "ArchiveClient(%s)", id)
	return db.change(ctx, archiving("client", id, back), func(t *tx) error {
		return t.execOne(notFound("client"), `UPDATE clients SET archived = $2 WHERE id = $1`, id, archivedAt(t.now, back))
	})
}

// ArchiveProperty is ArchiveClient for one address.
func (db *DB) ArchiveProperty(ctx context.Context, id string, back bool) (err error) {
	defer wrap(&err, "ArchiveProperty(%s)", id)
	return db.change(ctx, archiving("property", id, back), func(t *tx) error {
		return t.execOne(notFound("property"), `UPDATE properties SET archived = $2 WHERE id = $1`, id, archivedAt(t.now, back))
	})
}

// ArchiveZone is ArchiveClient for one zone.
func (db *DB) ArchiveZone(ctx context.Context, id string, back bool) (err error) {
	defer wrap(&err, "ArchiveZone(%s)", id)
	return db.change(ctx, archiving("zone", id, back), func(t *tx) error {
		return t.execOne(notFound("zone"), `UPDATE zones SET archived = $2 WHERE id = $1`, id, archivedAt(t.now, back))
	})
}

func archiving(what, id string, back bool) store.Change {
	if back {
		return store.Change{What: what + ".back", About: id}
	}
	return store.Change{What: what + ".archived", About: id}
}

func archivedAt(now time.Time, back bool) string {
	if back {
		return ""
	}
	return formatTime(now)
}

// SavePerson changes a person's name, role and language. The name must be free among active people; one owner always remains.
func (db *DB) SavePerson(ctx context.Context, p store.Person) (err error) {
	defer wrap(&err, "SavePerson(%s)", p.ID)
	return db.change(ctx, store.Change{What: "person.changed", About: p.ID, Detail: p.Name + ", " + string(p.Role)}, func(t *tx) error {
		was, err := one(t, notFound("person"), scanPerson, `SELECT `+personColumns+` FROM people WHERE id = $1`, p.ID)
		if err != nil {
			return err
		}
		if was.Active {
			if err := t.nameFree(p.Name, p.ID); err != nil {
				return err
			}
		}
		if was.Active && was.Role == store.Owner && p.Role != store.Owner {
			if err := t.anotherOwner(was); err != nil {
				return err
			}
		}
		return t.exec(`UPDATE people SET name = $2, fold = $3, role = $4, lang = $5 WHERE id = $1`, p.ID, p.Name, fold(p.Name), string(p.Role), p.Lang)
	})
}

// MoveVisit gives a visit another day, crew and place on the sheet. What is handed in or signed off stays where it was walked.
func (db *DB) MoveVisit(ctx context.Context, id, day, crew string, place int) (err error) {
	defer wrap(&err, "MoveVisit(%s)", id)
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return &store.Error{Kind: store.Invalid, Say: "A visit needs a day such as 2026-08-27.", Err: err}
	}
	return db.change(ctx, store.Change{What: "visit.assigned", About: id, Detail: day}, func(t *tx) error {
		v, err := t.visit(id)
		if err != nil {
			return err
		}
		if v.State == store.HandedIn || v.State == store.SignedOff {
			return store.Errorf(store.Conflict, "This visit is handed in already: it stays on the day it was walked.")
		}
		return t.place(v, day, crew, place)
	})
}

// place puts a visit at a place of a sheet (1 the first, beyond the last when it is 0) and counts the others anew.
func (t *tx) place(v store.Visit, day, crew string, at int) error {
	sheet, err := all(t, scanText, `SELECT id FROM visits WHERE day = $1 AND coalesce(crew, '') = $2 AND id <> $3 ORDER BY place, id`, day, crew, v.ID)
	if err != nil {
		return err
	}
	if at < 1 || at > len(sheet)+1 {
		at = len(sheet) + 1
	}
	for i, other := range sheet {
		n := i + 1
		if n >= at {
			n++
		}
		if err := t.exec(`UPDATE visits SET place = $2, changed = $3 WHERE id = $1 AND place <> $2`, other, n, formatTime(t.now)); err != nil {
			return err
		}
	}
	return t.exec(`UPDATE visits SET day = $2, crew = nullif($3, ''), place = $4, changed = $5 WHERE id = $1`, v.ID, day, crew, at, formatTime(t.now))
}
