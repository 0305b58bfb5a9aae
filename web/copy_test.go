package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"swardbook/store"
)

// handsIn posts a file to the desk.
func (b *browser) handsIn(file []byte, status int) *html.Node {
	b.h.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	if file != nil {
		part, err := form.CreateFormFile("file", "swardbook-2026-08-28.json")
		if err == nil {
			_, err = part.Write(file)
		}
		if err != nil {
			b.h.t.Fatal(err)
		}
	}
	_ = form.Close()
	answer := b.send("POST", "/desk/copy", &body, map[string]string{"Content-Type": form.FormDataContentType(), "Sec-Fetch-Site": "same-origin"})
	return parsed(b.h.t, want(b.h.t, answer, status))
}

// savedCopy is what a phone hands over that never got a record through.
func (h *house) savedCopy(l lawn) []byte {
	h.t.Helper()
	c, typed := h.measured()
	op := map[string]any{
		"n": 1, "id": "0199-copied", "op": "create", "entity": "0199-copied", "base": 0, "form": "reading", "fver": 1, "author": h.people[store.Crew].ID,
		"hlc": fmt.Sprintf("%012x-0000-abcd", h.now.UnixMilli()), "at": h.now.Format(time.RFC3339), "photos": []any{},
		"body": map[string]any{"visit": l.visit.ID, "zone": l.zones[0].ID, "check": c.ID, "typed": typed, "edition": h.know.Edition},
	}
	ops, err := json.Marshal([]any{op})
	if err != nil {
		h.t.Fatal(err)
	}
	return fmt.Appendf(nil, `{"kind":"swardbook-copy","proto":1,"app":"b","device":"drowned","epoch":"","sent":%q,"ops":%s,"photos":[]}`, h.now.Format(time.RFC3339), ops)
}

func TestASavedCopyIsTakenInAtTheDesk(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Copied", "Lawn")
	b := h.as(store.Manager)
	b.page("/desk/copy")
	file := h.savedCopy(l)
	if say := textOf(b.handsIn(file, http.StatusOK)); !strings.Contains(say, "1 record in the copy; 1 of them new.") {
		t.Error(say)
	}
	if readings, err := h.db.Readings(t.Context(), l.visit.ID); err != nil || len(readings) != 1 || readings[0].Author != h.people[store.Crew].ID {
		t.Error(readings, err)
	}
	if say := textOf(b.handsIn(file, http.StatusOK)); !strings.Contains(say, "Nothing new") {
		t.Error(say)
	}
	for name, c := range map[string]struct {
		file   []byte
		status int
		say    string
	}{
		"no file":      {nil, http.StatusUnprocessableEntity, "Choose the file"},
		"another":      {[]byte(`{"kind":"recipe"}`), http.StatusUnprocessableEntity, "not a copy"},
		"a cut one":    {file[:len(file)-20], http.StatusUnprocessableEntity, "ends too early"},
		"an empty one": {[]byte(`{"kind":"swardbook-copy","proto":1,"device":"d","ops":[],"photos":[]}`), http.StatusOK, "holds no records"},
	} {
		if say := textOf(b.handsIn(c.file, c.status)); !strings.Contains(say, c.say) {
			t.Errorf("%s: %s", name, say)
		}
	}
}

// TestA3ASilentPhoneThatKeepsRecordsIsOnTheFirstPage until it speaks, or nobody waits for it any more.
func TestA3ASilentPhoneThatKeepsRecordsIsOnTheFirstPage(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	asks := func(unsent int) {
		t.Helper()
		body := fmt.Sprintf(`{"proto":1,"app":"b","device":"quiet-phone","epoch":"","sent":%q,"unsent":%d,"ops":[]}`, h.now.Format(time.RFC3339), unsent)
		want(t, h.as(store.Crew).send("POST", "/api/v1/ops", strings.NewReader(body), map[string]string{"Content-Type": "application/json"}), http.StatusOK)
	}
	on := func() bool { return strings.Contains(textOf(b.page("/desk/")), "silent for a day") }
	asks(7)
	if on() {
		t.Error("it was heard of just now")
	}
	h.now = h.now.Add(25 * time.Hour)
	if doc := b.page("/desk/"); !strings.Contains(textOf(doc), "7 records not received") || numberIn(t, doc) != 1 {
		t.Error(textOf(doc))
	}
	b.follow("/desk/silent/quiet-phone", nil)
	if on() {
		t.Error("nobody waits for it")
	}
	h.now = h.now.Add(time.Minute)
	asks(3)
	h.now = h.now.Add(25 * time.Hour)
	if !on() {
		t.Error("it spoke again, and is silent again")
	}
	asks(0)
	h.now = h.now.Add(25 * time.Hour)
	if on() {
		t.Error("it keeps nothing")
	}
}
