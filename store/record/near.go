package record

import (
	"slices"

	"swardbook/store"
)

// NearFrom is the share of a year's limit from which on a zone is said to be about to reach it. It is our own choice, common practice without a source:
// what is left is then less than an ordinary application.
const NearFrom = 0.8

// Nearing is a limit of a year that a zone is about to reach: nitrogen (the firm's own), an active ingredient or a product (the label's).
type Nearing struct {
	What       string // "n", "active" or "product"
	Name       string // of the active or the product
	Sum, Limit float64
	Unit       string // as agronomy has it, such as "lb/1000 ft2" or "lb/acre"
}

// Near lists the limits of the calendar year that a zone has come close to and not passed; what is passed stands on the record that passed it.
func (t ZoneTotal) Near(firm Firm) []Nearing {
	return t.near(firm.NYear, func(l store.Limits) bool { return !l.Rolling })
}

// NearRolling is Near for the labels whose year is any 365 days; t is what the zone got in the last 365.
func (t ZoneTotal) NearRolling() []Nearing {
	return t.near(0, func(l store.Limits) bool { return l.Rolling })
}

func (t ZoneTotal) near(nitrogen float64, counts func(store.Limits) bool) []Nearing {
	var out []Nearing
	add := func(n Nearing) {
		if n.Limit > 0 && n.Sum >= NearFrom*n.Limit*(1-1e-9) && n.Sum <= n.Limit*(1+1e-9) {
			out = append(out, n)
		}
	}
	add(Nearing{"n", "", t.Sum.N, nitrogen, "lb" + perThousand})
	for _, name := range sortedNames(t.Sum.Active) {
		add(Nearing{"active", name, t.Sum.Active[name], t.yearLimit(name, counts), "lb/acre"})
	}
	for _, id := range sortedNames(t.Sum.Product) {
		m := t.material(id)
		if !counts(m.Limits) {
			continue
		}
		add(Nearing{"product", m.Name, t.Sum.Product[id], m.Limits.Year, m.Unit + perThousand})
	}
	return out
}

const perThousand = "/1000 ft2"

// material is the newest version of a product that the zone got.
func (t ZoneTotal) material(id string) (m store.Material) {
	for _, l := range t.Lines {
		if l.Material.ID == id && l.Material.Version >= m.Version {
			m = l.Material
		}
	}
	return m
}

func sortedNames(m map[string]float64) []string {
	out := make([]string, 0, len(m))
	for name := range m {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}
