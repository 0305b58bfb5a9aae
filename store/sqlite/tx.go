package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"swardbook/store"
)

// tx is one transaction with the moment it began.
type tx struct {
	*sql.Tx
	ctx  context.Context
	now  time.Time
	kept kept

	said  bool // what it is about was said
	about []store.Mark
}

// write runs f in a transaction of the writer and commits it when f returns no error.
func (db *DB) write(ctx context.Context, f func(*tx) error) error {
	return db.run(ctx, db.writer, nil, db.keptWriter, f)
}

// read runs f over one state of the database.
func (db *DB) read(ctx context.Context, f func(*tx) error) error {
	return db.run(ctx, db.reader, &sql.TxOptions{ReadOnly: true}, db.keptReader, f)
}

func (db *DB) run(ctx context.Context, handle *sql.DB, opts *sql.TxOptions, keeps kept, f func(*tx) error) (err error) {
	defer func() { db.broken.note(err) }()
	defer db.timed(ctx)()
	began, err := handle.BeginTx(ctx, opts)
	if err != nil {
		return err
	}
	defer func() {
		if err == nil {
			return
		}
		if undo := began.Rollback(); !errors.Is(undo, sql.ErrTxDone) {
			err = errors.Join(err, undo)
		}
	}()
	t := &tx{Tx: began, ctx: ctx, now: db.moment(), kept: keeps}
	if err := f(t); err != nil {
		return err
	}
	if err = began.Commit(); err == nil && handle == db.writer {
		db.writes.Add(1)
		db.marks.written(t.said, t.about)
	}
	return err
}

// Writes counts what this program has written since it opened the database: what was read at one count still stands at the same count.
func (db *DB) Writes() int64 { return db.writes.Load() }

// moment is now as it is stored.
func (db *DB) moment() time.Time { return db.now().UTC().Truncate(time.Millisecond) }

func (t *tx) exec(query string, args ...any) error {
	var err error
	if s := t.kept[query]; s != nil {
		_, err = t.StmtContext(t.ctx, s).ExecContext(t.ctx, args...)
	} else {
		_, err = t.ExecContext(t.ctx, query, args...)
	}
	return err
}

// execOne runs a change that must meet a row.
func (t *tx) execOne(missing error, query string, args ...any) error {
	res, err := t.ExecContext(t.ctx, query, args...)
	if err != nil {
		return err
	}
	n, err := res.RowsAffected()
	if err == nil && n == 0 {
		return missing
	}
	return err
}

func (t *tx) row(query string, args ...any) *sql.Row {
	if s := t.kept[query]; s != nil {
		return t.StmtContext(t.ctx, s).QueryRowContext(t.ctx, args...)
	}
	return t.QueryRowContext(t.ctx, query, args...)
}

func (t *tx) query(query string, args ...any) (*sql.Rows, error) {
	if s := t.kept[query]; s != nil {
		return t.StmtContext(t.ctx, s).QueryContext(t.ctx, args...)
	}
	return t.QueryContext(t.ctx, query, args...)
}

// scanner is a row or rows.
type scanner interface{ Scan(dest ...any) error }

// all collects every row of a query; none is an empty list.
func all[T any](t *tx, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := t.query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	list := []T{}
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, rows.Err()
}

// one reads the first row of a query, missing when there is none.
func one[T any](t *tx, missing error, scan func(scanner) (T, error), query string, args ...any) (T, error) {
	v, err := scan(t.row(query, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return v, missing
	}
	return v, err
}

// where gathers conditions and their arguments.
type where struct {
	text string
	args []any
}

// and adds a condition; each ? in it stands for the next of args.
func (w *where) and(condition string, args ...any) {
	if w.text == "" {
		w.text = " WHERE "
	} else {
		w.text += " AND "
	}
	w.text += condition
	w.args = append(w.args, args...)
}

// equal adds column = value unless value is empty.
func (w *where) equal(column, value string) {
	if value != "" {
		w.and(column+" = ?", value)
	}
}

const timeForm = "2006-01-02T15:04:05.000Z"

// formatTime writes a moment so that text order is time order; never is ”.
func formatTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(timeForm)
}

// moments scans a text as formatTime wrote it.
type moments struct{ *time.Time }

// Scan reads what formatTime wrote.
func (m moments) Scan(v any) error {
	text, ok := v.(string)
	if !ok {
		return errors.New("a time must be text")
	}
	*m.Time = time.Time{}
	if text == "" {
		return nil
	}
	t, err := time.Parse(timeForm, text)
	*m.Time = t
	return err
}

func orNow(t, now time.Time) string {
	if t.IsZero() {
		t = now
	}
	return formatTime(t)
}
