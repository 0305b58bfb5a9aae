package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"swardbook/store/sqlite"
)

// TestALostSecondFactorIsTakenOffOnTheMachine: the owner who lost authenticator and recovery codes is helped by whoever runs the machine.
func TestALostSecondFactorIsTakenOffOnTheMachine(t *testing.T) {
	data := emptyDatabase(t)
	if said, err := commanded(t, "alder-gate-12\n", "person", "add", "-name", "Wren", "-role", "owner", "-data", data); err != nil {
		t.Fatalf("%q %v", said, err)
	}
	factor := func(change func(db *sqlite.DB, person string)) bool {
		t.Helper()
		db, err := sqlite.Open(t.Context(), databaseIn(data), time.Now)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		person, err := db.PersonByName(t.Context(), "Wren")
		if err != nil {
			t.Fatal(err)
		}
		if change != nil {
			change(db, person.ID)
		}
		list, err := db.Factors(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return len(list) == 1 && list[0] == person.ID
	}
	on := factor(func(db *sqlite.DB, person string) {
		if err := db.BeginFactor(t.Context(), person, []byte("secret")); err != nil {
			t.Fatal(err)
		}
		if err := db.ConfirmFactor(t.Context(), person, 1, nil); err != nil {
			t.Fatal(err)
		}
	})
	if !on {
		t.Fatal("no second factor to take off")
	}
	if _, err := commanded(t, "", "person", "second-off", "-name", "Nobody", "-data", data); err == nil {
		t.Error("nobody's second factor was taken off")
	}
	said, err := commanded(t, "", "person", "second-off", "-name", "wren", "-data", data)
	if err != nil || !strings.Contains(said, "passcode alone") {
		t.Errorf("%q %v", said, err)
	}
	if factor(nil) {
		t.Error("it is still asked for")
	}
	if _, err := commanded(t, "", "person", "second-off", "-name", "Wren", "-data", data); err == nil || !strings.Contains(err.Error(), "no second factor") {
		t.Errorf("a second time: %v", err)
	}
}

// TestAClientsPhotosAreGivenOut: the file that a client gets holds every photo of theirs under its digest, and none of anybody else.
func TestAClientsPhotosAreGivenOut(t *testing.T) {
	c := config{data: filepath.Join(t.TempDir(), "data")}
	layDemoIn(t, c.data)
	now, err := startingAt(august)
	if err != nil {
		t.Fatal(err)
	}
	h, err := openHouse(t.Context(), c, now, silent())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = h.close() }()
	handler, err := h.handler(c, silent())
	if err != nil {
		t.Fatal(err)
	}
	owner, err := h.db.PersonByName(t.Context(), "Iris")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte("token"))
	if err := h.db.AddSession(t.Context(), sum[:], owner.ID, "test", time.Hour); err != nil {
		t.Fatal(err)
	}
	clients, err := h.db.Clients(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	total := 0
	for _, client := range clients {
		e, err := h.db.Erasure(t.Context(), client.ID, nil, []string{"photo"})
		if err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest("GET", "/desk/clients/"+client.ID+"/data.zip", nil)
		r.AddCookie(&http.Cookie{Name: "swardbook", Value: "token"})
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		z, err := zip.NewReader(bytes.NewReader(w.Body.Bytes()), int64(w.Body.Len()))
		if err != nil {
			t.Fatal(w.Code, err)
		}
		var given []string
		for _, f := range z.File {
			name, isPhoto := strings.CutPrefix(f.Name, "photos/")
			if !isPhoto {
				continue
			}
			in, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			raw, err := io.ReadAll(in)
			if err != nil {
				t.Fatal(err)
			}
			got := sha256.Sum256(raw)
			sha, end, _ := strings.Cut(name, ".")
			if hex.EncodeToString(got[:]) != sha || end == "" {
				t.Errorf("%s is not what it is called", f.Name)
			}
			given = append(given, sha)
		}
		slices.Sort(given)
		if !slices.Equal(given, e.Photos) {
			t.Errorf("%s has %d photos and was given %d", client.Name, len(e.Photos), len(given))
		}
		total += len(given)
	}
	if total == 0 {
		t.Error("nobody has a photo")
	}
}
