package intake

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"syscall"
	"testing"
	"testing/iotest"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
)

func openRows(t testing.TB) *sqlite.DB {
	t.Helper()
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "t.db"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func newPhotos(t testing.TB) (*Photos, *sqlite.DB, string) {
	t.Helper()
	db := openRows(t)
	p, dir := photosOver(t, db)
	return p, db, dir
}

func photosOver(t testing.TB, db *sqlite.DB) (*Photos, string) {
	t.Helper()
	dir := t.TempDir()
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { root.Close() })
	return NewPhotos(root, db), dir
}

// entered are the photos with a complete row.
func entered(t *testing.T, db *sqlite.DB) map[string]store.Photo {
	t.Helper()
	list, err := db.PhotoList(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]store.Photo{}
	for _, p := range list {
		rows[p.SHA] = p
	}
	return rows
}

// crashAt makes the next steps end at a named one.
func (p *Photos) crashAt(step string) error {
	crash := errors.New("crash")
	p.fault = func(s string) error {
		if s == step {
			return crash
		}
		return nil
	}
	return crash
}

func picture(seed byte, size int) ([]byte, string) {
	b := append([]byte{0xff, 0xd8, 0xff, 0xe0}, bytes.Repeat([]byte{seed}, size-4)...)
	sum := sha256.Sum256(b)
	return b, hex.EncodeToString(sum[:])
}

func status(err error) (int, int64) {
	var up *UploadError
	if errors.As(err, &up) {
		return up.Status, up.Offset
	}
	return 0, 0
}

func TestPhotoInPieces(t *testing.T) {
	p, db, dir := newPhotos(t)
	pic, sha := picture(1, 1000)
	ctx := t.Context()
	for _, c := range []struct {
		from, to int64
		want     Progress
	}{{0, 400, Progress{400, false}}, {400, 400, Progress{400, false}}, {400, 1000, Progress{1000, true}}} {
		got, err := p.Append(ctx, sha, c.from, 1000, "", bytes.NewReader(pic[c.from:c.to]))
		if err != nil || got != c.want {
			t.Fatalf("piece %d–%d: %+v, %v", c.from, c.to, got, err)
		}
		head, err := p.Head(ctx, sha)
		if err != nil || head != c.want {
			t.Fatalf("head after %d: %+v, %v", c.to, head, err)
		}
	}
	if row := entered(t, db)[sha]; row.Size != 1000 || row.Type != "image/jpeg" {
		t.Errorf("row %+v", row)
	}
	f, row, err := p.Open(ctx, sha)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	back, _ := io.ReadAll(f)
	if !bytes.Equal(back, pic) || row.Type != "image/jpeg" {
		t.Errorf("read back %d bytes, %+v", len(back), row)
	}
	if _, err := os.Stat(filepath.Join(dir, sha[:2], sha)); err != nil {
		t.Error(err)
	}
	again, err := p.Append(ctx, sha, 0, 1000, "", bytes.NewReader(pic))
	if err != nil || !again.Complete || again.Offset != 1000 {
		t.Errorf("the same picture again: %+v, %v", again, err)
	}
}

func TestPhotoRefusals(t *testing.T) {
	db := openRows(t)
	pic, sha := picture(2, 100)
	for name, c := range map[string]struct {
		sha            string
		offset, length int64
		typ            string
		body           []byte
		kind           store.Kind
		status         int
		at             int64
	}{
		"not a digest":     {"../../etc/passwd", 0, 100, "", pic, store.Invalid, 0, 0},
		"capital digits":   {strings.ToUpper(sha), 0, 100, "", pic, store.Invalid, 0, 0},
		"too large":        {sha, 0, MaxPhoto + 1, "", pic, store.TooLarge, 0, 0},
		"no length":        {sha, 0, 0, "", pic, store.Invalid, 0, 0},
		"before the start": {sha, -1, 100, "", pic, store.Invalid, 0, 0},
		"behind the end":   {sha, 101, 100, "", pic, store.Invalid, 0, 0},
		"a film":           {sha, 0, 100, "video/mp4", pic, store.Invalid, 0, 0},
		"another place":    {sha, 50, 100, "", pic[50:], store.Conflict, 409, 0},
		"longer than said": {sha, 0, 99, "", pic, store.Invalid, 0, 0},
		"other bytes":      {sha, 0, 100, "", bytes.Repeat([]byte{9}, 100), store.Invalid, 422, 0},
	} {
		t.Run(name, func(t *testing.T) {
			p, _ := photosOver(t, db)
			_, err := p.Append(t.Context(), c.sha, c.offset, c.length, c.typ, bytes.NewReader(c.body))
			code, at := status(err)
			if store.KindOf(err) != c.kind || code != c.status || at != c.at {
				t.Errorf("got %v: kind %v, status %d, offset %d", err, store.KindOf(err), code, at)
			}
			if rows := entered(t, db); len(rows) != 0 {
				t.Errorf("entered %v", rows)
			}
			if head, err := p.Head(t.Context(), sha); err != nil || head != (Progress{}) {
				t.Errorf("left behind %+v, %v", head, err)
			}
		})
	}
}

func TestPhotoWrongOffsetSaysWhere(t *testing.T) {
	p, _, _ := newPhotos(t)
	pic, sha := picture(3, 100)
	if _, err := p.Append(t.Context(), sha, 0, 100, "", bytes.NewReader(pic[:30])); err != nil {
		t.Fatal(err)
	}
	_, err := p.Append(t.Context(), sha, 0, 100, "", bytes.NewReader(pic))
	if code, at := status(err); code != 409 || at != 30 {
		t.Errorf("status %d, offset %d: %v", code, at, err)
	}
}

// TestPhotoUnderWhoseNameMoreArrived: a phone that lies about a length must not stop the one that has the photo.
func TestPhotoUnderWhoseNameMoreArrived(t *testing.T) {
	p, _, _ := newPhotos(t)
	pic, sha := picture(3, 100)
	spoil := func() {
		t.Helper()
		if _, err := p.Append(t.Context(), sha, 0, 500, "", bytes.NewReader(bytes.Repeat(pic, 2))); err != nil {
			t.Fatal(err)
		}
	}
	spoil()
	_, err := p.Append(t.Context(), sha, 0, 100, "", bytes.NewReader(pic))
	if code, at := status(err); code != 422 || at != 0 {
		t.Errorf("status %d, offset %d: %v", code, at, err)
	}
	if got, err := p.Append(t.Context(), sha, 0, 100, "", bytes.NewReader(pic)); err != nil || !got.Complete {
		t.Errorf("from its beginning: %+v, %v", got, err)
	}
	pic, sha = picture(4, 100)
	spoil()
	if fresh, err := p.Take(t.Context(), sha, "image/jpeg", pic); err != nil || !fresh {
		t.Errorf("from a copy: %v, %v", fresh, err)
	}
}

func TestPhotoKeepsWhatACutConnectionBrought(t *testing.T) {
	p, _, _ := newPhotos(t)
	pic, sha := picture(4, 100)
	cut := io.MultiReader(bytes.NewReader(pic[:60]), iotest.ErrReader(errors.New("cut")))
	got, err := p.Append(t.Context(), sha, 0, 100, "", cut)
	if store.KindOf(err) != store.Invalid || got.Offset != 60 {
		t.Errorf("%+v, %v", got, err)
	}
	got, err = p.Append(t.Context(), sha, 60, 100, "", bytes.NewReader(pic[60:]))
	if err != nil || !got.Complete {
		t.Errorf("the rest: %+v, %v", got, err)
	}
}

func TestPhotoOverTwoConnections(t *testing.T) {
	p, _, _ := newPhotos(t)
	pic, sha := picture(5, 100)
	r, w := io.Pipe()
	first := make(chan error, 1)
	go func() {
		_, err := p.Append(context.Background(), sha, 0, 100, "", r)
		first <- err
	}()
	if _, err := w.Write(pic[:10]); err != nil { // the first is inside now
		t.Fatal(err)
	}
	_, err := p.Append(t.Context(), sha, 0, 100, "", bytes.NewReader(pic))
	if code, at := status(err); code != 409 || at != -1 {
		t.Errorf("status %d, offset %d: %v", code, at, err)
	}
	w.Write(pic[10:])
	w.Close()
	if err := <-first; err != nil {
		t.Error(err)
	}
}

func TestPhotoAfterACrashBetweenSteps(t *testing.T) {
	for _, step := range []string{"synced", "renamed", "folder synced"} {
		t.Run(step, func(t *testing.T) {
			p, db, _ := newPhotos(t)
			pic, sha := picture(6, 100)
			crash := p.crashAt(step)
			if _, err := p.Append(t.Context(), sha, 0, 100, "image/jpeg", bytes.NewReader(pic)); !errors.Is(err, crash) {
				t.Fatalf("acknowledged: %v", err)
			}
			if rows := entered(t, db); len(rows) != 0 {
				t.Fatalf("entered before it was safe: %v", rows)
			}
			p.fault = nil
			got, err := p.Append(t.Context(), sha, 100, 100, "image/jpeg", bytes.NewReader(nil))
			if err != nil || got != (Progress{100, true}) || entered(t, db)[sha].Size != 100 {
				t.Errorf("the next piece: %+v, %v", got, err)
			}
		})
	}
}

func TestHeadEntersAFileWhoseRowIsMissing(t *testing.T) {
	p, db, _ := newPhotos(t)
	pic, sha := picture(7, 100)
	crash := p.crashAt("folder synced")
	if _, err := p.Append(t.Context(), sha, 0, 100, "", bytes.NewReader(pic)); !errors.Is(err, crash) {
		t.Fatal(err)
	}
	if got, err := p.Head(t.Context(), sha); err != nil || got != (Progress{100, true}) || entered(t, db)[sha].Type != "image/jpeg" {
		t.Errorf("%+v, %v, %v", got, err, entered(t, db))
	}
}

func TestPhotoNoRoom(t *testing.T) {
	err := photoFault("ab", &fs.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC})
	if code, _ := status(err); code != 507 {
		t.Errorf("a full disk: %v", err)
	}
	if code, _ := status(photoFault("ab", syscall.EIO)); code != 0 {
		t.Error("an unreadable disk was called full")
	}
}

func TestOpenOfAPhotoThatIsNotHere(t *testing.T) {
	p, db, _ := newPhotos(t)
	_, sha := picture(8, 100)
	for _, name := range []string{sha, "../x"} {
		if _, _, err := p.Open(t.Context(), name); store.KindOf(err) != store.NotFound {
			t.Errorf("%s: %v", name, err)
		}
	}
	enter(t, db, sha)
	if _, _, err := p.Open(t.Context(), sha); store.KindOf(err) != store.NotFound {
		t.Errorf("a row, no file: %v", err)
	}
}

func enter(t *testing.T, db *sqlite.DB, sha string) {
	t.Helper()
	if err := db.PhotoDone(t.Context(), store.Photo{SHA: sha, Size: 100, Type: "image/jpeg"}); err != nil {
		t.Fatal(err)
	}
}

func TestSweep(t *testing.T) {
	p, db, dir := newPhotos(t)
	now := time.Now()
	pic1, lost := picture(1, 100)
	_, gone := picture(2, 100)
	pic3, fresh := picture(3, 100)
	pic4, stale := picture(4, 100)
	crash := p.crashAt("folder synced")
	if _, err := p.Append(t.Context(), lost, 0, 100, "", bytes.NewReader(pic1)); !errors.Is(err, crash) {
		t.Fatal(err)
	}
	enter(t, db, gone)
	for sha, pic := range map[string][]byte{fresh: pic3, stale: pic4} {
		if _, err := p.Append(t.Context(), sha, 0, 100, "", bytes.NewReader(pic[:9])); err != nil {
			t.Fatal(err)
		}
	}
	long := now.Add(-31 * 24 * time.Hour)
	if err := os.Chtimes(filepath.Join(dir, stale[:2], stale+".part"), long, long); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("not ours"), 0o600); err != nil {
		t.Fatal(err)
	}
	got, err := p.Sweep(t.Context(), now)
	if err != nil {
		t.Fatal(err)
	}
	if want := (Swept{NoFile: []string{gone}, NoRow: []string{lost}, Old: []string{stale}}); !reflect.DeepEqual(got, want) {
		t.Errorf("swept %+v, want %+v", got, want)
	}
	rows := entered(t, db)
	if !rows[lost].Complete || rows[gone].Complete {
		t.Errorf("after the sweep: %v", rows)
	}
	if head, _ := p.Head(t.Context(), fresh); head.Offset != 9 {
		t.Errorf("a fresh part was touched: %+v", head)
	}
	again, err := p.Sweep(t.Context(), now)
	if want := (Swept{NoFile: []string{}, NoRow: []string{}, Old: []string{}}); err != nil || !reflect.DeepEqual(again, want) {
		t.Errorf("swept twice: %+v, %v", again, err)
	}
}

func TestSniff(t *testing.T) {
	for head, want := range map[string]string{
		"\x00\x00\x00\x18ftypheic\x00\x00": "image/heic",
		"\x00\x00\x00\x18ftypmp42\x00\x00": "application/octet-stream",
		"\x89PNG\x0d\x0a\x1a\x0a":          "image/png",
		"RIFF\x00\x00\x00\x00WEBPVP8 ":     "image/webp",
		"<script>":                         "text/html; charset=utf-8",
	} {
		if got := sniff([]byte(head)); got != want {
			t.Errorf("%q: %s, want %s", head, got, want)
		}
	}
}
