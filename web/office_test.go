package web

import (
	"io"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"swardbook/store"
)

func TestAClientIsChangedAndArchived(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	b := h.as(store.Manager)
	path := "/desk/clients/" + l.client.ID
	form := typed(formTo(b.page(path+"/change"), path+"/change"))
	if form.Get("name") != l.client.Name {
		t.Fatalf("the form begins with %q", form.Get("name"))
	}
	form.Set("name", " ")
	form.Set("phone", strings.Repeat("5", 400))
	form.Set("note", "Ring at noon.")
	doc := parsed(t, want(t, b.post(path+"/change", form), 422))
	for _, at := range []string{"name", "phone"} {
		if textOf(first(doc, "span", "id=in-"+at+"-wrong")) == "" {
			t.Errorf("nothing is said at %s", at)
		}
	}
	if got := textOf(first(doc, "textarea", "name=note")); got != "Ring at noon." {
		t.Errorf("the note is lost: %q", got)
	}
	form.Set("name", "Household at the Fen")
	form.Set("phone", "555 0177")
	if text := textOf(b.follow(path+"/change", form)); !strings.Contains(text, "Household at the Fen") || !strings.Contains(text, "555 0177") || !strings.Contains(text, "Ring at noon.") {
		t.Error(text)
	}
	b.follow(path+"/archive", url.Values{"how": {"archive"}})
	if text := textOf(b.page("/desk/clients")); strings.Contains(text, "Household at the Fen") {
		t.Error("it is still listed")
	}
	if text := textOf(b.page("/desk/clients?archived")); !strings.Contains(text, "Household at the Fen") {
		t.Error("it is not under the archived ones")
	}
	if text := textOf(b.page("/desk/find?q=househ")); !strings.Contains(text, "Household at the Fen") {
		t.Error("it can't be found any more")
	}
	if doc := b.page("/desk/"); strings.Contains(textOf(doc), l.property.Address) {
		t.Error("its planned visit still stands on the first page")
	}
	b.follow(path+"/archive", url.Values{"how": {"back"}})
	if text := textOf(b.page("/desk/clients")); !strings.Contains(text, "Household at the Fen") {
		t.Error("it did not come back")
	}
	want(t, b.post("/desk/clients/none/archive", url.Values{"how": {"archive"}}), 404)
	want(t, b.get("/desk/clients/none/change"), 404)
}

func TestAPropertyAndItsZonesAreChanged(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	b := h.as(store.Manager)
	path := "/desk/properties/" + l.property.ID
	form := typed(formTo(b.page(path+"/change"), path+"/change"))
	form.Set("address", "")
	form.Set("cautions", "Slope\nDog")
	doc := parsed(t, want(t, b.post(path+"/change", form), 422))
	if textOf(first(doc, "span", "id=in-address-wrong")) == "" || textOf(first(doc, "textarea", "name=cautions")) != "Slope Dog" {
		t.Error(textOf(doc))
	}
	form.Set("address", "2 Alder Lane")
	if text := textOf(b.follow(path+"/change", form)); !strings.Contains(text, "2 Alder Lane") || !strings.Contains(text, "Slope") {
		t.Error(text)
	}
	back := "/desk/zones/" + l.zones[0].ID
	doc = parsed(t, want(t, b.post(back+"/change", url.Values{"name": {"Yard"}, "area": {"many"}}), 422))
	if textOf(first(doc, "span", "id=area-"+l.zones[0].ID+"-wrong")) == "" || value(first(doc, "input", "id=name-"+l.zones[0].ID), "value") != "Yard" {
		t.Error(textOf(doc))
	}
	doc = b.follow(back+"/change", url.Values{"name": {"Yard"}, "area": {"2300.5"}})
	if value(first(doc, "input", "id=area-"+l.zones[0].ID), "value") != "2300.5" || value(first(doc, "input", "id=name-"+l.zones[1].ID), "value") != "Front lawn" {
		t.Error(textOf(doc))
	}
	b.follow("/desk/zones/"+l.zones[1].ID+"/archive", url.Values{"how": {"archive"}})
	if text := textOf(b.page("/desk/visits/" + l.visit.ID)); !strings.Contains(text, "Yard") || strings.Contains(text, "Front lawn") {
		t.Errorf("the visit shows %s", text)
	}
	h.visit(l, "v-today", "2026-08-28")
	if raw := h.as(store.Crew).packet(t); !strings.Contains(raw, "Yard") || strings.Contains(raw, "Front lawn") {
		t.Error("an archived zone is in the day packet")
	}
	b.follow("/desk/zones/"+l.zones[1].ID+"/archive", url.Values{"how": {"back"}})
	if text := textOf(b.page("/desk/visits/" + l.visit.ID)); !strings.Contains(text, "Front lawn") {
		t.Error("the zone did not come back")
	}
}

// What was recorded in a zone stays there, whatever becomes of the zone.
func TestAnArchivedZoneKeepsItsRecords(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	p := h.phone(store.Crew, "phone-1")
	c, one, _ := h.choice()
	p.reading(l.visit, l.zones[1], c.ID, one, "2026-08-27T10:30:00-04:00")
	b := h.as(store.Manager)
	b.follow("/desk/zones/"+l.zones[1].ID+"/archive", url.Values{"how": {"archive"}})
	p.handIn(l.visit, "2026-08-27T11:30:00-04:00")
	if text := textOf(b.page("/desk/visits/" + l.visit.ID)); !strings.Contains(text, "Front lawn") {
		t.Errorf("the zone left the visit it was seen on: %s", text)
	}
	if text := textOf(b.page("/desk/clients/" + l.client.ID + "/season/2026")); !strings.Contains(text, "Front lawn") || !strings.Contains(text, c.Label.EN) {
		t.Error("its season record lost it")
	}
	b.follow("/desk/properties/"+l.property.ID+"/archive", url.Values{"how": {"archive"}})
	if text := textOf(b.page("/desk/clients/" + l.client.ID + "/season/2026")); !strings.Contains(text, "Front lawn") {
		t.Error("the season record lost an archived property")
	}
	if n := numberIn(t, b.page("/desk/")); n != 1 {
		t.Errorf("%d things wait: what was handed in still does", n)
	}
}

func TestAmountsStayWithTheAreaTheyWereRecordedWith(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	m := h.material(store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}})
	h.phone(store.Crew, "phone-1").applied(l, m, "10", nil, "2026-08-27T10:30:00-04:00")
	b := h.as(store.Manager)
	before := recordsOf(b, l)
	b.follow("/desk/zones/"+l.zones[0].ID+"/change", url.Values{"name": {"Back lawn"}, "area": {"4300"}})
	if after := recordsOf(b, l); after != before || !strings.Contains(before, "10") {
		t.Errorf("before %s\nafter %s", before, after)
	}
}

func recordsOf(b *browser, l lawn) string {
	return textOf(first(b.page("/desk/properties/"+l.property.ID+"/work"), "main"))
}

func TestAPersonIsChanged(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Owner)
	doc := parsed(t, want(t, b.post("/desk/people/id-crew/change", url.Values{"name": {"MANAGER"}, "role": {"crew"}, "lang": {"es"}}), 422))
	if textOf(first(doc, "span", "id=in-name-wrong")) == "" || value(first(doc, "input", "name=name"), "value") != "MANAGER" {
		t.Error(textOf(doc))
	}
	doc = parsed(t, want(t, b.post("/desk/people/id-owner/change", url.Values{"name": {"owner"}, "role": {"manager"}, "lang": {"en"}}), 422))
	if textOf(first(doc, "span", "id=in-role-wrong")) == "" {
		t.Error(textOf(doc))
	}
	if text := textOf(b.follow("/desk/people/id-crew/change", url.Values{"name": {"Jonah"}, "role": {"manager"}, "lang": {"es"}})); !strings.Contains(text, "Jonah") {
		t.Error(text)
	}
	if p, err := h.db.Person(t.Context(), "id-crew"); err != nil || p.Role != store.Manager || p.Lang != "es" {
		t.Errorf("%+v %v", p, err)
	}
	want(t, b.get("/desk/people/none/change"), 404)
}

// packet is the day packet as text.
func (b *browser) packet(t *testing.T) string {
	t.Helper()
	raw, err := io.ReadAll(want(t, b.get("/api/v1/pack"), 200).Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

func TestASketchIsDrawnAndGivesTheArea(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	b := h.as(store.Manager)
	path := "/desk/properties/" + l.property.ID + "/map"
	form := typed(formTo(b.page(path), path))
	form.Set("place", "here")
	form.Set("outline.0", "40, -83\n40.0002, -82.9996\nthere")
	doc := parsed(t, want(t, b.post(path, form), 422))
	for _, at := range []string{"place", "outline-0"} {
		if textOf(first(doc, "span", "id=in-"+at+"-wrong")) == "" {
			t.Errorf("nothing is said at %s", at)
		}
	}
	if got := textOf(first(doc, "textarea", "name=outline.0")); !strings.Contains(got, "there") {
		t.Errorf("what was typed is lost: %q", got)
	}
	form.Set("place", "")
	form.Set("outline.0", "40, -83\n40.0002, -82.9996\n40.0005, -82.9999\n40.0003, -83.0004")
	form.Set("outline.1", `{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[-83,40],[-83,39.9999],[-82.9999,39.9999],[-83,40]]]}}`)
	form.Set("keep.1", "yes")
	doc = b.follow(path, form)
	// 1943.7365 m² by GeographicLib (geographiclib-geodesic 2.2.0) are 20,922 sq ft.
	if text := textOf(doc); !strings.Contains(text, "20,922 sq ft") || !strings.Contains(text, "2,150 sq ft") {
		t.Errorf("the areas: %s", text)
	}
	if n := len(every(doc, "polygon")); n != 2 {
		t.Errorf("%d outlines are drawn", n)
	}
	h.visit(l, "v-today", "2026-08-28")
	if pack := h.as(store.Crew).packet(t); strings.Count(pack, `"shape":{"points":"`) != 2 {
		t.Errorf("the day packet does not hold the two outlines: %s", pack)
	}
	p, err := h.db.Property(t.Context(), l.property.ID)
	if err != nil || p.Place == nil || p.Place[1] < 39.99 || p.Place[1] > 40.01 {
		t.Errorf("%+v %v", p, err)
	}
	again := typed(formTo(doc, path))
	again.Set("outline.0", "")
	again.Set("outline.1", form.Get("outline.1"))
	if z, err := h.db.Zone(t.Context(), l.zones[0].ID); err != nil || z.Outline == "" {
		t.Errorf("%+v %v", z, err)
	}
	b.follow(path, again)
	if pack := h.as(store.Crew).packet(t); strings.Count(pack, `"shape":{"points":"`) != 1 {
		t.Errorf("the day packet does not hold one outline: %s", pack)
	}
	if z, err := h.db.Zone(t.Context(), l.zones[0].ID); err != nil || z.Outline != "" || z.AreaSqFt < 20000 {
		t.Errorf("an outline that is taken away leaves the area: %+v %v", z, err)
	}
}

func TestVisitsAreMovedOnTheBoard(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	other := h.visit(l, "v-other", "2026-08-28")
	b := h.as(store.Manager)
	doc := b.page("/desk/days")
	if !strings.Contains(textOf(first(doc, "h1")), "28 August 2026") || first(doc, "li", "id=d-"+other.ID).Data == "" || first(doc, "li", "id=d-"+l.visit.ID).Data != "" {
		t.Error(textOf(doc))
	}
	for _, c := range []struct{ at, day, crew, place string }{{"day", "soon", "id-crew", "1"}, {"crew", "2026-08-28", "nobody", "1"}, {"place", "2026-08-28", "id-crew", "first"}} {
		doc := parsed(t, want(t, b.post("/desk/days/move", url.Values{"visit": {other.ID}, "day": {c.day}, "crew": {c.crew}, "place": {c.place}}), 422))
		if textOf(first(doc, "span", "id="+c.at+"-"+other.ID+"-wrong")) == "" {
			t.Errorf("nothing is said at %s: %s", c.at, textOf(doc))
		}
	}
	want(t, b.post("/desk/days/move", url.Values{"visit": {"none"}, "day": {"2026-08-29"}}), 404)
	doc = b.follow("/desk/days/move", url.Values{"visit": {l.visit.ID}, "day": {"2026-08-28"}, "crew": {"id-manager"}, "place": {"1"}})
	sheet := first(doc, "section", "data-crew=id-manager")
	if first(sheet, "li", "id=d-"+l.visit.ID).Data == "" {
		t.Error(textOf(doc))
	}
	p := h.phone(store.Manager, "phone-1")
	p.handIn(l.visit, "2026-08-28T09:30:00-04:00")
	want(t, b.post("/desk/days/move", url.Values{"visit": {l.visit.ID}, "day": {"2026-08-29"}, "crew": {""}}), 409)
	if doc := b.page("/desk/days?day=2026-08-28"); first(first(doc, "li", "id=d-"+l.visit.ID), "form").Data != "" {
		t.Error("what is handed in can be moved")
	}
}

func TestClientsAreTakenInFromAFile(t *testing.T) {
	h := newHouse(t)
	h.lawn("Alder", "Back lawn")
	b := h.as(store.Manager)
	look := func(fields map[string]string, status int) *html.Node {
		return parsed(t, want(t, b.upload("/desk/import", fields), status))
	}
	doc := look(map[string]string{}, 422)
	if textOf(first(doc, "span", "id=in-file-wrong")) == "" {
		t.Error("nothing is said of a file that is not there")
	}
	bad := "client,where,zone,area_sqft\nFen household,3 Fen Lane,Front,1800\n,3 Fen Lane,Back,900\n"
	doc = look(map[string]string{"text": bad}, 200)
	if text := textOf(first(doc, "table", "class=take-bad")); !strings.Contains(text, "2 ") || !strings.Contains(text, "address is missing") {
		t.Errorf("the rows without an address: %s", text)
	}
	mapped := map[string]string{"text": bad, "mapped": "yes", "column.client": "0", "column.address": "1", "column.zone": "2", "column.area": "3", "unit": "us", "how": "take"}
	doc = look(mapped, 422)
	if text := textOf(first(doc, "table", "class=take-bad")); !strings.Contains(text, "3 The client's name is missing.") {
		t.Errorf("the bad row: %s", text)
	}
	if clients, err := h.db.Clients(t.Context()); err != nil || len(clients) != 1 {
		t.Errorf("half of it was taken in: %+v %v", clients, err)
	}
	if got := textOf(first(doc, "textarea", "name=text")); !strings.Contains(got, "3 Fen Lane,Front,1800") {
		t.Errorf("the file is lost: %q", got)
	}
	mapped["text"] = strings.Replace(bad, "\n,3", "\nFen household,3", 1)
	mapped["unit"] = "metric"
	want(t, b.upload("/desk/import", mapped), 303)
	properties, err := h.db.Properties(t.Context(), "")
	if err != nil || len(properties) != 2 {
		t.Fatalf("%+v %v", properties, err)
	}
	for _, p := range properties {
		if p.Address != "3 Fen Lane" {
			continue
		}
		if zones, err := h.db.Zones(t.Context(), p.ID); err != nil || len(zones) != 2 || int(zones[0].AreaSqFt) != 19375 { // 1,800 m² ÷ 0.09290304
			t.Errorf("%+v %v", zones, err)
		}
	}
	doc = look(mapped, 422) // once more names nothing new
	if !strings.Contains(textOf(doc), "names nothing that is not there already") {
		t.Error(textOf(doc))
	}
	want(t, b.upload("/desk/import", map[string]string{"text": strings.Repeat("x", 9<<20)}), 413)
}

// A label's year that is any 365 days does not begin anew in January.
func TestALimitOfAnyYearIsNearAfterNewYear(t *testing.T) {
	for rolling, want := range map[bool]bool{true: true, false: false} {
		h := newHouse(t)
		l := h.lawn("Alder", "Back lawn")
		m := h.material(store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}, Limits: store.Limits{Year: 5, Rolling: rolling}})
		p := h.phone(store.Crew, "phone-1")
		p.applied(l, m, "8", map[string]string{"applicator": "crew"}, "2025-11-20T10:30:00-05:00")
		p.applied(l, m, "1", map[string]string{"applicator": "crew"}, "2026-08-27T10:30:00-04:00")
		if text := textOf(h.as(store.Manager).page("/desk/")); strings.Contains(text, "24-0-11: 4.19 lb") != want {
			t.Errorf("any 365 days: %t; the first page says %s", rolling, text)
		}
	}
}

func TestALimitAboutToBeReachedIsOnTheFirstPage(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	m := h.material(store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}, Limits: store.Limits{Year: 5}})
	p := h.phone(store.Crew, "phone-1")
	b := h.as(store.Manager)
	items := map[string]string{"applicator": "crew"}
	p.applied(l, m, "8", items, "2026-08-27T10:30:00-04:00") // 8 lb on 2,150 sq ft: 3.72 lb on 1,000, below four fifths of 5
	if doc := b.page("/desk/"); first(doc, "h2", "id=h-near").Data != "" {
		t.Errorf("too early: %s", textOf(doc))
	}
	p.applied(l, m, "1", items, "2026-08-27T11:30:00-04:00") // 4.19
	doc := b.page("/desk/")
	if text := textOf(doc); !strings.Contains(text, "1 zone about to reach a limit") || !strings.Contains(text, "24-0-11: 4.19 lb") {
		t.Errorf("no row: %s", text)
	}
	rows := 0
	for _, list := range every(doc, "table", "class=rows") {
		rows += len(every(first(list, "tbody"), "tr"))
	}
	if ahead := len(every(first(doc, "section", "aria-labelledby=h-ahead"), "tr")); numberIn(t, doc) != rows-max(0, ahead-1) {
		t.Errorf("%d are counted, %d listed, %d of them ahead", numberIn(t, doc), rows, ahead-1)
	}
	if other := b.page("/desk/clients"); textOf(first(other, "a", "href=/desk/")) == "" || !strings.Contains(textOf(other), "("+strconv.Itoa(numberIn(t, doc))+")") {
		t.Error("another page counts otherwise")
	}
}

func TestSigningOffLeadsOnToTheNextVisit(t *testing.T) {
	h := newHouse(t)
	one, two := h.lawn("Alder", "Lawn"), h.lawn("Birch", "Lawn")
	p := h.phone(store.Crew, "phone-1")
	c, option, _ := h.choice()
	for _, l := range []lawn{one, two} {
		p.reading(l.visit, l.zones[0], c.ID, option, "2026-08-27T10:30:00-04:00")
		p.handIn(l.visit, "2026-08-27T11:30:00-04:00")
		h.now = h.now.Add(time.Minute)
	}
	b := h.as(store.Manager)
	doc := b.page("/desk/visits/" + one.visit.ID)
	if to := value(first(doc, "a", "data-key=n"), "href"); to != "/desk/visits/"+two.visit.ID {
		t.Errorf("the next visit is %q", to)
	}
	doc = b.follow("/desk/visits/"+one.visit.ID+"/sign-off", url.Values{"next": {value(first(doc, "button", "data-key=s"), "value")}})
	if !strings.Contains(textOf(first(doc, "h1")), "Birch") || first(doc, "a", "data-key=n").Data != "" {
		t.Errorf("after the first: %s", textOf(doc))
	}
	doc = b.follow("/desk/visits/"+two.visit.ID+"/sign-off", url.Values{"next": {value(first(doc, "button", "data-key=s"), "value")}})
	if !strings.Contains(textOf(doc), "Nothing") && numberIn(t, doc) != 0 {
		t.Errorf("after the last: %s", textOf(doc))
	}
}
