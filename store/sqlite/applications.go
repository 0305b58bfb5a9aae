package sqlite

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"swardbook/store"
)

// addApplication keeps a record that came through the log.
func (k *taking) addApplication(a store.Application, n int64) error {
	body, err := json.Marshal(a)
	if err != nil {
		return err
	}
	missing, err := json.Marshal(append([]string{}, a.Missing...))
	if err != nil {
		return err
	}
	flags, err := json.Marshal(append([]store.Flag{}, a.Flags...))
	if err != nil {
		return err
	}
	return k.exec(`INSERT INTO applications (id, seq, visit, property, day, material, version, corrects, author, device, n, at, stamp, body, missing, flags)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)`,
		a.ID, a.Seq, a.Visit, a.Property, a.Day, a.Material, a.Version, a.Corrects, a.Author, a.Device, n, a.At, a.Stamp, string(body), string(missing), string(flags))
}

func (k *taking) addCalibration(c store.Calibration, n int64) error {
	body, err := json.Marshal(c)
	if err != nil {
		return err
	}
	return k.exec(`INSERT INTO calibrations (id, seq, equipment, author, device, n, at, stamp, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		c.ID, c.Seq, c.Equipment, c.Author, c.Device, n, c.At, c.Stamp, string(body))
}

const selectApplication = `SELECT a.id, a.seq, a.stamp, a.device, a.body, a.missing, a.flags, coalesce(s.by_person, ''), coalesce(s.why, ''), coalesce(s.at, '')
	FROM applications a LEFT JOIN application_seen s ON s.application = a.id`

func scanApplication(row scanner) (a store.Application, err error) {
	var id, stamp, device, body, missing, flags string
	var seq int64
	var seen store.Seen
	if err := row.Scan(&id, &seq, &stamp, &device, &body, &missing, &flags, &seen.By, &seen.Why, moments{&seen.At}); err != nil {
		return a, err
	}
	if err := json.Unmarshal([]byte(body), &a); err != nil {
		return a, err
	}
	a.ID, a.Seq, a.Stamp, a.Device, a.Seen = id, seq, stamp, device, nil
	if seen.By != "" {
		a.Seen = &seen
	}
	if err := json.Unmarshal([]byte(missing), &a.Missing); err != nil {
		return a, err
	}
	return a, json.Unmarshal([]byte(flags), &a.Flags)
}

// Applications lists records of what was put down, corrections and what they correct alike, in the order they reached the office.
func (db *DB) Applications(ctx context.Context, f store.ApplicationFilter) (list []store.Application, err error) {
	defer wrap(&err, "Applications(%+v)", f)
	w := applicationsWhere(f)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanApplication, selectApplication+w.text+` ORDER BY a.entry`, w.args...)
		return err
	})
	return list, err
}

func applicationsWhere(f store.ApplicationFilter) (w where) {
	w.equal("a.property", f.Property)
	w.equal("a.visit", f.Visit)
	if f.FromDay != "" {
		w.and("a.day >= ?", f.FromDay)
	}
	if f.ToDay != "" {
		w.and("a.day <= ?", f.ToDay)
	}
	if f.Wanting {
		w.and(`(a.missing <> '[]' OR a.flags <> '[]') AND s.application IS NULL
			AND NOT EXISTS (SELECT 1 FROM applications c WHERE c.corrects = a.id OR c.corrects = a.corrects AND a.corrects <> '' AND c.entry > a.entry)`)
	}
	return w
}

// Application returns one record.
func (db *DB) Application(ctx context.Context, id string) (a store.Application, err error) {
	defer wrap(&err, "Application(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		a, err = one(t, notFound("record of an application"), scanApplication, selectApplication+` WHERE a.id = $1`, id)
		return err
	})
	return a, err
}

// SeeApplication keeps what a manager said of a record that lacks an item or passed a limit; once said it stands.
func (db *DB) SeeApplication(ctx context.Context, id, by, why string) (err error) {
	defer wrap(&err, "SeeApplication(%s)", id)
	return db.change(ctx, store.Change{By: by, What: "application.seen", About: id, Detail: why}, func(t *tx) error {
		var there, seen bool
		err := t.row(`SELECT EXISTS (SELECT 1 FROM applications WHERE id = $1), EXISTS (SELECT 1 FROM application_seen WHERE application = $1)`, id).Scan(&there, &seen)
		switch {
		case err != nil:
			return err
		case !there:
			return notFound("record of an application")
		case seen:
			return store.Errorf(store.Conflict, "This record was looked at already.")
		}
		return t.exec(`INSERT INTO application_seen (application, by_person, why, at) VALUES ($1, $2, $3, $4)`, id, by, why, formatTime(t.now))
	})
}

func scanCalibration(row scanner) (c store.Calibration, err error) {
	var seq int64
	var id, stamp, body string
	if err := row.Scan(&id, &seq, &stamp, &body); err != nil {
		return c, err
	}
	err = json.Unmarshal([]byte(body), &c)
	c.ID, c.Seq, c.Stamp = id, seq, stamp
	return c, err
}

// Calibrations lists what spreaders and sprayers were found to put out, newest first; limit 0 is all of them.
func (db *DB) Calibrations(ctx context.Context, limit int) (list []store.Calibration, err error) {
	defer wrap(&err, "Calibrations(%d)", limit)
	if limit <= 0 {
		limit = -1
	}
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanCalibration, `SELECT id, seq, stamp, body FROM calibrations ORDER BY entry DESC LIMIT $1`, limit)
		return err
	})
	return list, err
}

// SaveWeather keeps days of a weather station. Of a day that is there already it sets anew what the new row says; what the row
// does not say stays, so that a soil probe's file and the station's don't wipe each other out.
func (db *DB) SaveWeather(ctx context.Context, days []store.WeatherDay) (err error) {
	defer wrap(&err, "SaveWeather(%d days)", len(days))
	return db.change(ctx, store.Change{What: "weather.imported", Detail: fmt.Sprintf("%d days", len(days))}, func(t *tx) error {
		for _, d := range days {
			if _, err := time.Parse(time.DateOnly, d.Day); err != nil {
				return &store.Error{Kind: store.Invalid, Say: "A day of weather needs a date such as 2026-08-27.", Err: err}
			}
			err := t.exec(`INSERT INTO weather (day, tmin_c, tmax_c, rain_mm, wind_ms, humidity, sun_h, solar_mj, soil_c, imported) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
				ON CONFLICT (day) DO UPDATE SET tmin_c = coalesce(excluded.tmin_c, tmin_c), tmax_c = coalesce(excluded.tmax_c, tmax_c), rain_mm = coalesce(excluded.rain_mm, rain_mm),
				wind_ms = coalesce(excluded.wind_ms, wind_ms), humidity = coalesce(excluded.humidity, humidity), sun_h = coalesce(excluded.sun_h, sun_h),
				solar_mj = coalesce(excluded.solar_mj, solar_mj), soil_c = coalesce(excluded.soil_c, soil_c), imported = excluded.imported`,
				d.Day, d.TMin, d.TMax, d.Rain, d.Wind, d.Humidity, d.Sun, d.Solar, d.Soil, formatTime(t.now))
			if err != nil {
				return err
			}
		}
		return nil
	})
}

func scanWeather(row scanner) (d store.WeatherDay, err error) {
	err = row.Scan(&d.Day, &d.TMin, &d.TMax, &d.Rain, &d.Wind, &d.Humidity, &d.Sun, &d.Solar, &d.Soil)
	return d, err
}

// Weather lists the days of the firm's weather station from one day to another, both included; "" is no bound.
func (db *DB) Weather(ctx context.Context, from, to string) (list []store.WeatherDay, err error) {
	defer wrap(&err, "Weather(%s, %s)", from, to)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanWeather, `SELECT day, tmin_c, tmax_c, rain_mm, wind_ms, humidity, sun_h, solar_mj, soil_c FROM weather
			WHERE day >= $1 AND ($2 = '' OR day <= $2) ORDER BY day`, from, to)
		return err
	})
	return list, err
}
