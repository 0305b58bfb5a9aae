package record

import (
	"slices"

	"swardbook/diagnose/checks"
	"swardbook/store"
)

// Spot is a shorter list that will do where little ground was treated: with these items in place of the rule's own.
type Spot struct {
	Rule     string   `json:"rule"`
	Item     string   `json:"item"`      // whose answer says how it was put down
	Answer   string   `json:"answer"`    // on spots
	MostSqFt float64  `json:"most_sqft"` // all spots of the day together, less than this
	Items    []string `json:"items"`
	Source   string   `json:"source"`
}

// items are what a rule asks of a record. others are records of the same day that stand.
func (r Rule) items(a store.Application, others []store.Application) []string {
	if r.Spot != nil && r.Spot.allows(a, others) {
		return r.Spot.Items
	}
	return r.Items
}

// allows says whether the shorter record will do: spots, and together with those that the same person treated on that day on
// less ground than the rule names. Ground that nobody measured may be more.
func (s Spot) allows(a store.Application, others []store.Application) bool {
	ground, known := s.ground(a)
	if !known {
		return false
	}
	for _, o := range others {
		if o.ID == a.ID || o.ID == a.Corrects || o.Author != a.Author || o.Day != a.Day {
			continue
		}
		if more, ok := s.ground(o); ok {
			ground += more
		}
	}
	return ground < s.MostSqFt
}

// ground is what a record of spots covers; false when it is none, or a zone has no area.
func (s Spot) ground(a store.Application) (sqft float64, ok bool) {
	if a.Items[s.Item] != s.Answer || len(a.Zones) == 0 {
		return 0, false
	}
	for _, z := range a.Zones {
		if z.AreaSqFt <= 0 {
			return 0, false
		}
		sqft += z.AreaSqFt
	}
	return sqft, true
}

// Shorter are the rules of which the shorter record does for a.
func (b *Book) Shorter(a store.Application, m store.Material, f Firm, others []store.Application) []Rule {
	return slices.DeleteFunc(b.RulesFor(m, f), func(r Rule) bool { return r.Spot == nil || !r.Spot.allows(a, others) })
}

// fits says whether a shorter list hangs together with the items.
func (s Spot) fits(b *Book) bool {
	it, ok := b.Item(s.Item)
	for _, id := range s.Items {
		_, known := b.Item(id)
		ok = ok && known
	}
	return ok && it.Check != nil && s.MostSqFt > 0 && s.Source != "" && slices.ContainsFunc(it.Check.Options, func(o checks.Option) bool { return o.ID == s.Answer })
}
