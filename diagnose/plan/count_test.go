package plan_test

import (
	"math"
	"slices"
	"time"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/plan"
)

// dose is one material on one zone, as the test itself counts it.
type dose struct {
	zone, day string
	year      int
	m         plan.Material
	rate      agronomy.Quantity
}

func doses(in plan.Input, p plan.Plan) (planned, all []dose) {
	year := func(day string) int { d, _ := time.Parse(time.DateOnly, day); return d.Year() }
	for _, s := range p.Steps {
		for _, part := range s.Parts {
			for _, g := range part.Goods {
				at := slices.IndexFunc(in.Materials, func(m plan.Material) bool { return m.ID == g.Material })
				if at >= 0 && g.Rate != nil {
					planned = append(planned, dose{part.Zone, s.Day, year(s.Day), in.Materials[at], *g.Rate})
				}
			}
		}
	}
	all = slices.Clone(planned)
	for _, a := range in.Applied {
		for _, z := range a.Zones {
			if a.Rate != nil {
				all = append(all, dose{z, a.Day, year(a.Day), *a.Material, *a.Rate})
			}
		}
	}
	return planned, all
}

func (d dose) active(name string) float64 {
	for _, a := range d.m.Actives {
		if a.Name != name {
			continue
		}
		if a.Density != nil {
			gal, _ := d.rate.In("gal/acre")
			return gal * a.Density.Value
		}
		lb, _ := d.rate.In("lb/acre")
		return lb * a.Percent / 100
	}
	return 0
}

func (d dose) n() float64 {
	lb, err := d.rate.In("lb/1000 ft2")
	if err != nil || d.m.Grade == nil {
		return 0
	}
	return lb * d.m.Grade.N / 100
}

// limitsHold counts by itself: no dose above its label, no active above its year, no nitrogen above the firm's limit or one
// pound at once. What was put down before any plan may be over already; then nothing is added.
func limitsHold(t *rapid.T, in plan.Input, p plan.Plan) {
	planned, all := doses(in, p)
	for _, d := range planned {
		if top := d.m.Label.MaxRate; top != nil {
			if v, err := d.rate.In(top.Unit); err != nil || v > top.Value*(1+1e-6) {
				t.Errorf("%s at %v, its label allows %v", d.m.ID, d.rate, top)
			}
		}
		if d.n() > 1+1e-6 {
			t.Errorf("%v lb N at once", d.n())
		}
		sum := func(of func(dose) float64) float64 {
			total := 0.0
			for _, o := range all {
				if o.zone == d.zone && o.year == d.year {
					total += of(o)
				}
			}
			return total
		}
		for _, a := range d.m.Actives {
			is := sum(func(o dose) float64 { return o.active(a.Name) })
			if a.MaxYear != nil && is > a.MaxYear.Value*(1+1e-6) {
				t.Errorf("%s in %d: %v of %v", a.Name, d.year, is, a.MaxYear)
			}
			for _, l := range in.Limits {
				if l.Of == a.Name && is > l.Max.Value*(1+1e-6) {
					t.Errorf("%s in %d: %v, the firm's limit is %v", a.Name, d.year, is, l.Max)
				}
			}
		}
		for _, l := range in.Limits {
			if is := sum(dose.n); l.Of == "N" && d.n() > 0 && is > l.Max.Value*(1+1e-6) {
				t.Errorf("N in %d: %v, the firm's limit is %v", d.year, is, l.Max)
			}
		}
	}
}

// intervalsHold compares every two doses of one material, and every two kinds of work that a row keeps apart.
func intervalsHold(t *rapid.T, b *knowledge.Bundle, in plan.Input, p plan.Plan) {
	planned, all := doses(in, p)
	for i, d := range planned {
		for j, o := range all {
			if i != j && o.zone == d.zone && o.m.ID == d.m.ID && between(d.day, o.day) < d.m.Label.Interval {
				t.Errorf("%s on %s and %s", d.m.ID, d.day, o.day)
			}
		}
	}
	order := map[string]bool{}
	for _, s := range b.Planning.Sooner {
		order[s.First+" "+s.Then] = true
	}
	for _, s := range p.Steps {
		for _, o := range p.Steps {
			if s.ID == o.ID || s.Kind != plan.Do || o.Kind != plan.Do || !shareZone(s, o) {
				continue
			}
			for _, a := range b.Planning.Apart {
				gap := between(s.Day, o.Day)
				if slices.Contains(s.Works, a.First) && slices.Contains(o.Works, a.Then) && s.Day <= o.Day && gap < a.Days && !(gap == 0 && order[a.Then+" "+a.First]) {
					t.Errorf("%s: %s on %s, %s on %s", a.ID, s.ID, s.Day, o.ID, o.Day)
				}
			}
		}
	}
}

func shareZone(a, b plan.Step) bool {
	return slices.ContainsFunc(a.Parts, func(x plan.Part) bool {
		return slices.ContainsFunc(b.Parts, func(y plan.Part) bool { return x.Zone == y.Zone })
	})
}

func between(a, b string) int {
	x, _ := time.Parse(time.DateOnly, a)
	y, _ := time.Parse(time.DateOnly, b)
	return int(math.Abs(x.Sub(y).Hours()) / 24)
}

// addsUp: a step's goods are the sum of its zones, the loads the sum of the steps, in amounts and in cents.
func addsUp(t *rapid.T, p plan.Plan) {
	loads, cents := map[string]float64{}, int64(0)
	for _, s := range p.Steps {
		own := int64(0)
		for _, g := range s.Goods {
			sum, money := 0.0, int64(0)
			for _, part := range s.Parts {
				for _, x := range part.Goods {
					if x.Use == g.Use && x.Material == g.Material {
						money += x.Cents
						if x.Amount != nil {
							v, _ := x.Amount.In(g.Total.Unit)
							sum += v
						}
					}
				}
			}
			if g.Total != nil && math.Abs(g.Total.Value-sum) > 1e-9*sum || money != g.CostCents {
				t.Errorf("%s %s: %v and %d, its zones give %v and %d", s.ID, g.Use, g.Total, g.CostCents, sum, money)
			}
			if g.Total != nil {
				loads[g.Material] += sum
			}
			own += g.CostCents
		}
		if own != s.CostCents {
			t.Errorf("%s costs %d, its goods %d", s.ID, s.CostCents, own)
		}
		cents += own
	}
	for _, l := range p.Loads {
		if math.Abs(l.Total.Value-loads[l.Material]) > 1e-9*l.Total.Value {
			t.Errorf("load of %s is %v, the steps take %v", l.Material, l.Total, loads[l.Material])
		}
	}
	if cents != p.CostCents || len(p.Loads) != len(loads) {
		t.Errorf("cost %d of %d; %d loads of %d", p.CostCents, cents, len(p.Loads), len(loads))
	}
}
