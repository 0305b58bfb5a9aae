package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/store/lessons"
	"swardbook/store/sqlite"
	"swardbook/web/desk"
	"swardbook/web/field"
)

const passcode = "three short words"

// shared is what is dear to make and never changes.
var shared = sync.OnceValue(func() (s struct {
	know *knowledge.Loaded
	hash string
	err  error
}) {
	if s.know, s.err = knowledge.Load(); s.err != nil {
		return s
	}
	s.hash, s.err = HashPasscode(passcode)
	return s
})

// house is the whole program over a real database, but for the network.
type house struct {
	t       *testing.T
	db      *sqlite.DB
	know    *knowledge.Loaded
	held    *diagnose.Held
	intake  *intake.Service
	handler http.Handler
	deps    Deps
	log     *bytes.Buffer
	now     time.Time
	people  map[store.Role]store.Person
}

// newEmptyHouse is a house without a firm.
func newEmptyHouse(t *testing.T) *house {
	t.Helper()
	s := shared()
	if s.err != nil {
		t.Fatal(s.err)
	}
	h := &house{t: t, know: s.know, log: &bytes.Buffer{}, now: time.Date(2026, 8, 28, 14, 0, 0, 0, time.UTC), people: map[store.Role]store.Person{}}
	clock := func() time.Time { return h.now }
	var err error
	if h.db, err = sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "swardbook.db"), clock); err != nil {
		t.Fatal(err)
	}
	dir, err := os.OpenRoot(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.NewTextHandler(h.log, nil))
	if h.held, err = diagnose.Hold(s.know); err != nil {
		t.Fatal(err)
	}
	h.intake = intake.New(h.db, func() (*knowledge.Loaded, intake.Engine) { return h.held.Now() }, intake.Options{Now: clock, Log: log})
	t.Cleanup(func() { h.intake.Close(); _ = h.db.Close(); _ = dir.Close() })
	photos := intake.NewPhotos(dir, h.db)
	phone, err := field.New(field.Deps{DB: h.db, Intake: h.intake, Photos: photos, Know: h.held.Know, Now: clock, Log: log})
	if err != nil {
		t.Fatal(err)
	}
	office, err := desk.New(desk.Deps{DB: h.db, Intake: h.intake, Photos: photos, Know: h.held.Know, Now: clock, Lessons: lessons.New(h.db, knowledge.Files(), h.held, clock, log)})
	if err != nil {
		t.Fatal(err)
	}
	h.deps = Deps{DB: h.db, Desk: office, Field: phone, Log: log, Now: clock}
	if h.handler, err = New(h.deps); err != nil {
		t.Fatal(err)
	}
	return h
}

// newHouse is a house with a firm and one person of each role.
func newHouse(t *testing.T) *house {
	t.Helper()
	h := newEmptyHouse(t)
	for _, role := range []store.Role{store.Owner, store.Manager, store.Crew} {
		p := store.Person{ID: "id-" + string(role), Name: string(role), Role: role, Lang: "en", Hash: shared().hash, Active: true}
		var err error
		if role == store.Owner {
			err = h.db.CreateFirm(t.Context(), store.Firm{Name: "Example Lawns", Units: "us", Zone: "America/New_York"}, p)
		} else {
			err = h.db.AddPerson(t.Context(), p)
		}
		if err != nil {
			t.Fatal(err)
		}
		h.people[role] = p
	}
	return h
}

// browser sends requests as one person, or as nobody.
type browser struct {
	h      *house
	cookie *http.Cookie
}

// as is a browser in which a person of this role is signed in; "" is nobody.
func (h *house) as(role store.Role) *browser {
	h.t.Helper()
	if role == "" {
		return &browser{h: h}
	}
	token := "token of " + string(role)
	sum := sha256.Sum256([]byte(token))
	err := h.db.EndSession(h.t.Context(), sum[:])
	if err == nil {
		err = h.db.AddSession(h.t.Context(), sum[:], h.people[role].ID, "test", sessionLife)
	}
	if err != nil {
		h.t.Fatal(err)
	}
	return &browser{h: h, cookie: &http.Cookie{Name: "swardbook", Value: token}}
}

func (b *browser) send(method, path string, body io.Reader, header map[string]string) *http.Response {
	b.h.t.Helper()
	r := httptest.NewRequestWithContext(context.Background(), method, path, body)
	for name, value := range header {
		r.Header.Set(name, value)
	}
	if b.cookie != nil {
		r.AddCookie(b.cookie)
	}
	w := httptest.NewRecorder()
	b.h.handler.ServeHTTP(w, r)
	return w.Result()
}

func (b *browser) get(path string) *http.Response {
	b.h.t.Helper()
	return b.send("GET", path, nil, nil)
}

func (b *browser) post(path string, form url.Values) *http.Response {
	b.h.t.Helper()
	return b.send("POST", path, strings.NewReader(form.Encode()), map[string]string{"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin"})
}

// follow posts, wants a 303 and gets where it leads.
func (b *browser) follow(path string, form url.Values) *html.Node {
	b.h.t.Helper()
	answer := b.post(path, form)
	if answer.StatusCode != http.StatusSeeOther {
		b.h.t.Fatalf("POST %s: %d %s", path, answer.StatusCode, textOf(parsed(b.h.t, answer)))
	}
	return parsed(b.h.t, want(b.h.t, b.get(answer.Header.Get("Location")), http.StatusOK))
}

func (b *browser) page(path string) *html.Node {
	b.h.t.Helper()
	return parsed(b.h.t, want(b.h.t, b.get(path), http.StatusOK))
}

func want(t *testing.T, answer *http.Response, status int) *http.Response {
	t.Helper()
	if answer.StatusCode != status {
		t.Fatalf("status %d, want %d: %s", answer.StatusCode, status, textOf(parsed(t, answer)))
	}
	return answer
}

func parsed(t *testing.T, answer *http.Response) *html.Node {
	t.Helper()
	doc, err := html.Parse(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// lawn is one client with one property, zones and a visit of the crew's.
type lawn struct {
	client   store.Client
	property store.Property
	zones    []store.Zone
	visit    store.Visit
}

func (h *house) lawn(name string, zones ...string) lawn {
	h.t.Helper()
	l := lawn{client: store.Client{ID: "c-" + name, Name: "Household " + name, Created: h.now}}
	l.property = store.Property{ID: "p-" + name, Client: l.client.ID, Address: "1 " + name + " Lane", System: "present", Cautions: []string{"Dog until noon"}, Created: h.now}
	err := h.db.AddClient(h.t.Context(), l.client)
	if err == nil {
		err = h.db.AddProperty(h.t.Context(), l.property)
	}
	for i, z := range zones {
		zone := store.Zone{ID: fmt.Sprintf("z-%s-%d", name, i), Property: l.property.ID, Name: z, AreaSqFt: 2150, Created: h.now.Add(time.Duration(i) * time.Second)}
		if err == nil {
			err = h.db.AddZone(h.t.Context(), zone)
		}
		l.zones = append(l.zones, zone)
	}
	if err != nil {
		h.t.Fatal(err)
	}
	l.visit = h.visit(l, "v-"+name, "2026-08-27")
	return l
}

func (h *house) visit(l lawn, id, day string) store.Visit {
	h.t.Helper()
	v := store.Visit{ID: id, Property: l.property.ID, Crew: h.people[store.Crew].ID, Day: day, Why: "complaint", Ask: "Brown since the heat", State: store.Planned}
	if err := h.db.AddVisit(h.t.Context(), v); err != nil {
		h.t.Fatal(err)
	}
	return v
}

// phone sends what a person records, as a phone does.
type phone struct {
	h      *house
	b      *browser
	author store.Person
	device string
	n      int
	photos []map[string]any // of the next record
}

func (h *house) phone(role store.Role, device string) *phone {
	return &phone{h: h, b: h.as(role), author: h.people[role], device: device}
}

// record sends one operation and returns its id.
func (p *phone) record(form, entity string, body map[string]any, at string) string {
	p.h.t.Helper()
	p.n++
	id := uuid.Must(uuid.NewV7()).String()
	if entity == "" {
		entity = id
	}
	t, err := time.Parse(time.RFC3339, at)
	if err != nil {
		p.h.t.Fatal(err)
	}
	op := map[string]any{
		"n": p.n, "id": id, "op": "create", "entity": entity, "base": 0, "form": form, "fver": 1, "author": p.author.ID,
		"hlc": fmt.Sprintf("%012x-%04x-%.4s", t.UnixMilli(), p.n, fmt.Sprintf("%x", sha256.Sum256([]byte(p.device)))), "at": at, "body": body,
	}
	if p.photos != nil {
		op["photos"], p.photos = p.photos, nil
	}
	epoch, err := p.h.db.Epoch(p.h.t.Context())
	if err != nil {
		p.h.t.Fatal(err)
	}
	push, err := json.Marshal(map[string]any{"proto": 1, "app": "test", "device": p.device, "epoch": epoch, "sent": p.h.now.Format(time.RFC3339Nano), "ops": []any{op}})
	if err != nil {
		p.h.t.Fatal(err)
	}
	answer := p.b.send("POST", "/api/v1/ops", bytes.NewReader(push), map[string]string{"Content-Type": "application/json"})
	if answer.StatusCode != http.StatusOK {
		raw, _ := io.ReadAll(answer.Body)
		p.h.t.Fatalf("push: %d %s", answer.StatusCode, raw)
	}
	return id
}

// reading records an answer to a check.
func (p *phone) reading(v store.Visit, zone store.Zone, check, typed, at string) string {
	p.h.t.Helper()
	return p.record("reading", "", map[string]any{"visit": v.ID, "zone": zone.ID, "check": check, "typed": typed, "edition": p.h.know.Edition}, at)
}

// photo records a photo of a zone and sends its bytes.
func (p *phone) photo(v store.Visit, zone store.Zone, raw []byte, at string) {
	p.h.t.Helper()
	sum := sha256.Sum256(raw)
	sha := hex.EncodeToString(sum[:])
	p.photos = []map[string]any{{"sha": sha, "size": len(raw), "type": "image/jpeg"}}
	p.reading(v, zone, "photo", sha, at)
	want(p.h.t, p.b.send("PATCH", "/api/v1/photos/"+sha, bytes.NewReader(raw), map[string]string{
		"Content-Type": "application/partial-upload", "Upload-Offset": "0", "Upload-Length": strconv.Itoa(len(raw)), "Upload-Media-Type": "image/jpeg"}), http.StatusNoContent)
}

// handIn hands a visit in and waits until it is weighed.
func (p *phone) handIn(v store.Visit, at string) {
	p.h.t.Helper()
	p.record("visit", v.ID, map[string]any{"visit": v.ID, "state": string(store.HandedIn)}, at)
	if err := p.h.intake.Wait(p.h.t.Context()); err != nil {
		p.h.t.Fatal(err)
	}
}

// choice is some check that is answered by one option, with two of its options.
func (h *house) choice() (checks.Check, string, string) {
	h.t.Helper()
	for _, c := range h.know.Bundle.Checks {
		if c.Kind == checks.Choice && len(c.Options) > 2 {
			return c, c.Options[1].ID, c.Options[2].ID
		}
	}
	h.t.Fatal("no choice in the catalogue")
	return checks.Check{}, "", ""
}

// measured is some check that takes one number, with a number it takes.
func (h *house) measured() (checks.Check, string) {
	h.t.Helper()
	for _, c := range h.know.Bundle.Checks {
		if c.Kind == checks.Measure && c.Hard != nil {
			return c, fmt.Sprint((c.Hard.Low + c.Hard.High) / 2)
		}
	}
	h.t.Fatal("no measure in the catalogue")
	return checks.Check{}, ""
}
