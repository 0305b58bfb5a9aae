package sqlite_test

import (
	"context"
	"database/sql"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"swardbook/migrations"
	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestOpenReadsBackWhatMakesDataSafe(t *testing.T) {
	path := tempFile(t)
	w, err := sql.Open("sqlite", sqlite.WriterDSN(path))
	must(t, err)
	defer w.Close()
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "recursive_triggers": "1", "trusted_schema": "0", "cell_size_check": "1", "busy_timeout": "5000"} {
		var got string
		must(t, w.QueryRow("PRAGMA "+pragma).Scan(&got))
		if got != want {
			t.Errorf("%s is %q, want %q", pragma, got, want)
		}
	}
	var s string
	if err := w.QueryRow(`SELECT "no such column"`).Scan(&s); err == nil {
		t.Error("a name in double quotes was read as text")
	}
}

func TestOpenKeepsOddPathsApart(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a b?c#d%e.db")
	db, err := reopen(t, path)
	must(t, err)
	must(t, db.Close())
	if _, err := os.Stat(path); err != nil {
		t.Errorf("the file went elsewhere: %v", err)
	}
}

func TestReadersCannotWrite(t *testing.T) {
	db := storetest.Open(t)
	if err := db.ExecReader(t.Context(), `INSERT INTO firm (one, name, units, zone) VALUES (1, 'x', 'us', 'UTC')`); err == nil {
		t.Error("a reader wrote")
	}
}

func TestOldSQLiteIsRefused(t *testing.T) {
	for version, want := range map[string]bool{"3.51.2": false, "3.51.3": true, "3.51": false, "3.52": true, "3.54.1": true, "4.0.0": true, "2.99.99": false, "3.x": false, "": false} {
		if got := sqlite.AtLeast(version, sqlite.Oldest); got != want {
			t.Errorf("%q: %v, want %v", version, got, want)
		}
	}
}

// The driver is generated C and speaks to exactly one version of its library: the one its own go.mod requires.
func TestDriverAndItsLibraryFit(t *testing.T) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Version}} {{.GoMod}}", "modernc.org/libc", "modernc.org/sqlite").Output()
	must(t, err)
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != 2 {
		t.Fatalf("go list: %q", out)
	}
	library, _, _ := strings.Cut(lines[0], " ")
	driver, file, _ := strings.Cut(lines[1], " ")
	text, err := os.ReadFile(file)
	must(t, err)
	requires := regexp.MustCompile(`(?m)^\s*(?:require )?modernc\.org/libc (v\S+)`).FindSubmatch(text)
	if requires == nil {
		t.Fatalf("the driver %s requires no libc", driver)
	}
	if want := string(requires[1]); library != want {
		t.Errorf("driver %s wants libc %s, the program has %s", driver, want, library)
	}
}

func TestADatabaseStaysWhatItWas(t *testing.T) {
	path := tempFile(t)
	db, err := reopen(t, path)
	must(t, err)
	first, err := db.Epoch(t.Context())
	must(t, err)
	must(t, db.Close())
	db, err = reopen(t, path)
	must(t, err)
	defer db.Close()
	again, err := db.Epoch(t.Context())
	must(t, err)
	if first == "" || again != first {
		t.Errorf("epoch %q became %q", first, again)
	}
	must(t, db.RenewEpoch(t.Context()))
	if renewed, err := db.Epoch(t.Context()); err != nil || renewed == first || len(renewed) != 32 {
		t.Errorf("after a restore it is still %q, %v", renewed, err)
	}
}

func TestSchemaGolden(t *testing.T) {
	db := storetest.Open(t)
	list, err := db.Texts(t.Context(), `SELECT sql || ';' FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' ORDER BY type, name`)
	must(t, err)
	got, golden := strings.Join(list, "\n\n")+"\n", "../../testdata/schema.sql"
	if *update {
		must(t, os.WriteFile(golden, []byte(got), 0o644))
	}
	want, err := os.ReadFile(golden)
	must(t, err)
	if got != string(want) {
		t.Errorf("the schema is not the one in %s; look at the difference, then run with -update", golden)
	}
}

func files(t *testing.T, extra map[string]string) fstest.MapFS {
	t.Helper()
	fsys := fstest.MapFS{}
	entries, err := migrations.FS.ReadDir(".")
	must(t, err)
	for _, e := range entries {
		text, err := migrations.FS.ReadFile(e.Name())
		must(t, err)
		fsys[e.Name()] = &fstest.MapFile{Data: text}
	}
	for name, text := range extra {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return fsys
}

func TestMigrationsThatAreWrongAreRefused(t *testing.T) {
	const first = "CREATE TABLE a (b TEXT) STRICT;"
	for name, c := range map[string]struct {
		before, now map[string]string // what the database was made with, what the program brings
		says        string
	}{
		"a gap":       {nil, map[string]string{"0001_a.sql": first, "0003_c.sql": first}, "number 2 is missing before 0003_c.sql"},
		"a late gap":  {nil, map[string]string{"0002_b.sql": first}, "number 1 is missing"},
		"a repeat":    {nil, map[string]string{"0001_a.sql": first, "0001_b.sql": first}, "number 1 is used twice: 0001_a.sql and 0001_b.sql"},
		"an odd name": {nil, map[string]string{"1-a.sql": first}, "1-a.sql is not named like"},
		"none":        {nil, map[string]string{}, "there are no migrations"},
		"edited":      {map[string]string{"0001_a.sql": first}, map[string]string{"0001_a.sql": first + " "}, "0001_a.sql is not the file that made this database"},
		"renamed":     {map[string]string{"0001_a.sql": first}, map[string]string{"0001_b.sql": first}, "0001_b.sql is not the file"},
		"newer": {map[string]string{"0001_a.sql": first, "0002_b.sql": "CREATE TABLE c (d TEXT)"}, map[string]string{"0001_a.sql": first},
			"opened by a newer program (migration 0002_b.sql)"},
		"failing": {map[string]string{"0001_a.sql": first}, map[string]string{"0001_a.sql": first, "0002_b.sql": "CREATE TABLE c (d TEXT); CREATE TABLE a (b TEXT);"},
			"0002_b.sql failed and left nothing behind"},
	} {
		t.Run(name, func(t *testing.T) {
			path := tempFile(t)
			if c.before != nil {
				migrateWith(t, path, c.before)
			}
			err := openWith(path, c.now)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want %q", err, c.says)
			}
			if c.before != nil {
				migrateWith(t, path, c.before)
			}
		})
	}
}

// openWith brings a file to the shape of some migrations. It fails later than those, since the tables of the program are not there.
func openWith(path string, texts map[string]string) error {
	fsys := fstest.MapFS{}
	for name, text := range texts {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	_, err := sqlite.OpenWith(context.Background(), path, time.Now, fsys)
	return err
}

func migrateWith(t *testing.T, path string, texts map[string]string) {
	t.Helper()
	if err := openWith(path, texts); err == nil || !strings.Contains(err.Error(), "no such table: ") {
		t.Fatalf("these migrations should be fine: %v", err)
	}
}

func TestANewMigrationKeepsWhatIsThere(t *testing.T) {
	path := tempFile(t)
	db, err := reopen(t, path)
	must(t, err)
	storetest.Firm(t, db).Owner("Iris")
	var had []string
	had, err = db.Texts(t.Context(), `SELECT name FROM migrations`)
	must(t, err)
	next := len(had) + 1
	must(t, db.Close())
	db, err = sqlite.OpenWith(t.Context(), path, time.Now, files(t, map[string]string{fmt.Sprintf("%04d_more.sql", next): "ALTER TABLE firm ADD COLUMN motto TEXT NOT NULL DEFAULT '';"}))
	must(t, err)
	defer db.Close()
	if firm, err := db.Firm(t.Context()); err != nil || firm.Name != "Quillmere Lawns" {
		t.Errorf("firm %+v, %v", firm, err)
	}
	if list, err := db.Texts(t.Context(), `SELECT number || ' ' || name || ' ' || length(sha256) FROM migrations ORDER BY number`); err != nil || len(list) != next || list[next-1] != fmt.Sprintf("%d %04d_more.sql 64", next, next) {
		t.Errorf("migrations %v, %v", list, err)
	}
}

func TestADatabaseOfAnotherProgramIsRefused(t *testing.T) {
	path := tempFile(t)
	w, err := sql.Open("sqlite", path)
	must(t, err)
	_, err = w.Exec(`CREATE TABLE somebody_elses (x TEXT)`)
	must(t, err)
	must(t, w.Close())
	if _, err := reopen(t, path); err == nil || !strings.Contains(err.Error(), "another program") {
		t.Errorf("got %v", err)
	}
}

func TestBackup(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	path := filepath.Join(t.TempDir(), "copy #1.db")
	h.must(h.DB.Backup(t.Context(), path))
	if err := h.DB.Backup(t.Context(), path); err == nil {
		t.Error("a backup was written over another")
	}
	db, err := reopen(t, path)
	must(t, err)
	defer db.Close()
	list, err := db.Readings(t.Context(), h.visit)
	if err != nil || len(list) != 1 || list[0].Typed != "firm" {
		t.Errorf("the copy holds %+v, %v", list, err)
	}
	if err := h.DB.Backup(t.Context(), filepath.Join(t.TempDir(), "no", "such", "folder.db")); err == nil {
		t.Error("a backup to nowhere succeeded")
	}
}

func TestNothingSaidCanBeUnsaid(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	q := h.Phone("d2", "Mirela")
	q.Reads(h.visit, h.front, "tug_test", "sod_piece_lifts").ID = "d1-1"
	q.Sends()
	h.must(h.DB.SettleAside(t.Context(), "d1-1~2", "left", "tamsin", "typed twice"))
	h.must(h.DB.SaveDiagnosis(t.Context(), diagnosis(h, "one", h.front)))
	h.must(h.DB.AddReview(t.Context(), review(h, "one", "sign off")))
	for table, column := range map[string]string{"ops": "visit", "clashes": "visit", "repeats": "device", "settled": "why", "diagnoses": "visit", "reviews": "visit"} {
		if n := h.texts("SELECT count(*) FROM " + table); n[0] != "1" {
			t.Errorf("%s has %s rows", table, n[0])
		}
		for _, text := range []string{"UPDATE " + table + " SET " + column + " = 'x'", "DELETE FROM " + table, "INSERT OR REPLACE INTO " + table + " SELECT * FROM " + table} {
			if err := h.DB.Exec(t.Context(), text); err == nil {
				t.Errorf("%s went through", text)
			}
		}
	}
}
