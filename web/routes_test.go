package web

import (
	"flag"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"swardbook/store"
	"swardbook/web/route"
)

var update = flag.Bool("update", false, "write the goldens anew")

var golden = filepath.Join("..", "testdata", "routes.txt")

func (h *house) routes() []route.Route { return (&server{}).routes(h.deps) }

// TestRoutes holds the list of routes to the golden list: a new one shows in review, with who may use it.
func TestRoutes(t *testing.T) {
	h := newHouse(t)
	var b strings.Builder
	for _, line := range h.routes() {
		fmt.Fprintf(&b, "%-6s %-46s %s\n", line.Method, line.Pattern, line.Audience)
	}
	if *update {
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != string(want) {
		t.Errorf("routes changed; look at them, then run with -update:\n%s", b.String())
	}
}

// TestEveryRouteAdmitsItsAudience asks every route as nobody and as every role.
func TestEveryRouteAdmitsItsAudience(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	for _, line := range h.routes() {
		for _, role := range []store.Role{"", store.Crew, store.Manager, store.Owner} {
			path := concrete(line.Pattern, l)
			b := h.as(role)
			answer := b.send(line.Method, path, nil, map[string]string{"Sec-Fetch-Site": "same-origin"})
			name := fmt.Sprintf("%s %s as %q: %d", line.Method, path, role, answer.StatusCode)
			denied := deniedAs(line, role, answer)
			if line.Audience.Admits(role) == denied {
				t.Errorf("%s: denied %v", name, denied)
			}
			if !denied && answer.StatusCode >= 500 {
				t.Errorf("%s: %s", name, textOf(parsed(t, answer)))
			}
			if !denied && line.Method == "GET" && isPage(line.Pattern) && answer.StatusCode >= 400 && answer.StatusCode != http.StatusNotFound {
				t.Errorf("%s", name)
			}
			checkHeaders(t, name, answer)
		}
	}
}

func isPage(pattern string) bool { return !strings.HasPrefix(pattern, "/api/") }

// deniedAs tells the one right way to be turned away: 401 or 403 for the API and for presses, the sign-in page for a page.
func deniedAs(line route.Route, role store.Role, answer *http.Response) bool {
	switch {
	case role != "":
		return answer.StatusCode == http.StatusForbidden
	case line.Method == "GET" && isPage(line.Pattern):
		return answer.StatusCode == http.StatusSeeOther && strings.HasPrefix(answer.Header.Get("Location"), "/sign-in?next=")
	}
	return answer.StatusCode == http.StatusUnauthorized
}

// concrete puts things that are there into a pattern.
func concrete(pattern string, l lawn) string {
	return strings.NewReplacer(
		"{zone}", l.zones[0].ID, "{visit}", l.visit.ID, "{client}", l.client.ID, "{property}", l.property.ID, "{year}", "2026", "{person}", "id-crew",
		"season.csv", "season.csv?year=2026", "/season.json", "/season.json?year=2026", "season.xlsx", "season.xlsx?year=2026", "season.pdf", "season.pdf?year=2026", "seasons.zip", "seasons.zip?year=2026", "/static/*", "/static/css/look.css", "{link}", "none", "{token}", "none", "{sha}", strings.Repeat("ab", 32),
	).Replace(pattern)
}

func checkHeaders(t *testing.T, name string, answer *http.Response) {
	t.Helper()
	for header, want := range map[string]string{
		"Content-Security-Policy": policy, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "Clear-Site-Data": "",
	} {
		if got := answer.Header.Get(header); got != want {
			t.Errorf("%s: %s is %q", name, header, got)
		}
	}
	if answer.Header.Get("X-Request-Id") == "" {
		t.Errorf("%s: no request id", name)
	}
}

// TestPagesBearTheirPolicy finds what the policy would block: inline styles, scripts and handlers.
func TestPagesBearTheirPolicy(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	p := h.phone(store.Crew, "phone-1")
	c, one, _ := h.choice()
	p.reading(l.visit, l.zones[0], c.ID, one, "2026-08-27T10:30:00-04:00")
	p.handIn(l.visit, "2026-08-27T11:00:00-04:00")
	b := h.as(store.Owner)
	n := 0
	for _, line := range h.routes() {
		if line.Method != "GET" {
			continue
		}
		path := strings.ReplaceAll(concrete(line.Pattern, l), "{cause}", h.know.Bundle.Causes[0].ID)
		answer := b.get(path)
		if answer.StatusCode != http.StatusOK || !strings.HasPrefix(answer.Header.Get("Content-Type"), "text/html") {
			continue
		}
		n++
		doc := parsed(t, answer)
		for _, e := range every(doc, "") {
			if e.Data == "style" || e.Data == "script" && value(e, "src") == "" && value(e, "type") != "application/json" {
				t.Errorf("%s: inline %s", path, e.Data)
			}
			for _, a := range e.Attr {
				if a.Key == "style" || strings.HasPrefix(a.Key, "on") {
					t.Errorf("%s: attribute %s on %s", path, a.Key, e.Data)
				}
			}
		}
		onePageWell(t, path, doc)
	}
	if n < 14 {
		t.Errorf("only %d pages were looked at", n)
	}
}

// onePageWell holds every page to what a screen reader and a keyboard need.
func onePageWell(t *testing.T, path string, doc *html.Node) {
	t.Helper()
	if value(first(doc, "html"), "lang") == "" || textOf(first(doc, "title")) == "" {
		t.Errorf("%s: no language or no title", path)
	}
	if n := len(every(doc, "h1")); n != 1 {
		t.Errorf("%s: %d main headings", path, n)
	}
	seen := map[string]bool{}
	for _, e := range every(doc, "", "id") {
		id := value(e, "id")
		if seen[id] {
			t.Errorf("%s: two elements are called %s", path, id)
		}
		seen[id] = true
	}
	for _, e := range every(doc, "label", "for") {
		if !seen[value(e, "for")] {
			t.Errorf("%s: a label is for %q, which is not there", path, value(e, "for"))
		}
	}
	for _, e := range every(doc, "", "aria-describedby") {
		for id := range strings.FieldsSeq(value(e, "aria-describedby")) {
			if !seen[id] {
				t.Errorf("%s: described by %q, which is not there", path, id)
			}
		}
	}
	for _, e := range every(doc, "img") {
		if _, there := attr(e, "alt"); !there {
			t.Errorf("%s: a picture without words", path)
		}
	}
}
