package sqlite_test

import (
	"database/sql"
	"fmt"
	"io/fs"
	"reflect"
	"testing"
	"testing/fstest"
	"time"

	"swardbook/migrations"
	"swardbook/store/sqlite"
)

// migrationsTo are the first n files.
func migrationsTo(t *testing.T, n int) fs.FS {
	t.Helper()
	names, err := fs.Glob(migrations.FS, "*.sql")
	must(t, err)
	fsys := fstest.MapFS{}
	for _, name := range names[:n] {
		text, err := fs.ReadFile(migrations.FS, name)
		must(t, err)
		fsys[name] = &fstest.MapFile{Data: text}
	}
	return fsys
}

// TestReadingsMoveIntoTheLog brings a database to the shape in which readings are seen in the log. One that was taken in at once, one
// that was set aside and taken in later, other content under a known id, and a choice made between two of them stay what they were.
func TestReadingsMoveIntoTheLog(t *testing.T) {
	path := tempFile(t)
	if db, err := sqlite.OpenWith(t.Context(), path, time.Now, migrationsTo(t, 7)); err == nil { // a program of today wants today's shape, but the file is made
		must(t, db.Close())
	}
	old, err := sql.Open("sqlite", sqlite.WriterDSN(path))
	must(t, err)
	exec := func(query string, args ...any) {
		t.Helper()
		_, err := old.ExecContext(t.Context(), query, args...)
		must(t, err)
	}
	const visit, zone = "v", "z"
	exec(`INSERT INTO people (id, name, fold, role, lang, hash, active) VALUES ('iris', 'Iris', 'iris', 'owner', 'en', 'x', 1)`)
	exec(`INSERT INTO clients (id, name, phone, email, note, created) VALUES ('c', 'Odalys Fenwright', '', '', '', '')`)
	exec(`INSERT INTO properties (id, client, address, system, region, cautions, created) VALUES ('p', 'c', '14 Alder Rise', '', '', '[]', '')`)
	exec(`INSERT INTO visits (id, property, day, place, why, ask, state, sent_why, handed_in, changed) VALUES ('v', 'p', '2026-08-27', 1, 'routine', '', 'planned', '', '', '')`)
	op := func(table, id, device string, n int, typed, aside, more, moreValue string) {
		exec(`INSERT INTO `+table+` (`+more+`id, device, n, kind, entity, base, edition, author, hlc, at, raw, sent_by, received, stamp, aside, detail, visit, zone, check_id, typed)
			VALUES (`+moreValue+`$1, $2, $3, 'reading', $1, 0, 'e', 'jonah', '', 'at', x'', 'jonah', '', 's' || $3, $5, '', $6, $7, 'tug_test', $4)`, id, device, n, typed, aside, visit, zone)
	}
	counts := func(id string, seq int) {
		exec(`INSERT INTO readings (id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base)
			SELECT id, $2, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base FROM (SELECT id, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base FROM ops
			UNION ALL SELECT id, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base FROM clashes) WHERE id = $1`, id, seq)
	}
	chooses := func(id, reading string, known int) {
		exec(`INSERT INTO reviews (id, visit, zone, kind, cause, judgement, reading, reason, diagnosis, engine, by_person, at, known)
			VALUES ($1, $2, $3, 'choose', '', '', $4, '', '', 0, 'iris', '', $5)`, id, visit, zone, reading, known)
	}
	op("ops", "a", "d1", 1, "firm", "", "", "")
	op("ops", "b", "d2", 1, "loose", "", "", "")
	op("ops", "c", "d3", 1, "peels", "future", "", "")
	op("clashes", "a~2", "d1", 1, "lifts", "", "op, ", "'a', ")
	op("ops", "d", "d4", 1, "firm", "", "", "")
	for _, id := range []string{"a", "b"} { // entries 1 and 2
		counts(id, map[string]int{"a": 1, "b": 2}[id])
	}
	counts("c", 3) // entry 3, taken in later
	chooses("r1", "a", 3)
	counts("a~2", 1) // entry 4, after the choice
	counts("d", 4)   // entry 5
	must(t, old.Close())

	db, err := reopen(t, path)
	must(t, err)
	defer db.Close()
	list, err := db.Readings(t.Context(), visit)
	must(t, err)
	var got []string
	for _, r := range list {
		got = append(got, fmt.Sprintf("%s %s %v %v", r.ID, r.Typed, r.Current, r.Dispute))
	}
	// The choice leaves a and what began to count after it; d has the latest stamp among equals by its device.
	want := []string{"a firm false false", "a~2 lifts false true", "b loose false false", "c peels false false", "d firm true true"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("readings %q, want %q", got, want)
	}
	if order, err := db.Texts(t.Context(), `SELECT id FROM readings ORDER BY entry`); err != nil || !reflect.DeepEqual(order, []string{"a", "b", "c", "a~2", "d"}) {
		t.Errorf("they began to count as %v, %v", order, err)
	}
	if err := db.Exec(t.Context(), `UPDATE reviews SET known = 0`); err == nil {
		t.Error("what was said can be changed")
	}
	checkNumbersOf(t, db)
}

func checkNumbersOf(t *testing.T, db *sqlite.DB) {
	t.Helper()
	for _, query := range []string{`PRAGMA foreign_key_check`, `SELECT id FROM readings GROUP BY id HAVING count(*) > 1`} {
		if list, err := db.Texts(t.Context(), query); err != nil || len(list) > 0 {
			t.Errorf("%s: %v, %v", query, list, err)
		}
	}
}
