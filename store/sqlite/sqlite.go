// Package sqlite keeps the nouns of package store in one SQLite file. It holds the only SQL of the program; DESIGN.md
// explains it.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"sync/atomic"
	"time"

	_ "modernc.org/sqlite" // the driver

	"swardbook/migrations"
	"swardbook/store"
	"swardbook/store/shelf"
)

// DB is an open database. It is safe for use by many goroutines at once.
type DB struct {
	path   string
	writer *sql.DB // one connection; every transaction takes the write lock at its beginning
	reader *sql.DB // read-only connections
	now    func() time.Time
	differ func(check, a, b string) bool
	pushes *pushQueue

	keptWriter, keptReader kept

	broken brokenFlag
	slow   slowNote
	writes atomic.Int64
	marks  marks
	firm   shelf.Shelf[store.Firm]
}

// readers is how many pages are read at once; more would only wait for the processor.
const readers = 4

// Open opens the database in a file, making it when it is not there, and brings it to the shape this program needs. The
// clock is asked once a transaction. Close must be called.
func Open(ctx context.Context, path string, now func() time.Time) (*DB, error) {
	return open(ctx, path, now, migrations.FS)
}

func open(ctx context.Context, path string, now func() time.Time, files fs.FS) (db *DB, err error) {
	db = &DB{path: path, now: now, differ: func(_, a, b string) bool { return a != b }}
	db.broken.init()
	defer func() {
		if err != nil {
			err = errors.Join(fmt.Errorf("opening the database %s: %w", path, advised(err)), db.closeHandles())
			db = nil
		}
	}()
	if db.writer, err = sql.Open("sqlite", writerDSN(path)); err != nil {
		return db, err
	}
	db.writer.SetMaxOpenConns(1)
	if err = checkWriter(ctx, db.writer); err != nil {
		return db, err
	}
	if err = checkWhole(ctx, db.writer); err != nil {
		return db, err
	}
	if err = migrate(ctx, db.writer, files, now); err != nil {
		return db, err
	}
	if db.reader, err = sql.Open("sqlite", readerDSN(path)); err != nil {
		return db, err
	}
	db.reader.SetMaxOpenConns(readers)
	db.reader.SetMaxIdleConns(readers)
	if err = db.reader.PingContext(ctx); err != nil {
		return db, err
	}
	if err = db.keep(ctx); err != nil {
		return db, err
	}
	db.pushes, err = newPushQueue(ctx, db)
	return db, err
}

// Close ends the queue of pushes and closes the file. Pushes that wait are answered Busy.
func (db *DB) Close() error {
	db.pushes.close()
	return db.closeHandles()
}

func (db *DB) closeHandles() error {
	var errs []error
	for _, h := range []*sql.DB{db.reader, db.writer} {
		if h != nil {
			errs = append(errs, h.Close())
		}
	}
	return errors.Join(errs...)
}

// DifferBy sets how two typed answers to a check are compared when they were given without knowing of each other; without
// it other text is another answer. It is called before the database is shared.
func (db *DB) DifferBy(differ func(check, a, b string) bool) { db.differ = differ }
