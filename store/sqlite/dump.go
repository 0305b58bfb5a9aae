package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"time"

	"swardbook/migrations"
)

// notDumped are tables that can be made anew, that only say who is signed in just now, or that hold secrets in the clear.
var notDumped = []string{"migrations", "meta", "noted", "findable", "sessions", "codes", "factors", "recovery_codes"}

// Snapshot is one state of the whole database.
type Snapshot struct{ t *tx }

// Dump gives f one state of the database to read, whatever is written meanwhile.
func (db *DB) Dump(ctx context.Context, f func(Snapshot) error) (err error) {
	defer wrap(&err, "Dump")
	return db.read(ctx, func(t *tx) error { return f(Snapshot{t}) })
}

// Shape is the number of the last migration, and the tables that hold what people put in.
func (s Snapshot) Shape() (number int, tables []string, err error) {
	if err = s.t.row(`SELECT user_version FROM pragma_user_version`).Scan(&number); err != nil {
		return 0, nil, err
	}
	tables, err = dumped(s.t)
	return number, tables, err
}

func dumped(t *tx) ([]string, error) {
	names, err := all(t, scanText, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY name`)
	return slices.DeleteFunc(names, func(name string) bool { return slices.Contains(notDumped, name) || strings.HasPrefix(name, "finds") }), err
}

// Each reads a table in its own order. Values are nil, int64, float64, string or []byte; an answer that is stored packed comes unpacked, as Packable.
// What is handed over is only good until each returns.
func (s Snapshot) Each(table string, each func(columns []string, values []any) error) error {
	rows, err := s.t.QueryContext(s.t.ctx, `SELECT * FROM `+quoteName(table)+` NOT INDEXED`)
	if err != nil {
		return err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return err
	}
	values, into := make([]any, len(columns)), make([]any, len(columns))
	for i := range values {
		into[i] = &values[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return err
		}
		for i, v := range values {
			if raw, ok := v.([]byte); ok && bytes.HasPrefix(raw, packedSign) {
				var answer []byte
				if err := (packed{&answer}).Scan(raw); err != nil {
					return fmt.Errorf("table %s, %s: %w", table, columns[i], err)
				}
				values[i] = Packable(answer)
			}
		}
		if err := each(columns, values); err != nil {
			return err
		}
	}
	return rows.Err()
}

// Packable is a text that is stored packed.
type Packable []byte

// Filler takes rows into a new database.
type Filler struct{ t *tx }

// Fill makes a new database at path as it was after a migration, lets f fill it in one transaction, and brings it to today's shape with another name.
// When f fails the file holds nothing of it.
func Fill(ctx context.Context, path string, number int, now func() time.Time, f func(Filler) error) (err error) {
	defer wrap(&err, "Fill(%s)", path)
	files, err := upTo(number)
	if err != nil {
		return err
	}
	w, err := sql.Open("sqlite", writerDSN(path))
	if err != nil {
		return err
	}
	w.SetMaxOpenConns(1)
	err = migrate(ctx, w, files, now)
	if err == nil {
		err = filled(ctx, w, now, f)
	}
	if err = errors.Join(err, w.Close()); err != nil {
		return err
	}
	db, err := Open(ctx, path, now)
	if err != nil {
		return err
	}
	return errors.Join(db.RenewEpoch(ctx), db.Close())
}

func filled(ctx context.Context, w *sql.DB, now func() time.Time, f func(Filler) error) (err error) {
	began, err := w.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	t := &tx{Tx: began, ctx: ctx, now: now()}
	if err = t.exec(`PRAGMA defer_foreign_keys = 1`); err == nil { // a table may come before what it points to
		err = f(Filler{t})
	}
	if err != nil {
		return errors.Join(err, began.Rollback())
	}
	return began.Commit()
}

// upTo are the migrations up to a number; a number that is none of ours is refused.
func upTo(number int) (fs.FS, error) {
	list, err := readMigrations(migrations.FS)
	if err != nil {
		return nil, err
	}
	if number < 1 || number > len(list) {
		return nil, fmt.Errorf("this was written by a newer program (migration %d, ours end at %d); install that or a later one", number, len(list))
	}
	return firstFiles{migrations.FS, list[number-1].name}, nil
}

// firstFiles are the files of a folder up to a name.
type firstFiles struct {
	fs.FS
	last string
}

// Glob lists what is there up to the last name.
func (f firstFiles) Glob(pattern string) ([]string, error) {
	names, err := fs.Glob(f.FS, pattern)
	return slices.DeleteFunc(names, func(name string) bool { return name > f.last }), err
}

// Tables lists what can be filled.
func (f Filler) Tables() ([]string, error) { return dumped(f.t) }

// Into prepares rows of a table. The columns must be the table's own, in any order.
func (f Filler) Into(table string, columns []string) (add func(values []any) error, end func() error, err error) {
	own, err := all(f.t, scanText, `SELECT name FROM pragma_table_info($1) ORDER BY cid`, table)
	if err != nil {
		return nil, nil, err
	}
	if len(own) == 0 {
		return nil, nil, fmt.Errorf("there is no table %q", table)
	}
	sorted := slices.Sorted(slices.Values(columns))
	if !slices.Equal(sorted, slices.Sorted(slices.Values(own))) {
		return nil, nil, fmt.Errorf("table %s has the columns %s, the file has %s", table, strings.Join(own, ", "), strings.Join(columns, ", "))
	}
	insert, err := f.t.inserts(table, columns)
	if err != nil {
		return nil, nil, err
	}
	return func(values []any) error { return addRow(f.t.ctx, insert, values) }, insert.Close, nil
}

// inserts is a statement for rows of a table; table and columns are the schema's own, as Into made sure.
func (t *tx) inserts(table string, columns []string) (*sql.Stmt, error) {
	names, places := "", ""
	for i, c := range columns {
		if i > 0 {
			names, places = names+", ", places+", "
		}
		names, places = names+quoteName(c), places+"?"
	}
	return t.PrepareContext(t.ctx, `INSERT INTO `+quoteName(table)+` (`+names+`) VALUES (`+places+`)`)
}

func addRow(ctx context.Context, insert *sql.Stmt, values []any) error {
	for i, v := range values {
		if text, ok := v.(Packable); ok {
			raw, err := Packed(text)
			if err != nil {
				return err
			}
			values[i] = raw
		}
	}
	_, err := insert.ExecContext(ctx, values...)
	return err
}
