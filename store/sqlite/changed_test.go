package sqlite_test

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
)

// TestWhatAWriteWasAbout does the writes that come often and asks which marks they moved; any other write moves all.
func TestWhatAWriteWasAbout(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	phone := h.Phone("d1", "Jonah")
	marks := map[string]store.Mark{
		"all": "", "visits": store.MarkVisits, "put down": store.MarkApplications, "aside": store.MarkAsides, "calibrations": store.MarkCalibrations,
		"visit": store.VisitMark(h.visit), "said": store.SaidMark(h.visit), "property": store.PropertyMark(h.property.ID), "another visit": store.VisitMark("v9"), "another property": store.PropertyMark("p9"),
	}
	was := map[string]int64{}
	look := func() (moved map[string]bool) {
		moved = map[string]bool{}
		for name, m := range marks {
			n := h.DB.Changed(m)
			if n != was[name] {
				moved[name] = true
			}
			was[name] = n
		}
		return moved
	}
	look()
	for _, c := range []struct {
		name string
		do   func() error
		want []string
	}{
		{"a reading", func() error { phone.Reads(h.visit, h.front, "colour", "brown"); phone.Sends(); return nil }, []string{"visit"}},
		{"a diagnosis", func() error {
			return h.DB.SaveDiagnosis(ctx, store.Diagnosis{ID: "x", Visit: h.visit, Answer: []byte("{}")})
		}, []string{"said"}},
		{"signing in", func() error { return h.DB.AddSession(ctx, []byte("t"), "jonah", "", time.Hour) }, nil},
		{"a photo", func() error {
			return h.DB.PhotoDone(ctx, store.Photo{SHA: strings.Repeat("a", 64), Size: 1, Type: "image/jpeg"})
		}, nil},
		{"a client", func() error { return h.DB.AddClient(ctx, store.Client{ID: "c9", Name: "C"}) },
			[]string{"all", "visits", "put down", "aside", "calibrations", "visit", "said", "property", "another visit", "another property"}},
	} {
		if err := c.do(); err != nil {
			t.Fatal(c.name, err)
		}
		moved := look()
		for _, name := range c.want {
			if !moved[name] {
				t.Errorf("%s did not move %q", c.name, name)
			}
			delete(moved, name)
		}
		if len(moved) > 0 {
			t.Errorf("%s moved also %v", c.name, moved)
		}
	}
}

// TestAnotherProgramsWriteIsNoticed opens the file a second time, as a command does beside a server.
func TestAnotherProgramsWriteIsNoticed(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "swardbook.db")
	open := func() *sqlite.DB {
		db, err := sqlite.Open(t.Context(), path, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = db.Close() })
		return db
	}
	one, two := open(), open()
	ctx, firm := t.Context(), store.Firm{Name: "A", Units: "us", Zone: "UTC"}
	if err := one.SaveFirm(ctx, firm); err != nil {
		t.Fatal(err)
	}
	if _, err := one.Firm(ctx); err != nil {
		t.Fatal(err)
	}
	firm.Name = "B"
	if err := two.SaveFirm(ctx, firm); err != nil {
		t.Fatal(err)
	}
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		if got, err := one.Firm(ctx); err != nil || got.Name == "B" {
			return
		}
		if time.Now().After(end) {
			t.Fatal("the other program's write was not noticed")
		}
	}
}
