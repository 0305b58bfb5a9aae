package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"

	"swardbook/store"
	"swardbook/web/route"
)

// broken is a field whose routes fail in every way.
type broken struct{ err error }

func (b broken) Routes() []route.Route {
	fail := func(http.ResponseWriter, *http.Request) error { return b.err }
	return []route.Route{
		{Method: "GET", Pattern: "/fails", Audience: route.Anyone, Handler: fail},
		{Method: "GET", Pattern: "/api/v1/fails", Audience: route.Anyone, Handler: fail},
		{Method: "GET", Pattern: "/panics", Audience: route.Anyone, Handler: func(http.ResponseWriter, *http.Request) error { panic("secret detail") }},
	}
}

func (h *house) breaking(t *testing.T, err error) *browser {
	t.Helper()
	d := h.deps
	d.Field = broken{err}
	handler, e := New(d)
	if e != nil {
		t.Fatal(e)
	}
	other := *h
	other.handler = handler
	return &browser{h: &other}
}

func TestEveryKindOfErrorHasItsAnswer(t *testing.T) {
	h := newHouse(t)
	for kind, status := range map[store.Kind]int{
		store.Internal: 500, store.NotFound: 404, store.Invalid: 422, store.Conflict: 409, store.Forbidden: 403, store.SignIn: 401,
		store.TooLarge: 413, store.Busy: 503, store.Outdated: 426,
	} {
		b := h.breaking(t, &store.Error{Kind: kind, Say: "A sentence for the person.", Err: errors.New("secret detail")})
		page := b.get("/fails")
		text := textOf(parsed(t, page))
		if page.StatusCode != status || strings.Contains(text, "secret") {
			t.Errorf("%v: %d %s", kind, page.StatusCode, text)
		}
		if kind != store.Internal && !strings.Contains(text, "A sentence for the person.") {
			t.Errorf("%v: the sentence is missing: %s", kind, text)
		}
		answer := b.get("/api/v1/fails")
		var said struct{ Error, Say string }
		if err := json.NewDecoder(answer.Body).Decode(&said); err != nil {
			t.Errorf("%v: %v", kind, err)
		}
		if answer.StatusCode != status || said.Error == "" || said.Say == "" || strings.Contains(said.Say, "secret") {
			t.Errorf("%v: %d %+v", kind, answer.StatusCode, said)
		}
	}
}

func TestAPanicIsACalmPageAndALineInTheLog(t *testing.T) {
	h := newHouse(t)
	b := h.breaking(t, nil)
	answer := want(t, b.get("/panics"), 500)
	text := textOf(parsed(t, answer))
	for _, never := range []string{"secret", "goroutine", ".go:", "panic"} {
		if strings.Contains(text, never) {
			t.Errorf("the page shows %q: %s", never, text)
		}
	}
	id := answer.Header.Get("X-Request-Id")
	if !strings.Contains(text, id) || !strings.Contains(h.log.String(), id) || !strings.Contains(h.log.String(), "secret detail") {
		t.Errorf("page and log do not meet in %s", id)
	}
	if answer.Header.Get("Content-Security-Policy") != policy {
		t.Error("the page has no policy")
	}
}

func TestTheLogNamesNobody(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	h.as(store.Manager).get("/desk/visits/" + l.visit.ID + "?zone=private")
	line := h.log.String()
	for _, wanted := range []string{"route=/desk/visits/{visit}", "status=200", "who=id-manager", "method=GET", "took="} {
		if !strings.Contains(line, wanted) {
			t.Errorf("no %s in %s", wanted, line)
		}
	}
	for _, never := range []string{"private", "Alder", "Household", "name=manager"} {
		if strings.Contains(line, never) {
			t.Errorf("the log says %s: %s", never, line)
		}
	}
}

func TestAnotherSitesFormIsRefused(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	for _, from := range []map[string]string{
		{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://evil.example"}, {"Origin": "null"},
	} {
		if answer := b.send("POST", "/sign-out", nil, from); answer.StatusCode != 403 {
			t.Errorf("%v: %d", from, answer.StatusCode)
		}
	}
	want(t, b.get("/api/v1/me"), 200)
	want(t, b.send("POST", "/sign-out", nil, map[string]string{"Sec-Fetch-Site": "same-origin"}), 303)
}

func TestBodiesAreBounded(t *testing.T) {
	h := newHouse(t)
	form := credentials("manager", strings.Repeat("x", maxForm))
	answer := h.as("").post("/sign-in", form)
	if answer.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("status %d", answer.StatusCode)
	}
}

func TestUnknownPathsAreSaidCalmly(t *testing.T) {
	h := newHouse(t)
	doc := parsed(t, want(t, h.as("").get("/desk/nowhere/at/all"), 404))
	if textOf(first(doc, "h1")) == "" {
		t.Error("no heading")
	}
	answer := h.as("").get("/api/v1/nowhere")
	if answer.StatusCode != 404 || !strings.HasPrefix(answer.Header.Get("Content-Type"), "application/json") {
		t.Errorf("%d %s", answer.StatusCode, answer.Header.Get("Content-Type"))
	}
	if answer := h.as("").send("DELETE", "/desk/", nil, nil); answer.StatusCode != 405 {
		t.Errorf("DELETE: %d", answer.StatusCode)
	}
}

func TestAProxyIsBelievedOnlyWhenTrusted(t *testing.T) {
	for _, c := range []struct {
		proxies []string
		want    string
	}{
		{nil, "192.0.2.1"},
		{[]string{"192.0.2.0/24"}, "203.0.113.9"},
		{[]string{"198.51.100.0/24"}, "192.0.2.1"},
	} {
		got := ""
		mux := chi.NewRouter()
		mux.Use(clientAddress(c.proxies))
		mux.Get("/", func(_ http.ResponseWriter, r *http.Request) { got = addressOf(r) })
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("X-Forwarded-For", "203.0.113.9")
		mux.ServeHTTP(httptest.NewRecorder(), r)
		if got != c.want {
			t.Errorf("%v: %q, want %q", c.proxies, got, c.want)
		}
	}
}
