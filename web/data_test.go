package web

import (
	"archive/zip"
	"bytes"
	"io"
	"net/url"
	"strings"
	"testing"

	"swardbook/store"
)

func TestAClientsDataIsGivenOutAndErased(t *testing.T) {
	h := newHouse(t)
	if err := h.db.AddClient(t.Context(), store.Client{ID: "c", Name: "Household Fen", Phone: "555 0142"}); err != nil {
		t.Fatal(err)
	}
	if err := h.db.AddProperty(t.Context(), store.Property{ID: "p", Client: "c", Address: "3 Fen Lane"}); err != nil {
		t.Fatal(err)
	}
	want(t, h.as(store.Manager).get("/desk/clients/c/data"), 403)
	owner := h.as(store.Owner)
	raw, err := io.ReadAll(want(t, owner.get("/desk/clients/c/data.zip"), 200).Body)
	if err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil || len(z.File) != 2 {
		t.Fatal(z, err)
	}
	f, err := z.Open("client.json")
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(f); err != nil || !strings.Contains(string(text), "555 0142") || !strings.Contains(string(text), "3 Fen Lane") {
		t.Errorf("%s %v", text, err)
	}
	if text := textOf(parsed(t, want(t, owner.get("/desk/clients/c/data"), 200))); !strings.Contains(text, "Backups made before") || !strings.Contains(text, "Properties: 1") {
		t.Error(text)
	}
	want(t, owner.post("/desk/clients/c/erase", url.Values{"name": {"somebody"}}), 422)
	want(t, owner.post("/desk/clients/c/erase", url.Values{"name": {"household fen"}}), 303)
	if text := textOf(parsed(t, want(t, owner.get("/desk/clients/c/data"), 200))); !strings.Contains(text, "Erased on") || strings.Contains(text, "Fen") {
		t.Error(text)
	}
	want(t, owner.post("/desk/clients/c/erase", url.Values{"name": {"Erased"}}), 409)
}
