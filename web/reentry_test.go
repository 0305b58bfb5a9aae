package web

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"swardbook/store"
)

// TestReentryShowsUntilItIsOver: who must keep off and until when stands on the property, the visit and the client's link while it
// lasts, also while the visit on which it was put down is not signed off; then it is gone.
func TestReentryShowsUntilItIsOver(t *testing.T) {
	h := newHouse(t)
	l := h.signedGrubs()
	fresh := h.lawn("Birch", "Lawn") // nothing is signed off here
	m := h.material(store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}, Limits: store.Limits{ReentryHours: 4, ReentrySay: "until dry"}})
	p := h.phone(store.Crew, "phone-3")
	p.applied(l, m, "6", map[string]string{"applicator": "Crew"}, "2026-08-28T09:00:00-04:00")
	p.applied(fresh, m, "6", map[string]string{"applicator": "Crew"}, "2026-08-28T09:00:00-04:00")
	link, other := h.linkTo(l, "season 2026"), h.linkTo(fresh, "season 2026")
	b := h.as(store.Manager)
	see := func(when string, shown bool) {
		t.Helper()
		for name, text := range map[string]string{
			"the property":                textOf(b.page("/desk/properties/" + l.property.ID)),
			"the visit":                   textOf(b.page("/desk/visits/" + l.visit.ID)),
			"the client's link":           textOf(parsed(t, want(t, h.as("").get(link), http.StatusOK))),
			"a link with no signed visit": textOf(parsed(t, want(t, h.as("").get(other), http.StatusOK))),
		} {
			if got := strings.Contains(text, "24-0-11, until 28 Aug, 13:00 and until dry"); got != shown {
				t.Errorf("%s: %s says it: %v, want %v: %s", when, name, got, shown, text)
			}
		}
	}
	h.now = time.Date(2026, 8, 28, 14, 0, 0, 0, time.UTC) // ten o'clock there
	see("an hour later", true)
	h.now = time.Date(2026, 8, 28, 16, 59, 0, 0, time.UTC)
	see("a minute before", true)
	h.now = time.Date(2026, 8, 28, 17, 0, 0, 0, time.UTC)
	see("over", false)
}
