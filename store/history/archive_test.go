package history_test

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"

	"swardbook/store"
	"swardbook/store/history"
)

func TestAllClientsAsOneArchive(t *testing.T) {
	o := openOffice(t)
	o.fill()
	o.must(o.db.AddClient(t.Context(), store.Client{ID: "twin", Name: "Meadow"}))
	o.must(o.db.AddClient(t.Context(), store.Client{ID: "odd", Name: "../..: "}))
	clients, err := o.db.Clients(t.Context())
	o.must(err)
	var file bytes.Buffer
	told := 0
	o.must(history.WriteAll(t.Context(), &file, o.db, o.know, clients, 2026, made, func(done int) { told = done }))
	archive, err := zip.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len()))
	o.must(err)
	if told != len(clients) || len(archive.File) != len(clients)*len(history.Forms)+1 {
		t.Errorf("%d clients told of, %d files", told, len(archive.File))
	}
	rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	var alone bytes.Buffer
	o.must(rec.Table(o.know).WriteCSV(&alone))
	inside, err := archive.Open("meadow/season-2026.csv")
	o.must(err)
	got, err := io.ReadAll(inside)
	o.must(err)
	if !bytes.Equal(got, alone.Bytes()) {
		t.Error("the sheet in the archive differs from the one alone")
	}
	names := map[string]bool{}
	for _, f := range archive.File {
		names[strings.ToLower(f.Name)] = true
	}
	for _, name := range []string{"meadow/season-2026.xlsx", "meadow 2/season-2026.pdf", "season.schema.json"} {
		if !names[name] {
			t.Errorf("no %s in the archive: %v", name, names)
		}
	}
	for _, f := range archive.File {
		if f.Name[0] == '/' || f.Name[0] == '.' {
			t.Errorf("a file of the archive is called %q", f.Name)
		}
	}
}

func TestAnArchiveThatIsStoppedIsNotWhole(t *testing.T) {
	o := openOffice(t)
	clients, err := o.db.Clients(t.Context())
	o.must(err)
	ctx, stop := context.WithCancel(t.Context())
	var file bytes.Buffer
	err = history.WriteAll(ctx, &file, o.db, o.know, clients, 2026, made, func(int) { stop() })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if _, err := zip.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len())); err == nil {
		t.Error("half an archive passes for a whole one")
	}
}
