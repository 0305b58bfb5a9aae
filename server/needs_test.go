package main

import (
	"context"
	"fmt"
	"html"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/desk"
	"swardbook/web/route"
)

// firstPage is the desk's first page as a person sees it.
func firstPage(t *testing.T, h *house, who store.Person) string {
	t.Helper()
	d, err := desk.New(desk.Deps{DB: h.db, Intake: h.intake, Lessons: h.lessons, Photos: h.photos, Know: h.held.Know, Now: h.now, House: h})
	if err != nil {
		t.Fatal(err)
	}
	w := httptest.NewRecorder()
	if err := d.Needs(w, httptest.NewRequestWithContext(route.WithPerson(t.Context(), who), "GET", "/desk/", nil)); err != nil {
		t.Fatal(err)
	}
	return html.UnescapeString(w.Body.String())
}

var (
	section    = regexp.MustCompile(`(?s)<h2 id="h-([a-z]+)">(\d+)[^<]*</h2>.*?</section>`)
	navigation = regexp.MustCompile(`Needs you[^(<]*(?:<[^>]*>)*\((\d+)\)`)
)

// TestTheFirstPageSaysEveryReason of the invented firm's, and its numbers are those of its lists.
func TestTheFirstPageSaysEveryReason(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	layDemoIn(t, data)
	at, err := time.Parse(time.RFC3339, august)
	if err != nil {
		t.Fatal(err)
	}
	h, err := openHouse(t.Context(), config{data: data}, func() time.Time { return at }, silent())
	if err != nil {
		t.Fatal(err)
	}
	defer h.close()
	who, err := h.db.PersonByName(t.Context(), "Tamsin")
	if err != nil {
		t.Fatal(err)
	}
	before := sections(t, firstPage(t, h, who))
	if _, there := before["silent"]; there {
		t.Error("every phone spoke a moment ago")
	}
	keepSomething(t, h, "Jonah", 7)
	at = at.Add(25 * time.Hour)
	now := firstPage(t, h, who)
	lists := sections(t, now)
	for _, w := range []struct{ list, says string }{
		{"waiting", "Creek side: readings disagree on “Tug test”"},
		{"waiting", "Road bank: no response. "},
		{"waiting", "Back lawn: can't tell yet"},
		{"waiting", "North side under the maples: was “The grass is hungry for nitrogen” last time"},
		{"overdue", "past its window, which ended 15 Jul 2026"},
		{"overdue", "past its day"},
		{"near", "prodiamine: 1.32 lb on an acre of 1.5 lb on an acre"},
		{"wanting", "missing: Equipment"},
		{"silent", "7 records not received"},
	} {
		if !strings.Contains(lists[w.list], w.says) {
			t.Errorf("%s does not say %q: %s", w.list, w.says, lists[w.list])
		}
	}
	counted, rows := navigation.FindStringSubmatch(now), 0
	for name, list := range lists {
		if name != "ahead" && name != "back" {
			rows += strings.Count(list, "<tr") - 1 // but for the head
		}
	}
	if counted == nil || counted[1] != strconv.Itoa(rows) {
		t.Errorf("%v are counted, %d listed", counted, rows)
	}
}

// sections are the lists of the first page by name; the number in the head of each is that of its rows.
func sections(t *testing.T, page string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, m := range section.FindAllStringSubmatch(page, -1) {
		out[m[1]] = m[0]
		if n := strings.Count(m[0], "<tr") - 1; m[2] != strconv.Itoa(n) {
			t.Errorf("%s: the head says %s, there are %d rows", m[1], m[2], n)
		}
	}
	if len(out) < 4 {
		t.Fatalf("%d lists: %s", len(out), page)
	}
	return out
}

// keepSomething lets somebody's phone say that it keeps so many records, and send none.
func keepSomething(t *testing.T, h *house, name string, unsent int) {
	t.Helper()
	who, err := h.db.PersonByName(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	body := fmt.Sprintf(`{"proto":1,"app":"b","device":"a-phone-in-a-pocket","epoch":"","sent":%q,"unsent":%d,"ops":[]}`, h.now().Format(time.RFC3339), unsent)
	request, err := intake.Decode(strings.NewReader(body), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.intake.Push(context.Background(), intake.Sender{Person: who, Agent: "a phone"}, request); err != nil {
		t.Fatal(err)
	}
}
