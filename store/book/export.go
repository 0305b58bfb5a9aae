// Package book hands a firm's whole book out in open formats, CSV, JSON, GeoJSON and photos in one zip, and makes an equal
// server of such a file. Nothing of it is kept in memory but a row at a time.
package book

import (
	"archive/zip"
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"time"
	"unicode/utf8"

	"swardbook/store"
	"swardbook/store/sqlite"
)

// Format names what a file of ours is; version 1 is the only one so far.
const (
	Format  = "swardbook-book"
	Version = 1
)

// Manifest is what a file says of itself. It is written last and stands at manifest.json.
type Manifest struct {
	Format    string   `json:"format"`
	Version   int      `json:"version"`
	Made      string   `json:"made"`
	Migration int      `json:"migration"` // the shape of the tables
	Tables    []Table  `json:"tables"`
	Photos    int      `json:"photos"`
	Missing   []string `json:"missing"` // photos that rows call complete but that the office does not have
}

// Table is one table of a file: tables/NAME.jsonl, a row to a line.
type Table struct {
	Name string `json:"name"`
	Rows int64  `json:"rows"`
	Hash string `json:"sha256"` // of the file's bytes
}

// Photos gives photos by their digest.
type Photos interface {
	Open(ctx context.Context, sha string) (*os.File, store.Photo, error)
}

// Store is what is handed out.
type Store interface {
	Dump(ctx context.Context, f func(sqlite.Snapshot) error) error
}

// Export writes everything to w. more is called now and then, so that whoever sends it on can tell that it is alive.
func Export(ctx context.Context, w io.Writer, db Store, photos Photos, now time.Time, more func()) (m Manifest, err error) {
	m = Manifest{Format: Format, Version: Version, Made: now.UTC().Format(time.RFC3339), Missing: []string{}}
	out := &writer{ctx: ctx, zip: zip.NewWriter(w), now: now, more: more, m: &m}
	var shas []string
	err = db.Dump(ctx, func(s sqlite.Snapshot) error {
		if shas, err = out.tables(s); err != nil {
			return err
		}
		return out.sheets(s)
	})
	if err != nil {
		return m, err
	}
	for _, sha := range shas {
		if err := out.photo(photos, sha); err != nil {
			return m, err
		}
	}
	if err := out.file("manifest.json", func(to io.Writer) error {
		text, err := json.MarshalIndent(m, "", "  ")
		if err == nil {
			_, err = to.Write(append(text, '\n'))
		}
		return err
	}); err != nil {
		return m, err
	}
	return m, out.zip.Close()
}

// writer writes one file of ours.
type writer struct {
	ctx  context.Context
	zip  *zip.Writer
	now  time.Time
	more func()
	m    *Manifest
}

func (o *writer) file(name string, write func(io.Writer) error) error {
	if err := o.ctx.Err(); err != nil {
		return err
	}
	to, err := o.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: o.now})
	if err != nil {
		return err
	}
	buffered := bufio.NewWriter(to)
	err = errors.Join(write(buffered), buffered.Flush())
	o.more()
	return err
}

// tables writes every table and returns the digests of complete photos.
func (o *writer) tables(s sqlite.Snapshot) (shas []string, err error) {
	number, names, err := s.Shape()
	if err != nil {
		return nil, err
	}
	o.m.Migration = number
	for _, name := range names {
		if err := o.file("tables/"+name+".jsonl", func(to io.Writer) error {
			t, err := o.table(s, name, to, &shas)
			o.m.Tables = append(o.m.Tables, t)
			return err
		}); err != nil {
			return nil, fmt.Errorf("table %s: %w", name, err)
		}
	}
	return shas, nil
}

func (o *writer) table(s sqlite.Snapshot, name string, to io.Writer, shas *[]string) (Table, error) {
	t := Table{Name: name}
	sum := sha256.New()
	lines := json.NewEncoder(io.MultiWriter(to, sum))
	lines.SetEscapeHTML(false)
	err := s.Each(name, func(columns []string, values []any) error {
		if t.Rows++; t.Rows%2000 == 0 {
			o.more()
		}
		if name == "photos" {
			noteSHA(columns, values, shas)
		}
		return lines.Encode(line{columns, values})
	})
	t.Hash = hexOf(sum)
	return t, err
}

func hexOf(sum hash.Hash) string { return hex.EncodeToString(sum.Sum(nil)) }

func noteSHA(columns []string, values []any, shas *[]string) {
	var sha string
	whole := false
	for i, c := range columns {
		switch c {
		case "sha":
			sha, _ = values[i].(string)
		case "complete":
			whole = values[i] == int64(1)
		}
	}
	if whole {
		*shas = append(*shas, sha)
	}
}

// line is a row as a JSON object, its columns in the table's order.
type line struct {
	columns []string
	values  []any
}

// MarshalJSON writes numbers and texts as they are. Bytes are {"text": …} where they are text, {"packed": …} where the text is stored packed, and
// {"base64": …} otherwise.
func (l line) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, c := range l.columns {
		if i > 0 {
			out = append(out, ',')
		}
		name, err := plainJSON(c)
		if err != nil {
			return nil, err
		}
		value, err := plainJSON(shown(l.values[i]))
		if err != nil {
			return nil, err
		}
		out = append(append(append(out, name...), ':'), value...)
	}
	return append(out, '}'), nil
}

func shown(v any) any {
	switch x := v.(type) {
	case sqlite.Packable:
		if utf8.Valid(x) {
			return map[string]string{"packed": string(x)}
		}
		return map[string]string{"packed64": base64.StdEncoding.EncodeToString(x)}
	case []byte:
		if utf8.Valid(x) {
			return map[string]string{"text": string(x)}
		}
		return map[string]string{"base64": base64.StdEncoding.EncodeToString(x)}
	case string:
		if !utf8.ValidString(x) {
			return map[string]string{"text64": base64.StdEncoding.EncodeToString([]byte(x))}
		}
	}
	return v
}

// plainJSON is JSON without the escapes that only pages need.
func plainJSON(v any) ([]byte, error) {
	var b jsonBuffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return b.trimmed(), err
}

type jsonBuffer []byte

// Write appends.
func (b *jsonBuffer) Write(p []byte) (int, error) { *b = append(*b, p...); return len(p), nil }

func (b jsonBuffer) trimmed() []byte {
	if n := len(b); n > 0 && b[n-1] == '\n' {
		return b[:n-1]
	}
	return b
}

// photo writes one photo as it is. One that the office lacks is named in the manifest.
func (o *writer) photo(photos Photos, sha string) error {
	f, photo, err := photos.Open(o.ctx, sha)
	if store.KindOf(err) == store.NotFound && err != nil {
		o.m.Missing = append(o.m.Missing, sha)
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	to, err := o.zip.CreateHeader(&zip.FileHeader{Name: "photos/" + sha + ending(photo.Type), Method: zip.Store, Modified: o.now})
	if err != nil {
		return err
	}
	if _, err := io.Copy(to, f); err != nil {
		return err
	}
	o.m.Photos++
	o.more()
	return nil
}

func ending(typ string) string {
	switch typ {
	case "image/jpeg":
		return ".jpg"
	case "image/png":
		return ".png"
	case "image/webp":
		return ".webp"
	case "image/heic", "image/heif":
		return ".heic"
	}
	return ""
}
