package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strconv"
	"time"
)

// migration is one numbered file.
type migration struct {
	number int
	name   string
	text   string
	hash   string
}

var migrationName = regexp.MustCompile(`^(\d{4})_[a-z0-9_]+\.sql$`)

// readMigrations reads the files in order. They must be numbered from 1 without a gap.
func readMigrations(files fs.FS) ([]migration, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return nil, err
	}
	var list []migration
	for _, name := range names { // Glob sorts
		match := migrationName.FindStringSubmatch(name)
		if match == nil {
			return nil, fmt.Errorf("migration %s is not named like 0001_words.sql", name)
		}
		number, err := strconv.Atoi(match[1])
		if err != nil {
			return nil, err
		}
		switch want := len(list) + 1; {
		case number < want:
			return nil, fmt.Errorf("migration number %d is used twice: %s and %s", number, list[number-1].name, name)
		case number > want:
			return nil, fmt.Errorf("migration number %d is missing before %s", want, name)
		}
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		sum := sha256.Sum256(text)
		list = append(list, migration{number, name, string(text), hex.EncodeToString(sum[:])})
	}
	if len(list) == 0 {
		return nil, errors.New("there are no migrations")
	}
	return list, nil
}

// migrate applies what is new, one transaction a file, after checking that what was applied before is the same.
func migrate(ctx context.Context, w *sql.DB, files fs.FS, now func() time.Time) error {
	list, err := readMigrations(files)
	if err != nil {
		return err
	}
	applied, err := checkApplied(ctx, w, list)
	if err != nil {
		return err
	}
	for _, m := range list[applied:] {
		if err := apply(ctx, w, m, now()); err != nil {
			return fmt.Errorf("migration %s failed and left nothing behind: %w", m.name, err)
		}
	}
	return nil
}

// checkApplied returns how many of list the database has.
func checkApplied(ctx context.Context, w *sql.DB, list []migration) (int, error) {
	var version, tables, ours int
	const about = `SELECT (SELECT user_version FROM pragma_user_version), count(*), coalesce(sum(name = 'migrations'), 0)
		FROM sqlite_schema WHERE type = 'table'`
	if err := w.QueryRowContext(ctx, about).Scan(&version, &tables, &ours); err != nil {
		return 0, err
	}
	if ours == 0 {
		if tables > 0 || version != 0 {
			return 0, errors.New("this file is a database of another program; choose another data folder")
		}
		return 0, nil
	}
	rows, err := w.QueryContext(ctx, `SELECT number, name, sha256 FROM migrations ORDER BY number`)
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	n := 0
	for ; rows.Next(); n++ {
		var m migration
		if err := rows.Scan(&m.number, &m.name, &m.hash); err != nil {
			return 0, err
		}
		if err := sameMigration(m, n, list); err != nil {
			return 0, err
		}
	}
	if n != version {
		return 0, fmt.Errorf("the database says it is at migration %d but lists %d: it was changed by hand", version, n)
	}
	return n, rows.Err()
}

// sameMigration compares the i-th migration of the database with ours.
func sameMigration(m migration, i int, list []migration) error {
	if m.number != i+1 {
		return fmt.Errorf("the database lacks migration %d but has %s: it was changed by hand", i+1, m.name)
	}
	if i >= len(list) {
		return fmt.Errorf("this database was opened by a newer program (migration %s); install that or a later one", m.name)
	}
	if ours := list[i]; m.name != ours.name || m.hash != ours.hash {
		return fmt.Errorf("migration %s is not the file that made this database (%s): an applied file must never be edited", ours.name, m.name)
	}
	return nil
}

func apply(ctx context.Context, w *sql.DB, m migration, at time.Time) (err error) {
	tx, err := w.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, tx.Rollback())
		}
	}()
	const table = `CREATE TABLE IF NOT EXISTS migrations (
	number  INTEGER PRIMARY KEY,
	name    TEXT NOT NULL,
	sha256  TEXT NOT NULL,
	applied TEXT NOT NULL
) STRICT`
	// The whole file goes to one Exec: a trigger's body has semicolons of its own.
	for _, text := range []string{table, m.text, fmt.Sprintf("PRAGMA user_version = %d", m.number)} {
		if _, err := tx.ExecContext(ctx, text); err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO migrations (number, name, sha256, applied) VALUES ($1, $2, $3, $4)`,
		m.number, m.name, m.hash, formatTime(at)); err != nil {
		return err
	}
	return tx.Commit()
}
