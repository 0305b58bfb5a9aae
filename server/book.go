package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"swardbook/store/book"
	"swardbook/store/intake"
	"swardbook/store/sqlite"
)

const exportUsage = `Writes everything the firm has to one zip in open formats, while the server runs: tables as JSON lines, clients, visits and readings as CSV,
zones as GeoJSON, and all photos. "swardbook import" makes an equal server of it. It holds hashes of passcodes: keep it like a backup.

  swardbook export -to book.zip`

func exportBook(ctx context.Context, args []string, t terminal) (err error) {
	fs := flags(t, "export", exportUsage)
	data := fs.String("data", "./data", "folder of the database and the photos")
	to := fs.String("to", "", "the file to write; it must not exist")
	if err := settle(fs, args, t); err != nil {
		return err
	}
	if *to == "" {
		return errors.New("export needs -to, the file to write")
	}
	if _, err := os.Stat(databaseIn(*data)); err != nil {
		return fmt.Errorf("there is no database in %s: %w", *data, err)
	}
	db, err := sqlite.Open(ctx, databaseIn(*data), time.Now)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	dir, err := os.OpenRoot(filepath.Join(*data, "photos"))
	if err != nil {
		return err
	}
	defer dir.Close()
	file, err := os.OpenFile(*to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	m, err := book.Export(ctx, file, db, intake.NewPhotos(dir, db), time.Now(), func() {})
	if err = errors.Join(err, file.Sync(), file.Close()); err != nil {
		return errors.Join(err, os.Remove(*to))
	}
	return tellBook(t, *to+" is written", m)
}

const importUsage = `Makes a data folder of a file that "swardbook export" wrote; the folder must hold nothing yet. Every table and photo is compared with what
the file says of itself. The database gets a new epoch, so phones send again what the file does not have. For a firm that is at work already,
clients, properties and zones are taken in at the desk, under Clients.

  swardbook import -from book.zip -data /srv/swardbook`

func importBook(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "import", importUsage)
	data := fs.String("data", "./data", "the data folder to make; it must be empty or not exist")
	from := fs.String("from", "", "the file that export wrote")
	if err := settle(fs, args, t); err != nil {
		return err
	}
	if *from == "" {
		return errors.New("import needs -from, the file that export wrote")
	}
	m, err := book.Import(ctx, *from, *data, time.Now)
	if err != nil {
		return err
	}
	return tellBook(t, "taken into "+*data, m)
}

func tellBook(t terminal, what string, m book.Manifest) error {
	rows := int64(0)
	for _, x := range m.Tables {
		rows += x.Rows
	}
	_, err := fmt.Fprintf(t.stdout, "%s: %d rows in %d tables, %d photos\n", what, rows, len(m.Tables), m.Photos)
	if err == nil && len(m.Missing) > 0 {
		_, err = fmt.Fprintf(t.stdout, "%d photos are named in the tables but were not there: %v\n", len(m.Missing), m.Missing)
	}
	return err
}
