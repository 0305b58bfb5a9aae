package history

import (
	"archive/zip"
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// Form is one way of writing a season record.
type Form struct {
	Name  string // also the ending of the file's name
	Type  string // media type
	Write func(w io.Writer, rec Record, t Table, p Paper) error
}

// Forms are all ways of writing a season record.
var Forms = []Form{
	{"csv", "text/csv; charset=utf-8", func(w io.Writer, _ Record, t Table, _ Paper) error { return t.WriteCSV(w) }},
	{"json", "application/json", func(w io.Writer, rec Record, t Table, _ Paper) error { return rec.WriteJSON(w, t) }},
	{"xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", func(w io.Writer, _ Record, t Table, _ Paper) error { return t.WriteXLSX(w) }},
	{"pdf", "application/pdf", func(w io.Writer, rec Record, t Table, p Paper) error { return rec.WritePDF(w, t, p) }},
}

// FormNamed finds a form by its name.
func FormNamed(name string) (Form, bool) {
	for _, f := range Forms {
		if f.Name == name {
			return f, true
		}
	}
	return Form{}, false
}

// WriteAll writes the season records of all clients, each in every form, as one archive. It holds one client at a time; tell, which may be nil, hears
// how many are written. The end of ctx stops it between two clients and the archive is then not whole: it lacks its list of contents.
func WriteAll(ctx context.Context, w io.Writer, s Store, know *knowledge.Loaded, clients []store.Client, year int, p Paper, tell func(done int)) error {
	archive := zip.NewWriter(w)
	taken := map[string]bool{"": true}
	for i, c := range clients {
		if err := ctx.Err(); err != nil {
			return err
		}
		rec, err := Season(ctx, s, know, c.ID, year)
		if err != nil {
			return err
		}
		if err := rec.archive(archive, folderOf(c, taken), rec.Table(know), p); err != nil {
			return fmt.Errorf("client %s: %w", c.ID, err)
		}
		if tell != nil {
			tell(i + 1)
		}
	}
	if schema, err := create(archive, "season.schema.json", p.Made); err != nil {
		return err
	} else if _, err := schema.Write(Schema); err != nil {
		return err
	}
	return archive.Close()
}

func (rec Record) archive(archive *zip.Writer, folder string, t Table, p Paper) error {
	for _, f := range Forms {
		file, err := create(archive, fmt.Sprintf("%s/season-%d.%s", folder, rec.Year, f.Name), p.Made)
		if err != nil {
			return err
		}
		if err := f.Write(file, rec, t, p); err != nil {
			return err
		}
	}
	return archive.Flush()
}

func create(archive *zip.Writer, name string, made time.Time) (io.Writer, error) {
	return archive.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: made.UTC()})
}

// folderOf is a client's name as every system takes it for a folder, made its own where two clients share one.
func folderOf(c store.Client, taken map[string]bool) string {
	name := strings.Trim(strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`/\:*?"<>|`, r) {
			return '-'
		}
		return r
	}, c.Name), ". ")
	if runes := []rune(name); len(runes) > 60 {
		name = strings.TrimRight(string(runes[:60]), ". ")
	}
	own := name
	for i := 2; taken[strings.ToLower(own)]; i++ {
		own = fmt.Sprintf("%s %d", name, i)
	}
	taken[strings.ToLower(own)] = true
	return own
}
