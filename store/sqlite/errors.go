package sqlite

import (
	"errors"
	"fmt"
	"sync"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"swardbook/store"
)

// wrap names the method that failed and gives errors of SQLite a kind.
func wrap(err *error, format string, args ...any) {
	if *err != nil {
		*err = fmt.Errorf(format+": %w", append(args, withKind(*err))...)
	}
}

func notFound(what string) error { return store.Errorf(store.NotFound, "There is no such %s.", what) }

// withKind gives an error of SQLite the kind that says what the caller can do about it.
func withKind(err error) error {
	var known *store.Error
	var e *driver.Error
	if errors.As(err, &known) || !errors.As(err, &e) {
		return err
	}
	kind, say := kindOf(e.Code())
	if kind == store.Internal {
		return err
	}
	return &store.Error{Kind: kind, Say: say, Err: err}
}

func kindOf(code int) (store.Kind, string) {
	switch code {
	case lib.SQLITE_CONSTRAINT_UNIQUE, lib.SQLITE_CONSTRAINT_PRIMARYKEY:
		return store.Conflict, "This exists already."
	case lib.SQLITE_CONSTRAINT_FOREIGNKEY:
		return store.NotFound, "What this belongs to does not exist."
	case lib.SQLITE_CONSTRAINT_CHECK, lib.SQLITE_CONSTRAINT_NOTNULL, lib.SQLITE_CONSTRAINT_DATATYPE, lib.SQLITE_TOOBIG:
		return store.Invalid, "This can't be stored as it stands."
	}
	switch primary(code) {
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return store.Busy, "The office is busy. Try again in a moment."
	case lib.SQLITE_FULL:
		return store.Busy, "The office has no room left. Nothing was lost; try again later."
	case lib.SQLITE_IOERR, lib.SQLITE_CANTOPEN, lib.SQLITE_NOMEM, lib.SQLITE_READONLY, lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return store.Busy, "The office can't write to its disk now. Try again later."
	}
	return store.Internal, ""
}

func primary(code int) int { return code & 0xff }

// brokenFlag remembers that the disk failed. After a failed fsync the system may call data clean that never reached the
// disk, so nothing may be acknowledged any more until the program starts anew.
type brokenFlag struct {
	once sync.Once
	ch   chan struct{}
}

func (b *brokenFlag) init() { b.ch = make(chan struct{}) }

func (b *brokenFlag) note(err error) {
	var e *driver.Error
	if errors.As(err, &e) && primary(e.Code()) == lib.SQLITE_IOERR {
		b.once.Do(func() { close(b.ch) })
	}
}

func (b *brokenFlag) err() error {
	select {
	case <-b.ch:
		return store.Errorf(store.Busy, "The office's disk failed. Everything is still kept on the phone.")
	default:
		return nil
	}
}

// Broken is closed when the disk failed. The program should then stop and be started anew.
func (db *DB) Broken() <-chan struct{} { return db.broken.ch }
