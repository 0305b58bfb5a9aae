package storetest

import (
	"encoding/json"
	"fmt"
	"time"

	"swardbook/store"
)

// Phone records operations and keeps them all, as phones do.
type Phone struct {
	Device string
	Person string        // id of who uses it
	Ahead  time.Duration // of Clock: how wrong the phone's clock is
	Clock  *Clock
	Kept   []store.Item // number n at n-1

	house *House
}

// Phone gives a crew member a phone. Its clock stands in the Morning.
func (h *House) Phone(device, name string) *Phone {
	return &Phone{Device: device, Person: slug(name), Clock: NewClock(Morning), house: h}
}

// Reads records an answer and returns its item. Base is 0: the phone knows of no other answer.
func (p *Phone) Reads(visit, zone, check, typed string) *store.Item {
	it := p.add("reading", store.Place{Visit: visit, Zone: zone, Check: check, Typed: typed})
	it.Reading = &store.Reading{ID: it.ID, Visit: visit, Zone: zone, Check: check, Typed: typed, Author: p.Person, Device: p.Device, At: it.At}
	return it
}

// Moves records that a visit is under way or handed in.
func (p *Phone) Moves(visit string, to store.VisitState) *store.Item {
	it := p.add("visit", store.Place{Visit: visit})
	it.Visit = &store.VisitChange{Visit: visit, State: to, At: p.now()}
	return it
}

// Finds records a new zone.
func (p *Phone) Finds(visit, property, name string) *store.Item {
	it := p.add("zone", store.Place{Visit: visit})
	it.About.Zone = it.ID
	it.Zone = &store.Zone{ID: it.ID, Property: property, Name: name, Made: it.ID}
	return it
}

func (p *Phone) now() time.Time { return p.Clock.Now().Add(p.Ahead).UTC() }

func (p *Phone) add(kind string, about store.Place) *store.Item {
	n, now := int64(len(p.Kept)+1), p.now()
	it := store.Item{About: about, Op: store.Op{
		ID: fmt.Sprintf("%s-%d", p.Device, n), Device: p.Device, N: n, Kind: kind, Author: p.Person,
		HLC: fmt.Sprintf("%012x-%04x-0001", now.UnixMilli(), n), At: now.Format(time.RFC3339),
	}}
	it.Entity = it.ID
	it.Raw, _ = json.Marshal(map[string]any{"n": n, "id": it.ID, "form": kind, "body": about}) // texts and numbers always marshal
	p.Kept = append(p.Kept, it)
	return &p.Kept[n-1]
}

// Batch is what the phone would send of its numbers from first to last.
func (p *Phone) Batch(first, last int) store.Batch {
	return store.Batch{Device: p.Device, By: p.Person, App: "test", Agent: "test", Sent: p.now(), Items: p.Kept[first-1 : last]}
}

// Sends pushes everything that the office has not acknowledged, and fails the test when the office refuses.
func (p *Phone) Sends() store.PushResult {
	p.house.t.Helper()
	through, err := p.house.DB.Through(p.house.ctx(), p.Device)
	p.house.must(err)
	res, err := p.house.DB.Push(p.house.ctx(), p.Batch(int(through)+1, len(p.Kept)))
	p.house.must(err)
	if res.Hole || res.Fork {
		p.house.t.Fatalf("%s: %+v", p.Device, res)
	}
	return res
}
