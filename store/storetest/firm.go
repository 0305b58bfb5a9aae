package storetest

import (
	"context"
	"fmt"
	"testing"

	"swardbook/store"
	"swardbook/store/sqlite"
)

// House is a firm in a database. Ids are names in lower case with dashes, such as "jonah" or "14-alder-rise".
type House struct {
	DB *sqlite.DB
	t  testing.TB
}

// Firm begins a firm; its first person must be the owner:
//
//	storetest.Firm(t, db).Owner("Iris").Manager("Tamsin").Crew("Jonah")
func Firm(t testing.TB, db *sqlite.DB) *House { return &House{DB: db, t: t} }

// must ends the test when the database refuses.
func (h *House) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

func (h *House) ctx() context.Context { return context.Background() }

func person(name string, role store.Role) store.Person {
	return store.Person{ID: slug(name), Name: name, Role: role, Lang: "en", Hash: "no passcode fits", Active: true}
}

// Owner makes the firm with its owner.
func (h *House) Owner(name string) *House {
	h.t.Helper()
	h.must(h.DB.CreateFirm(h.ctx(), store.Firm{Name: "Quillmere Lawns", Units: "us", Zone: "America/New_York"}, person(name, store.Owner)))
	return h
}

// Manager adds a manager.
func (h *House) Manager(name string) *House {
	h.t.Helper()
	h.must(h.DB.AddPerson(h.ctx(), person(name, store.Manager)))
	return h
}

// Crew adds someone who walks the lawns.
func (h *House) Crew(names ...string) *House {
	h.t.Helper()
	for _, name := range names {
		h.must(h.DB.AddPerson(h.ctx(), person(name, store.Crew)))
	}
	return h
}

// Client adds a client.
func (h *House) Client(name string) *Client {
	h.t.Helper()
	c := &Client{Client: store.Client{ID: slug(name), Name: name}, House: h}
	h.must(h.DB.AddClient(h.ctx(), c.Client))
	return c
}

// Client is a client with the house they are a client of.
type Client struct {
	store.Client
	House *House
}

// Property adds an address.
func (c *Client) Property(address string) *Property {
	c.House.t.Helper()
	p := &Property{Property: store.Property{ID: slug(address), Client: c.ID, Address: address}, House: c.House}
	c.House.must(c.House.DB.AddProperty(c.House.ctx(), p.Property))
	return p
}

// Property is an address with what was added to it.
type Property struct {
	store.Property
	House  *House
	Zones  []store.Zone
	visits int
}

// Zone adds a part of the lawn; its id is the property's and its name.
func (p *Property) Zone(name string) *Property {
	p.House.t.Helper()
	z := store.Zone{ID: slug(p.ID, name), Property: p.ID, Name: name, AreaSqFt: 1000}
	p.House.must(p.House.DB.AddZone(p.House.ctx(), z))
	p.Zones = append(p.Zones, z)
	return p
}

// Visit plans a visit on a day such as "2026-08-27" for a crew member, for nobody when the name is empty.
func (p *Property) Visit(day, crew string) store.Visit {
	p.House.t.Helper()
	p.visits++
	v := store.Visit{
		ID: fmt.Sprintf("%s-%s-%d", p.ID, day, p.visits), Property: p.ID, Crew: slug(crew), Day: day, Order: p.visits, Why: "complaint", State: store.Planned,
	}
	p.House.must(p.House.DB.AddVisit(p.House.ctx(), v))
	return v
}
