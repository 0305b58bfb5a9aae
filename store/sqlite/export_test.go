package sqlite

import "context"

// What tests need to see of the inside.
var (
	OpenWith    = open
	AtLeast     = atLeast
	Oldest      = oldest
	StampOf     = stampOf
	WriterDSN   = writerDSN
	SameContent = sameContent
)

// Exec runs a statement on the writer, as nothing of the program does.
func (db *DB) Exec(ctx context.Context, query string, args ...any) error {
	_, err := db.writer.ExecContext(ctx, query, args...)
	return err
}

// ExecReader runs a statement on a reader.
func (db *DB) ExecReader(ctx context.Context, query string) error {
	_, err := db.reader.ExecContext(ctx, query)
	return err
}

// Texts returns the first column of a query.
func (db *DB) Texts(ctx context.Context, query string, args ...any) (list []string, err error) {
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanText, query, args...)
		return err
	})
	return list, err
}

// HoldWriter keeps the only writing connection until the function returned is called, so that pushes pile up.
func (db *DB) HoldWriter(ctx context.Context) (release func(), err error) {
	conn, err := db.writer.Conn(ctx)
	if err != nil {
		return nil, err
	}
	return func() { _ = conn.Close() }, nil
}
