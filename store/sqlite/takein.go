package sqlite

import (
	"context"
	"fmt"

	"swardbook/store"
)

// TakeIn adds clients, properties and zones: all of them, or none when one can't be added.
func (db *DB) TakeIn(ctx context.Context, clients []store.Client, properties []store.Property, zones []store.Zone) (err error) {
	defer wrap(&err, "TakeIn")
	says := fmt.Sprintf("%d clients, %d properties, %d zones", len(clients), len(properties), len(zones))
	return db.change(ctx, store.Change{What: "clients.taken-in", Detail: says}, func(t *tx) error {
		for _, c := range clients {
			if err := t.addClient(c); err != nil {
				return err
			}
		}
		for _, p := range properties {
			if err := t.addProperty(p); err != nil {
				return err
			}
		}
		for _, z := range zones {
			if err := t.addZone(z); err != nil {
				return err
			}
		}
		return nil
	})
}

// AllZones lists the zones of all properties.
func (db *DB) AllZones(ctx context.Context) (list []store.Zone, err error) {
	defer wrap(&err, "AllZones")
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanZone, `SELECT `+zoneColumns+` FROM zones ORDER BY property, created, rowid`)
		return err
	})
	return list, err
}
