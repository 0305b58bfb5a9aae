package web

import (
	"crypto/sha256"
	"crypto/tls"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"swardbook/store"
)

func cookieOf(answer *http.Response, name string) *http.Cookie {
	for _, c := range answer.Cookies() {
		if c.Name == name {
			return c
		}
	}
	return nil
}

func credentials(name, passcode string) url.Values {
	return url.Values{"name": {name}, "passcode": {passcode}}
}

func TestSigningIn(t *testing.T) {
	h := newHouse(t)
	for _, c := range []struct {
		name, passcode, next string
		status               int
		to                   string
	}{
		{"manager", passcode, "", 303, "/desk/"},
		{"Manager", passcode, "", 303, "/desk/"},
		{"crew", passcode, "", 303, "/field/"},
		{"owner", passcode, "/desk/people", 303, "/desk/people"},
		{"owner", passcode, "//evil.example/", 303, "/desk/"},
		{"owner", passcode, "https://evil.example/", 303, "/desk/"},
		{"owner", passcode, "/\\evil.example", 303, "/desk/"},
		{"owner", "three short word", "", 422, ""},
		{"nobody", passcode, "", 422, ""},
		{"", "", "", 422, ""},
	} {
		form := credentials(c.name, c.passcode)
		form.Set("next", c.next)
		answer := h.as("").post("/sign-in", form)
		if answer.StatusCode != c.status || answer.Header.Get("Location") != c.to {
			t.Errorf("%q to %q: %d %s", c.name, c.next, answer.StatusCode, answer.Header.Get("Location"))
		}
		cookie := cookieOf(answer, "swardbook")
		if (cookie != nil) != (c.status == 303) {
			t.Errorf("%q: cookie %v", c.name, cookie)
		}
		if cookie != nil && (!cookie.HttpOnly || cookie.SameSite != http.SameSiteLaxMode || cookie.Secure || cookie.MaxAge != 90*24*3600) {
			t.Errorf("%q: cookie %v", c.name, cookie)
		}
	}
}

func TestAWrongPasscodeKeepsTheNameAndNotThePasscode(t *testing.T) {
	h := newHouse(t)
	form := credentials("manager", "wrong passcode")
	form.Set("next", "/desk/clients")
	doc := parsed(t, want(t, h.as("").post("/sign-in", form), 422))
	if got := value(first(doc, "input", "name=name"), "value"); got != "manager" {
		t.Errorf("the name is %q", got)
	}
	if got := value(first(doc, "input", "name=passcode"), "value"); got != "" {
		t.Errorf("the passcode is sent back: %q", got)
	}
	if got := value(first(doc, "input", "name=next"), "value"); got != "/desk/clients" {
		t.Errorf("next is %q", got)
	}
	if textOf(first(doc, "span", "class=wrong")) == "" {
		t.Error("nothing is said")
	}
}

func TestASwitchedOffPersonStaysOut(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Crew)
	want(t, b.get("/api/v1/me"), 200)
	if err := h.db.SetActive(t.Context(), h.people[store.Crew].ID, false); err != nil {
		t.Fatal(err)
	}
	want(t, b.get("/api/v1/me"), 401)
	want(t, h.as("").post("/sign-in", credentials("crew", passcode)), 422)
}

func TestTriesAreCountedByNameAndByAddress(t *testing.T) {
	h := newHouse(t)
	b := h.as("")
	for i := range triesPerName {
		if answer := b.post("/sign-in", credentials("crew", "short")); answer.StatusCode != 422 {
			t.Fatalf("try %d: %d", i, answer.StatusCode)
		}
	}
	answer := want(t, b.post("/sign-in", credentials("Crew", passcode)), 429)
	if answer.Header.Get("Retry-After") == "" || textOf(first(parsed(t, answer), "span", "class=wrong")) == "" {
		t.Error("how long to wait is not said")
	}
	want(t, b.post("/sign-in", credentials("manager", passcode)), 303)
	slowed := false
	for i := range triesPerAddress {
		slowed = slowed || b.post("/sign-in", credentials("x"+string(rune('a'+i)), "short")).StatusCode == 429
	}
	if !slowed {
		t.Error("one address may try any number of names")
	}
}

func TestSigningInEndsTheSessionBefore(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Crew)
	answer := want(t, b.post("/sign-in", credentials("manager", passcode)), 303)
	want(t, b.get("/api/v1/me"), 401)
	fresh := &browser{h: h, cookie: cookieOf(answer, "swardbook")}
	want(t, fresh.get("/desk/"), 200)
}

func TestSigningOutEndsTheSessionAndNothingElse(t *testing.T) {
	h := newHouse(t)
	other := h.as(store.Manager)
	answer := want(t, h.as("").post("/sign-in", credentials("manager", passcode)), 303)
	b := &browser{h: h, cookie: cookieOf(answer, "swardbook")}
	out := want(t, b.post("/sign-out", nil), 303)
	if out.Header.Get("Clear-Site-Data") != "" {
		t.Error("signing out clears what is kept on the phone")
	}
	if c := cookieOf(out, "swardbook"); c == nil || c.MaxAge >= 0 {
		t.Errorf("the cookie stays: %v", c)
	}
	want(t, b.get("/api/v1/me"), 401)
	want(t, other.get("/api/v1/me"), 200)
}

func TestASessionLivesNinetyDaysFromItsLastUse(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Crew)
	start := h.now
	h.now = start.Add(80 * 24 * time.Hour)
	if answer := want(t, b.get("/api/v1/me"), 200); cookieOf(answer, "swardbook") == nil {
		t.Error("the cookie is not renewed")
	}
	h.now = start.Add(160 * 24 * time.Hour)
	want(t, b.get("/api/v1/me"), 200)
	h.now = start.Add(260 * 24 * time.Hour)
	want(t, b.get("/api/v1/me"), 401)
}

func TestTheTokenItselfIsNotStored(t *testing.T) {
	h := newHouse(t)
	answer := want(t, h.as("").post("/sign-in", credentials("crew", passcode)), 303)
	token := cookieOf(answer, "swardbook").Value
	if len(token) != 43 {
		t.Errorf("a token of %d characters", len(token))
	}
	if _, err := h.db.Session(t.Context(), []byte(token)); store.KindOf(err) != store.NotFound {
		t.Errorf("the token opens the table: %v", err)
	}
	sum := sha256.Sum256([]byte(token))
	if _, err := h.db.Session(t.Context(), sum[:]); err != nil {
		t.Error(err)
	}
}

func TestOverTLSTheCookieIsForThisHostAlone(t *testing.T) {
	h := newHouse(t)
	r := httptest.NewRequest("POST", "https://lawns.example/sign-in", strings.NewReader(credentials("crew", passcode).Encode()))
	r.TLS = &tls.ConnectionState{}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.handler.ServeHTTP(w, r)
	c := cookieOf(w.Result(), "__Host-swardbook")
	if c == nil || !c.Secure || c.Path != "/" || c.Domain != "" || !c.HttpOnly {
		t.Errorf("cookie %v", c)
	}
	if w.Result().Header.Get("Strict-Transport-Security") == "" {
		t.Error("TLS is not insisted on")
	}
}

func TestLocalPath(t *testing.T) {
	for next, want := range map[string]string{
		"/desk/visits/v1?zone=z": "/desk/visits/v1?zone=z", "": "", "desk": "", "//x": "", "/\\x": "", "\\x": "", "http://x/": "",
		"/a\nb": "", "javascript:alert(1)": "", "/%2f%2fx": "/%2f%2fx",
	} {
		if got := localPath(next); got != want {
			t.Errorf("localPath(%q) = %q, want %q", next, got, want)
		}
	}
}

// TestTheDoorSpeaksSpanish: nobody is known at the door, so the browser says which language it is.
func TestTheDoorSpeaksSpanish(t *testing.T) {
	h := newHouse(t)
	for lang, says := range map[string]string{"es-MX,es;q=0.9,en;q=0.8": "Su nombre", "en-US": "Your name", "": "Your name"} {
		r := httptest.NewRequest("GET", "/sign-in", nil)
		r.Header.Set("Accept-Language", lang)
		w := httptest.NewRecorder()
		h.handler.ServeHTTP(w, r)
		if body := w.Body.String(); !strings.Contains(body, says) || !strings.Contains(body, `lang="`+lang[:min(2, len(lang))]) {
			t.Errorf("%q is answered with %.300s", lang, body)
		}
	}
}
