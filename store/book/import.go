package book

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
)

// longestRow bounds a line of a table.
const longestRow = 64 << 20

// Import makes a data folder of a file that Export wrote. The folder must hold nothing yet; what could not be finished is removed. Every table and every
// photo is compared with what the file says of itself.
func Import(ctx context.Context, file, data string, now func() time.Time) (m Manifest, err error) {
	in, err := zip.OpenReader(file)
	if err != nil {
		return m, &store.Error{Kind: store.Invalid, Say: file + " is no zip file, or it is cut short.", Err: err}
	}
	defer in.Close()
	if m, err = manifestOf(&in.Reader); err != nil {
		return m, err
	}
	work := filepath.Clean(data) + ".part"
	if err := empty(data); err != nil {
		return m, err
	}
	if err := os.RemoveAll(work); err != nil {
		return m, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(work))
		}
	}()
	if err := os.MkdirAll(filepath.Join(work, "photos"), 0o750); err != nil {
		return m, err
	}
	if err := takePhotos(ctx, &in.Reader, m, filepath.Join(work, "photos")); err != nil {
		return m, err
	}
	err = sqlite.Fill(ctx, filepath.Join(work, "swardbook.db"), m.Migration, now, func(f sqlite.Filler) error { return takeTables(ctx, &in.Reader, m, f) })
	if err != nil {
		return m, err
	}
	if err := os.Remove(data); err != nil && !errors.Is(err, os.ErrNotExist) {
		return m, err
	}
	return m, os.Rename(work, data)
}

// empty refuses a folder in which anything lies.
func empty(data string) error {
	list, err := os.ReadDir(data)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if len(list) > 0 {
		return store.Errorf(store.Conflict, "%s is not empty: %s lies there. Nothing is ever overwritten; move it away or choose another -data folder.", data, list[0].Name())
	}
	return nil
}

func manifestOf(in *zip.Reader) (m Manifest, err error) {
	f, err := in.Open("manifest.json")
	if err != nil {
		return m, store.Errorf(store.Invalid, "This zip has no manifest.json: it is not a book of ours, or it was cut short.")
	}
	defer f.Close()
	if err := json.NewDecoder(io.LimitReader(f, longestRow)).Decode(&m); err != nil {
		return m, &store.Error{Kind: store.Invalid, Say: "The manifest of this file can't be read.", Err: err}
	}
	if m.Format != Format || m.Version != Version {
		return m, store.Errorf(store.Invalid, "This file is %q, version %d; this program reads %q, version %d.", m.Format, m.Version, Format, Version)
	}
	return m, nil
}

var photoName = regexp.MustCompile(`^photos/([0-9a-f]{64})(\.[a-z]+)?$`)

func takePhotos(ctx context.Context, in *zip.Reader, m Manifest, dir string) error {
	n := 0
	for _, f := range in.File {
		if err := ctx.Err(); err != nil {
			return err
		}
		match := photoName.FindStringSubmatch(f.Name)
		if match == nil {
			continue
		}
		if err := takePhoto(f, match[1], dir); err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
		n++
	}
	if n != m.Photos {
		return store.Errorf(store.Invalid, "The file should hold %d photos and holds %d.", m.Photos, n)
	}
	return nil
}

func takePhoto(f *zip.File, sha, dir string) (err error) {
	from, err := f.Open()
	if err != nil {
		return err
	}
	defer from.Close()
	if err := os.MkdirAll(filepath.Join(dir, sha[:2]), 0o750); err != nil {
		return err
	}
	to, err := os.OpenFile(filepath.Join(dir, sha[:2], sha), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o640)
	if err != nil {
		return err
	}
	sum := sha256.New()
	_, err = io.Copy(io.MultiWriter(to, sum), from)
	if err = errors.Join(err, to.Sync(), to.Close()); err != nil {
		return err
	}
	if hexOf(sum) != sha {
		return store.Errorf(store.Invalid, "The photo %s is not what its name says.", path.Base(f.Name))
	}
	return nil
}

func takeTables(ctx context.Context, in *zip.Reader, m Manifest, f sqlite.Filler) error {
	want, err := f.Tables()
	if err != nil {
		return err
	}
	var have []string
	for _, t := range m.Tables {
		have = append(have, t.Name)
	}
	if slices.Sort(have); !slices.Equal(want, have) {
		return store.Errorf(store.Invalid, "The file should hold the tables %s and holds %s.", strings.Join(want, ", "), strings.Join(have, ", "))
	}
	for _, t := range m.Tables {
		if err := takeTable(ctx, in, t, f); err != nil {
			return fmt.Errorf("table %s: %w", t.Name, err)
		}
	}
	return nil
}

func takeTable(ctx context.Context, in *zip.Reader, t Table, f sqlite.Filler) error {
	file, err := in.Open("tables/" + t.Name + ".jsonl")
	if err != nil {
		return err
	}
	defer file.Close()
	sum := sha256.New()
	lines := bufio.NewScanner(io.TeeReader(file, sum))
	lines.Buffer(make([]byte, 64<<10), longestRow)
	var columns []string
	var add func([]any) error
	end := func() error { return nil }
	n := int64(0)
	for ; lines.Scan() && ctx.Err() == nil; n++ {
		names, values, err := readRow(lines.Bytes())
		if err != nil {
			return fmt.Errorf("row %d: %w", n+1, err)
		}
		if !slices.Equal(names, columns) {
			if err := end(); err != nil {
				return err
			}
			if columns = names; true {
				add, end, err = f.Into(t.Name, names)
			}
			if err != nil {
				return err
			}
		}
		if err := add(values); err != nil {
			return errors.Join(fmt.Errorf("row %d: %w", n+1, err), end())
		}
	}
	if err := errors.Join(lines.Err(), ctx.Err(), end()); err != nil {
		return err
	}
	if n != t.Rows || hexOf(sum) != t.Hash {
		return store.Errorf(store.Invalid, "The file holds %d rows where it says %d, or they were changed.", n, t.Rows)
	}
	return nil
}

// readRow reads what line.MarshalJSON wrote, columns in their order.
func readRow(raw []byte) (names []string, values []any, err error) {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, nil, errors.New("not a row")
	}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return nil, nil, err
		}
		var v any
		if err := d.Decode(&v); err != nil {
			return nil, nil, err
		}
		if v, err = kept(v); err != nil {
			return nil, nil, fmt.Errorf("%v: %w", name, err)
		}
		text, _ := name.(string)
		names, values = append(names, text), append(values, v)
	}
	if _, err := d.Token(); err != nil { // the end of the row
		return nil, nil, errors.New("a row that is cut off")
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, nil, errors.New("more than a row")
	}
	return names, values, nil
}

// kept is a value as the database takes it.
func kept(v any) (any, error) {
	switch x := v.(type) {
	case json.Number:
		if n, err := x.Int64(); err == nil {
			return n, nil
		}
		return x.Float64()
	case map[string]any:
		if len(x) != 1 {
			return nil, errors.New("bytes have one form")
		}
		for form, text := range x {
			return bytesOf(form, text)
		}
	case nil, string:
		return v, nil
	}
	return nil, fmt.Errorf("a %T is no value of a table", v)
}

func bytesOf(form string, v any) (any, error) {
	text, ok := v.(string)
	if !ok {
		return nil, errors.New("bytes are written as a text")
	}
	raw := []byte(text)
	if plain, is64 := strings.CutSuffix(form, "64"); is64 && form != "base64" || form == "base64" {
		var err error
		if raw, err = base64.StdEncoding.DecodeString(text); err != nil {
			return nil, err
		}
		if form != "base64" {
			form = plain
			if form == "text" {
				return string(raw), nil
			}
		}
	}
	switch form {
	case "text", "base64":
		return raw, nil
	case "packed":
		return sqlite.Packable(raw), nil
	}
	return nil, fmt.Errorf("bytes have no form %q", form)
}
