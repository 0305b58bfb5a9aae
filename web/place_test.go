package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"swardbook/store"
)

// TestALostRecordIsPlaced: what was put down on an unknown zone, or on a visit nobody has, is taken in where a manager says, in the
// name of whoever recorded it; a reading too. What the phone sent stays.
func TestALostRecordIsPlaced(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	m := h.material(store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}})
	p := h.phone(store.Crew, "phone-1")
	body := func(visit, zone string) map[string]any {
		return map[string]any{"visit": visit, "material": m.ID, "version": m.Version, "name": m.Name, "unit": "lb", "start": "2026-08-27T08:00:00-04:00", "end": "2026-08-27T08:30:00-04:00",
			"items": map[string]string{"applicator": "Crew", "equipment": "Rotary"}, "zones": []any{map[string]any{"zone": zone, "typed": "6.45", "area_sqft": 2150}}}
	}
	p.record("application", "", body("v-nowhere", "z-nowhere"), "2026-08-27T08:31:00-04:00")
	p.record("application", "", body(l.visit.ID, "z-nowhere"), "2026-08-27T08:32:00-04:00")
	c, _ := h.measured()
	p.record("reading", "", map[string]any{"visit": "v-nowhere", "zone": "z-nowhere", "check": c.ID, "typed": "2", "edition": h.know.Edition}, "2026-08-27T08:33:00-04:00")
	b := h.as(store.Manager)
	doc := b.page("/desk/aside")
	var links []*html.Node
	for _, link := range every(doc, "a") {
		if strings.HasSuffix(value(link, "href"), "/place") {
			links = append(links, link)
		}
	}
	if !strings.Contains(textOf(doc), "24-0-11: 6.45 lb") {
		t.Errorf("nobody can tell what was put down: %s", textOf(doc))
	}
	if len(links) != 3 {
		t.Fatalf("%d of three can be placed: %s", len(links), textOf(doc))
	}
	for _, link := range links {
		at := value(link, "href")
		ask := b.page(at)
		if !strings.Contains(textOf(ask), "1 Alder Lane, 27 Aug 2026") || formPosted(ask, at).Data != "" {
			t.Fatalf("the question: %s", textOf(ask))
		}
		ask = b.page(at + "?visit=" + l.visit.ID)
		form := typed(formPosted(ask, at))
		want(t, b.post(at, form), http.StatusUnprocessableEntity)
		form.Set("zone.0", l.zones[1].ID)
		wrong := clone(form)
		want(t, b.post(at, wrong), http.StatusUnprocessableEntity) // no reason
		form.Set("why", "The zone was made twice on the phone.")
		wrong = clone(form)
		wrong.Set("zone.0", "z-of-another")
		wrong.Set("why", "x")
		want(t, b.post(at, wrong), http.StatusUnprocessableEntity)
		if text := textOf(b.follow(at, form)); !strings.Contains(text, "Taken in where you said") {
			t.Fatalf("placed: %s", text)
		}
		want(t, b.post(at, form), http.StatusNotFound)
	}
	all, err := h.db.Applications(t.Context(), store.ApplicationFilter{Visit: l.visit.ID})
	if err != nil || len(all) != 2 {
		t.Fatalf("%d records, %v", len(all), err)
	}
	for _, x := range all {
		if x.Author != "id-crew" || x.Zones[0].Zone != l.zones[1].ID || x.Zones[0].Amount != 6.45 || !strings.HasPrefix(x.At, "2026-08-27T08:3") {
			t.Errorf("taken in as %+v", x)
		}
	}
	readings, err := h.db.Readings(t.Context(), l.visit.ID)
	if err != nil || len(readings) != 1 || readings[0].Zone != l.zones[1].ID || readings[0].Typed != "2" {
		t.Errorf("readings %+v, %v", readings, err)
	}
	if text := textOf(b.page("/desk/aside")); !strings.Contains(text, "Nothing is set aside") {
		t.Errorf("still set aside: %s", text)
	}
	want(t, b.get("/desk/aside/nothing/place"), http.StatusNotFound)
	want(t, b.post("/desk/aside/nothing/place", url.Values{}), http.StatusNotFound)
}

// formPosted is the form of a page that is posted to an address, of two that lead there.
func formPosted(doc *html.Node, at string) *html.Node {
	return first(doc, "form", "method=post", "action="+at)
}
