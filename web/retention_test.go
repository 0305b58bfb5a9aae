package web

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"swardbook/store"
)

// TestTheOwnerSaysHowLongThingsAreKept: wrong years are said where they stand, what would go is named before it goes, and a photo whose time is over
// is spoken of as that.
func TestTheOwnerSaysHowLongThingsAreKept(t *testing.T) {
	h := newHouse(t)
	if err := h.db.AddClient(t.Context(), store.Client{ID: "former", Name: "Household Fen"}); err != nil {
		t.Fatal(err)
	}
	if err := h.db.ArchiveClient(t.Context(), "former", false); err != nil {
		t.Fatal(err)
	}
	h.now = h.now.Add(3 * 366 * 24 * time.Hour)
	want(t, h.as(store.Manager).post("/desk/house/retention", url.Values{}), 403)
	owner := h.as(store.Owner)
	doc := parsed(t, want(t, owner.post("/desk/house/retention", url.Values{"photos": {"two"}, "clients": {"0"}}), 422))
	for _, at := range []string{"photos", "clients"} {
		if textOf(first(doc, "span", "id=in-"+at+"-wrong")) == "" {
			t.Errorf("nothing is said at %s", at)
		}
	}
	if got := value(first(doc, "input", "name=photos"), "value"); got != "two" {
		t.Errorf("what was typed is %q", got)
	}
	doc = parsed(t, want(t, owner.post("/desk/house/retention", url.Values{"photos": {""}, "clients": {"2"}}), 200))
	if text := textOf(doc); !strings.Contains(text, "the data of 1 former client") {
		t.Error(text)
	}
	if set, err := h.db.Retention(t.Context()); err != nil || set != (store.Retention{}) {
		t.Errorf("kept without being sure: %+v %v", set, err)
	}
	sure := value(first(doc, "input", "name=sure"), "value")
	doc = owner.follow("/desk/house/retention", url.Values{"photos": {""}, "clients": {"2"}, "sure": {sure}})
	if got := value(first(doc, "input", "name=clients"), "value"); got != "2" {
		t.Errorf("%q stands there", got)
	}
	if set, err := h.db.Retention(t.Context()); err != nil || set != (store.Retention{ClientYears: 2}) {
		t.Errorf("%+v %v", set, err)
	}
	owner.follow("/desk/house/retention", url.Values{"photos": {"5"}, "clients": {""}})
	if set, err := h.db.Retention(t.Context()); err != nil || set != (store.Retention{PhotoYears: 5}) {
		t.Errorf("%+v %v", set, err)
	}
}
