package intake_test

import (
	"encoding/json"
	"maps"
	"strings"
	"testing"
	"time"

	"swardbook/store"
)

func (h *house) current(visit string) map[string]string {
	h.t.Helper()
	readings, err := h.db.Readings(h.t.Context(), visit)
	h.must(err)
	out := map[string]string{}
	for _, r := range readings {
		if r.Current {
			out[r.Zone+"/"+r.Check] = r.Typed
		}
	}
	return out
}

func TestPushTakesReadingsAndAnswersInFixedShape(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	p.read("front", "core_depth_in", "3; 3 1/2; 4 in")
	reply := p.send()
	if reply.Through != 2 || reply.Status() != 200 || len(reply.Attention) != 0 {
		t.Errorf("reply %+v", reply)
	}
	want := map[string]string{"front/tug_test": "firm", "front/core_depth_in": "3; 3 1/2; 4 in"}
	if got := h.current("visit"); !maps.Equal(got, want) {
		t.Errorf("readings %v", got)
	}
	text, err := json.Marshal(reply)
	h.must(err)
	var shape map[string]any
	h.must(json.Unmarshal(text, &shape))
	for _, key := range []string{"epoch", "through", "seq", "now", "attention", "clash", "photos_missing"} {
		if shape[key] == nil {
			t.Errorf("%s is missing or null in %s", key, text)
		}
	}
	if strings.Contains(string(text), "null") {
		t.Errorf("null in %s", text)
	}
}

func TestPushOfNothingAsks(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	if r := p.send(); r.Through != 0 {
		t.Errorf("a new phone: %+v", r)
	}
	p.read("front", "tug_test", "firm")
	p.send()
	if r := p.send(); r.Through != 1 {
		t.Errorf("a known phone: %+v", r)
	}
}

func TestPushSetsAsideWithReasonAndTakesTheRest(t *testing.T) {
	h := openHouse(t)
	other := h.phone("d0", h.ben) // Ben has his own phone only
	other.op("visit", map[string]any{"visit": "bens", "state": "under way"})
	other.send()

	p := h.phone("d1", h.ana)
	body := func(visit, zone, check, typed string) map[string]any {
		return map[string]any{"visit": visit, "zone": zone, "check": check, "typed": typed, "edition": "e"}
	}
	want := map[string]string{}
	aside := func(code, id string) { want[id] = code }
	p.read("front", "tug_test", "firm")
	aside("unknown_check", p.read("front", "no_such_check", "1"))
	aside("unreadable", p.read("front", "thatch_in", "lots"))
	aside("wrong_unit", p.read("front", "thatch_in", "1 kg"))
	aside("out_of_bounds", p.read("front", "thatch_in", "90 in"))
	aside("unknown_option", p.read("front", "tug_test", "loose"))
	aside("unknown_zone", p.read("far", "tug_test", "firm"))
	aside("unknown_zone", p.read("nowhere", "tug_test", "firm"))
	aside("unknown_visit", p.op("reading", body("none", "front", "tug_test", "firm")))
	aside("not_yours", p.op("reading", body("bens", "front", "tug_test", "firm")))
	aside("signed_off", p.op("reading", body("done", "front", "tug_test", "firm")))
	aside("author", p.read("front", "tug_test", "firm", "author", "ben"))
	aside("author", p.read("front", "tug_test", "firm", "author", "nobody"))
	aside("future", p.read("front", "tug_test", "firm", "at", "2026-08-27T09:06:00Z"))
	aside("malformed", p.read("front", "tug_test", "firm", "at", "noon"))
	aside("malformed", p.read("front", "tug_test", "firm", "hlc", "noon"))
	aside("malformed", p.read("front", "tug_test", "firm", "base", -1))
	aside("malformed", p.op("reading", "not an object"))
	aside("malformed", p.op("reading", map[string]any{"visit": 7, "typed": []int{1}}))
	aside("unknown_kind", p.op("tractor", body("visit", "front", "", "")))
	aside("unknown_kind", p.read("front", "tug_test", "firm", "op", "delete"))
	aside("malformed", p.op("zone", map[string]any{"visit": "visit", "name": ""}))
	aside("malformed", p.op("zone", map[string]any{"visit": "visit", "name": strings.Repeat("ß", 81)}))
	aside("malformed", p.op("zone", map[string]any{"visit": "visit", "name": "x", "area_sqft": -1}))
	aside("malformed", p.op("zone", map[string]any{"visit": "visit", "name": "x", "property": "shop"}))
	aside("not_yours", p.op("zone", map[string]any{"visit": "bens", "name": "x"}))
	aside("malformed", p.op("visit", map[string]any{"visit": "visit", "state": "signed off"}))
	aside("unknown_visit", p.op("visit", map[string]any{"visit": "none", "state": "under way"}))
	p.read("front", "crown_check", "alive")
	reply := p.send()
	if reply.Through != p.n {
		t.Errorf("acknowledged up to %d of %d", reply.Through, p.n)
	}
	got := codes(reply)
	for id, code := range want {
		if got[id] != code {
			t.Errorf("%s: %q, want %q", id, got[id], code)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d set aside, want %d: %v", len(got), len(want), got)
	}
	for _, a := range reply.Attention {
		if !strings.Contains(a.Say, "kept") || strings.ContainsAny(a.Say, "{}") {
			t.Errorf("%s: %s", a.Code, a.Say)
		}
	}
	if now := h.current("visit"); !maps.Equal(now, map[string]string{"front/tug_test": "firm", "front/crown_check": "alive"}) {
		t.Errorf("taken in: %v", now)
	}
	open, err := h.svc.Attention(t.Context(), "ana")
	h.must(err)
	mine := 0
	for id := range want {
		if id != "" {
			mine++
		}
	}
	if len(open) == 0 || len(open) > mine {
		t.Errorf("Ana's open list has %d of %d", len(open), mine)
	}
	for _, a := range open {
		if a.Say == "" || want[a.ID] != a.Code {
			t.Errorf("listed %+v, want code %q", a, want[a.ID])
		}
	}
}

func TestPushKeepsTheBytesOfWhatItSetsAside(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.op("tractor", map[string]any{"speed": "9007199254740993", "odd": []any{nil, true}}, "author", "ana")
	sent, err := json.Marshal(p.ops[0])
	h.must(err)
	p.send()
	asides, err := h.db.Asides(t.Context(), store.AsideFilter{Open: true})
	h.must(err)
	if len(asides) != 1 || string(asides[0].Raw) != string(sent) {
		t.Errorf("kept %+v, sent %s", asides, sent)
	}
}

func TestPushNeverStopsAtAnOddRow(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	odd := []any{nil, true, -1, 1e300, "", " ", "\x00", "\ufffd", strings.Repeat("ß", 5000), []any{}, []any{nil}, map[string]any{}, map[string]any{"visit": 1}}
	for _, form := range []string{"reading", "zone", "visit"} {
		for _, field := range []string{"op", "entity", "base", "form", "author", "hlc", "at", "body", "photos"} {
			for _, value := range odd {
				p.op(form, map[string]any{"visit": "visit", "zone": "front", "check": "tug_test", "typed": "firm", "name": "x", "state": "under way"}, field, value)
			}
		}
		for _, field := range []string{"visit", "zone", "check", "typed", "edition", "name", "area_sqft", "property", "state"} {
			for _, value := range odd {
				body := map[string]any{"visit": "visit", "zone": "front", "check": "tug_test", "typed": "firm", "name": "x", "state": "under way"}
				body[field] = value
				p.op(form, body)
			}
		}
	}
	p.read("front", "crown_check", "alive")
	for rest := p.ops; len(rest) > 0; {
		part := rest[:min(len(rest), 100)]
		rest = rest[len(part):]
		r, err := p.trySend(part)
		if err != nil || r.Through != part[len(part)-1]["n"] {
			t.Fatalf("stopped at %d: %v", r.Through, err)
		}
	}
	if got := h.current("visit")["front/crown_check"]; got != "alive" {
		t.Errorf("the row behind them: %q", got)
	}
	ops, err := h.db.Ops(t.Context(), store.OpFilter{Device: "d1"})
	h.must(err)
	if int64(len(ops)) != p.n {
		t.Errorf("%d of %d kept", len(ops), p.n)
	}
}

func TestAttentionIsForOnePushAndStaysOnTheList(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "thatch_in", "lots")
	first := p.ops
	if r := p.send(); len(r.Attention) != 1 || r.Attention[0].N != 1 || r.Attention[0].Zone != "front" || r.Attention[0].Check != "thatch_in" {
		t.Errorf("attention %+v", r.Attention)
	}
	if r := p.send(); len(r.Attention) != 0 {
		t.Errorf("told again: %+v", r.Attention)
	}
	again, err := p.trySend(first) // the answer was lost
	h.must(err)
	if len(again.Attention) != 1 || again.Attention[0].Code != "unreadable" {
		t.Errorf("the same push again: %+v", again.Attention)
	}
	open, err := h.svc.Attention(t.Context(), "ana")
	h.must(err)
	if len(open) != 1 {
		t.Errorf("open %+v", open)
	}
	if none, err := h.svc.Attention(t.Context(), "ben"); err != nil || none == nil || len(none) != 0 {
		t.Errorf("Ben's list %+v, %v", none, err)
	}
}

func TestWhatWasTakenIsNotSetAsideWhenItComesAgain(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	first := p.ops
	p.send()
	h.must(h.db.AddReview(t.Context(), store.Review{ID: "r1", Visit: "visit", Kind: "sign off", By: "owner", At: h.clock.now()}))
	again, err := p.trySend(first)
	h.must(err)
	if len(again.Attention) != 0 || again.Through != 1 {
		t.Errorf("the same push after the sign-off: %+v", again)
	}
	p.read("front", "crown_check", "alive")
	if r := p.send(); len(r.Attention) != 1 || r.Attention[0].Code != "signed_off" {
		t.Errorf("a new reading after the sign-off: %+v", r)
	}
}

func TestZonesMadeOnThePhone(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	zone := p.op("zone", map[string]any{"visit": "visit", "property": "home", "name": "Behind the shed", "area_sqft": 420.5})
	p.read(zone, "tug_test", "firm")
	if r := p.send(); len(r.Attention) != 0 {
		t.Fatalf("in the same push: %+v", r.Attention)
	}
	p.read(zone, "crown_check", "alive")
	if r := p.send(); len(r.Attention) != 0 {
		t.Fatalf("in a later push: %+v", r.Attention)
	}
	made, err := h.db.Zone(t.Context(), zone)
	h.must(err)
	if made.Name != "Behind the shed" || made.AreaSqFt != 420.5 || made.Property != "home" || made.Made != zone {
		t.Errorf("zone %+v", made)
	}
}

func TestVisitMovesOn(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	for _, state := range []store.VisitState{store.UnderWay, store.HandedIn} {
		p.op("visit", map[string]any{"visit": "visit", "state": string(state)})
		if r := p.send(); len(r.Attention) != 0 {
			t.Fatalf("%s: %+v", state, r.Attention)
		}
		v, err := h.db.Visit(t.Context(), "visit")
		h.must(err)
		if v.State != state {
			t.Errorf("state %q, want %q", v.State, state)
		}
	}
}

func TestAPhoneHoursOffSetsNothingAside(t *testing.T) {
	h := openHouse(t)
	for device, ahead := range map[string]time.Duration{"fast": 5 * time.Hour, "slow": -5 * time.Hour, "years": 3 * 365 * 24 * time.Hour} {
		p := h.phone(device, h.ana)
		p.ahead = ahead
		p.read("front", "tug_test", "firm")
		if r := p.send(); len(r.Attention) != 0 {
			t.Errorf("%s: %+v", device, r.Attention)
		}
	}
}

func TestManagersMayWriteToAnyVisit(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.owner)
	p.read("front", "tug_test", "firm")
	if r := p.send(); len(r.Attention) != 0 {
		t.Errorf("%+v", r.Attention)
	}
}

func TestAPhoneHandedOnSendsForItsFormerUser(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	p.send()
	p.person = h.ben
	p.read("front", "crown_check", "alive", "author", "ana")
	if r := p.send(); len(r.Attention) != 0 {
		t.Errorf("Ana's reading sent in Ben's session: %+v", r.Attention)
	}
}

func TestHoleAndForkAreAnswers(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	p.send()
	p.n = 5
	p.read("front", "tug_test", "firm")
	hole := p.send()
	if !hole.Hole || hole.Status() != 409 || hole.Through != 1 {
		t.Errorf("hole %+v", hole)
	}
	text, _ := json.Marshal(hole)
	if !strings.Contains(string(text), `"through":1`) || strings.Contains(string(text), "fork") {
		t.Errorf("hole %s", text)
	}
	p.n = 0
	p.read("front", "tug_test", "firm", "id", "another")
	fork := p.send()
	if text, _ := json.Marshal(fork); !fork.Fork || fork.Status() != 409 || !strings.Contains(string(text), `"fork":true`) {
		t.Errorf("fork %s", text)
	}
}

func TestSameIDOtherContentIsAClash(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm", "id", "one")
	p.send()
	q := h.phone("d2", h.ana)
	q.read("front", "tug_test", "sod_piece_lifts", "id", "one")
	r := q.send()
	if r.Through != 1 || len(r.Clash) != 1 || r.Clash[0] != 1 {
		t.Errorf("clash %+v", r)
	}
}

func TestPhotosMissingAreAskedFor(t *testing.T) {
	h := openHouse(t)
	sha := strings.Repeat("ab", 32)
	loose := strings.Repeat("cd", 32)
	p := h.phone("d1", h.ana)
	p.read("front", "photo", sha, "photos", []any{map[string]any{"sha": sha, "size": 1000, "type": "image/jpeg"}})
	p.read("front", "photo", loose)
	r := p.send()
	if len(r.Attention) != 0 || len(r.PhotosMissing) != 2 {
		t.Fatalf("reply %+v", r)
	}
	h.must(h.db.PhotoDone(t.Context(), store.Photo{SHA: sha, Size: 1000, Type: "image/jpeg", Complete: true}))
	if r := p.send(); len(r.PhotosMissing) != 1 || r.PhotosMissing[0] != loose {
		t.Errorf("after one arrived: %v", r.PhotosMissing)
	}
}
