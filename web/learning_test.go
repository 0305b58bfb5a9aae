package web

import (
	"bytes"
	"fmt"
	"io"
	"net/url"
	"strings"
	"testing"

	"swardbook/store"
)

// signedOff walks, confirms, rules out and signs off n lawns, each with one zone whose sod lifts without roots.
func (h *house) signedOff(n int) (visits []store.Visit) {
	h.t.Helper()
	p, b := h.phone(store.Crew, "phone-1"), h.as(store.Manager)
	for i := range n {
		l := h.lawn(fmt.Sprint("Lawn", i), "Back lawn")
		p.reading(l.visit, l.zones[0], "tug_test", "mat_lifts_no_roots", "2026-08-27T08:30:00-04:00")
		p.handIn(l.visit, "2026-08-27T09:00:00-04:00")
		path := "/desk/visits/" + l.visit.ID
		for cause, judgement := range map[string]string{"white_grubs": "confirmed", "unrooted_sod": "ruled out"} {
			b.follow(path+"/overrule", url.Values{"zone": {l.zones[0].ID}, "cause": {cause}, "judgement": {judgement}, "reason": {"Dug a square."}})
		}
		b.follow(path+"/sign-off", nil)
		visits = append(visits, l.visit)
	}
	return visits
}

func TestLearningBeginsEmptyAndSaysSo(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	doc := b.page("/desk/learning")
	if len(every(doc, "form", "action=/desk/learning/accept")) != 0 || !strings.Contains(textOf(doc), "few cases") {
		t.Errorf("without a case: %s", textOf(doc))
	}
	if doc := b.page("/desk/learning/scores"); len(every(doc, "svg", "class=curve")) != 0 || !strings.Contains(textOf(doc), "nothing to judge by") {
		t.Errorf("without a case: %s", textOf(doc))
	}
	want(t, b.post("/desk/learning/accept", url.Values{"token": {"guessed"}}), 409)
	want(t, b.post("/desk/learning/undo", url.Values{"learned": {"guessed"}}), 409)
	want(t, b.post("/desk/learning/undo", nil), 409)
}

func TestWhatIsLearnedCountsAfterAManagerAcceptsIt(t *testing.T) {
	h := newHouse(t)
	visits := h.signedOff(8)
	b := h.as(store.Manager)
	before := h.held.Know()
	then, err := h.db.LatestDiagnoses(t.Context(), visits[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	doc := b.page("/desk/learning")
	rows := every(first(doc, "table", "class=rows"), "a", "class=quiet")
	if len(rows) == 0 || !strings.Contains(textOf(doc), "8 zones of signed-off visits") || h.held.Know() != before {
		t.Fatalf("%d changes: %s", len(rows), textOf(doc))
	}
	token := value(first(doc, "input", "name=token"), "value")
	doc = b.follow("/desk/learning/accept", url.Values{"token": {token}})
	if !strings.Contains(textOf(doc), "Accepted.") {
		t.Errorf("nothing says so: %s", textOf(doc))
	}
	after := h.held.Know()
	was, _ := before.Cause("white_grubs")
	is, _ := after.Cause("white_grubs")
	if after.Edition == before.Edition || is.Rates["summer"] <= was.Rates["summer"] {
		t.Fatalf("rates %v, were %v", is.Rates, was.Rates)
	}
	answer := h.as(store.Crew).get("/api/v1/knowledge.json")
	if raw, _ := io.ReadAll(answer.Body); answer.Header.Get("ETag") != `"`+after.Edition+`"` || !bytes.Equal(raw, after.JSON) {
		t.Error("phones get other knowledge than the office weighs with")
	}
	now, err := h.db.LatestDiagnoses(t.Context(), visits[0].ID)
	if err != nil || len(now) != 1 || !bytes.Equal(now[0].Answer, then[0].Answer) || now[0].Edition != before.Edition {
		t.Errorf("a diagnosis of the past changed: %v", err)
	}
	want(t, b.post("/desk/learning/accept", url.Values{"token": {token}}), 409)

	fresh := h.lawn("Fresh", "Front lawn")
	p := h.phone(store.Crew, "phone-2")
	p.reading(fresh.visit, fresh.zones[0], "tug_test", "mat_lifts_no_roots", "2026-08-27T08:30:00-04:00")
	p.handIn(fresh.visit, "2026-08-27T09:00:00-04:00")
	if got, err := h.db.LatestDiagnoses(t.Context(), fresh.visit.ID); err != nil || len(got) != 1 || got[0].Edition != after.Edition {
		t.Errorf("the next visit was weighed with %+v, %v", got, err)
	}

	undo := first(b.page("/desk/learning"), "input", "name=learned")
	doc = b.follow("/desk/learning/undo", url.Values{"learned": {value(undo, "value")}})
	if !strings.Contains(textOf(doc), "Undone.") || !strings.Contains(textOf(doc), "undone") {
		t.Errorf("nothing says so: %s", textOf(doc))
	}
	if !bytes.Equal(h.held.Know().JSON, before.JSON) {
		t.Error("the knowledge is not what it was")
	}
}

func TestScoresShowTheCurveAndTheNumbersBehindIt(t *testing.T) {
	h := newHouse(t)
	h.signedOff(4)
	doc := h.as(store.Owner).page("/desk/learning/scores")
	curve := first(doc, "svg", "class=curve")
	rows := every(first(doc, "table"), "tr")
	points := every(curve, "circle")
	if len(points) == 0 || len(points) != len(rows)-1 {
		t.Errorf("%d points, %d rows", len(points), len(rows)-1)
	}
	if value(curve, "aria-label") == "" {
		t.Error("the curve has no words")
	}
	for _, tag := range []string{"circle", "line", "polyline", "text", "rect"} {
		for _, node := range every(curve, tag) {
			if _, has := attr(node, "style"); has {
				t.Errorf("a %s has a style of its own", tag)
			}
		}
	}
	text := textOf(doc)
	for _, wanted := range []string{"Visits signed off: 4", "Likelihoods to judge by: 8; turned out true: 4", "Likelihoods to judge by so far: 8", "Brier score"} {
		if !strings.Contains(text, wanted) {
			t.Errorf("no %q in %s", wanted, text)
		}
	}
}
