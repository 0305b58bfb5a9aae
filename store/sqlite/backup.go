package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"swardbook/store"
)

// Backup copies the database as it stands to a new file, while it is in use, and reads the copy back whole. A copy that
// can't be trusted is removed.
func (db *DB) Backup(ctx context.Context, path string) (err error) {
	defer wrap(&err, "Backup(%s)", path)
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		return &store.Error{Kind: store.Conflict, Say: "A backup needs a file that does not exist yet.", Err: err}
	}
	if _, err = db.writer.ExecContext(ctx, `VACUUM INTO $1`, path); err == nil {
		err = errors.Join(checkCopy(ctx, path), syncFile(path))
	}
	if err != nil {
		_ = os.Remove(path)
	}
	return err
}

// checkCopy reads every page of a file that nobody else has open.
func checkCopy(ctx context.Context, path string) (err error) {
	copied, err := sql.Open("sqlite", readerDSN(path))
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
