package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io/fs"
	"math"
	"os"
	"strings"

	"swardbook/store"
)

// Backup copies the database as it stands to a new file, while it is in use, and reads the copy back whole. A copy that
// can't be trusted is removed.
func (db *DB) Backup(ctx context.Context, path string) (err error) {
	return CopyFile(ctx, db.path, path)
}

// CopyFile copies the database in one file to a new file, while others use it, and reads the copy back whole: pages and rows
// are those of one moment. It reads over a connection of its own, so pushes go on meanwhile. It brings nothing to another shape.
func CopyFile(ctx context.Context, from, to string) (err error) {
	defer wrap(&err, "CopyFile(%s)", to)
	if _, err := os.Stat(from); err != nil {
		return err
	}
	if _, err := os.Stat(to); !errors.Is(err, fs.ErrNotExist) {
		return &store.Error{Kind: store.Conflict, Say: "A backup needs a file that does not exist yet.", Err: err}
	}
	if err = vacuumInto(ctx, from, to); err == nil {
		err = errors.Join(checkCopy(ctx, to), syncFile(to))
	}
	if err != nil {
		_ = os.Remove(to)
	}
	return err
}

// copyDSN can read and nothing else; without query_only, which VACUUM INTO would not get past.
func copyDSN(path string) string {
	return "file:" + escapePath(path) + "?mode=ro&_pragma=busy_timeout(5000)&_dqs=0"
}

func vacuumInto(ctx context.Context, from, to string) (err error) {
	source, err := sql.Open("sqlite", copyDSN(from))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, source.Close()) }()
	_, err = source.ExecContext(ctx, `VACUUM INTO $1`, to)
	return err
}

// stillDSN reads a file that nobody writes: without locks, and without a log beside it.
func stillDSN(path string) string {
	return "file:" + escapePath(path) + "?mode=ro&immutable=1&_pragma=query_only(1)&_dqs=0"
}

// checkCopy reads every page of a file that nobody else has open.
func checkCopy(ctx context.Context, path string) (err error) {
	copied, err := sql.Open("sqlite", stillDSN(path))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, copied.Close()) }()
	var says string
	if err := copied.QueryRowContext(ctx, `PRAGMA integrity_check`).Scan(&says); err != nil {
		return err
	}
	if says != "ok" {
		return fmt.Errorf("the copy is damaged: %s", says)
	}
	return nil
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// Table is what one table holds: how many rows, and a SHA-256 over all of them in the table's own order.
type Table struct {
	Name string `json:"name"`
	Rows int64  `json:"rows"`
	Hash string `json:"sha256"`
}

// Contents is what a database file holds, counted and hashed row by row.
type Contents struct {
	Epoch  string
	Tables []Table
	Photos []store.Photo // those that are complete, by digest
}

// Inspect reads every row of a database file that nobody has open.
func Inspect(ctx context.Context, path string) (c Contents, err error) {
	defer wrap(&err, "Inspect(%s)", path)
	file, err := sql.Open("sqlite", stillDSN(path))
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	began, err := file.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return c, err
	}
	defer func() { _ = began.Rollback() }()
	t := &tx{Tx: began, ctx: ctx}
	if c.Epoch, err = t.epoch(); err != nil {
		return c, err
	}
	if c.Photos, err = all(t, scanPhoto, `SELECT sha, size, type, complete FROM photos WHERE complete = 1 ORDER BY sha`); err != nil {
		return c, err
	}
	names, err := all(t, scanText, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY name`)
	if err != nil {
		return c, err
	}
	for _, name := range names {
		one, err := t.summed(name)
		if err != nil {
			return c, fmt.Errorf("table %s: %w", name, err)
		}
		c.Tables = append(c.Tables, one)
	}
	return c, nil
}

// summed reads a table in its own order; NOT INDEXED keeps the planner from taking another. A table's name can't be a
// parameter: it comes from the schema itself and is quoted.
func (t *tx) summed(name string) (Table, error) {
	rows, err := t.QueryContext(t.ctx, `SELECT * FROM `+quoteName(name)+` NOT INDEXED`)
	if err != nil {
		return Table{}, err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return Table{}, err
	}
	values := make([]any, len(columns))
	into := make([]any, len(columns))
	for i := range values {
		into[i] = &values[i]
	}
	sum, n := sha256.New(), int64(0)
	for ; rows.Next(); n++ {
		if err := rows.Scan(into...); err != nil {
			return Table{}, err
		}
		for _, v := range values {
			hashValue(sum, v)
		}
	}
	return Table{name, n, hex.EncodeToString(sum.Sum(nil))}, rows.Err()
}

func quoteName(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }

// hashValue writes a value so that no two lists of values are written alike: its kind, its length, its bytes.
func hashValue(h hash.Hash, v any) {
	var kind byte
	var raw []byte
	switch x := v.(type) {
	case nil:
		kind = 'n'
	case int64:
		kind, raw = 'i', binary.BigEndian.AppendUint64(nil, uint64(x))
	case float64:
		kind, raw = 'f', binary.BigEndian.AppendUint64(nil, math.Float64bits(x))
	case string:
		kind, raw = 's', []byte(x)
	case []byte:
		kind, raw = 'b', x
	default:
		kind, raw = '?', fmt.Append(nil, x)
	}
	h.Write(binary.BigEndian.AppendUint64([]byte{kind}, uint64(len(raw))))
	h.Write(raw)
}
