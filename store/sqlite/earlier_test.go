package sqlite_test

import (
	"bytes"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"swardbook/migrations"
	"swardbook/store"
	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

var release = flag.String("release", "", "keep a small database of this release under testdata/databases/")

const databases = "../../testdata/databases"

// TestKeepADatabaseOfThisRelease writes the file that later releases must open: -release 2026-11-25.
func TestKeepADatabaseOfThisRelease(t *testing.T) {
	dir := t.TempDir()
	if *release != "" {
		dir = databases
	}
	path := filepath.Join(dir, "release-"+*release+".db")
	db, err := sqlite.Open(t.Context(), path, storetest.NewClock(storetest.Morning).Now)
	must(t, err)
	h := storetest.Firm(t, db).Owner("Iris").Manager("Tamsin").Crew("Jonah")
	p := h.Client("Odalys Fenwright").Property("14 Alder Rise").Zone("Front lawn")
	visit := p.Visit("2026-08-27", "Jonah")
	phone := h.Phone("d1", "Jonah")
	phone.Reads(visit.ID, p.Zones[0].ID, "tug_test", "firm")
	phone.Reads(visit.ID, p.Zones[0].ID, "core_depth_in", "2; 2 1/2; 7; 7,5 in")
	phone.Moves(visit.ID, store.HandedIn)
	phone.Sends()
	must(t, db.Exec(t.Context(), `PRAGMA wal_checkpoint(TRUNCATE)`))
	must(t, db.Close())
	checkKept(t, path)
}

// checkKept reads back what every kept database holds.
func checkKept(t *testing.T, path string) {
	t.Helper()
	db, err := sqlite.Open(t.Context(), path, storetest.NewClock(storetest.Morning).Now)
	must(t, err)
	defer db.Close()
	list, err := db.Readings(t.Context(), "14-alder-rise-2026-08-27-1")
	must(t, err)
	var got []string
	for _, r := range list {
		got = append(got, r.Check+" "+r.Typed)
	}
	if want := []string{"tug_test firm", "core_depth_in 2; 2 1/2; 7; 7,5 in"}; !reflect.DeepEqual(got, want) {
		t.Errorf("readings %q", got)
	}
	if through, err := db.Through(t.Context(), "d1"); err != nil || through != 3 {
		t.Errorf("through %d, %v", through, err)
	}
	if people, err := db.People(t.Context(), true); err != nil || len(people) != 3 {
		t.Errorf("%d people, %v", len(people), err)
	}
	if says, err := db.Texts(t.Context(), `PRAGMA integrity_check`); err != nil || says[0] != "ok" {
		t.Errorf("%v, %v", says, err)
	}
}

// TestD10DatabasesOfEarlierReleasesOpen: each kept file is brought to today's shape, on a copy, and holds what it held.
func TestD10DatabasesOfEarlierReleasesOpen(t *testing.T) {
	files, err := filepath.Glob(databases + "/release-*.db")
	must(t, err)
	if len(files) == 0 {
		t.Fatal("no database of an earlier release is kept")
	}
	all, err := fs.Glob(migrations.FS, "*.sql")
	must(t, err)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			raw, err := os.ReadFile(file)
			must(t, err)
			path := filepath.Join(t.TempDir(), "copy.db")
			must(t, os.WriteFile(path, raw, 0o600))
			checkKept(t, path)
			db, err := sqlite.Open(t.Context(), path, storetest.NewClock(storetest.Morning).Now)
			must(t, err)
			defer db.Close()
			if applied, err := db.Texts(t.Context(), `SELECT name FROM migrations ORDER BY number`); err != nil || !reflect.DeepEqual(applied, all) {
				t.Errorf("applied %v, %v", applied, err)
			}
		})
	}
}

// TestADamagedDatabaseIsRefusedWithAdvice whatever of it is damaged, and stays as it is.
func TestADamagedDatabaseIsRefusedWithAdvice(t *testing.T) {
	files, err := filepath.Glob(databases + "/release-*.db")
	must(t, err)
	whole, err := os.ReadFile(files[0])
	must(t, err)
	for name, damage := range map[string]func([]byte) []byte{
		"the head is text":  func(b []byte) []byte { return append([]byte("this was a database"), b[19:]...) },
		"cut in the middle": func(b []byte) []byte { return b[:len(b)/2] },
		"pages of noise": func(b []byte) []byte {
			copy(b[len(b)/3:], bytes.Repeat([]byte{0xa5}, len(b)/3))
			return b
		},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "t.db")
			damaged := damage(bytes.Clone(whole))
			must(t, os.WriteFile(path, damaged, 0o600))
			db, err := sqlite.Open(t.Context(), path, storetest.NewClock(storetest.Morning).Now)
			if err == nil {
				_ = db.Close()
				t.Fatal("it was opened")
			}
			if !strings.Contains(err.Error(), "put the last backup in its place") {
				t.Errorf("no advice: %v", err)
			}
			if after, err := os.ReadFile(path); err != nil || !bytes.Equal(after, damaged) {
				t.Errorf("it was changed (%v)", err)
			}
		})
	}
}
