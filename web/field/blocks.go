package field

import (
	"slices"
	"strings"

	"swardbook/store"
	"swardbook/store/shelf"
)

// blocks are the parts of packets that many of them share and that seldom change. In a morning's rush a packet is put together
// from them; only what was written since is read again.
type blocks struct {
	places   shelf.Shelf[placeBlock]
	readings shelf.Shelf[[]Reading]
	said     shelf.Shelf[saidBlock]
	rest     shelf.Shelf[restBlock]
}

// placeBlock is a property with its client, its zones, and the visits there.
type placeBlock struct {
	property Property
	client   Client
	zones    []store.Zone
	visits   []store.Visit // begun ones, the newest first
	put      []putDown
}

// saidBlock is what was said and planned for one visit.
type saidBlock struct {
	diagnoses []Diagnosis
	steps     []Step
}

// restBlock is what everybody's packet has alike.
type restBlock struct {
	materials    []store.Material
	calibrations []store.Calibration
	record       Record
}

// placeOf is what is shared of a property.
func (g *gatherer) placeOf(id string) (placeBlock, error) {
	mark := g.db.Changed(store.PropertyMark(id))
	return g.blocks.places.Get(id+" "+g.p.Days[0], mark, func() (b placeBlock, err error) {
		p, err := g.db.Property(g.ctx, id)
		if err != nil {
			return b, err
		}
		b.property = Property{ID: p.ID, Client: p.Client, Address: p.Address, System: p.System, Region: p.Region, Cautions: append([]string{}, p.Cautions...)}
		c, err := g.db.Client(g.ctx, p.Client)
		if err != nil {
			return b, err
		}
		b.client = Client{ID: c.ID, Name: c.Name, Photos: c.Photos}
		if b.zones, err = g.db.Zones(g.ctx, id); err != nil {
			return b, err
		}
		if b.visits, err = g.db.Visits(g.ctx, store.VisitFilter{Property: id}); err != nil {
			return b, err
		}
		b.visits = slices.DeleteFunc(b.visits, func(v store.Visit) bool { return v.State == store.Planned })
		slices.SortStableFunc(b.visits, func(x, y store.Visit) int { return strings.Compare(y.Day, x.Day) })
		b.put, err = g.putDownAt(id)
		return b, err
	})
}

// readingsOf are what the office has of a visit.
func (g *gatherer) readingsOf(v store.Visit) ([]Reading, error) {
	return g.blocks.readings.Get(v.ID, g.db.Changed(store.VisitMark(v.ID)), func() (out []Reading, err error) {
		list, err := g.db.Readings(g.ctx, v.ID)
		for _, r := range list {
			out = append(out, Reading(r))
		}
		return out, err
	})
}

// saidOf is what was said and planned for a visit.
func (g *gatherer) saidOf(v store.Visit) (saidBlock, error) {
	mark := g.db.Changed(store.SaidMark(v.ID), store.PropertyMark(v.Property))
	return g.blocks.said.Get(v.ID, mark, func() (b saidBlock, err error) {
		diagnoses, err := g.db.LatestDiagnoses(g.ctx, v.ID)
		if err != nil {
			return b, err
		}
		for _, d := range diagnoses {
			b.diagnoses = append(b.diagnoses, shortened(d))
		}
		b.steps, err = g.stepsOf(v.ID)
		return b, err
	})
}
