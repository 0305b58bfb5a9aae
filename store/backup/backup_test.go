package backup

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

var noon = time.Date(2026, 8, 27, 12, 0, 0, 0, time.UTC)

// folder is a data folder with a firm, a visit and some photos.
type folder struct {
	t     *testing.T
	path  string
	house *storetest.House
	visit store.Visit
	zone  string
}

func newFolder(t *testing.T) *folder {
	t.Helper()
	f := &folder{t: t, path: t.TempDir()}
	clock := storetest.NewClock(storetest.Morning)
	db, err := sqlite.Open(t.Context(), filepath.Join(f.path, Database), clock.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	f.house = storetest.Firm(t, db).Owner("Iris").Manager("Tamsin").Crew("Jonah")
	p := f.house.Client("Odalys Fenwright").Property("14 Alder Rise").Zone("Front")
	f.visit, f.zone = p.Visit("2026-08-27", "Jonah"), p.Zones[0].ID
	return f
}

// photo puts a photo into the folder and its row.
func (f *folder) photo(text string) string {
	f.t.Helper()
	sum := sha256.Sum256([]byte(text))
	sha := hex.EncodeToString(sum[:])
	path := photoPath(filepath.Join(f.path, Photos), sha)
	err := os.MkdirAll(filepath.Dir(path), 0o750)
	if err == nil {
		err = os.WriteFile(path, []byte(text), 0o640)
	}
	if err == nil {
		err = f.house.DB.PhotoDone(f.t.Context(), store.Photo{SHA: sha, Size: int64(len(text)), Type: "image/jpeg", Complete: true})
	}
	if err != nil {
		f.t.Fatal(err)
	}
	return sha
}

func (f *folder) make(to, before string) Manifest {
	f.t.Helper()
	m, err := Make(f.t.Context(), f.path, to, before, noon)
	if err != nil {
		f.t.Fatal(err)
	}
	return m
}

func rowsOf(m Manifest, table string) int64 {
	for _, one := range m.Tables {
		if one.Name == table {
			return one.Rows
		}
	}
	return -1
}

func TestABackupHoldsRowsAndPhotosAndSaysSo(t *testing.T) {
	f := newFolder(t)
	p := f.house.Phone("phone-1", "Jonah")
	for i := range 20 {
		p.Reads(f.visit.ID, f.zone, "note", fmt.Sprint("note ", i))
	}
	p.Sends()
	one, gone := f.photo("one photo"), f.photo("another")
	if err := os.Remove(photoPath(filepath.Join(f.path, Photos), gone)); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "disk", "first")
	m := f.make(to, "")
	if rowsOf(m, "ops") != 20 || rowsOf(m, "people") != 3 || len(m.Photos) != 1 || m.Photos[0].SHA != one || len(m.Missing) != 1 || m.Missing[0] != gone {
		t.Errorf("%+v", m)
	}
	read, err := Check(t.Context(), to)
	if err != nil || read.Hash != m.Hash || !read.Made.Equal(noon) {
		t.Errorf("%+v %v", read, err)
	}
	if list, _ := os.ReadDir(to); len(list) != 3 {
		t.Errorf("beside database, photos and manifest lies something: %v", list)
	}
	if _, err := Make(t.Context(), f.path, to, "", noon); store.KindOf(err) != store.Conflict {
		t.Errorf("a second backup to the same folder: %v", err)
	}
}

func TestAPhotoThatWasCopiedOnceIsLinked(t *testing.T) {
	f := newFolder(t)
	sha := f.photo("one photo")
	disk := t.TempDir()
	first, second, third := filepath.Join(disk, "a"), filepath.Join(disk, "b"), filepath.Join(disk, "c")
	f.make(first, "")
	f.make(second, first)
	stat := func(dir string) os.FileInfo {
		info, err := os.Stat(photoPath(filepath.Join(dir, Photos), sha))
		if err != nil {
			t.Fatal(err)
		}
		return info
	}
	if !os.SameFile(stat(first), stat(second)) {
		t.Error("copied again")
	}
	if err := os.WriteFile(photoPath(filepath.Join(second, Photos), sha), []byte("rotten"), 0o640); err != nil {
		t.Fatal(err)
	}
	f.make(third, second)
	if os.SameFile(stat(second), stat(third)) {
		t.Error("a rotten photo was linked on")
	}
}

// spoil changes one thing in a backup.
var spoilt = map[string]func(dir string) error{
	"its database": func(dir string) error {
		path := filepath.Join(dir, Database)
		raw, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		at := bytes.LastIndex(raw, []byte("Jonah"))
		raw[at] = 'K'
		return os.WriteFile(path, raw, 0o640)
	},
	"photo": func(dir string) error {
		return filepath.WalkDir(filepath.Join(dir, Photos), func(path string, d os.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			return os.WriteFile(path, []byte("x"), 0o640)
		})
	},
	"database can't be read":  func(dir string) error { return os.Remove(filepath.Join(dir, Database)) },
	"not a finished backup":   func(dir string) error { return os.Remove(filepath.Join(dir, manifest)) },
	"manifest of the backup":  func(dir string) error { return os.WriteFile(filepath.Join(dir, manifest), []byte("{"), 0o640) },
	"should have 4 rows":      func(dir string) error { return edit(dir, func(m *Manifest) { m.Tables[m.at("people")].Rows++ }) },
	"rows of table people":    func(dir string) error { return edit(dir, func(m *Manifest) { m.Tables[m.at("people")].Hash = "0" }) },
	"it should hold":          func(dir string) error { return edit(dir, func(m *Manifest) { m.Tables = m.Tables[1:] }) },
	"table peoples is not":    func(dir string) error { return edit(dir, func(m *Manifest) { m.Tables[m.at("people")].Name += "s" }) },
	"is not the file that wa": func(dir string) error { return edit(dir, func(m *Manifest) { m.Photos[0].Size++ }) },
}

func (m *Manifest) at(table string) int {
	for i := range m.Tables {
		if m.Tables[i].Name == table {
			return i
		}
	}
	return -1
}

func edit(dir string, change func(*Manifest)) error {
	m, err := Read(dir)
	if err != nil {
		return err
	}
	change(&m)
	return writeManifest(dir, m)
}

func TestADamagedBackupIsFoundOutAndNotRestored(t *testing.T) {
	f := newFolder(t)
	f.photo("one photo")
	for says, spoil := range spoilt {
		dir := filepath.Join(t.TempDir(), "copy")
		f.make(dir, "")
		if err := spoil(dir); err != nil {
			t.Fatal(err)
		}
		if _, err := Check(t.Context(), dir); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v", says, err)
		}
		data := filepath.Join(t.TempDir(), "data")
		if _, err := Restore(t.Context(), dir, data, time.Now); err == nil {
			t.Errorf("%q: restored", says)
		}
		if _, err := os.Stat(filepath.Join(data, Database)); err == nil {
			t.Errorf("%q: there is a database to start on", says)
		}
	}
}

func TestARestoreOverwritesNothing(t *testing.T) {
	f := newFolder(t)
	dir := filepath.Join(t.TempDir(), "copy")
	f.make(dir, "")
	for _, name := range []string{Database, Photos, "notes.txt", settling} {
		data := t.TempDir()
		if err := os.WriteFile(filepath.Join(data, name), []byte("dear"), 0o640); err != nil {
			t.Fatal(err)
		}
		if _, err := Restore(t.Context(), dir, data, time.Now); store.KindOf(err) != store.Conflict || !strings.Contains(err.Error(), name) {
			t.Errorf("over %s: %v", name, err)
		}
		if raw, _ := os.ReadFile(filepath.Join(data, name)); string(raw) != "dear" {
			t.Errorf("%s was touched", name)
		}
	}
}

// TestRestoringUnderLoad copies a folder while phones push, restores it, and lets the phones send again what the copy lacks: in the
// end the restored database has every reading of every phone once.
func TestRestoringUnderLoad(t *testing.T) {
	f := newFolder(t)
	const phones = 4
	ctx, stop := context.WithCancel(t.Context())
	var work sync.WaitGroup
	var sent [phones]atomic.Int64
	all := make([]*storetest.Phone, phones)
	for i := range all {
		p := f.house.Phone(fmt.Sprint("phone-", i), "Jonah")
		all[i] = p
		work.Go(func() {
			for n := 1; ctx.Err() == nil; n++ {
				p.Reads(f.visit.ID, f.zone, "note", fmt.Sprint(n))
				if res, err := f.house.DB.Push(context.Background(), p.Batch(n, n)); err != nil || res.Through != int64(n) {
					t.Errorf("push: %+v %v", res, err)
					return
				}
				sent[i].Store(int64(n))
			}
		})
	}
	shas := []string{f.photo("one"), f.photo("two")}
	for i := range sent {
		for sent[i].Load() < 20 {
			time.Sleep(time.Millisecond)
		}
	}
	var least int64
	for i := range sent {
		least += sent[i].Load()
	}
	dir := filepath.Join(t.TempDir(), "copy")
	m := f.make(dir, "")
	var after int64
	for i := range sent {
		after += sent[i].Load()
	}
	stop()
	work.Wait()
	if n := rowsOf(m, "ops"); n < least || n < 80 {
		t.Errorf("%d rows were acknowledged before, the copy has %d", least, n)
	}
	if after == least {
		t.Error("nobody pushed while the copy was made")
	}
	f.restored(dir, m, all, shas)
}

func (f *folder) restored(dir string, m Manifest, phones []*storetest.Phone, shas []string) {
	t := f.t
	data := filepath.Join(t.TempDir(), "data")
	if _, err := Restore(t.Context(), dir, data, time.Now); err != nil {
		t.Fatal(err)
	}
	db, err := sqlite.Open(t.Context(), filepath.Join(data, Database), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if epoch, err := db.Epoch(t.Context()); err != nil || epoch == m.Epoch || epoch == "" {
		t.Errorf("epoch %q was %q: %v", epoch, m.Epoch, err)
	}
	for _, sha := range shas {
		if hash, _, err := hashFile(photoPath(filepath.Join(data, Photos), sha)); err != nil || hash != sha {
			t.Errorf("photo %s: %s %v", sha, hash, err)
		}
	}
	lacked, total := 0, 0
	for _, p := range phones {
		through, err := db.Through(t.Context(), p.Device)
		if err != nil {
			t.Fatal(err)
		}
		lacked += len(p.Kept) - int(through)
		total += len(p.Kept)
		if res, err := db.Push(t.Context(), p.Batch(int(through)+1, len(p.Kept))); err != nil || res.Hole || res.Fork {
			t.Fatalf("%+v %v", res, err)
		}
	}
	readings, err := db.Readings(t.Context(), f.visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, r := range readings {
		seen[r.ID] = true
	}
	if len(seen) != total || lacked == 0 {
		t.Errorf("phones hold %d readings, %d came again, the restored database has %d", total, lacked, len(seen))
	}
}

func TestScheduledBackupsKeepTheNewest(t *testing.T) {
	f := newFolder(t)
	disk := t.TempDir()
	for _, name := range []string{"2026-08-27T120000Z" + halfDone, "mine"} {
		if err := os.Mkdir(filepath.Join(disk, name), 0o750); err != nil {
			t.Fatal(err)
		}
	}
	for day := range 5 {
		if _, err := Next(t.Context(), f.path, disk, 3, noon.AddDate(0, 0, day)); err != nil {
			t.Fatal(err)
		}
	}
	list, err := List(disk)
	if err != nil || len(list) != 3 || !list[0].Made.Equal(noon.AddDate(0, 0, 2)) || !list[2].Made.Equal(noon.AddDate(0, 0, 4)) {
		t.Errorf("%v %v", list, err)
	}
	names, _ := os.ReadDir(disk)
	if len(names) != 4 {
		t.Errorf("the half one is still there, or what is not ours is gone: %v", names)
	}
	if list, err := List(filepath.Join(disk, "none")); err != nil || len(list) != 0 {
		t.Errorf("%v %v", list, err)
	}
}

func TestABrokenOffBackupLeavesNothing(t *testing.T) {
	f := newFolder(t)
	f.photo("one photo")
	disk := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Make(ctx, f.path, filepath.Join(disk, "copy"), "", noon); err == nil {
		t.Error("made under a context that had ended")
	}
	if list, _ := os.ReadDir(disk); len(list) != 0 {
		t.Errorf("left behind: %v", list)
	}
}
