package record

import (
	"cmp"
	"slices"

	"swardbook/store"
)

// Part is what went onto a piece of lawn: nutrients in lb per 1000 sq ft as the grade counts them (N, P2O5, K2O), active
// ingredients in lb per acre by their name without case, products in their own unit per 1000 sq ft by material.
type Part struct {
	N       float64            `json:"n"`
	P2O5    float64            `json:"p2o5"`
	K2O     float64            `json:"k2o"`
	Active  map[string]float64 `json:"active"`
	Product map[string]float64 `json:"product"`
}

func (p Part) plus(q Part) Part {
	return Part{p.N + q.N, p.P2O5 + q.P2O5, p.K2O + q.K2O, sum(p.Active, q.Active), sum(p.Product, q.Product)}
}

func sum(a, b map[string]float64) map[string]float64 {
	out := make(map[string]float64, len(a)+len(b))
	for k, v := range a {
		out[k] += v
	}
	for k, v := range b {
		out[k] += v
	}
	return out
}

// part is what one record put onto one zone. Without an area there is no rate, and it counts nothing.
func (b *Book) part(a store.Application, m store.Material, z store.AppliedZone) Part {
	p := Part{Active: map[string]float64{}, Product: map[string]float64{}}
	if z.AreaSqFt <= 0 || z.Amount <= 0 {
		return p
	}
	thousands := z.AreaSqFt / 1000
	amount := z.Amount
	if a.Unit != m.Unit {
		amount = b.convert(z.Amount, a.Unit, m.Unit)
	}
	p.Product[a.Material] = amount / thousands
	lb := b.Pounds(amount, m) / thousands
	p.N, p.P2O5, p.K2O = lb*m.Grade.N/100, lb*m.Grade.P2O5/100, lb*m.Grade.K2O/100
	for _, act := range m.Actives {
		p.Active[fold(act.Name)] += b.ActiveLb(amount, m, act) / z.AreaSqFt * sqFtPerAcre
	}
	return p
}

// Pounds is the weight of an amount of a material; 0 for a liquid of unknown density.
func (b *Book) Pounds(amount float64, m store.Material) float64 {
	u, ok := b.Unit(m.Unit)
	switch {
	case !ok:
		return 0
	case u.Of == "mass":
		return amount * u.Mul / u.Div
	}
	return amount * u.Mul / u.Div * m.Density
}

// ActiveLb is how much of an active ingredient is in an amount of a material, in lb.
func (b *Book) ActiveLb(amount float64, m store.Material, act store.Active) float64 {
	u, ok := b.Unit(m.Unit)
	if ok && u.Of == "volume" && act.LbPerGal > 0 {
		return amount * u.Mul / u.Div * act.LbPerGal
	}
	return b.Pounds(amount, m) * act.Percent / 100
}

func (b *Book) convert(amount float64, from, to string) float64 {
	x, ok := b.Unit(from)
	y, there := b.Unit(to)
	if !ok || !there || x.Of != y.Of {
		return amount
	}
	return amount * x.Mul / x.Div * y.Div / y.Mul
}

// Current leaves the records that stand: of a record and its corrections the latest, none when that withdraws it.
func Current(list []store.Application) []store.Application {
	root := map[string]string{}
	for _, a := range list {
		root[a.ID] = cmp.Or(a.Corrects, a.ID)
	}
	latest := map[string]store.Application{}
	for _, a := range list {
		key := root[a.ID]
		for root[key] != key && root[key] != "" { // a correction of a correction belongs to the first record
			key = root[key]
		}
		if old, ok := latest[key]; !ok || later(a, old) {
			latest[key] = a
		}
	}
	out := []store.Application{}
	for _, a := range list {
		for _, keep := range latest {
			if keep.ID == a.ID && !a.Withdrawn {
				out = append(out, a)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b store.Application) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Start, b.Start), cmp.Compare(a.ID, b.ID))
	})
	return out
}

func later(a, b store.Application) bool {
	if (a.Corrects == "") != (b.Corrects == "") {
		return a.Corrects != ""
	}
	return cmp.Or(cmp.Compare(a.Stamp, b.Stamp), cmp.Compare(a.ID, b.ID)) > 0
}

// ZoneTotal is what a zone got in a year.
type ZoneTotal struct {
	Zone  string
	Sum   Part
	Lines []Line
}

// Line is one record's share of a zone's total, for the working.
type Line struct {
	Application store.Application
	Material    store.Material
	Zone        store.AppliedZone
	Part        Part
}

// Totals adds up what each zone got in a calendar year, from the records that stand, in the order zones first appear.
func (b *Book) Totals(year string, current []store.Application, material func(id string, version int64) (store.Material, bool)) []ZoneTotal {
	return b.TotalsBetween(year+"-01-01", year+"-12-31", current, material)
}

// TotalsBetween is Totals from one day to another, both counted, such as "2026-05-01".
func (b *Book) TotalsBetween(from, to string, current []store.Application, material func(id string, version int64) (store.Material, bool)) []ZoneTotal {
	var out []ZoneTotal
	at := map[string]int{}
	for _, a := range current {
		if a.Day < from || a.Day > to {
			continue
		}
		m, _ := material(a.Material, a.Version)
		for _, z := range a.Zones {
			i, ok := at[z.Zone]
			if !ok {
				i = len(out)
				at[z.Zone] = i
				out = append(out, ZoneTotal{Zone: z.Zone, Sum: Part{Active: map[string]float64{}, Product: map[string]float64{}}})
			}
			line := Line{a, m, z, b.part(a, m, z)}
			out[i].Sum, out[i].Lines = out[i].Sum.plus(line.Part), append(out[i].Lines, line)
		}
	}
	return out
}

// YearLimit is the least of what labels allow of an active in a year, lb per acre; 0 when none names it.
func (t ZoneTotal) YearLimit(active string) float64 {
	return t.yearLimit(active, func(store.Limits) bool { return true })
}

// yearLimit is YearLimit by the labels that count.
func (t ZoneTotal) yearLimit(active string, counts func(store.Limits) bool) float64 {
	least := 0.0
	for _, l := range t.Lines {
		if !counts(l.Material.Limits) {
			continue
		}
		for _, act := range l.Material.Actives {
			if fold(act.Name) == fold(active) && act.YearLbA > 0 && (least == 0 || act.YearLbA < least) {
				least = act.YearLbA
			}
		}
	}
	return least
}
