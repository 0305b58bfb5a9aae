package web

import (
	"net/url"
	"testing"
)

func beginning() url.Values {
	return url.Values{
		"firm": {"Example Lawns"}, "units": {"metric"}, "zone": {"Europe/Berlin"}, "name": {"Odile"}, "passcode": {passcode}, "again": {passcode},
	}
}

func TestAnEmptyDatabaseLeadsToItsBeginning(t *testing.T) {
	h := newEmptyHouse(t)
	b := h.as("")
	for _, path := range []string{"/", "/desk/", "/sign-in", "/field/", "/desk/clients/new", "/nowhere"} {
		answer := b.get(path)
		if answer.StatusCode != 303 || answer.Header.Get("Location") != "/setup" {
			t.Errorf("%s: %d %s", path, answer.StatusCode, answer.Header.Get("Location"))
		}
	}
	want(t, b.get("/static/css/look.css"), 200)
	want(t, b.get("/healthz"), 200)
	want(t, b.get("/api/v1/me"), 401)
	if n := len(every(b.page("/setup"), "input", "type=password")); n != 2 {
		t.Errorf("%d places for the passcode", n)
	}
}

func TestTheBeginningMakesFirmAndOwner(t *testing.T) {
	h := newEmptyHouse(t)
	answer := want(t, h.as("").post("/setup", beginning()), 303)
	owner := &browser{h: h, cookie: cookieOf(answer, "swardbook")}
	owner.page("/desk/people")
	firm, err := h.db.Firm(t.Context())
	if err != nil || firm.Name != "Example Lawns" || firm.Units != "metric" || firm.Zone != "Europe/Berlin" {
		t.Errorf("%+v, %v", firm, err)
	}
	again := h.as("").post("/setup", beginning())
	want(t, again, 409)
	if answer := h.as("").get("/setup"); answer.StatusCode != 303 || answer.Header.Get("Location") != "/" {
		t.Errorf("the beginning stays open: %d", answer.StatusCode)
	}
	want(t, h.as("").post("/sign-in", credentials("odile", passcode)), 303)
}

func TestWhatIsWrongAtTheBeginningIsSaidThere(t *testing.T) {
	h := newEmptyHouse(t)
	for _, c := range []struct{ input, typed, at string }{
		{"firm", " ", "firm"}, {"units", "furlongs", "units"}, {"zone", "Moon/Base", "zone"}, {"name", "", "name"},
		{"passcode", "short", "passcode"}, {"again", "three short wrods", "again"},
	} {
		form := beginning()
		form.Set(c.input, c.typed)
		doc := parsed(t, want(t, h.as("").post("/setup", form), 422))
		if textOf(first(doc, "span", "id=in-"+c.at+"-wrong")) == "" {
			t.Errorf("%s %q: nothing is said at %s", c.input, c.typed, c.at)
		}
		if n := len(every(doc, "span", "class=wrong")); n != 1 {
			t.Errorf("%s %q: %d sentences", c.input, c.typed, n)
		}
		if c.input != "firm" && value(first(doc, "input", "name=firm"), "value") != "Example Lawns" {
			t.Errorf("%s: the firm's name is lost", c.input)
		}
		if c.input != "units" {
			if _, chosen := attr(first(doc, "input", "value=metric"), "checked"); !chosen {
				t.Errorf("%s: what it is measured in is lost", c.input)
			}
		}
	}
	if empty, err := h.db.Empty(t.Context()); err != nil || !empty {
		t.Errorf("something was made: %v, %v", empty, err)
	}
}
