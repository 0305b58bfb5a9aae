package sqlite_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

// house is a firm with one visit for Jonah and one for Mirela at the same address.
type house struct {
	*storetest.House
	t            *testing.T
	clock        *storetest.Clock
	property     *storetest.Property
	front, back  string
	visit, other string
}

func newHouse(t *testing.T) *house {
	t.Helper()
	clock := storetest.NewClock(storetest.Morning)
	h := &house{t: t, clock: clock, House: storetest.Firm(t, storetest.OpenAt(t, clock))}
	h.Owner("Iris").Manager("Tamsin").Crew("Jonah", "Mirela")
	h.property = h.Client("Odalys Fenwright").Property("14 Alder Rise").Zone("Front lawn").Zone("Back lawn")
	h.front, h.back = h.property.Zones[0].ID, h.property.Zones[1].ID
	h.visit, h.other = h.property.Visit("2026-08-27", "Jonah").ID, h.property.Visit("2026-08-27", "Mirela").ID
	return h
}

func (h *house) must(err error) {
	h.t.Helper()
	must(h.t, err)
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func (h *house) push(b store.Batch) store.PushResult {
	h.t.Helper()
	res, err := h.DB.Push(h.t.Context(), b)
	h.must(err)
	return res
}

func (h *house) readings() []store.Reading {
	h.t.Helper()
	list, err := h.DB.Readings(h.t.Context(), h.visit)
	h.must(err)
	return list
}

// current is the text that counts for a check of the front lawn, "none" when there is none.
func (h *house) current(check string) string {
	h.t.Helper()
	current := "none"
	for _, r := range h.readings() {
		if r.Zone == h.front && r.Check == check && r.Current {
			if current != "none" {
				h.t.Errorf("two readings of %s count", check)
			}
			current = r.Typed
		}
	}
	return current
}

// disputed are the texts in dispute for a check of the front lawn.
func (h *house) disputed(check string) []string {
	h.t.Helper()
	var list []string
	for _, r := range h.readings() {
		if r.Zone == h.front && r.Check == check && r.Dispute {
			list = append(list, r.Typed)
		}
	}
	return list
}

func (h *house) state(visit string) store.VisitState {
	h.t.Helper()
	v, err := h.DB.Visit(h.t.Context(), visit)
	h.must(err)
	return v.State
}

func (h *house) texts(query string, args ...any) []string {
	h.t.Helper()
	list, err := h.DB.Texts(h.t.Context(), query, args...)
	h.must(err)
	return list
}

func wantKind(t testing.TB, err error, kind store.Kind) {
	t.Helper()
	if err == nil || store.KindOf(err) != kind {
		t.Errorf("got %v (kind %v), want kind %v", err, store.KindOf(err), kind)
	}
}

func reopen(t *testing.T, path string) (*sqlite.DB, error) {
	t.Helper()
	return sqlite.Open(context.Background(), path, time.Now)
}

func tempFile(t *testing.T) string {
	t.Helper()
	return filepath.Join(t.TempDir(), "swardbook.db")
}
