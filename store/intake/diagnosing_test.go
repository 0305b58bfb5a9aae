package intake_test

import (
	"context"
	"encoding/json"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/store"
	"swardbook/store/intake"
)

func (h *house) diagnosed(visit string) map[string]store.Diagnosis {
	h.t.Helper()
	list, err := h.db.LatestDiagnoses(h.t.Context(), visit)
	h.must(err)
	out := map[string]store.Diagnosis{}
	for _, d := range list {
		out[d.Zone] = d
	}
	return out
}

func (h *house) all() []store.Diagnosis {
	h.t.Helper()
	list, err := h.db.DiagnosesOfProperty(h.t.Context(), "home")
	h.must(err)
	return list
}

func TestAPushIsDiagnosedAfterwards(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "mat_lifts_no_roots")
	p.read("front", "grubs_sqft", "14")
	p.send()
	h.must(h.svc.Wait(t.Context()))
	d, ok := h.diagnosed("visit")["front"]
	if !ok {
		t.Fatal("no diagnosis")
	}
	var answer diagnose.Answer
	h.must(json.Unmarshal(d.Answer, &answer))
	if d.Edition != h.know.Edition || len(d.InputHash) != 64 || answer.Season != "summer" || len(answer.Causes) != len(h.know.Bundle.Causes) {
		t.Errorf("diagnosis %+v, season %s, %d causes", d.Edition, answer.Season, len(answer.Causes))
	}
	if lead := answer.Causes[0]; lead.ID != "white_grubs" || lead.Role != "primary" {
		t.Errorf("a mat without roots over grubs leads to %+v", lead)
	}
}

func TestNothingNewIsNotDiagnosedAgain(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	first := p.ops
	p.send()
	h.must(h.svc.Wait(t.Context()))
	_, err := p.trySend(first)
	h.must(err)
	p.read("front", "note", "along the drive") // says nothing to the engine
	p.send()
	h.svc.Queue("visit", "front")
	h.must(h.svc.Wait(t.Context()))
	if n := len(h.all()); n != 1 {
		t.Errorf("%d diagnoses of one set of findings", n)
	}
	p.read("front", "tug_test", "mat_lifts_no_roots")
	p.send()
	h.must(h.svc.Wait(t.Context()))
	if n := len(h.all()); n != 2 {
		t.Errorf("%d diagnoses after a correction, the first must stay", n)
	}
}

func TestAReadingOfTheWholeVisitTouchesItsZones(t *testing.T) {
	h := openHouse(t)
	h.must(h.db.AddZone(t.Context(), store.Zone{ID: "back", Property: "home", Name: "Back"}))
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	p.read("back", "tug_test", "firm")
	p.send()
	h.must(h.svc.Wait(t.Context()))
	before := h.diagnosed("visit")
	p.read("", "recent_weather", "hot_dry")
	if r := p.send(); len(r.Attention) != 0 {
		t.Fatalf("set aside: %+v", r.Attention)
	}
	h.must(h.svc.Wait(t.Context()))
	after := h.diagnosed("visit")
	for _, zone := range []string{"front", "back"} {
		if before[zone].InputHash == "" || before[zone].InputHash == after[zone].InputHash {
			t.Errorf("%s was not diagnosed anew", zone)
		}
	}
	if _, odd := after[""]; odd {
		t.Error("the whole visit was diagnosed as a zone")
	}
}

func TestAMissingZoneIsNotTheWholeVisit(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.op("reading", map[string]any{"visit": "visit", "check": "tug_test", "typed": "firm", "edition": "e"})
	if r := p.send(); len(r.Attention) != 1 || r.Attention[0].Code != "unknown_zone" {
		t.Errorf("%+v", r.Attention)
	}
}

// balky is an engine that has no answer.
type balky struct {
	err   error
	asked atomic.Int32
}

func (b *balky) Rank(c diagnose.Case) (diagnose.Answer, error) { return b.Diagnose(c) }

func (b *balky) Paths(diagnose.Case) (diagnose.Paths, error) { return diagnose.Paths{}, b.err }

func (b *balky) Diagnose(diagnose.Case) (diagnose.Answer, error) {
	b.asked.Add(1)
	if b.err == nil {
		panic("engine broke")
	}
	return diagnose.Answer{}, b.err
}

func TestImpossibleFindingsAreAnAnswer(t *testing.T) {
	h := openHouse(t)
	engine := &balky{err: &diagnose.Contradiction{Findings: []string{"tug_test", "crown_check"}}}
	h.withEngine(engine)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	p.send()
	h.must(h.svc.Wait(t.Context()))
	var no intake.NoAnswer
	h.must(json.Unmarshal(h.diagnosed("visit")["front"].Answer, &no))
	if !strings.Contains(no.Error, "can't all be true") {
		t.Errorf("stored %q", no.Error)
	}
	h.svc.Queue("visit", "")
	h.must(h.svc.Wait(t.Context()))
	if n := len(h.all()); n != 1 || engine.asked.Load() != 1 {
		t.Errorf("asked %d times, %d stored", engine.asked.Load(), n)
	}
}

func TestABrokenEngineHoldsUpNobody(t *testing.T) {
	h := openHouse(t)
	h.withEngine(&balky{})
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	if r := p.send(); r.Through != 1 {
		t.Errorf("reply %+v", r)
	}
	h.must(h.svc.Wait(t.Context()))
	if n := len(h.all()); n != 0 {
		t.Errorf("%d diagnoses", n)
	}
}

// withEngine opens another door with another engine on the same database.
func (h *house) withEngine(e intake.Engine) {
	h.svc.Close()
	h.svc = intake.New(h.db, always(h.know, e), intake.Options{Now: h.clock.now, Log: quiet()})
}

func TestCatchUpFindsWhatACrashLeft(t *testing.T) {
	h := openHouse(t)
	engine, err := engineOf()
	h.must(err)
	h.must(h.db.AddZone(t.Context(), store.Zone{ID: "back", Property: "home", Name: "Back"}))
	p := h.phone("d1", h.ana)
	p.op("visit", map[string]any{"visit": "visit", "state": "under way"})
	p.read("front", "tug_test", "firm")
	p.send()
	h.must(h.svc.Wait(t.Context()))
	h.svc.Close() // from here on pushes are durable and nobody diagnoses
	p.read("back", "tug_test", "mat_lifts_no_roots")
	p.send()
	h.withEngine(engine)
	if n := len(h.all()); n != 1 {
		t.Fatalf("%d diagnoses before catching up", n)
	}
	h.must(h.svc.CatchUp(t.Context()))
	h.must(h.svc.Wait(t.Context()))
	if got := h.diagnosed("visit"); len(got) != 2 || len(h.all()) != 2 {
		t.Errorf("after catching up: %d zones, %d diagnoses", len(got), len(h.all()))
	}
}

func TestCatchUpOfANewEditionChangesNothing(t *testing.T) {
	h := openHouse(t)
	engine, err := engineOf()
	h.must(err)
	p := h.phone("d1", h.ana)
	p.op("visit", map[string]any{"visit": "visit", "state": "under way"})
	p.read("front", "tug_test", "firm")
	p.send()
	h.must(h.svc.Wait(t.Context()))
	next := *h.know
	next.Edition = "ffffffffffffffff"
	h.svc.Close()
	h.svc = intake.New(h.db, always(&next, engine), intake.Options{Now: h.clock.now, Log: quiet()})
	h.must(h.svc.CatchUp(t.Context()))
	h.must(h.svc.Wait(t.Context()))
	if n := len(h.all()); n != 1 {
		t.Errorf("%d diagnoses: a new edition spoke without being asked", n)
	}
	p.read("front", "crown_check", "alive")
	p.send()
	h.must(h.svc.Wait(t.Context()))
	if d := h.diagnosed("visit")["front"]; d.Edition != next.Edition {
		t.Errorf("a new reading was weighed with edition %s", d.Edition)
	}
}

func TestPushOfManyOps(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	for range intake.MaxOps {
		p.read("front", "tug_test", "firm")
	}
	start := time.Now()
	if r := p.send(); r.Through != intake.MaxOps || len(r.Attention) != 0 {
		t.Errorf("reply %+v", r)
	}
	if took := time.Since(start); took > 10*time.Second {
		t.Errorf("500 operations took %v", took)
	}
}

func TestPushWhenTheRequestIsGone(t *testing.T) {
	h := openHouse(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := h.svc.Push(ctx, intake.Sender{Person: h.ana}, intake.Request{Device: "d1", Ops: []intake.Op{{N: 1, ID: "a", Raw: []byte(`{"n":1,"id":"a","body":{},"form":"reading","author":"ana","hlc":"0199b2c4d5e6-0000-3f9a","at":"2026-08-27T09:00:00Z"}`)}}})
	if err == nil || store.KindOf(err) == store.NotFound {
		t.Errorf("a request that is gone was answered: %v", err)
	}
}
