package sqlite_test

import (
	"testing"
	"time"

	"swardbook/store"
)

func TestALinkLeadsToItsClientUntilItEnds(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	clients, err := h.DB.Clients(ctx)
	must(t, err)
	people, err := h.DB.People(ctx, true)
	must(t, err)
	must(t, h.DB.AddClient(ctx, store.Client{ID: "else", Name: "Somebody else"}))
	client := clients[0].ID
	link := store.Link{ID: "l1", Client: client, Year: 2026, By: people[0].ID, Expires: time.Now().Add(1000 * 24 * time.Hour)}
	must(t, h.DB.AddLink(ctx, []byte("hash one"), link))
	old := link
	old.ID, old.Expires = "l2", time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC)
	must(t, h.DB.AddLink(ctx, []byte("hash two"), old))

	for n := 1; n <= 2; n++ {
		got, err := h.DB.OpenLink(ctx, []byte("hash one"))
		if err != nil || got.Client != client || got.Year != 2026 || got.Times != n || got.Opened.IsZero() {
			t.Errorf("%+v, %v", got, err)
		}
	}
	for _, none := range []string{"hash two", "hash", ""} {
		_, err := h.DB.OpenLink(ctx, []byte(none))
		wantKind(t, err, store.NotFound)
	}
	wantKind(t, h.DB.RevokeLink(ctx, "else", "l1"), store.NotFound)
	must(t, h.DB.RevokeLink(ctx, client, "l1"))
	_, err = h.DB.OpenLink(ctx, []byte("hash one"))
	wantKind(t, err, store.NotFound)
	if list, err := h.DB.Links(ctx, client); err != nil || len(list) != 2 || list[0].Times+list[1].Times != 2 {
		t.Errorf("%+v, %v", list, err)
	}
	stray := link
	stray.ID, stray.Client, stray.Visit, stray.Year = "l3", "else", "nobody's", 0
	wantKind(t, h.DB.AddLink(ctx, []byte("hash three"), stray), store.NotFound)
}
