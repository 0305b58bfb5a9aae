package sqlite_test

import (
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/storetest"
)

func TestAFirmBegins(t *testing.T) {
	db := storetest.Open(t)
	ctx := t.Context()
	if empty, err := db.Empty(ctx); err != nil || !empty {
		t.Errorf("a new database: empty %v, %v", empty, err)
	}
	_, err := db.Firm(ctx)
	wantKind(t, err, store.NotFound)
	storetest.Firm(t, db).Owner("Iris")
	if empty, err := db.Empty(ctx); err != nil || empty {
		t.Errorf("with an owner: empty %v, %v", empty, err)
	}
	wantKind(t, db.CreateFirm(ctx, store.Firm{Name: "B", Units: "us"}, store.Person{ID: "x", Name: "X", Role: store.Owner}), store.Conflict)
	want := store.Firm{Name: "Elsewhere", Units: "metric", Zone: "UTC"}
	must(t, db.SaveFirm(ctx, want))
	if got, err := db.Firm(ctx); err != nil || got != want {
		t.Errorf("firm %+v, %v", got, err)
	}
	want.Units = "furlongs"
	wantKind(t, db.SaveFirm(ctx, want), store.Invalid)
}

func TestPeopleAreKnownByName(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	for _, name := range []string{"Jonah", "JONAH", " jonah "} {
		if p, err := h.DB.PersonByName(ctx, name); err != nil || p.ID != "jonah" || p.Role != store.Crew || !p.Active {
			t.Errorf("%q: %+v, %v", name, p, err)
		}
	}
	_, err := h.DB.PersonByName(ctx, "Nobody")
	wantKind(t, err, store.NotFound)
	zoe := store.Person{ID: "zoe", Name: "Zoë", Role: store.Crew, Lang: "es", Hash: "h", Active: true}
	h.must(h.DB.AddPerson(ctx, zoe))
	if p, err := h.DB.PersonByName(ctx, "ZOË"); err != nil || p != zoe {
		t.Errorf("%+v, %v", p, err)
	}
	wantKind(t, h.DB.AddPerson(ctx, store.Person{ID: "zoe2", Name: "zoË", Role: store.Crew, Active: true}), store.Conflict)
	wantKind(t, h.DB.AddPerson(ctx, store.Person{ID: "boss", Name: "Boss", Role: "boss", Active: true}), store.Invalid)
}

func TestPeopleLeaveAndComeBack(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	token := []byte("a hash")
	h.must(h.DB.AddSession(ctx, token, "jonah", "a phone", time.Hour))
	h.must(h.DB.SetActive(ctx, "jonah", false))
	if _, err := h.DB.Session(ctx, token); err == nil {
		t.Error("who left is still signed in")
	}
	_, err := h.DB.PersonByName(ctx, "Jonah")
	wantKind(t, err, store.NotFound)
	if p, err := h.DB.Person(ctx, "jonah"); err != nil || p.Active {
		t.Errorf("%+v, %v", p, err)
	}
	all, err := h.DB.People(ctx, false)
	h.must(err)
	active, err := h.DB.People(ctx, true)
	h.must(err)
	if len(all) != 4 || len(active) != 3 || all[0].Name != "Iris" || all[1].Name != "Jonah" {
		t.Errorf("all %v, active %v", all, active)
	}
	h.must(h.DB.AddPerson(ctx, store.Person{ID: "jonah2", Name: "Jonah", Role: store.Crew, Active: true}))
	wantKind(t, h.DB.SetActive(ctx, "jonah", true), store.Conflict)
	h.must(h.DB.SetActive(ctx, "jonah2", false))
	h.must(h.DB.SetActive(ctx, "jonah", true))
	wantKind(t, h.DB.SetActive(ctx, "iris", false), store.Conflict)
	wantKind(t, h.DB.SetActive(ctx, "nobody", false), store.NotFound)
}

func TestPasscodesAreReplaced(t *testing.T) {
	h := newHouse(t)
	h.must(h.DB.SetPasscode(t.Context(), "jonah", "another hash"))
	if p, err := h.DB.Person(t.Context(), "jonah"); err != nil || p.Hash != "another hash" {
		t.Errorf("%+v, %v", p, err)
	}
	wantKind(t, h.DB.SetPasscode(t.Context(), "nobody", "x"), store.NotFound)
}

func TestSessionsLiveAndRunOut(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	one, two := []byte{1}, []byte{2}
	h.must(h.DB.AddSession(ctx, one, "jonah", "a phone", time.Hour))
	h.must(h.DB.AddSession(ctx, two, "jonah", "a tablet", time.Hour))
	s, err := h.DB.Session(ctx, one)
	h.must(err)
	if s.Person.Name != "Jonah" || s.Agent != "a phone" || !s.Started.Equal(storetest.Morning) || !s.Expires.Equal(storetest.Morning.Add(time.Hour)) {
		t.Errorf("session %+v", s)
	}
	_, err = h.DB.Session(ctx, []byte{3})
	wantKind(t, err, store.NotFound)
	h.clock.Pass(59 * time.Minute)
	h.must(h.DB.RenewSession(ctx, one, time.Hour))
	h.clock.Pass(time.Minute)
	_, err = h.DB.Session(ctx, two)
	wantKind(t, err, store.SignIn)
	if s, err := h.DB.Session(ctx, one); err != nil || !s.Seen.Equal(storetest.Morning.Add(59*time.Minute)) {
		t.Errorf("renewed: %+v, %v", s, err)
	}
	h.must(h.DB.AddSession(ctx, []byte{4}, "jonah", "", time.Hour))
	if n := h.texts(`SELECT count(*) FROM sessions`); n[0] != "2" {
		t.Errorf("%s sessions are kept, want 2", n[0])
	}
	h.must(h.DB.EndSession(ctx, one))
	h.must(h.DB.EndSession(ctx, one))
	_, err = h.DB.Session(ctx, one)
	wantKind(t, err, store.NotFound)
	h.must(h.DB.EndSessionsOf(ctx, "jonah"))
	_, err = h.DB.Session(ctx, []byte{4})
	wantKind(t, err, store.NotFound)
	wantKind(t, h.DB.RenewSession(ctx, one, time.Hour), store.NotFound)
	wantKind(t, h.DB.AddSession(ctx, one, "nobody", "", time.Hour), store.NotFound)
}
