package plan

import (
	"fmt"
	"slices"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/seeding"
)

// bare is the cover in percent below which seed goes down at the rate of new turf.
const bare = 50

// seedTarget is the rate of pure live seed for the grass that is sown, in lb on 1000 sq ft: that of new turf where little or
// nothing is left.
func (r *run) seedTarget(t *task, newTurf bool) (*agronomy.Quantity, error) {
	g := r.grass(t.at, t.deed)
	if g == nil {
		return nil, fmt.Errorf("%s", r.say("no_grass", "zone", t.at.zone.Name).EN)
	}
	rate := g.SeedOver
	if cover, ok := r.role(t.at, "cover", "%"); newTurf || ok && cover < bare {
		rate = g.SeedNew
	}
	return &agronomy.Quantity{Value: rate, Unit: "lb PLS/1000 ft2"}, nil
}

// seedRate is the seed of the bag that brings a rate of pure live seed, after the share of it that is pure and alive.
func seedRate(m *Material, target agronomy.Quantity) ([]agronomy.Result, error) {
	if m.Seed == nil {
		return nil, agronomy.Refuse("seed", "", "purity and germination from the tag")
	}
	alive, err := seeding.PLS(agronomy.Q(m.Seed.Purity, "fraction"), agronomy.Q(m.Seed.Germination, "fraction"))
	if err != nil {
		return nil, err
	}
	rate, err := seeding.BulkRate(target, alive.Quantity())
	return []agronomy.Result{alive, rate}, err
}

// sows says whether a material is seed of a grass: that grass has the greatest share.
func (m *Material) sows(grass string) bool {
	if m.Seed == nil || len(m.Seed.Shares) == 0 {
		return false
	}
	top := slices.MaxFunc(m.Seed.Shares, func(a, b Share) int {
		switch {
		case a.Share < b.Share:
			return -1
		case a.Share > b.Share:
			return 1
		}
		return 0
	})
	return top.Grass == grass
}
