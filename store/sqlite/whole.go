package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// errDamaged is a database that can't be trusted, with what to do about it.
var errDamaged = errors.New("the database is damaged and was not touched. Copy the whole data folder away first, then put the last " +
	"backup in its place and start again. Phones keep what they sent for thirty days and send again what the backup lacks")

// checkWhole reads every page once, but for the order of indexes: a damaged file is found now and not when a page of it is
// needed in the middle of a day.
func checkWhole(ctx context.Context, w *sql.DB) error {
	var says string
	if err := w.QueryRowContext(ctx, `PRAGMA quick_check(1)`).Scan(&says); err != nil {
		return err
	}
	if says != "ok" {
		return fmt.Errorf("%w (%s)", errDamaged, says)
	}
	return nil
}

// advised says of an error that means damage what to do about it.
func advised(err error) error {
	var e *driver.Error
	if errors.As(err, &e) && (primary(e.Code()) == lib.SQLITE_CORRUPT || primary(e.Code()) == lib.SQLITE_NOTADB) {
		return fmt.Errorf("%w (%w)", errDamaged, err)
	}
	return err
}
