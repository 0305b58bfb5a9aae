package web

import (
	"context"
	"image"
	"image/color"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	qr "github.com/piglig/go-qr"
	"golang.org/x/net/html"

	"swardbook/store"
	"swardbook/web/desk"
	"swardbook/web/watch"
)

var module = regexp.MustCompile(`M(\d+) (\d+)h`)

// readCode reads the square on a page as a phone's camera does.
func readCode(t *testing.T, doc *html.Node) string {
	t.Helper()
	side, err := strconv.Atoi(strings.Fields(value(first(doc, "svg", "class=qr"), "viewbox") + value(first(doc, "svg", "class=qr"), "viewBox"))[3])
	if err != nil {
		t.Fatal(err)
	}
	const scale = 6
	img := image.NewGray(image.Rect(0, 0, side*scale, side*scale))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, m := range module.FindAllStringSubmatch(value(first(first(doc, "svg", "class=qr"), "path"), "d"), -1) {
		x, _ := strconv.Atoi(m[1])
		y, _ := strconv.Atoi(m[2])
		for i := range scale * scale {
			img.SetGray(x*scale+i%scale, y*scale+i/scale, color.Gray{})
		}
	}
	text, err := qr.Decode(img)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestANewPhoneSignsInByCode(t *testing.T) {
	h := newHouse(t)
	owner := h.as(store.Owner)
	doc := parsed(t, want(t, owner.post("/desk/people/id-crew/code", nil), 200))
	link, err := url.Parse(readCode(t, doc))
	if err != nil || link.Path != "/sign-in/code" || link.Host != "example.com" || len(link.Fragment) != 32 || link.RawQuery != "" {
		t.Fatalf("%v %v", link, err)
	}
	phone := h.as("")
	page := phone.page("/sign-in/code")
	if _, hidden := attr(first(page, "form", "action=/sign-in/code"), "hidden"); !hidden {
		t.Error("the button shows without a code")
	}
	answer := want(t, phone.post("/sign-in/code", url.Values{"code": {link.Fragment}}), 303)
	if answer.Header.Get("Location") != "/field/" {
		t.Errorf("leads to %s", answer.Header.Get("Location"))
	}
	signed := &browser{h: h, cookie: cookieOf(answer, "swardbook")}
	want(t, signed.get("/api/v1/me"), 200)
	want(t, signed.get("/desk/"), 403)
	again := parsed(t, want(t, h.as("").post("/sign-in/code", url.Values{"code": {link.Fragment}}), 422))
	if text := textOf(again); !strings.Contains(text, "used already") {
		t.Error(text)
	}
	if strings.Contains(h.log.String(), link.Fragment) {
		t.Error("the code is in the log")
	}
	want(t, h.as(store.Manager).post("/desk/people/id-crew/code", nil), 403)
	slowed := false
	for range triesPerAddress + 1 {
		slowed = slowed || phone.post("/sign-in/code", url.Values{"code": {"guess"}}).StatusCode == 429
	}
	if !slowed {
		t.Error("codes may be guessed without end")
	}
}

func TestSigningOutEverywhereAndLeaving(t *testing.T) {
	h := newHouse(t)
	owner, crew := h.as(store.Owner), h.as(store.Crew)
	want(t, crew.get("/api/v1/me"), 200)
	owner.follow("/desk/people/id-crew/sign-out", nil)
	want(t, crew.get("/api/v1/me"), 401)
	crew = h.as(store.Crew)
	owner.follow("/desk/people/id-crew/active", url.Values{"how": {"leave"}})
	want(t, crew.get("/api/v1/me"), 401)
	want(t, h.as("").post("/sign-in", credentials("crew", passcode)), 422)
	want(t, owner.post("/desk/people/id-crew/code", nil), 409)
	owner.follow("/desk/people/id-crew/active", url.Values{"how": {"back"}})
	want(t, h.as("").post("/sign-in", credentials("crew", passcode)), 303)
	want(t, owner.post("/desk/people/id-owner/active", url.Values{"how": {"leave"}}), 409)
	want(t, h.as(store.Manager).post("/desk/people/id-crew/sign-out", nil), 403)
}

// standing is a house that knows of itself.
type standing desk.HouseState

func (s standing) State(context.Context) (desk.HouseState, error) { return desk.HouseState(s), nil }

func (h *house) withState(s standing) {
	h.t.Helper()
	o, err := desk.New(desk.Deps{DB: h.db, Intake: h.intake, Know: h.held.Know, Now: func() time.Time { return h.now }, House: s})
	if err != nil {
		h.t.Fatal(err)
	}
	h.rebuilt(func(d *Deps) { d.Desk = o })
}

func TestTheStateOfTheHouse(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	h.withState(standing{
		Database: 12_345_678, Started: h.now, Program: "v1", Failed: 3, Faults: []watch.Fault{{At: h.now, ID: "cafe01", Route: "GET /desk/"}},
		Backup: desk.BackupState{Folder: "/mnt/disk", Made: h.now.Add(-time.Hour), Rows: 4321, Photos: 17, Failed: true},
	})
	p := h.phone(store.Crew, "phone-1")
	c, one, _ := h.choice()
	p.reading(l.visit, l.zones[0], c.ID, one, "2026-08-27T10:30:00-04:00")
	owner := h.as(store.Owner)
	text := textOf(owner.page("/desk/house"))
	for _, wanted := range []string{"12.3 MB", "4321 rows and 17 photos", "/mnt/disk", "The last try failed", "cafe01", "GET /desk/", "crew", h.know.Edition[:12], "28 Aug, 10:00"} {
		if !strings.Contains(text, wanted) {
			t.Errorf("no %q in %s", wanted, text)
		}
	}
	want(t, h.as(store.Manager).get("/desk/house"), 403)
}

func TestALostPhoneIsWithdrawn(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	c, one, two := h.choice()
	p := h.phone(store.Crew, "phone-1")
	p.reading(l.visit, l.zones[0], c.ID, one, "2026-08-27T10:30:00-04:00")
	owner := h.as(store.Owner)
	doc := owner.follow("/desk/house/phones/phone-1", url.Values{"how": {"withdraw"}})
	if text := textOf(doc); !strings.Contains(text, "withdrawn 28 Aug") || !strings.Contains(text, "Hear it again") {
		t.Error(text)
	}
	want(t, p.b.get("/api/v1/pack"), 401)
	p.b = h.as(store.Crew) // signed in again, as whoever found it might
	push := strings.NewReader(`{"proto":1,"app":"test","device":"phone-1","epoch":"","sent":"2026-08-27T10:30:00Z","ops":[]}`)
	answer := want(t, p.b.send("POST", "/api/v1/ops", push, map[string]string{"Content-Type": "application/json"}), 401)
	if text := textOf(parsed(t, answer)); !strings.Contains(text, "withdrawn this phone") {
		t.Error(text)
	}
	want(t, owner.post("/desk/house/phones/phone-9", url.Values{"how": {"withdraw"}}), 404)
	want(t, owner.post("/desk/house/phones/phone-1", url.Values{"how": {"burn"}}), 422)
	want(t, h.as(store.Manager).post("/desk/house/phones/phone-1", url.Values{"how": {"again"}}), 403)
	owner.follow("/desk/house/phones/phone-1", url.Values{"how": {"again"}})
	p.reading(l.visit, l.zones[0], c.ID, two, "2026-08-27T10:31:00-04:00")
}

func TestWhoChangedWhat(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	h.twoPhones(l)
	h.as(store.Manager).follow("/desk/visits/"+l.visit.ID+"/sign-off", nil)
	owner := h.as(store.Owner)
	owner.follow("/desk/people/id-crew/sign-out", nil)
	doc := owner.page("/desk/audit")
	rows := every(first(doc, "tbody"), "tr")
	if len(rows) < 2 || !strings.Contains(textOf(rows[0]), "signed out everywhere") || !strings.Contains(textOf(rows[0]), "owner") || !strings.Contains(textOf(rows[0]), "crew") {
		t.Fatalf("%s", textOf(doc))
	}
	if text := textOf(rows[1]); !strings.Contains(text, "visit signed off") || !strings.Contains(text, "manager") || value(first(rows[1], "a"), "href") != "/desk/visits/"+l.visit.ID {
		t.Error(text)
	}
	rows = every(first(owner.page("/desk/audit?by=id-manager&what=visit.sign-off"), "tbody"), "tr")
	if len(rows) != 1 {
		t.Errorf("%d lines by the manager", len(rows))
	}
	if text := textOf(owner.page("/desk/audit?by=nobody")); !strings.Contains(text, "Nothing fits") {
		t.Error(text)
	}
	for range 100 {
		if err := h.db.EndSessionsOf(t.Context(), "id-crew"); err != nil {
			t.Fatal(err)
		}
	}
	older := first(owner.page("/desk/audit"), "a", "class=btn")
	if rows := every(first(owner.page(value(older, "href")), "tbody"), "tr"); len(rows) < 2 || len(rows) > 99 {
		t.Errorf("%d older lines behind %s", len(rows), value(older, "href"))
	}
	for _, role := range []store.Role{store.Manager, store.Crew} {
		want(t, h.as(role).get("/desk/audit"), http.StatusForbidden)
	}
}
