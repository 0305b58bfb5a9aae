package intake_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/store/sqlite"
)

// house is one office with a visit planned for Ana on a property with one zone.
type house struct {
	t     testing.TB
	db    *sqlite.DB
	know  *knowledge.Loaded
	svc   *intake.Service
	clock *clock

	owner, ana, ben     store.Person
	property, elsewhere store.Property
	front, far          store.Zone // of property, of elsewhere
	visit, bens, closed store.Visit
}

// clock stands still.
type clock struct{ at time.Time }

func (c *clock) now() time.Time { return c.at }

// always is knowledge that never changes.
func always(know *knowledge.Loaded, e intake.Engine) intake.Knowing {
	return func() (*knowledge.Loaded, intake.Engine) { return know, e }
}

var engineOf = sync.OnceValues(func() (*diagnose.Engine, error) {
	know, err := knowledge.Load()
	if err != nil {
		return nil, err
	}
	return diagnose.New(&know.Bundle)
})

func quiet() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }

func openHouse(t testing.TB) *house {
	t.Helper()
	h := &house{t: t, clock: &clock{at: time.Date(2026, 8, 27, 9, 0, 0, 0, time.UTC)}}
	ctx := t.Context()
	var err error
	h.know, err = knowledge.Load()
	h.must(err)
	engine, err := engineOf()
	h.must(err)
	h.db, err = sqlite.Open(ctx, filepath.Join(t.TempDir(), "t.db"), h.clock.now)
	h.must(err)
	h.fill()
	h.svc = intake.New(h.db, always(h.know, engine), intake.Options{Now: h.clock.now, Log: quiet()})
	t.Cleanup(func() {
		h.svc.Close()
		h.must(h.db.Close())
	})
	return h
}

func (h *house) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

func (h *house) fill() {
	ctx := h.t.Context()
	h.owner = store.Person{ID: "owner", Name: "Olga", Role: store.Owner, Lang: "en", Active: true, Hash: "x"}
	h.ana = store.Person{ID: "ana", Name: "Ana", Role: store.Crew, Lang: "es", Active: true, Hash: "x"}
	h.ben = store.Person{ID: "ben", Name: "Ben", Role: store.Crew, Lang: "en", Active: true, Hash: "x"}
	h.must(h.db.CreateFirm(ctx, store.Firm{Name: "Greenfield", Units: "us", Zone: "UTC"}, h.owner))
	h.must(h.db.AddPerson(ctx, h.ana))
	h.must(h.db.AddPerson(ctx, h.ben))
	h.must(h.db.AddClient(ctx, store.Client{ID: "client", Name: "Meadow"}))
	h.property = store.Property{ID: "home", Client: "client", Address: "1 Long Road", System: "present"}
	h.elsewhere = store.Property{ID: "shop", Client: "client", Address: "2 Short Road"}
	h.must(h.db.AddProperty(ctx, h.property))
	h.must(h.db.AddProperty(ctx, h.elsewhere))
	h.front = store.Zone{ID: "front", Property: "home", Name: "Front"}
	h.far = store.Zone{ID: "far", Property: "shop", Name: "Far"}
	h.must(h.db.AddZone(ctx, h.front))
	h.must(h.db.AddZone(ctx, h.far))
	h.visit = store.Visit{ID: "visit", Property: "home", Crew: "ana", Day: "2026-08-27", Order: 1, Why: "complaint", State: store.Planned}
	h.bens = store.Visit{ID: "bens", Property: "home", Crew: "ben", Day: "2026-08-27", Order: 1, Why: "routine", State: store.Planned}
	h.closed = store.Visit{ID: "done", Property: "home", Crew: "ana", Day: "2026-08-20", Order: 1, Why: "routine", State: store.SignedOff}
	h.must(h.db.AddVisit(ctx, h.visit))
	h.must(h.db.AddVisit(ctx, h.bens))
	h.must(h.db.AddVisit(ctx, h.closed))
}

// phone records as a phone does.
type phone struct {
	h      *house
	device string
	person store.Person
	n      int64
	ahead  time.Duration // of the office's clock
	ops    []map[string]any
}

func (h *house) phone(device string, p store.Person) *phone {
	return &phone{h: h, device: device, person: p}
}

// op records one operation; with changes, if any, of its outer fields.
func (p *phone) op(form string, body any, changes ...any) string {
	p.n++
	now := p.h.clock.now().Add(p.ahead)
	id := fmt.Sprintf("%s-%d", p.device, p.n)
	op := map[string]any{
		"n": p.n, "id": id, "op": "create", "entity": id, "base": 0, "form": form, "fver": 1, "author": p.person.ID,
		"hlc": fmt.Sprintf("%012x-%04x-0001", now.UnixMilli(), p.n), "at": now.Format("2006-01-02T15:04:05.000Z07:00"), "body": body,
	}
	for i := 0; i < len(changes); i += 2 {
		op[changes[i].(string)] = changes[i+1]
	}
	p.ops = append(p.ops, op)
	return id
}

func (p *phone) read(zone, check, typed string, changes ...any) string {
	return p.op("reading", map[string]any{"visit": "visit", "zone": zone, "check": check, "typed": typed, "edition": p.h.know.Edition}, changes...)
}

// send pushes what was recorded since the last send.
func (p *phone) send() intake.Reply {
	p.h.t.Helper()
	reply, err := p.trySend(p.ops)
	p.h.must(err)
	p.ops = nil
	return reply
}

func (p *phone) trySend(ops []map[string]any) (intake.Reply, error) {
	p.h.t.Helper()
	if ops == nil {
		ops = []map[string]any{}
	}
	body, err := json.Marshal(map[string]any{
		"proto": 1, "app": "test", "device": p.device, "epoch": "", "ops": ops,
		"sent": p.h.clock.now().Add(p.ahead).Format("2006-01-02T15:04:05.000Z07:00"),
	})
	p.h.must(err)
	req, err := intake.Decode(bytes.NewReader(body), 0)
	p.h.must(err)
	return p.h.svc.Push(p.h.t.Context(), intake.Sender{Person: p.person, Agent: "test"}, req)
}

// codes are the reasons of a reply's attention list, by operation id.
func codes(r intake.Reply) map[string]string {
	out := map[string]string{}
	for _, a := range r.Attention {
		out[a.ID] = a.Code
	}
	return out
}
