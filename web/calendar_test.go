package web

import (
	"io"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"swardbook/store"
)

// calendarAt makes an address for whoever b is and returns its path.
func (b *browser) calendarAt(path string) string {
	b.h.t.Helper()
	doc := parsed(b.h.t, want(b.h.t, b.post(path, url.Values{"how": {"make"}}), 200))
	_, token, ok := strings.Cut(textOf(first(doc, "code", "class=address")), "/cal/")
	if !ok {
		b.h.t.Fatalf("no address: %s", textOf(doc))
	}
	return "/cal/" + token
}

func (b *browser) calendar(path string) string {
	b.h.t.Helper()
	answer := want(b.h.t, b.get(path), 200)
	raw, err := io.ReadAll(answer.Body)
	if err != nil || !strings.HasPrefix(answer.Header.Get("Content-Type"), "text/calendar") || answer.Header.Get("X-Robots-Tag") == "" {
		b.h.t.Fatal(err, answer.Header)
	}
	return string(raw)
}

// signedSteps signs a plan with one step to come and one that is done.
func (h *house) signedSteps(l lawn) {
	h.t.Helper()
	body := `{"day":"2026-08-28","steps":[
		{"id":"a","kind":"do","do":{"en":"Core the compacted soil, two passes; pull plugs","es":"x"},"window":{"say":{"en":"late summer, soil moist","es":"x"},"from":"2026-09-01","to":"2026-10-15"}},
		{"id":"b","kind":"do","do":{"en":"Water deeply","es":"x"},"window":{"say":{"en":"","es":""}},"shows_from":"2026-09-10","shows_by":"2026-09-24","result":{"en":"Green returns","es":"x"}}]}`
	err := h.db.SignPlan(h.t.Context(), store.Plan{ID: "plan", Property: l.property.ID, Visit: l.visit.ID, By: "id-manager", Body: []byte(body), Steps: []store.PlanStep{
		{Plan: "plan", N: 0, Visit: l.visit.ID, State: store.StepPlanned}, {Plan: "plan", N: 1, Visit: l.visit.ID, State: store.StepPlanned}}}, nil)
	if err == nil {
		err = h.db.SetStep(h.t.Context(), "plan", 1, store.StepDone, "")
	}
	if err != nil {
		h.t.Fatal(err)
	}
}

func TestACalendarHoldsVisitsWindowsAndFollowUps(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	h.visit(l, "v-next", "2026-09-03")
	if err := h.db.MoveVisit(t.Context(), "v-next", "2026-09-03", "id-manager", 1); err != nil {
		t.Fatal(err)
	}
	h.signedSteps(l)
	owner, manager := h.as(store.Owner), h.as(store.Manager)
	nobody := h.as("")
	all, own := nobody.calendar(manager.calendarAt("/desk/calendar")), nobody.calendar(owner.calendarAt("/desk/people/id-crew/calendar"))
	if n := strings.Count(all, "BEGIN:VEVENT"); n != 4 {
		t.Errorf("a manager's has %d entries", n)
	}
	if n := strings.Count(own, "BEGIN:VEVENT"); n != 3 || strings.Contains(own, "v-next") {
		t.Errorf("a crew member's has %d entries:\n%s", n, own)
	}
	if strings.Contains(all, l.client.Name) {
		t.Error("a client's name is in it")
	}
	for i, line := range strings.SplitAfter(all, "\r\n") {
		if len(line) > 77 || strings.Contains(strings.TrimSuffix(line, "\r\n"), "\n") {
			t.Errorf("line %d is %q", i+1, line)
		}
	}
	read, err := ics.ParseCalendar(strings.NewReader(all))
	if err != nil || len(read.Events()) != 4 {
		t.Fatal(read, err)
	}
	sameAs(t, "testdata/calendar.ics", all)
}

func sameAs(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	raw, err := os.ReadFile(path)
	if err != nil || string(raw) != got {
		t.Errorf("%s differs: %v\n%s", path, err, got)
	}
}

func TestACalendarsAddressEnds(t *testing.T) {
	h := newHouse(t)
	h.lawn("Alder", "Back lawn")
	owner, nobody := h.as(store.Owner), h.as("")
	one := owner.calendarAt("/desk/people/id-crew/calendar")
	two := owner.calendarAt("/desk/people/id-crew/calendar")
	want(t, nobody.get(one), 404)
	nobody.calendar(two)
	h.now = h.now.Add(time.Hour)
	if text := textOf(owner.page("/desk/people/id-crew/calendar")); strings.Contains(text, "/cal/") || !strings.Contains(text, "Read last") {
		t.Errorf("the address is shown again, or not when it was read: %s", text)
	}
	owner.follow("/desk/people/id-crew/calendar", url.Values{"how": {"end"}})
	want(t, nobody.get(two), 404)
	want(t, owner.post("/desk/people/id-crew/calendar", url.Values{"how": {"end"}}), 404)
	three := owner.calendarAt("/desk/people/id-crew/calendar")
	if err := h.db.SetActive(t.Context(), "id-crew", false); err != nil {
		t.Fatal(err)
	}
	want(t, nobody.get(three), 404)
	want(t, owner.post("/desk/people/id-crew/calendar", url.Values{"how": {"make"}}), 409)
	want(t, nobody.get("/cal/none.ics"), 404)
	want(t, h.as(store.Manager).get("/desk/people/id-crew/calendar"), 403)
}
