package web

import (
	"net/http"
	"strings"
	"testing"

	"swardbook/store"
)

// The owner sees the lawn under its cause, the crew's visit, and a chart with its table; a manager does not see the page.
func TestTheOwnerSeesTheWholeBook(t *testing.T) {
	h := newHouse(t)
	l := h.signedGrubs()
	want(t, h.as(store.Manager).get("/desk/whole"), http.StatusForbidden)
	b := h.as(store.Owner)
	doc := b.page("/desk/whole?year=2026")
	causes := first(doc, "section", "aria-labelledby=h-causes")
	if text := textOf(first(causes, "table")); !strings.Contains(text, "Grubs eat the roots 0 0 1") {
		t.Errorf("the table behind the chart: %s", text)
	}
	if svg := first(causes, "svg", "class=scene"); !strings.Contains(textOf(svg), "Grubs eat the roots") {
		t.Errorf("the chart: %s", textOf(svg))
	}
	if text := textOf(first(first(doc, "section", "aria-labelledby=h-visits"), "table")); !strings.Contains(text, " 1 0") {
		t.Errorf("visits of the crew: %s", text)
	}
	if text := textOf(first(doc, "section", "aria-labelledby=h-risk")); !strings.Contains(text, "No lawn failed") {
		t.Errorf("one visit is no response twice: %s", text)
	}
	if text := textOf(b.page("/desk/whole?year=2020")); strings.Contains(text, l.property.Address) || !strings.Contains(text, "Nothing in this year") {
		t.Errorf("an empty year: %s", text)
	}
}
