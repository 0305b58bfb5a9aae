package web

import (
	"net/http"
	"strings"
	"testing"

	"swardbook/store"
)

// TestStepsOfNearbyDaysMakeOneVisit: a step goes onto a visit that is planned two days later, says so, and signing makes no visit
// of its own for it; a firm that wants every step on its best day gets that.
func TestStepsOfNearbyDaysMakeOneVisit(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	next := h.visit(l, "v-next", "2026-08-30")
	h.material(store.Material{ID: "tri", Kind: "insecticide", Name: "Trichlorfon 6.2 %", Unit: "lb", RegNo: "9-9", Uses: []string{"grub_curative"}, Rate: 3, Licence: true, Actives: []store.Active{{Name: "trichlorfon", Percent: 6.2}}})
	b := h.as(store.Manager)
	at := "/desk/visits/" + l.visit.ID + "/plan"
	doc := b.page(at)
	step := stepWith(t, doc, "Trichlorfon")
	if text := textOf(step); value(first(step, "input", "name=day"), "value") != "2026-08-30" || !strings.Contains(text, "by itself it would be on 28 Aug 2026") {
		t.Fatalf("not gathered onto the visit: %s", text)
	}
	lawn := typed(formTo(doc, "/desk/visits/"+l.visit.ID+"/lawn"))
	alone := clone(lawn)
	alone.Set("within", "0")
	step = stepWith(t, b.follow("/desk/visits/"+l.visit.ID+"/lawn", alone), "Trichlorfon")
	if value(first(step, "input", "name=day"), "value") != "2026-08-28" || strings.Contains(textOf(step), "by itself") {
		t.Fatalf("gathered against the firm's wish: %s", textOf(step))
	}
	alone.Set("within", "40")
	want(t, b.post("/desk/visits/"+l.visit.ID+"/lawn", alone), http.StatusUnprocessableEntity)
	sign := typed(formTo(b.follow("/desk/visits/"+l.visit.ID+"/lawn", lawn), at+"/sign"))
	sign.Set("crew", "id-crew")
	doc = b.follow(at+"/sign", sign)
	if href := value(first(stepWith(t, doc, "Trichlorfon"), "a"), "href"); href != "/desk/visits/"+next.ID {
		t.Errorf("the step turned into %s, not into the visit that is there", href)
	}
	steps, err := h.db.PlanSteps(t.Context(), next.ID)
	if err != nil || len(steps) == 0 {
		t.Errorf("%d steps on the visit, %v", len(steps), err)
	}
}
