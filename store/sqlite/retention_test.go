package sqlite_test

import (
	"strings"
	"testing"

	"swardbook/store"
)

// TestPhotosAndFormerClientsGoWhenTheirTimeIsOver: nothing goes before a time is set; then old photos go and their readings stay, and clients that
// have long been in the archive are erased as by hand.
func TestPhotosAndFormerClientsGoWhenTheirTimeIsOver(t *testing.T) {
	h := newHouse(t)
	words, pictures := []string{"note"}, []string{"photo"}
	old, young := strings.Repeat("ab", 32), strings.Repeat("cd", 32)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "photo", old).Photos = []store.Photo{{SHA: old, Size: 3, Type: "image/jpeg"}}
	p.Sends()
	h.must(h.DB.PhotoDone(t.Context(), store.Photo{SHA: old, Size: 3, Type: "image/jpeg"}))
	h.must(h.DB.AddReview(t.Context(), store.Review{ID: "r1", Visit: h.visit, Kind: "sign off", By: "iris"}))
	h.must(h.DB.AddReview(t.Context(), store.Review{ID: "r2", Visit: h.other, Kind: "sign off", By: "iris"}))
	h.clock.Pass(3 * 366 * 24 * 60 * 60e9)
	later := h.property.Visit("2029-08-20", "Jonah")
	p.Reads(later.ID, h.front, "photo", young).Photos = []store.Photo{{SHA: young, Size: 3, Type: "image/jpeg"}}
	p.Sends()
	h.must(h.DB.PhotoDone(t.Context(), store.Photo{SHA: young, Size: 3, Type: "image/jpeg"}))
	former := h.Client("Ulric Tamsworth").Property("2 Mill Row").Zone("Bank")
	h.must(h.DB.ArchiveClient(t.Context(), "ulric-tamsworth", false))
	letGo := func(photos, clients int) {
		t.Helper()
		n, m, err := h.DB.LetGo(t.Context(), words, pictures)
		if err != nil || n != photos || m != clients {
			t.Errorf("%d photos and %d clients went, not %d and %d (%v)", n, m, photos, clients, err)
		}
	}
	letGo(0, 0)
	for _, wrong := range []store.Retention{{PhotoYears: -1}, {ClientYears: 100}} {
		wantKind(t, h.DB.SaveRetention(t.Context(), wrong), store.Invalid)
	}
	h.must(h.DB.SaveRetention(t.Context(), store.Retention{PhotoYears: 2, ClientYears: 1}))
	o, err := h.DB.Overdue(t.Context(), store.Retention{PhotoYears: 2, ClientYears: 1}, pictures)
	if err != nil || len(o.Photos) != 1 || o.Photos[0] != old || len(o.Clients) != 0 {
		t.Errorf("%+v %v", o, err)
	}
	letGo(1, 0)
	letGo(0, 0)
	if gone, err := h.DB.WasLetGo(t.Context(), old); err != nil || !gone {
		t.Error("nobody knows that it went", err)
	}
	if gone, err := h.DB.WasLetGo(t.Context(), young); err != nil || gone {
		t.Error("a young photo went", err)
	}
	if list, err := h.DB.ErasedPhotos(t.Context()); err != nil || len(list) != 1 || list[0] != old {
		t.Error(list, err)
	}
	if list := h.texts(`SELECT typed FROM ops WHERE check_id = 'photo' ORDER BY seq`); len(list) != 2 || list[0] != old {
		t.Errorf("readings that say there was a photo: %q", list)
	}
	h.clock.Pass(366 * 24 * 60 * 60e9)
	letGo(0, 1)
	if c, err := h.DB.Client(t.Context(), "ulric-tamsworth"); err != nil || c.Name != "Erased" {
		t.Errorf("%+v %v", c, err)
	}
	if got := h.texts(`SELECT address FROM properties WHERE id = '` + former.ID + `'`); len(got) != 1 || got[0] != "Erased" {
		t.Error(got)
	}
	if c, err := h.DB.Client(t.Context(), "odalys-fenwright"); err != nil || c.Name != "Odalys Fenwright" {
		t.Errorf("a client who stays was erased: %+v %v", c, err)
	}
}
