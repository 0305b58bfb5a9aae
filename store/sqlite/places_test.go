package sqlite_test

import (
	"reflect"
	"testing"

	"swardbook/store"
	"swardbook/store/storetest"
)

func TestPlacesComeBackAsTheyWere(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	client := store.Client{ID: "c", Name: "Casimir Oduya-Brandt", Phone: "555 0139", Email: "c@example.org", Note: "Ring at noon.", Created: storetest.Morning}
	h.must(h.DB.AddClient(ctx, client))
	if got, err := h.DB.Client(ctx, "c"); err != nil || got != client {
		t.Errorf("client %+v, %v", got, err)
	}
	property := store.Property{ID: "p", Client: "c", Address: "3 Wren Hollow", System: "none", Region: "north", Cautions: []string{"The bank is steep.", `A "gate", that sticks`}, Created: storetest.Morning}
	h.must(h.DB.AddProperty(ctx, property))
	if got, err := h.DB.Property(ctx, "p"); err != nil || !reflect.DeepEqual(got, property) {
		t.Errorf("property %+v, %v", got, err)
	}
	zone := store.Zone{ID: "z", Property: "p", Name: "Road bank", AreaSqFt: 950.25, Made: "op", Created: storetest.Morning}
	h.must(h.DB.AddZone(ctx, zone))
	if got, err := h.DB.Zone(ctx, "z"); err != nil || got != zone {
		t.Errorf("zone %+v, %v", got, err)
	}
	visit := store.Visit{ID: "v", Property: "p", Crew: "jonah", Day: "2026-08-28", Order: 3, Why: "routine", Ask: "The bank is straw again.", State: store.HandedIn,
		SentWhy: "was thin", HandedIn: storetest.Morning, Changed: storetest.Morning}
	h.must(h.DB.AddVisit(ctx, visit))
	if got, err := h.DB.Visit(ctx, "v"); err != nil || got != visit {
		t.Errorf("visit %+v, %v", got, err)
	}
	if p, err := h.DB.Property(ctx, h.property.ID); err != nil || p.Cautions == nil || len(p.Cautions) != 0 || p.Created.IsZero() {
		t.Errorf("a property without cautions: %+v, %v", p, err)
	}
}

func TestListsOfPlaces(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	h.Client("casimir").Property("3 Wren Hollow")
	clients, err := h.DB.Clients(ctx)
	h.must(err)
	if len(clients) != 2 || clients[0].Name != "casimir" {
		t.Errorf("clients %v", clients)
	}
	all, err := h.DB.Properties(ctx, "")
	h.must(err)
	own, err := h.DB.Properties(ctx, "casimir")
	h.must(err)
	none, err := h.DB.Properties(ctx, "nobody")
	h.must(err)
	if len(all) != 2 || len(own) != 1 || own[0].Address != "3 Wren Hollow" || none == nil || len(none) != 0 {
		t.Errorf("all %v, own %v, none %v", all, own, none)
	}
	zones, err := h.DB.Zones(ctx, h.property.ID)
	h.must(err)
	if len(zones) != 2 || zones[0].Name != "Front lawn" || zones[1].Name != "Back lawn" {
		t.Errorf("zones %v", zones)
	}
}

func TestWhatIsNotThereIsNotFound(t *testing.T) {
	db := storetest.Open(t)
	ctx := t.Context()
	_, err := db.Client(ctx, "x")
	wantKind(t, err, store.NotFound)
	_, err = db.Property(ctx, "x")
	wantKind(t, err, store.NotFound)
	_, err = db.Zone(ctx, "x")
	wantKind(t, err, store.NotFound)
	_, err = db.Visit(ctx, "x")
	wantKind(t, err, store.NotFound)
	_, err = db.Person(ctx, "x")
	wantKind(t, err, store.NotFound)
	_, err = db.PhotoState(ctx, "x")
	wantKind(t, err, store.NotFound)
	wantKind(t, db.PhotoGone(ctx, "x"), store.NotFound)
	wantKind(t, db.AddProperty(ctx, store.Property{ID: "p", Client: "x", Address: "a"}), store.NotFound)
	wantKind(t, db.AddZone(ctx, store.Zone{ID: "z", Property: "x", Name: "a"}), store.NotFound)
	wantKind(t, db.AddVisit(ctx, store.Visit{ID: "v", Property: "x", Day: "2026-08-27"}), store.NotFound)
	wantKind(t, db.SetVisitState(ctx, "x", store.HandedIn, ""), store.NotFound)
	wantKind(t, db.AddReview(ctx, store.Review{ID: "r", Visit: "x", Kind: "sign off"}), store.NotFound)
	wantKind(t, db.SettleAside(ctx, "x", "left", "iris", "why"), store.NotFound)
}

func TestWhatCannotBeIsInvalidOrThereAlready(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	wantKind(t, h.DB.AddClient(ctx, store.Client{ID: "odalys-fenwright", Name: "again"}), store.Conflict)
	wantKind(t, h.DB.AddClient(ctx, store.Client{Name: "no id"}), store.Invalid)
	wantKind(t, h.DB.AddClient(ctx, store.Client{ID: "x"}), store.Invalid)
	wantKind(t, h.DB.AddProperty(ctx, store.Property{ID: "x", Client: "odalys-fenwright", Address: "a", System: "perhaps"}), store.Invalid)
	wantKind(t, h.DB.AddVisit(ctx, store.Visit{ID: "x", Property: h.property.ID, Day: "tomorrow"}), store.Invalid)
	wantKind(t, h.DB.AddVisit(ctx, store.Visit{ID: "x", Property: h.property.ID, Day: "2026-08-27", State: "lost"}), store.Invalid)
	wantKind(t, h.DB.SettleAside(ctx, "x", "burnt", "iris", "why"), store.Invalid)
}

func TestVisitsAreNarrowedAndInOrder(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	wren := h.Client("Casimir").Property("3 Wren Hollow")
	early := wren.Visit("2026-08-20", "Jonah")
	open := wren.Visit("2026-08-28", "")
	h.must(h.DB.SetVisitState(ctx, early.ID, store.HandedIn, ""))
	for name, c := range map[string]struct {
		f    store.VisitFilter
		want []string
	}{
		"all":      {store.VisitFilter{}, []string{early.ID, h.visit, h.other, open.ID}},
		"crew":     {store.VisitFilter{Crew: "jonah"}, []string{early.ID, h.visit}},
		"property": {store.VisitFilter{Property: wren.ID}, []string{early.ID, open.ID}},
		"client":   {store.VisitFilter{Client: "casimir", ToDay: "2026-08-27"}, []string{early.ID}},
		"days":     {store.VisitFilter{FromDay: "2026-08-27", ToDay: "2026-08-27"}, []string{h.visit, h.other}},
		"states":   {store.VisitFilter{States: []store.VisitState{store.HandedIn, store.SentBack}}, []string{early.ID}},
		"nobody":   {store.VisitFilter{Crew: "tamsin"}, []string{}},
	} {
		list, err := h.DB.Visits(ctx, c.f)
		h.must(err)
		got := []string{}
		for _, v := range list {
			got = append(got, v.ID)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

func TestPhotosAreWantedUntilTheyAreThere(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	sha := "ab" + h.texts(`SELECT substr(hex(zeroblob(31)), 1, 62)`)[0]
	p, q := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
	p.Reads(h.visit, h.front, "photo", sha).Photos = []store.Photo{{SHA: sha, Size: 5, Type: "image/jpeg"}, {SHA: sha}}
	if res := p.Sends(); len(res.Missing) != 1 || res.Missing[0] != sha {
		t.Errorf("missing %v", res.Missing)
	}
	if res := q.Sends(); len(res.Missing) != 0 {
		t.Errorf("a phone that never named it is asked for %v", res.Missing)
	}
	if got, err := h.DB.PhotoState(ctx, sha); err != nil || got.Complete || got.Size != 5 {
		t.Errorf("wanted: %+v, %v", got, err)
	}
	if list, err := h.DB.MissingPhotos(ctx); err != nil || len(list) != 1 {
		t.Errorf("missing %v, %v", list, err)
	}
	done := store.Photo{SHA: sha, Size: 6, Type: "image/png", Complete: true}
	h.must(h.DB.PhotoDone(ctx, done))
	h.must(h.DB.PhotoDone(ctx, done))
	if list, err := h.DB.PhotoList(ctx); err != nil || len(list) != 1 || list[0] != done {
		t.Errorf("there: %v, %v", list, err)
	}
	if res := p.Sends(); len(res.Missing) != 0 {
		t.Errorf("asked for what is there: %v", res.Missing)
	}
	h.must(h.DB.PhotoGone(ctx, sha))
	if res := p.Sends(); len(res.Missing) != 1 {
		t.Errorf("not asked for what is gone: %v", res.Missing)
	}
}
