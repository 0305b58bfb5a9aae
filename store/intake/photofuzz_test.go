package intake

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"swardbook/store"
)

// FuzzPhotoUpload: pieces in any order and of any length, under the right name or another. What is called complete has the
// bytes of its name, an offset never lies beyond the photo, and the honest phone beside it gets its photo through.
func FuzzPhotoUpload(f *testing.F) {
	photo, sha := picture(1, 100)
	f.Add(photo, int64(0), int64(100), int64(60), "image/jpeg", false)
	f.Add(photo, int64(50), int64(100), int64(0), "image/heic", false)
	f.Add([]byte("<html>"), int64(0), int64(6), int64(3), "text/html", true)
	f.Add([]byte{}, int64(-1), int64(1)<<40, int64(7), "", true)
	f.Add(append(photo, 0), int64(0), int64(100), int64(100), "image/png", false)
	f.Fuzz(func(t *testing.T, raw []byte, offset, length, cut int64, typ string, lie bool) {
		p, db, dir := newPhotos(t)
		sum := sha256.Sum256(raw)
		name := hex.EncodeToString(sum[:])
		if lie {
			name = sha
		}
		at := min(max(cut, 0), int64(len(raw)))
		for _, piece := range [][]byte{raw[:at], raw[at:], raw} {
			got, err := p.Append(t.Context(), name, offset, length, typ, bytes.NewReader(piece))
			var said *store.Error
			if err != nil && !errors.As(err, &said) {
				t.Fatalf("a fault of ours: %v", err)
			}
			if got.Offset < 0 || got.Offset > max(length, 0) && got.Offset > int64(len(raw)) {
				t.Fatalf("goes on at %d of %d", got.Offset, length)
			}
			if err == nil {
				offset = got.Offset
			}
		}
		for sha := range entered(t, db) {
			bytes, err := os.ReadFile(filepath.Join(dir, sha[:2], sha))
			if sum := sha256.Sum256(bytes); err != nil || hex.EncodeToString(sum[:]) != sha {
				t.Fatalf("%s is entered and is not there: %v", sha, err)
			}
		}
		honest, own := picture(9, 300)
		if fresh, err := p.Take(t.Context(), own, "image/jpeg", honest); err != nil || !fresh && own != name {
			t.Fatal(err)
		}
	})
}
