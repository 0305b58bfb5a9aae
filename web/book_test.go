package web

import (
	"bytes"
	"image"
	"image/jpeg"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/history"
)

// signedGrubs is a lawn with grubs whose visit is signed off, with a note that is nobody's business but the office's.
func (h *house) signedGrubs() lawn {
	h.t.Helper()
	l := h.grubs()
	h.phone(store.Crew, "phone-9").reading(l.visit, l.zones[0], "note", "Gate code 4711, husband is difficult", "2026-08-27T10:30:00-04:00")
	b := h.as(store.Manager)
	b.follow("/desk/visits/"+l.visit.ID+"/overrule", url.Values{"zone": {l.zones[0].ID}, "cause": {"white_grubs"}, "judgement": {"confirmed"}, "reason": {"Dug a square myself."}})
	b.follow("/desk/visits/"+l.visit.ID+"/sign-off", nil)
	return l
}

// linkTo makes a link at the desk and returns its path.
func (h *house) linkTo(l lawn, shows string) string {
	h.t.Helper()
	doc := parsed(h.t, want(h.t, h.as(store.Manager).post("/desk/clients/"+l.client.ID+"/links", url.Values{"shows": {shows}, "days": {"30"}}), http.StatusOK))
	address, err := url.Parse(textOf(first(doc, "code", "class=address")))
	if err != nil || len(address.Path) < 40 {
		h.t.Fatalf("address %q, %v", address, err)
	}
	return address.Path
}

func TestAClientsLinkShowsPlainWordsAndNothingElse(t *testing.T) {
	h := newHouse(t)
	l := h.signedGrubs()
	other := h.lawn("Cedar", "Verge")
	for _, shows := range []string{"season 2026", "visit " + l.visit.ID} {
		path := h.linkTo(l, shows)
		answer := want(t, h.as("").get(path), http.StatusOK)
		if robots := answer.Header.Get("X-Robots-Tag"); !strings.Contains(robots, "noindex") || answer.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %q", shows, robots)
		}
		text := textOf(parsed(t, answer))
		for _, wanted := range []string{l.property.Address, "Back lawn", "Grubs eat the roots", "What to expect"} {
			if !strings.Contains(text, wanted) {
				t.Errorf("%s: no %q in %s", shows, wanted, text)
			}
		}
		for _, secret := range []string{"4711", "Dug a square", other.property.Address, other.client.Name, "Dog until noon", "id-crew"} {
			if strings.Contains(text, secret) {
				t.Errorf("%s: the client reads %q", shows, secret)
			}
		}
	}
	if doc := h.as(store.Manager).page("/desk/clients/" + l.client.ID + "/links"); !strings.Contains(textOf(doc), "1×") || len(every(doc, "code", "class=address")) != 0 {
		t.Errorf("the desk does not say that it was opened, or shows an address again: %s", textOf(doc))
	}
}

// exifOf is a JPEG with where it was taken in it, lying on its side.
func exifOf(t *testing.T, wide, high int) []byte {
	t.Helper()
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, image.NewGray(image.Rect(0, 0, wide, high)), nil); err != nil {
		t.Fatal(err)
	}
	tiff := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00\x00\x00\x00\x00GPS 47.3769 8.5417"
	head := []byte{0xFF, 0xD8, 0xFF, 0xE1, 0, byte(len(tiff) + 2)}
	return slices.Concat(head, []byte(tiff), plain.Bytes()[2:])
}

// A photo on a client's page is upright and holds nothing but the picture: no place, no camera.
func TestAClientsPhotosDoNotSayWhereTheyWereTaken(t *testing.T) {
	raw := exifOf(t, 60, 40)
	if !bytes.Contains(raw, []byte("GPS")) {
		t.Fatal("the photo has no place to lose")
	}
	clean, err := history.Picture(raw, 30)
	if err != nil {
		t.Fatal(err)
	}
	size, kind, err := image.DecodeConfig(bytes.NewReader(clean))
	if err != nil || kind != "jpeg" || size.Width != 20 || size.Height != 30 {
		t.Errorf("%s of %d × %d, %v", kind, size.Width, size.Height, err)
	}
	for _, trace := range []string{"GPS", "Exif", "8.5417"} {
		if bytes.Contains(clean, []byte(trace)) {
			t.Errorf("%q is still in it", trace)
		}
	}
	for _, bad := range [][]byte{nil, []byte("no picture"), raw[:40]} {
		if _, err := history.Picture(bad, 30); err == nil {
			t.Errorf("%d bytes pass for a picture", len(bad))
		}
	}
}

// Photos that a client wants to stay within the firm are on no link and in no season record; the desk keeps them with the visit.
func TestPhotosStayWithinTheFirmWhereTheClientWantsIt(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	h.phone(store.Crew, "phone-9").photo(l.visit, l.zones[0], exifOf(t, 60, 40), "2026-08-27T10:30:00-04:00")
	b := h.as(store.Manager)
	b.follow("/desk/visits/"+l.visit.ID+"/sign-off", nil)
	link := h.linkTo(l, "season 2026")
	season := "/desk/clients/" + l.client.ID + "/season/2026"
	for _, c := range []struct {
		said  store.Consent
		shown bool
		page  string
	}{{store.NotAsked, true, ""}, {store.PhotosYes, true, "agrees to photos"}, {store.PhotosFirm, false, "stay within the firm"}, {store.PhotosNo, false, "wants no photos"}, {"whatever", true, ""}} {
		b.follow("/desk/clients/"+l.client.ID+"/change", url.Values{"name": {l.client.Name}, "photos": {string(c.said)}})
		if text := textOf(b.page("/desk/clients/" + l.client.ID)); !strings.Contains(text, c.page) {
			t.Errorf("%q: the client's page says %s", c.said, text)
		}
		shared := parsed(t, want(t, h.as("").get(link), http.StatusOK))
		if got := len(every(shared, "img")) > 0; got != c.shown || strings.Contains(textOf(shared), "there are no photos") == c.shown {
			t.Errorf("%q: photos on the link: %t; it says %s", c.said, got, textOf(shared))
		}
		if got := len(every(b.page(season), "section", "class=photopair")) > 0; got != c.shown {
			t.Errorf("%q: photos in the season record: %t", c.said, got)
		}
		raw, err := io.ReadAll(want(t, b.get("/desk/clients/"+l.client.ID+"/season.json?year=2026"), http.StatusOK).Body)
		if err != nil || strings.Contains(string(raw), `"kind": "photo"`) != c.shown {
			t.Errorf("%q: the file of the season: %v %s", c.said, err, raw)
		}
		if got := len(every(b.page("/desk/visits/"+l.visit.ID), "a", "data-photo")); got != 1 {
			t.Errorf("%q: %d photos at the visit", c.said, got)
		}
	}
}

func TestALinkThatEndedLeadsNowhere(t *testing.T) {
	h := newHouse(t)
	l := h.signedGrubs()
	path := h.linkTo(l, "season 2026")
	links, err := h.db.Links(t.Context(), l.client.ID)
	if err != nil || len(links) != 1 {
		t.Fatal(links, err)
	}
	h.as(store.Manager).follow("/desk/clients/"+l.client.ID+"/links/"+links[0].ID+"/revoke", nil)
	want(t, h.as("").get(path), http.StatusNotFound)
	late := h.linkTo(l, "season 2026")
	h.now = h.now.Add(31 * 24 * time.Hour)
	want(t, h.as("").get(late), http.StatusNotFound)
	want(t, h.as("").get("/c/guessed"), http.StatusNotFound)
}

func TestALinkShowsNoVisitThatNobodyLookedOver(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	doc := parsed(t, want(t, h.as("").get(h.linkTo(l, "season 2026")), http.StatusOK))
	if text := textOf(doc); strings.Contains(text, "Grub") || !strings.Contains(text, "Nothing is ready") {
		t.Error(text)
	}
	b := h.as(store.Manager)
	for _, wrong := range []url.Values{{"shows": {"visit " + l.visit.ID}, "days": {"30"}}, {"shows": {"season 2026"}, "days": {"9999"}}, {}} {
		want(t, b.post("/desk/clients/"+l.client.ID+"/links", wrong), http.StatusUnprocessableEntity)
	}
}

func TestTheDeskFindsByAFewLetters(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	h.lawn("Cedar", "Verge")
	b := h.as(store.Manager)
	doc := b.page("/desk/find?q=" + url.QueryEscape("ald brown"))
	if links := every(doc, "a", "href=/desk/visits/"+l.visit.ID); len(links) == 0 || strings.Contains(textOf(doc), "Cedar") {
		t.Error(textOf(doc))
	}
	if doc := b.page("/desk/find?q=" + url.QueryEscape(`nobody" OR *`)); !strings.Contains(textOf(doc), "Nothing begins with") {
		t.Error(textOf(doc))
	}
}

func TestSeasonsComeInEveryForm(t *testing.T) {
	h := newHouse(t)
	l := h.signedGrubs()
	b := h.as(store.Manager)
	for name, head := range map[string]string{"csv": "\uFEFFday", "json": "{", "xlsx": "PK", "pdf": "%PDF-"} {
		answer := want(t, b.get("/desk/clients/"+l.client.ID+"/season."+name+"?year=2026"), http.StatusOK)
		got := make([]byte, len(head))
		if _, err := answer.Body.Read(got); err != nil || string(got) != head {
			t.Errorf("%s begins with %q, %v", name, got, err)
		}
	}
	doc := b.page("/desk/clients/" + l.client.ID + "/season/2026")
	if text := textOf(first(doc, "div", "class=outcome")); !strings.Contains(text, "Grubs eat the roots") || !strings.Contains(text, "looked at once") {
		t.Errorf("the outcome: %s", text)
	}
}
