package sqlite_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/store"
	"swardbook/store/sqlite"
)

func TestFindByAFewLetters(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	h.must(h.DB.AddClient(ctx, store.Client{ID: "zoe", Name: "Zoë O'Shaughnessy", Phone: "555-0101", Note: "Gate code on file"}))
	h.must(h.DB.AddProperty(ctx, store.Property{ID: "mill", Client: "zoe", Address: "27 Millrace Lane"}))
	h.must(h.DB.AddVisit(ctx, store.Visit{ID: "v9", Property: "mill", Day: "2026-09-01", Ask: "Brown by the creek", State: store.Planned, Why: "complaint"}))
	for _, c := range []struct{ typed, kind, id string }{
		{"zoe", "client", "zoe"}, {"ZOË", "client", "zoe"}, {"o'sh", "client", "zoe"}, {"gate cod", "client", "zoe"},
		{"mill", "property", "mill"}, {"27 mi", "property", "mill"}, {"brown cre", "visit", "v9"}, {"2026-09 creek", "visit", "v9"},
	} {
		list, err := h.DB.Find(ctx, c.typed, 20)
		if err != nil || len(list) == 0 || list[0].Kind != c.kind || list[0].ID != c.id {
			t.Errorf("%q: %+v, %v", c.typed, list, err)
		}
	}
	for _, nothing := range []string{"", "   ", `"`, "*", "AND", "creek mountain", "NEAR(", "-"} {
		if list, err := h.DB.Find(ctx, nothing, 20); err != nil || len(list) != 0 {
			t.Errorf("%q: %+v, %v", nothing, list, err)
		}
	}
}

// A note is found by its words as soon as it is durable, one that was taken in later too.
func TestNotesAreFound(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "note", "Head by the shed throws into the fence")
	p.Reads(h.visit, h.front, "tug_test", "firm shed")
	odd := p.Reads(h.visit, h.front, "note", "Moles near the shed")
	odd.Reading, odd.Aside, odd.Detail = nil, "future", "Later."
	p.Sends()
	words := func(want ...string) {
		t.Helper()
		list, err := h.DB.Find(t.Context(), "shed", 20)
		h.must(err)
		var got []string
		for _, f := range list {
			if f.Kind != "note" || f.ID != h.visit {
				t.Errorf("found %+v", f)
			}
			got = append(got, f.Words)
		}
		if !slices.Equal(got, want) {
			t.Errorf("found %q, want %q", got, want)
		}
	}
	words("Head by the shed throws into the fence")
	h.must(h.DB.SettleAside(t.Context(), odd.ID, "taken", "iris", "Seen."))
	words("Moles near the shed", "Head by the shed throws into the fence")
	p.Reads(h.visit, h.front, "note", "Shed gate sticks")
	p.Sends()
	words("Shed gate sticks", "Moles near the shed", "Head by the shed throws into the fence")
}

// Whatever is typed is words and never a command.
func TestAnyWordsCanBeLookedFor(t *testing.T) {
	h := newHouse(t)
	rapid.Check(t, func(r *rapid.T) {
		typed := rapid.OneOf(rapid.String(), rapid.StringMatching(`[a-z"*:^(){}+\-~ ]{0,12}`)).Draw(r, "typed")
		if _, err := h.DB.Find(t.Context(), typed, 5); err != nil {
			r.Fatal(err)
		}
	})
}

// BenchmarkFind looks for a word, for two letters and for one among 100,000 visits with a note each.
func BenchmarkFind(b *testing.B) {
	path := filepath.Join(b.TempDir(), "book.db")
	db, err := sqlite.Open(b.Context(), path, time.Now)
	must(b, err)
	defer db.Close()
	raw, err := sql.Open("sqlite", sqlite.WriterDSN(path))
	must(b, err)
	defer raw.Close()
	for _, fill := range []string{
		`WITH RECURSIVE i(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM i WHERE n < 1000)
			INSERT INTO clients (id, name, phone, email, note, created) SELECT 'c' || n, 'Client ' || char(97 + n % 26) || 'ara ' || n, '', '', 'gate ' || n, '' FROM i`,
		`INSERT INTO properties (id, client, address, system, region, cautions, created) SELECT 'p' || id, id, substr(id, 2) || ' Alder Rise', '', '', '[]', '' FROM clients`,
		`WITH RECURSIVE i(n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM i WHERE n < 99999)
			INSERT INTO visits (id, property, day, place, why, ask, state, sent_why, handed_in, changed)
			SELECT 'v' || n, 'pc' || (1 + n % 1000), date('2020-01-01', (n % 2000) || ' days'), 1, 'routine', 'brown patch ' || char(97 + n % 26) || 'est of house', 'planned', '', '', '' FROM i`,
		`INSERT INTO taken_readings (id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base)
			SELECT 'r' || id, 1, id, '', 'note', 'moss under the oak near ' || id, 'e', 'x', 'd', 1, '', '', 0 FROM visits`,
	} {
		_, err := raw.Exec(fill)
		must(b, err)
	}
	for _, typed := range []string{"v99998", "cara 2", "al", "oak mos", "b"} {
		b.Run(fmt.Sprintf("%q", typed), func(b *testing.B) {
			for b.Loop() {
				if list, err := db.Find(b.Context(), typed, 40); err != nil || len(list) == 0 {
					b.Fatal(list, err)
				}
			}
		})
	}
}

// A word that is nearly everywhere still finds who first, then the newest.
func TestFindTellsTheNewestOfVeryMany(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	h.must(h.DB.AddClient(ctx, store.Client{ID: "moss", Name: "Mossgrove"}))
	h.must(h.DB.AddClient(ctx, store.Client{ID: "moss2", Name: "Mosswood"}))
	h.must(h.DB.ArchiveClient(ctx, "moss2", false))
	for i := range 60 {
		h.must(h.DB.AddVisit(ctx, store.Visit{ID: fmt.Sprintf("m%02d", i), Property: h.property.ID, Day: "2026-09-01", Ask: "Moss again", Why: "routine"}))
	}
	list, err := h.DB.Find(ctx, "moss", 5)
	h.must(err)
	var got []string
	for _, f := range list {
		got = append(got, f.ID)
	}
	if !slices.Equal(got, []string{"moss", "moss2", "m59", "m58", "m57"}) || list[1].Archived.IsZero() || !list[0].Archived.IsZero() {
		t.Errorf("%v", got)
	}
}
