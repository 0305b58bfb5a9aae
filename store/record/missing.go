package record

import (
	"slices"
	"strings"
	"time"

	"swardbook/diagnose/checks"
	"swardbook/store"
)

// Missing lists the items that the rules ask for and a record does not hold, in the order of the book. others are records that
// stand, of its day: they decide whether a shorter record of spots will do.
func (b *Book) Missing(a store.Application, m store.Material, f Firm, others []store.Application) []string {
	needed := map[string]bool{}
	for _, r := range b.RulesFor(m, f) {
		for _, id := range r.items(a, others) {
			needed[id] = true
		}
	}
	out := []string{}
	for _, it := range b.Items {
		if needed[it.ID] && !b.holds(a, m, it) {
			out = append(out, it.ID)
		}
	}
	return out
}

// holds reports whether a record has an item.
func (b *Book) holds(a store.Application, m store.Material, it Item) bool {
	switch it.Given {
	case GivenOffice:
		return true
	case GivenName:
		return !blank(a.Name)
	case GivenRegNo:
		return !blank(a.RegNo)
	case GivenAmounts:
		return everyZone(a, func(z store.AppliedZone) bool { return z.Amount > 0 })
	case GivenAreas:
		return everyZone(a, func(z store.AppliedZone) bool { return z.AreaSqFt > 0 })
	case GivenStart:
		return isTime(a.Start)
	case GivenEnd:
		return isTime(a.End)
	case GivenActive:
		return len(m.Actives) > 0
	case GivenReentry:
		return m.Limits.ReentryHours > 0 || m.Limits.ReentrySay != ""
	}
	_, ok := b.read(it, a.Items[it.ID])
	return ok
}

func everyZone(a store.Application, good func(store.AppliedZone) bool) bool {
	return len(a.Zones) > 0 && !slices.ContainsFunc(a.Zones, func(z store.AppliedZone) bool { return !good(z) })
}

func isTime(text string) bool {
	_, err := time.Parse(time.RFC3339, text)
	return err == nil
}

func blank(text string) bool { text = strings.TrimSpace(text); return text == "" || text == "-" }

// read reads what was typed for an item; false when it is blank or can't be read.
func (b *Book) read(it Item, typed string) (checks.Value, bool) {
	if it.Check == nil || blank(typed) {
		return checks.Value{}, false
	}
	v, problems := checks.Read(*it.Check, typed)
	for _, p := range problems {
		if !p.Ask {
			return v, false
		}
	}
	return v, !v.Blank
}

// number is what was typed for a measured item; false when it is not a number.
func (b *Book) number(a store.Application, id string) (float64, bool) {
	it, ok := b.Item(id)
	if !ok {
		return 0, false
	}
	v, ok := b.read(it, a.Items[id])
	if !ok || len(v.Numbers) == 0 {
		return 0, false
	}
	return v.Numbers[0], true
}

// AmountCheck is how an amount of a material is asked for and read: a number in the material's unit, or another of its kind.
func (b *Book) AmountCheck(unit string) checks.Check {
	c := checks.Check{ID: "amount", Kind: checks.Measure, Hard: &checks.Bounds{Low: 0, High: 1e6}, Decimals: 2}
	own, ok := b.Unit(unit)
	if !ok {
		own = Unit{ID: unit, Label: checks.Text{EN: unit}, Mul: 1, Div: 1}
	}
	c.Units = []checks.Unit{{ID: own.ID, Label: own.Label, Mul: 1, Div: 1}}
	for _, u := range b.Units {
		if u.ID != own.ID && u.Of == own.Of {
			c.Units = append(c.Units, checks.Unit{ID: u.ID, Label: u.Label, Mul: u.Mul * own.Div, Div: u.Div * own.Mul})
		}
	}
	return c
}

// Amount reads a typed amount in a unit; false when it can't be read.
func (b *Book) Amount(unit, typed string) (float64, bool) {
	if blank(typed) {
		return 0, false
	}
	v, problems := checks.Read(b.AmountCheck(unit), typed)
	for _, p := range problems {
		if !p.Ask {
			return 0, false
		}
	}
	return first(v.Numbers)
}

func first(list []float64) (float64, bool) {
	if len(list) == 0 {
		return 0, false
	}
	return list[0], true
}
