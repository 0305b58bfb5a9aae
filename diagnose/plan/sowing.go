package plan

import (
	"fmt"
	"slices"

	"swardbook/diagnose/agronomy"
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

var (
	inPLS   = agronomy.Input{Name: "pure live seed wanted", Unit: "lb/1000 ft2", Range: agronomy.Above(0)}
	inPure  = agronomy.Input{Name: "purity", Unit: "fraction", Range: agronomy.AboveTo(0, 1)}
	inAlive = agronomy.Input{Name: "germination", Unit: "fraction", Range: agronomy.AboveTo(0, 1)}
)

const seedSource = "pure live seed = purity × germination: LSU AgCenter, Texas DOT, Penn State"

// seedRate is the seed of the bag that brings a rate of pure live seed.
func seedRate(m *Material, target agronomy.Quantity) (agronomy.Result, error) {
	if m.Seed == nil {
		return agronomy.Result{}, agronomy.Refuse("seed", "", "purity and germination from the tag")
	}
	s := agronomy.NewSheet("seed = pure live seed wanted ÷ (purity × germination)", seedSource)
	want := s.Take(inPLS, target)
	p, g := s.Take(inPure, agronomy.Q(m.Seed.Purity, "fraction")), s.Take(inAlive, agronomy.Q(m.Seed.Germination, "fraction"))
	s.Step("pure live seed", p*g, "fraction", "")
	return s.Number(want/(p*g), "lb/1000 ft2"), s.Err()
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
