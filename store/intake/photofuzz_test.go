package intake

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"swardbook/store"
)

// FuzzPhotoUpload: pieces in any order and of any length, under the right name or another. What is called complete has the
// bytes of its name, an offset never lies beyond the photo, and the honest phone beside it gets its photo through.
func FuzzPhotoUpload(f *testing.F) {
	photo, _ := picture(1, 100)
	f.Add(photo, int64(0), int64(100), int64(60), "image/jpeg", false)
	f.Add(photo, int64(50), int64(100), int64(0), "image/heic", false)
	f.Add([]byte("<html>"), int64(0), int64(6), int64(3), "text/html", true)
	f.Add([]byte{}, int64(-1), int64(1)<<40, int64(7), "", true)
	f.Add(append(photo, 0), int64(0), int64(100), int64(100), "image/png", false)
	p, db, dir := newPhotos(f) // one for all: opening a database takes a hundred times as long as a piece
	run := 0
	f.Fuzz(func(t *testing.T, raw []byte, offset, length, cut int64, typ string, lie bool) {
		run++
		honest, own := picture(byte(run), 300+run>>8)
		sum := sha256.Sum256(raw)
		name := hex.EncodeToString(sum[:])
		if lie {
			sum = sha256.Sum256(append(honest[:len(honest):len(honest)], 0)) // of other bytes, and of no photo before
			name = hex.EncodeToString(sum[:])
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
		if photo, err := db.PhotoState(t.Context(), name); err == nil && photo.Complete {
			bytes, err := os.ReadFile(filepath.Join(dir, name[:2], name))
			if sum := sha256.Sum256(bytes); err != nil || hex.EncodeToString(sum[:]) != name {
				t.Fatalf("%s is entered and is not there: %v", name, err)
			}
		}
		if fresh, err := p.Take(t.Context(), own, "image/jpeg", honest); err != nil || !fresh {
			t.Fatal(err)
		}
	})
}

// taker keeps what was handed to it.
type taker map[string][]byte

func (k taker) Take(_ context.Context, sha, _ string, raw []byte) (bool, error) {
	_, here := k[sha]
	k[sha] = raw
	return !here, nil
}

// FuzzCopyFile reads files alone, without an office behind: what is taken of one are runs of whole records in its own bytes and
// photos that are what their name says, and what is wrong with it is said in a sentence.
func FuzzCopyFile(f *testing.F) {
	raw, sha := picture(1, 100)
	f.Add(fmt.Appendf(nil, `{"kind":"swardbook-copy","proto":1,"app":"b","device":"d","epoch":"e","sent":"x","ops":[{"n":1,"id":"a"},{"n":2,"id":"b"},{"n":9,"id":"c","body":{"typed":"2 1/2"}}],"photos":[{"sha":%q,"size":100,"type":"image/jpeg","base64":%q}]}`, sha, base64.StdEncoding.EncodeToString(raw)))
	f.Add([]byte(`{"photos":[],"kind":"swardbook-copy","proto":1,"device":"d","ops":[]}`))
	f.Add([]byte(`{"kind":"swardbook-copy","proto":1e0,"device":"d","ops":[{"n":9007199254740993,"id":"a"}],"ops":[],"more":{"a":[1,{}]}}`))
	f.Add([]byte(`{"kind":"swardbook-copy","proto":1,"device":"d","ops":[{"n":1,"id":"a"},`))
	f.Fuzz(func(t *testing.T, file []byte) {
		photos := taker{}
		c := &copyReader{ctx: t.Context(), photos: photos, dec: json.NewDecoder(bytes.NewReader(file))}
		taken := 0
		c.take = func(batch []Op) error {
			if len(batch) == 0 || len(batch) > MaxOps {
				t.Fatalf("a batch of %d", len(batch))
			}
			for i, op := range batch {
				if !json.Valid(op.Raw) || !bytes.Contains(file, op.Raw) || op.ID == "" || op.N != batch[0].N+int64(i) || op.N < 1 || op.N > maxN {
					t.Fatalf("record %d: %+v", i, op)
				}
			}
			taken += len(batch)
			return nil
		}
		err := c.whole()
		var said *store.Error
		if err != nil && (!errors.As(err, &said) || said.Kind != store.Invalid || said.Say == "") {
			t.Fatalf("not a sentence: %v", err)
		}
		if err == nil && (c.head["kind"] != CopyKind || !usable(c.res.Device)) {
			t.Fatalf("taken: %v", c.head)
		}
		for sha, raw := range photos {
			if sum := sha256.Sum256(raw); hex.EncodeToString(sum[:]) != sha {
				t.Fatalf("%s is another photo", sha)
			}
		}
		if taken+len(photos) > 0 && c.head["kind"] != CopyKind {
			t.Fatalf("%d records of no copy", taken)
		}
	})
}
