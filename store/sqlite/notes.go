package sqlite

import "context"

// notesAtOnce is how many notes are made ready for looking up in one transaction.
const notesAtOnce = 500

// noteAll makes the words of all notes ready that came since the last time.
func (db *DB) noteAll(ctx context.Context) error {
	for {
		behind, err := db.notesBehind(ctx)
		if err != nil || !behind {
			return err
		}
		if err := db.write(ctx, (*tx).noteSome); err != nil {
			return err
		}
	}
}

func (db *DB) notesBehind(ctx context.Context) (behind bool, err error) {
	err = db.read(ctx, func(t *tx) error {
		return t.row(`SELECT EXISTS (SELECT 1 FROM notes WHERE seq > (SELECT seq FROM noted))`).Scan(&behind)
	})
	return behind, err
}

// note is what one note is found by.
type note struct {
	seq              int64
	id, visit, words string
}

func scanNote(row scanner) (n note, err error) {
	err = row.Scan(&n.seq, &n.id, &n.visit, &n.words)
	return n, err
}

// noteSome makes the next notes ready.
func (t *tx) noteSome() error {
	t.concerns()
	list, err := all(t, scanNote, `SELECT seq, id, visit, typed FROM notes WHERE seq > (SELECT seq FROM noted) ORDER BY seq LIMIT $1`, notesAtOnce)
	if err != nil || len(list) == 0 {
		return err
	}
	for _, n := range list {
		if err := t.exec(`INSERT INTO findable (kind, id, place) VALUES ('note', $1, $2)`, n.id, n.visit); err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO finds (rowid, words) SELECT n, $2 FROM findable WHERE kind = 'note' AND id = $1`, n.id, n.words); err != nil {
			return err
		}
	}
	return t.exec(`UPDATE noted SET seq = $1`, list[len(list)-1].seq)
}
