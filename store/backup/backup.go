// Package backup copies a firm's data folder, database and photos, while it is in use; reads each copy back against a manifest
// of counts and hashes; and puts one in place of a lost folder.
package backup

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
)

// Names within a data folder and within a backup, which is laid out like one.
const (
	Database = "swardbook.db"
	Photos   = "photos"
	manifest = "manifest.json"
	halfDone = ".part" // ends the name of a backup that is being made
)

// Manifest is what a backup says of itself. A backup without one was never finished.
type Manifest struct {
	Made     time.Time      `json:"made"`
	Epoch    string         `json:"epoch"` // of the database that was copied
	Size     int64          `json:"size"`  // of the database file, in bytes
	Hash     string         `json:"sha256"`
	Tables   []sqlite.Table `json:"tables"`
	Photos   []Photo        `json:"photos"`
	Missing  []string       `json:"missing"` // photos that rows call complete but whose files were gone already
	PhotoSum int64          `json:"photo_bytes"`
}

// Photo is one photo of a backup; its name is its hash.
type Photo struct {
	SHA  string `json:"sha256"`
	Size int64  `json:"size"`
}

// Rows is how many rows all tables have together.
func (m Manifest) Rows() (n int64) {
	for _, t := range m.Tables {
		n += t.Rows
	}
	return n
}

// Make copies the data folder to a new folder to, reads the copy back, and returns what it holds. Photos that the backup before
// has are linked from there where the disk can do that. What could not be finished is removed.
func Make(ctx context.Context, data, to, before string, now time.Time) (m Manifest, err error) {
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return m, &store.Error{Kind: store.Conflict, Say: "A backup needs a folder that does not exist yet: " + to + " is there.", Err: err}
	}
	work := to + halfDone
	if err := os.MkdirAll(filepath.Dir(to), 0o750); err != nil {
		return m, err
	}
	if err := os.Mkdir(work, 0o750); err != nil {
		return m, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(fmt.Errorf("the backup was not made: %w", err), os.RemoveAll(work))
		}
	}()
	if m, err = fill(ctx, data, work, before, now); err != nil {
		return m, err
	}
	if _, err := Check(ctx, work); err != nil {
		return m, err
	}
	return m, errors.Join(os.Rename(work, to), syncFolder(filepath.Dir(to)))
}

// fill copies database and photos, and writes the manifest last.
func fill(ctx context.Context, data, work, before string, now time.Time) (m Manifest, err error) {
	copied := filepath.Join(work, Database)
	if err := sqlite.CopyFile(ctx, filepath.Join(data, Database), copied); err != nil {
		return m, err
	}
	held, err := sqlite.Inspect(ctx, copied)
	if err != nil {
		return m, err
	}
	m = Manifest{Made: now.UTC().Truncate(time.Second), Epoch: held.Epoch, Tables: held.Tables, Photos: []Photo{}, Missing: []string{}}
	if m.Hash, m.Size, err = hashFile(copied); err != nil {
		return m, err
	}
	for _, p := range held.Photos {
		if err := ctx.Err(); err != nil {
			return m, err
		}
		size, err := takePhoto(data, work, before, p.SHA)
		if errors.Is(err, fs.ErrNotExist) {
			m.Missing = append(m.Missing, p.SHA)
			continue
		}
		if err != nil {
			return m, err
		}
		m.Photos = append(m.Photos, Photo{p.SHA, size})
		m.PhotoSum += size
	}
	return m, writeManifest(work, m)
}

func writeManifest(dir string, m Manifest) error {
	raw, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	path := filepath.Join(dir, manifest)
	if err := os.WriteFile(path, append(raw, '\n'), 0o640); err != nil {
		return err
	}
	return errors.Join(syncFolder(path), syncFolder(dir))
}

// Read returns what a backup says of itself, without looking whether it is so.
func Read(dir string) (m Manifest, err error) {
	raw, err := os.ReadFile(filepath.Join(dir, manifest))
	if errors.Is(err, fs.ErrNotExist) {
		return m, store.Errorf(store.Invalid, "%s is not a finished backup: it has no %s.", dir, manifest)
	}
	if err == nil {
		err = json.Unmarshal(raw, &m)
	}
	if err != nil {
		err = &store.Error{Kind: store.Invalid, Say: "The manifest of the backup " + dir + " can't be read.", Err: err}
	}
	return m, err
}

// Check reads a backup back whole: the file's hash, every table's rows and hash, every photo's hash.
func Check(ctx context.Context, dir string) (Manifest, error) {
	m, err := Read(dir)
	if err != nil {
		return m, err
	}
	path := filepath.Join(dir, Database)
	hash, size, err := hashFile(path)
	switch {
	case err != nil:
		return m, damaged("its database can't be read", err)
	case hash != m.Hash || size != m.Size:
		return m, damaged("its database is not the file that was written", nil)
	}
	held, err := sqlite.Inspect(ctx, path)
	if err != nil {
		return m, damaged("its database can't be read", err)
	}
	if err := sameTables(m.Tables, held.Tables); err != nil {
		return m, err
	}
	return m, m.checkPhotos(ctx, filepath.Join(dir, Photos))
}

func (m Manifest) checkPhotos(ctx context.Context, dir string) error {
	for _, p := range m.Photos {
		if err := ctx.Err(); err != nil {
			return err
		}
		hash, size, err := hashFile(photoPath(dir, p.SHA))
		if err != nil {
			return damaged("photo "+p.SHA+" can't be read", err)
		}
		if hash != p.SHA || size != p.Size {
			return damaged("photo "+p.SHA+" is not the file that was written", nil)
		}
	}
	return nil
}

// sameTables compares what was promised with what is there, table by table.
func sameTables(want, got []sqlite.Table) error {
	if len(want) != len(got) {
		return damaged(fmt.Sprintf("it should hold %d tables and holds %d", len(want), len(got)), nil)
	}
	for i, w := range want {
		switch g := got[i]; {
		case g.Name != w.Name:
			return damaged("table "+w.Name+" is not there", nil)
		case g.Rows != w.Rows:
			return damaged(fmt.Sprintf("table %s should have %d rows and has %d", w.Name, w.Rows, g.Rows), nil)
		case g.Hash != w.Hash:
			return damaged("the rows of table "+w.Name+" are not those that were written", nil)
		}
	}
	return nil
}

func damaged(what string, cause error) error {
	return &store.Error{Kind: store.Invalid, Say: "The backup is damaged: " + what + ".", Err: cause}
}
