package storetest

import (
	"bytes"
	"context"
	"database/sql"
	_ "embed"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/store/sqlite"
)

// answersText is what is answered on each visit of a large firm: data, so that no check is named in code.
//
//go:embed answers.csv
var answersText []byte

// Large is a firm with many seasons behind it, made by Grow. Everything before its last day is signed off but the last Waiting visits,
// which are handed in; on the last day each of its crew has one visit planned.
type Large struct {
	Path       string // of the database
	Owner      string // ids of people
	Manager    string
	Crew       []string
	Properties int
	Clients    int
	Visits     int // without those of the last day
	Readings   int
	Day        time.Time // the last day
	Took       time.Duration
}

const (
	perVisit     = 10   // readings
	visitsEach   = 20   // of a property
	zonesEach    = 4    // of a property
	historyDays  = 1826 // five years
	oldPhones    = 50   // phones that recorded what went before
	Waiting      = 40   // visits that wait for a look
	appliedEvery = 10   // visits to one record of something put down
)

// Grow makes a firm with so many readings in dir/swardbook.db, ten to a visit and two hundred to a property: a million make 100,000
// visits to 5,000 properties. It is written in bulk, as no program of ours writes; what stands in it afterwards is what phones would have
// brought. The last day is that of now; crew people are on it, each with one visit.
func Grow(t testing.TB, dir string, readings, crew int, now time.Time) Large {
	t.Helper()
	began := time.Now()
	l := Large{
		Path: filepath.Join(dir, "swardbook.db"), Owner: "iris", Manager: "tamsin", Day: now.Truncate(24 * time.Hour),
		Visits: readings / perVisit, Readings: readings / perVisit * perVisit, Properties: max(readings/perVisit/visitsEach, 20),
	}
	l.Clients = l.Properties / 2
	for i := range crew {
		l.Crew = append(l.Crew, fmt.Sprintf("crew-%03d", i))
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		t.Fatal(err)
	}
	kept := l.kept()
	if kept != "" && copyFile(kept, l.Path) == nil {
		l.Took = time.Since(began)
		return l
	}
	if err := l.people(now); err != nil {
		t.Fatal(err)
	}
	if err := l.bulk(); err != nil {
		t.Fatal(err)
	}
	l.Took = time.Since(began)
	if kept != "" {
		if err := copyFile(l.Path, kept); err != nil {
			t.Fatal(err)
		}
	}
	return l
}

// kept is where a firm of this size is kept for the next time: in the folder that SWARDBOOK_GROWN names. Without one it is made anew.
func (l Large) kept() string {
	folder := os.Getenv("SWARDBOOK_GROWN")
	if folder == "" {
		return ""
	}
	return filepath.Join(folder, fmt.Sprintf("%d-%d-%s.db", l.Readings, len(l.Crew), l.Day.Format(time.DateOnly)))
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// people are made through the door.
func (l Large) people(now time.Time) (err error) {
	ctx := context.Background()
	db, err := sqlite.Open(ctx, l.Path, func() time.Time { return now })
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := db.CreateFirm(ctx, store.Firm{Name: "Quillmere Lawns", Units: "us", Zone: "UTC"}, person("Iris", store.Owner)); err != nil {
		return err
	}
	if err := db.AddPerson(ctx, person("Tamsin", store.Manager)); err != nil {
		return err
	}
	for _, id := range l.Crew {
		if err := db.AddPerson(ctx, person(id, store.Crew)); err != nil {
			return err
		}
	}
	examples, err := record.Examples()
	if err != nil {
		return err
	}
	_, err = db.SaveMaterial(ctx, examples[0], l.Owner)
	return err
}

// bulk writes everything else in one go, without waiting for the disk.
func (l Large) bulk() (err error) {
	db, err := sql.Open("sqlite", "file:"+l.Path+"?_pragma=synchronous(OFF)&_pragma=journal_mode(DELETE)&_pragma=cache_size(-400000)&_pragma=foreign_keys(0)&_pragma=temp_store(2)")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(`PRAGMA journal_mode = OFF`); err != nil {
		return err
	}
	for _, step := range []func(*sql.DB) error{l.given, l.places, l.visits, l.log, l.said, l.applied, l.today} {
		if err := step(db); err != nil {
			return err
		}
	}
	_, err = db.Exec(`PRAGMA journal_mode = WAL`)
	return err
}

// given are the answers and the numbers from 0 that the rest is made of.
func (l Large) given(db *sql.DB) error {
	if _, err := db.Exec(`CREATE TEMP TABLE answers (r INTEGER PRIMARY KEY, check_id TEXT, typed TEXT);
		CREATE TEMP TABLE nums (i INTEGER PRIMARY KEY);
		CREATE TEMP TABLE v (i INTEGER PRIMARY KEY, id TEXT, p INTEGER, property TEXT, zone0 TEXT, zone1 TEXT, phone INTEGER, device TEXT, crew TEXT, day TEXT, ms INTEGER, moment TEXT)`); err != nil {
		return err
	}
	rows, err := Answers()
	if err != nil {
		return err
	}
	for i, a := range rows {
		if _, err := db.Exec(`INSERT INTO answers VALUES ($1, $2, $3)`, i, a[0], a[1]); err != nil {
			return err
		}
	}
	_, err = db.Exec(`INSERT INTO nums WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i + 1 < $1) SELECT i FROM n`, max(l.Visits, l.Properties*zonesEach))
	return err
}

// Answers are pairs of a check and what is typed: those of each visit of a large firm.
func Answers() ([][]string, error) {
	rows, err := csv.NewReader(bytes.NewReader(answersText)).ReadAll()
	if err == nil && len(rows) != perVisit+1 {
		err = fmt.Errorf("%d answers", len(rows))
	}
	if err != nil {
		return nil, err
	}
	return rows[1:], nil
}

// Ids of what is made in bulk, by its place: a kind and a number.
const (
	clientID   = `printf('c0000000-0000-4000-8000-%012x', i)`
	propertyID = `printf('a0000000-0000-4000-8000-%012x', i)`
)

func (l Large) places(db *sql.DB) error {
	if _, err := db.Exec(`INSERT INTO clients (id, name, phone, email, note, created)
		SELECT `+clientID+`, printf('Client %s %d', substr('AmberBirchCedarDaisyElderFlaxeGorseHazelIrideJunip', i % 10 * 5 + 1, 5), i), printf('555-01%05d', i),
			printf('client%d@lawns.example', i), 'Gate code is with the office.', '2020-01-01T08:00:00.000Z' FROM nums WHERE i < $1`, l.Clients); err != nil {
		return err
	}
	if _, err := db.Exec(`INSERT INTO properties (id, client, address, system, region, cautions, created)
		SELECT `+propertyID+`, printf('c0000000-0000-4000-8000-%012x', i % $2), printf('%d Alder Rise', i + 1), 'present', 'cool', '["The dog is loose until nine."]',
			'2020-01-01T08:00:00.000Z' FROM nums WHERE i < $1`, l.Properties, l.Clients); err != nil {
		return err
	}
	_, err := db.Exec(`INSERT INTO zones (id, property, name, area_sqft, made, created)
		SELECT printf('b0000000-0000-4000-8000-%012x', i), printf('a0000000-0000-4000-8000-%012x', i / $2), 'Zone ' || (i % $2 + 1), 1000 + i % 7 * 500, '', '2020-01-01T08:00:00.000Z'
		FROM nums WHERE i < $1`, l.Properties*zonesEach, zonesEach)
	return err
}

// visits go round the properties, in the order of days.
func (l Large) visits(db *sql.DB) error {
	first := l.Day.AddDate(0, 0, -historyDays).UnixMilli()
	if _, err := db.Exec(`INSERT INTO v SELECT i, printf('d0000000-0000-4000-8000-%012x', i), i % $1, printf('a0000000-0000-4000-8000-%012x', i % $1),
			printf('b0000000-0000-4000-8000-%012x', i % $1 * $5), printf('b0000000-0000-4000-8000-%012x', i % $1 * $5 + 1),
			i % $2, printf('e0000000-0000-4000-8000-%012x', i % $2), printf('crew-%03d', i % $6), '', $3 + i * $4 / $7 * 86400000 + 32400000, ''
			FROM nums WHERE i < $7`, l.Properties, oldPhones, first, historyDays, zonesEach, len(l.Crew), l.Visits); err != nil {
		return err
	}
	if _, err := db.Exec(`UPDATE v SET day = date(ms / 1000, 'unixepoch'), moment = strftime('%Y-%m-%dT%H:%M:%S.000Z', ms / 1000, 'unixepoch')`); err != nil {
		return err
	}
	_, err := db.Exec(`INSERT INTO visits (id, property, crew, day, place, why, ask, state, sent_why, handed_in, changed)
		SELECT id, property, crew, day, 1, CASE WHEN i % 4 = 0 THEN 'complaint' ELSE 'routine' END, CASE WHEN i % 4 = 0 THEN 'It turns brown along the drive.' ELSE '' END,
			CASE WHEN i < $1 THEN 'signed off' ELSE 'handed in' END, '', moment, moment FROM v`, l.Visits-Waiting)
	return err
}

// log is every operation. Of each visit come its readings and then the word that it is handed in, so that
// a phone's numbers run without a hole.
func (l Large) log(db *sql.DB) error {
	know, err := knowledge.Load()
	if err != nil {
		return err
	}
	const (
		each  = `11` // operations of a visit
		n     = `v.i / 50 * 11 + r + 1`
		id    = `printf('%08x-%04x-7000-8000-%012x', v.ms >> 16, v.ms & 65535, v.i * 11 + r)`
		stamp = `printf('%012x-%04x-0000', v.ms, r)`
	)
	if _, err := db.Exec(`INSERT INTO ops (id, device, n, kind, entity, base, edition, author, hlc, at, raw, sent_by, received, stamp, aside, detail, visit, zone, check_id, typed)
		SELECT `+id+`, v.device, `+n+`, 'reading', `+id+`, v.i * `+each+`, $1, v.crew, `+stamp+`, v.moment,
			CAST(printf('{"at":"%s","author":"%s","base":%d,"body":{"check":"%s","edition":"%s","typed":"%s","visit":"%s","zone":"%s"},"entity":"%s","form":"reading","fver":1,"hlc":"%s","id":"%s","n":%d,"op":"create","photos":[]}',
				v.moment, v.crew, v.i * `+each+`, a.check_id, $1, a.typed, v.id, iif(r < 5, v.zone0, v.zone1), `+id+`, `+stamp+`, `+id+`, `+n+`) AS BLOB),
			v.crew, v.moment, `+stamp+`, '', '', v.id, iif(r < 5, v.zone0, v.zone1), a.check_id, a.typed
		FROM v CROSS JOIN answers a ORDER BY v.i, a.r`, know.Edition); err != nil {
		return err
	}
	if _, err := db.Exec(`INSERT INTO ops (id, device, n, kind, entity, base, edition, author, hlc, at, raw, sent_by, received, stamp, aside, detail, visit, zone, check_id, typed)
		SELECT ` + id + `, v.device, ` + n + `, 'visit', v.id, v.i * ` + each + `, '', v.crew, ` + stamp + `, v.moment,
			CAST(printf('{"at":"%s","author":"%s","base":%d,"body":{"state":"handed in","visit":"%s"},"entity":"%s","form":"visit","fver":1,"hlc":"%s","id":"%s","n":%d,"op":"create","photos":[]}',
				v.moment, v.crew, v.i * ` + each + `, v.id, v.id, ` + stamp + `, ` + id + `, ` + n + `) AS BLOB),
			v.crew, v.moment, ` + stamp + `, '', '', v.id, '', '', ''
		FROM v CROSS JOIN (SELECT 10 AS r) ORDER BY v.i`); err != nil {
		return err
	}
	_, err = db.Exec(`INSERT INTO findable (kind, id, place) SELECT 'note', id, visit FROM notes ORDER BY seq;
		INSERT INTO finds (rowid, words) SELECT f.n, o.typed FROM findable f JOIN notes o ON f.kind = 'note' AND o.id = f.id ORDER BY f.n;
		UPDATE noted SET seq = (SELECT max(seq) FROM ops);
		INSERT INTO devices (id, through, first_seen, last_seen, agent, app, skew_ms)
		SELECT device, max(n), min(received), max(received), 'bulk', 'bulk', 0 FROM ops GROUP BY device;
		INSERT INTO device_people (device, person, first_seen, last_seen) SELECT device, author, min(received), max(received) FROM ops GROUP BY device, author`)
	return err
}

// said is what the engine answered to each zone, and the managers' sign-offs.
func (l Large) said(db *sql.DB) error {
	answer, edition, err := answered()
	if err != nil {
		return err
	}
	if _, err := db.Exec(`INSERT INTO diagnoses (id, visit, zone, edition, input_hash, made, answer)
		SELECT printf('f0000000-0000-7000-8000-%012x', v.i * 2 + z), v.id, iif(z = 0, v.zone0, v.zone1), $1, 'bulk', v.moment, $2
		FROM v CROSS JOIN (SELECT 0 AS z UNION ALL SELECT 1) ORDER BY v.i`, edition, answer); err != nil {
		return err
	}
	if _, err := db.Exec(`INSERT INTO reviews (id, visit, zone, kind, cause, judgement, reading, reason, diagnosis, engine, by_person, at, known)
		SELECT printf('90000000-0000-7000-8000-%012x', i), id, '', 'sign off', '', '', '', '', '', 0, $2, moment, (i + 1) * 11 * 1048576 FROM v WHERE i < $1 ORDER BY i`, l.Visits-Waiting, l.Manager); err != nil {
		return err
	}
	_, err = db.Exec(`INSERT INTO audit (at, by_person, what, about, detail) SELECT moment, $2, 'visit.sign-off', id, '' FROM v WHERE i < $1 ORDER BY i`, l.Visits-Waiting, l.Manager)
	return err
}

// answered is one answer of the engine to the answers of a zone, as it is stored.
func answered() (answer []byte, edition string, err error) {
	know, err := knowledge.Load()
	if err != nil {
		return nil, "", err
	}
	held, err := diagnose.Hold(know)
	if err != nil {
		return nil, "", err
	}
	rows, err := Answers()
	if err != nil {
		return nil, "", err
	}
	var values []diagnose.CheckValue
	for _, row := range rows {
		check, ok := know.Check(row[0])
		if !ok {
			return nil, "", fmt.Errorf("%s is no check", row[0])
		}
		value, problems := checks.Read(check, row[1])
		if len(problems) > 0 {
			return nil, "", fmt.Errorf("%s: %v", row[0], problems)
		}
		values = append(values, diagnose.CheckValue{Check: row[0], Value: value})
	}
	_, engine := held.Now()
	got, err := engine.Diagnose(diagnose.Case{ID: "large", Month: 8, Observed: diagnose.Observe(&know.Bundle, values)})
	if err != nil {
		return nil, "", err
	}
	text, err := json.Marshal(got)
	if err != nil {
		return nil, "", err
	}
	answer, err = sqlite.Packed(text)
	return answer, know.Edition, err
}

// applied are records of something put down. They have no operation in the log.
func (l Large) applied(db *sql.DB) error {
	_, err := db.Exec(`INSERT INTO applications (id, seq, visit, property, day, material, version, corrects, author, device, n, at, stamp, body, missing, flags)
		SELECT printf('80000000-0000-7000-8000-%012x', v.i), 0, v.id, v.property, v.day, m.id, m.version, '', v.crew, v.device, 0, v.moment, printf('%012x-0000-0000', v.ms),
			json_object('id', printf('80000000-0000-7000-8000-%012x', v.i), 'visit', v.id, 'property', v.property, 'author', v.crew, 'at', v.moment, 'day', v.day, 'material', m.id, 'version', m.version,
				'name', m.body ->> 'name', 'unit', 'lb', 'start', v.moment, 'end', v.moment, 'items', json('{}'), 'zones', json_array(json_object('zone', v.zone0, 'typed', '3', 'amount', 3.0, 'area_sqft', 1000.0))),
			'[]', '[]'
		FROM v JOIN materials m ON m.version = 1 WHERE v.i % $1 = 0 ORDER BY v.i`, appliedEvery)
	return err
}

// today is one planned visit for each of the crew.
func (l Large) today(db *sql.DB) error {
	_, err := db.Exec(`INSERT INTO visits (id, property, crew, day, place, why, ask, state, sent_why, handed_in, changed)
		SELECT printf('70000000-0000-4000-8000-%012x', i), printf('a0000000-0000-4000-8000-%012x', i % $2), printf('crew-%03d', i), $3, 1, 'routine', '', 'planned', '', '', $4
		FROM nums WHERE i < $1`, len(l.Crew), l.Properties, l.Day.Format(time.DateOnly), l.Day.Format("2006-01-02T15:04:05.000Z"))
	return err
}

// Visit is the id of the visit that person number i of the crew has on the last day.
func (l Large) Visit(i int) string { return fmt.Sprintf("70000000-0000-4000-8000-%012x", i) }

// PropertyOf is the id of that visit's property.
func (l Large) PropertyOf(i int) string { return l.Property(i % l.Properties) }

// Property is the id of property number i.
func (l Large) Property(i int) string { return fmt.Sprintf("a0000000-0000-4000-8000-%012x", i) }

// ZoneOf is the id of the first zone of that visit's property.
func (l Large) ZoneOf(i int) string {
	return fmt.Sprintf("b0000000-0000-4000-8000-%012x", i%l.Properties*zonesEach)
}

// Client is the id of client number i.
func (l Large) Client(i int) string { return fmt.Sprintf("c0000000-0000-4000-8000-%012x", i) }

// Past is the id of visit number i of those before the last day.
func (l Large) Past(i int) string { return fmt.Sprintf("d0000000-0000-4000-8000-%012x", i) }
