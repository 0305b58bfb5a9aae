package sqlite

import (
	"context"
	"strings"
	"unicode"

	"swardbook/store"
)

// Find looks for things whose words begin with all that was typed, clients before properties before visits before notes, of each the newest first. What is archived is found too.
func (db *DB) Find(ctx context.Context, typed string, limit int) (list []store.Found, err error) {
	defer wrap(&err, "Find")
	query := matchOf(typed)
	if query == "" {
		return []store.Found{}, nil
	}
	if err = db.noteAll(ctx); err != nil {
		return nil, err
	}
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanFound, `WITH hits AS MATERIALIZED (
				SELECT f.n, f.kind, f.id, f.place FROM (SELECT rowid AS n FROM finds WHERE finds MATCH $1 LIMIT $3) h JOIN findable f ON f.n = h.n
				ORDER BY CASE f.kind WHEN 'client' THEN 0 WHEN 'property' THEN 1 WHEN 'visit' THEN 2 ELSE 3 END, f.n DESC LIMIT $2)
			SELECT f.kind, CASE f.kind WHEN 'note' THEN f.place ELSE f.id END,
				CASE f.kind WHEN 'client' THEN c.name WHEN 'property' THEN p.address ELSE w.address || ', ' || v.day END,
				CASE f.kind WHEN 'client' THEN c.note WHEN 'property' THEN '' WHEN 'visit' THEN v.ask ELSE coalesce(o.typed, r.typed, '') END
			FROM hits f
			LEFT JOIN clients c ON f.kind = 'client' AND c.id = f.id
			LEFT JOIN properties p ON f.kind = 'property' AND p.id = f.id
			LEFT JOIN visits v ON v.id = f.place
			LEFT JOIN properties w ON w.id = v.property
			LEFT JOIN ops o ON f.kind = 'note' AND o.id = f.id
			LEFT JOIN taken_readings r ON f.kind = 'note' AND r.id = f.id
			ORDER BY CASE f.kind WHEN 'client' THEN 0 WHEN 'property' THEN 1 WHEN 'visit' THEN 2 ELSE 3 END, f.n DESC`, query, limit, hitsLooked)
		return err
	})
	return list, err
}

// hitsLooked bounds how many of the things found are put in order, the oldest first, so that clients and properties are always among them: a single letter fits
// nearly everything, and nobody reads on so far.
const hitsLooked = 20000

func scanFound(row scanner) (f store.Found, err error) {
	err = row.Scan(&f.Kind, &f.ID, &f.Title, &f.Words)
	return f, err
}

// matchOf makes a query of typed words: each in quotes, so that no sign of it is a command, and each the beginning of a word.
func matchOf(typed string) string {
	var out []string
	for _, word := range strings.Fields(strings.ReplaceAll(typed, "\x00", " ")) {
		if strings.IndexFunc(word, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsNumber(r) }) < 0 {
			continue // nothing in it that a word is made of
		}
		out = append(out, `"`+strings.ReplaceAll(word, `"`, `""`)+`"*`)
	}
	return strings.Join(out, " ")
}
