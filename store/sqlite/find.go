package sqlite

import (
	"context"
	"strings"
	"unicode"

	"swardbook/store"
)

// Find looks for things whose words begin with all that was typed: clients, then properties, then visits and notes, of each the newest first. What is archived is
// found too, after what is at work.
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
		if list, err = all(t, scanFound, findWho, query, limit); err != nil || len(list) >= limit {
			return err
		}
		rest, err := all(t, scanFound, findVisits, query, limit-len(list))
		list = append(list, rest...)
		return err
	})
	return list, err
}

const (
	findWho = `SELECT f.kind, f.id, coalesce(c.name, p.address), coalesce(c.note, ''), coalesce(c.archived, p.archived)
		FROM finds_who s JOIN findable f ON f.n = s.rowid
		LEFT JOIN clients c ON f.kind = 'client' AND c.id = f.id
		LEFT JOIN properties p ON f.kind = 'property' AND p.id = f.id
		WHERE finds_who MATCH $1
		ORDER BY coalesce(c.archived, p.archived) <> '', f.kind, f.n DESC LIMIT $2`
	findVisits = `WITH hits AS MATERIALIZED (SELECT rowid AS n FROM finds WHERE finds MATCH $1 ORDER BY rowid DESC LIMIT $2)
		SELECT f.kind, f.place, p.address || ', ' || v.day, coalesce(o.typed, r.typed, v.ask), ''
		FROM hits h JOIN findable f ON f.n = h.n
		JOIN visits v ON v.id = f.place
		JOIN properties p ON p.id = v.property
		LEFT JOIN ops o ON f.kind = 'note' AND o.id = f.id
		LEFT JOIN taken_readings r ON f.kind = 'note' AND r.id = f.id
		ORDER BY h.n DESC`
)

func scanFound(row scanner) (f store.Found, err error) {
	err = row.Scan(&f.Kind, &f.ID, &f.Title, &f.Words, moments{&f.Archived})
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
