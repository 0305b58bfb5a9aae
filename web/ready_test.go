package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/web/watch"
)

// rebuilt makes the house's handler anew after change.
func (h *house) rebuilt(change func(*Deps)) {
	h.t.Helper()
	change(&h.deps)
	var err error
	if h.handler, err = New(h.deps); err != nil {
		h.t.Fatal(err)
	}
}

func TestReadyOnlyWhenRequestsMayCome(t *testing.T) {
	h := newEmptyHouse(t)
	want(t, h.as("").get("/readyz"), 200)
	h.rebuilt(func(d *Deps) {
		d.Ready = func(context.Context) error { return errors.New("the disk did not take a write") }
	})
	answer := want(t, h.as("").get("/readyz"), 503)
	raw, _ := io.ReadAll(answer.Body)
	if answer.Header.Get("Retry-After") == "" || bytes.Contains(raw, []byte("disk")) {
		t.Errorf("%s", raw)
	}
	want(t, h.as("").get("/healthz"), 200)
	if !strings.Contains(h.log.String(), "did not take a write") {
		t.Error("the log does not say why")
	}
}

func TestRequestsAreWatched(t *testing.T) {
	h := newHouse(t)
	w := watch.New(time.Now)
	h.rebuilt(func(d *Deps) { d.Watch = w })
	if err := h.db.Close(); err != nil {
		t.Fatal(err)
	}
	answer := h.as("").get("/healthz")
	list, n := w.Faults()
	if answer.StatusCode != 500 || n != 1 || list[0].ID != answer.Header.Get("X-Request-Id") || list[0].Route != "GET /healthz" {
		t.Errorf("%d %+v", answer.StatusCode, list)
	}
}

func TestRefusalsAreLoggedByKindAlone(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Owner)
	b.post("/desk/people", map[string][]string{"name": {"manager"}, "role": {"crew"}, "lang": {"en"}, "passcode": {passcode}, "again": {passcode}})
	b.get("/desk/clients/Odalys-Fenwright?q=her+number")
	b.post("/sign-in", credentials("Odalys Fenwright", passcode))
	text := h.log.String()
	for _, word := range []string{"Odalys", "Fenwright", "number", passcode, "called manager"} {
		if strings.Contains(text, word) {
			t.Errorf("the log says %q: %s", word, text)
		}
	}
	if !strings.Contains(text, "id-owner") || !strings.Contains(text, "kind=not_found") {
		t.Errorf("the log lacks who or which kind: %s", text)
	}
}

func TestARushIsSentAwayPolitely(t *testing.T) {
	goOn, begun := make(chan struct{}), make(chan struct{}, atOnce)
	handler := crowded()(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		begun <- struct{}{}
		<-goOn
	}))
	h := &house{t: t, handler: handler}
	b := &browser{h: h}
	results := make(chan *http.Response, atOnce+waitingLine+50)
	for range atOnce + waitingLine + 50 {
		go func() { results <- b.send("GET", "/", nil, nil) }()
	}
	for range atOnce {
		<-begun
	}
	for range 50 {
		answer := <-results
		if answer.StatusCode != 503 || answer.Header.Get("Retry-After") == "" {
			t.Fatalf("%d %v", answer.StatusCode, answer.Header)
		}
	}
	go func() {
		for range begun {
		}
	}()
	close(goOn)
	for range atOnce + waitingLine {
		if answer := <-results; answer.StatusCode != 200 {
			t.Fatalf("one who waited got %d", answer.StatusCode)
		}
	}
	close(begun)
}
