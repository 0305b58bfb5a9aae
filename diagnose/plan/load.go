package plan

import (
	"slices"

	"swardbook/diagnose/agronomy"
)

// finish adds up what the steps take, for the truck and in money. Totals are the sums of the zones, exactly.
func (r *run) finish(p *Plan) {
	p.Loads, p.CostCents = []Load{}, 0
	for i := range p.Steps {
		s := &p.Steps[i]
		s.Goods, s.CostCents = nil, 0
		for _, part := range s.Parts {
			for _, g := range part.Goods {
				r.addGood(s, g)
			}
		}
		for _, g := range s.Goods {
			s.CostCents += g.CostCents
			p.addLoad(r.material(g.Material), s.ID, g)
		}
		p.CostCents += s.CostCents
	}
}

func (r *run) material(id string) *Material {
	at := slices.IndexFunc(r.in.Materials, func(m Material) bool { return m.ID == id })
	if at < 0 || id == "" {
		return nil
	}
	return &r.in.Materials[at]
}

func (r *run) addGood(s *Step, g Good) {
	at := slices.IndexFunc(s.Goods, func(o Goods) bool { return o.Use == g.Use && o.Material == g.Material })
	if at < 0 {
		at = len(s.Goods)
		s.Goods = append(s.Goods, r.newGoods(g))
	}
	o := &s.Goods[at]
	o.CostCents += g.Cents
	if g.Amount == nil {
		return
	}
	if o.Total == nil {
		o.Total = &agronomy.Quantity{Unit: g.Amount.Unit}
	}
	if v, err := g.Amount.In(o.Total.Unit); err == nil {
		o.Total.Value += v
	}
}

func (r *run) newGoods(g Good) Goods {
	o := Goods{Use: g.Use, Material: g.Material}
	if u := r.uses[g.Use]; u != nil {
		o.Says = u.Label
	}
	m := r.material(g.Material)
	if m == nil {
		lacking := r.say("no_material", "use", o.Says)
		o.Lacking = &lacking
		return o
	}
	label := m.Label
	o.Name, o.Version, o.Label = m.Name, m.Version, &label
	if g.Amount == nil && g.Note.EN != "" {
		note := g.Note
		o.Lacking = &note
	}
	return o
}

func (p *Plan) addLoad(m *Material, step string, g Goods) {
	if m == nil || g.Total == nil {
		return
	}
	at := slices.IndexFunc(p.Loads, func(l Load) bool { return l.Material == m.ID })
	if at < 0 {
		at = len(p.Loads)
		p.Loads = append(p.Loads, Load{Material: m.ID, Version: m.Version, Name: m.Name, Total: agronomy.Quantity{Unit: g.Total.Unit}})
	}
	l := &p.Loads[at]
	if v, err := g.Total.In(l.Total.Unit); err == nil {
		l.Total.Value += v
	}
	l.CostCents += g.CostCents
	l.Steps = addOnce(l.Steps, step)
	l.packs(m)
}

// packs counts whole packs and what the stock lacks.
func (l *Load) packs(m *Material) {
	if m.Cost != nil {
		if v, err := l.Total.In(m.Cost.Pack.Unit); err == nil && m.Cost.Pack.Value > 0 {
			l.Packs = int(agronomy.Up(v / m.Cost.Pack.Value))
		}
	}
	if m.Stock != nil {
		if v, err := m.Stock.In(l.Total.Unit); err == nil && v < l.Total.Value {
			l.Short = &agronomy.Quantity{Value: l.Total.Value - v, Unit: l.Total.Unit}
		}
	}
}
