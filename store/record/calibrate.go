package record

import (
	"math"

	"swardbook/diagnose/checks"
	"swardbook/store"
)

// feet is how a width or a length is read.
var feet = checks.Check{ID: "feet", Kind: checks.Measure, Hard: &checks.Bounds{Low: 0.1, High: 5000}, Units: []checks.Unit{
	{ID: "ft", Label: checks.Text{EN: "ft"}, Mul: 1, Div: 1}, {ID: "in", Label: checks.Text{EN: "in"}, Mul: 1, Div: 12}, {ID: "m", Label: checks.Text{EN: "m"}, Mul: 1, Div: 0.3048},
}}

// Rate reckons what a spreader or sprayer put out: collected ÷ (width × length) × 1000, in the calibration's unit per 1000
// sq ft; false when one of the three can't be read. Without a sum collected, what the nozzles gave together counts.
func (b *Book) Rate(c store.Calibration) (float64, bool) {
	collected, ok := b.Amount(c.Unit, c.Collected)
	if blank(c.Collected) {
		collected, ok = sum64(b.catches(c))
	}
	width, wide := measured(feet, c.Width)
	length, long := measured(feet, c.Length)
	if !ok || !wide || !long {
		return 0, false
	}
	return collected / (width * length) * 1000, true
}

// Wanted is the rate that was wanted, in the calibration's unit per 1000 sq ft. A number alone is in that; g/m2, kg/100 m2,
// L/100 m2 and the like may stand behind it.
func (b *Book) Wanted(c store.Calibration) (float64, bool) {
	return measured(b.WantCheck(c.Unit), c.Want)
}

// ground are the units of rates on metric ground: how much of which unit of amounts lies on 1000 sq ft for one of it.
var ground = []struct {
	id, unit string
	on       float64
}{{"g/m2", "g", 92.90304}, {"g/100 m2", "g", 0.9290304}, {"kg/100 m2", "kg", 0.9290304}, {"L/100 m2", "L", 0.9290304}, {"mL/100 m2", "mL", 0.9290304}, {"mL/m2", "mL", 92.90304}}

// WantCheck is how a wanted rate is read: as an amount on 1000 sq ft, or on metric ground.
func (b *Book) WantCheck(unit string) checks.Check {
	c := b.AmountCheck(unit)
	c.ID = "want"
	own, ok := b.Unit(unit)
	for _, g := range ground {
		if u, known := b.Unit(g.unit); ok && known && u.Of == own.Of {
			c.Units = append(c.Units, checks.Unit{ID: g.id, Label: checks.Text{EN: g.id}, Mul: g.on * u.Mul * own.Div, Div: u.Div * own.Mul})
		}
	}
	return c
}

// Nozzle is what one nozzle gave in the time of the others.
type Nozzle struct {
	Caught float64 // in the calibration's unit
	Off    float64 // percent from the mean of all
	Worn   bool
}

// WornFrom is how far off the mean, in percent, a nozzle is replaced from: more than 10 % (LSU AgCenter, Sprayer calibration).
const WornFrom = 10

// Nozzles judges the catch of each nozzle against their mean; none for fewer than two, or where one can't be read.
func (b *Book) Nozzles(c store.Calibration) (mean float64, list []Nozzle) {
	caught := b.catches(c)
	total, ok := sum64(caught)
	if !ok || len(caught) < 2 || total <= 0 {
		return 0, nil
	}
	mean = total / float64(len(caught))
	for _, x := range caught {
		off := (x/mean - 1) * 100
		list = append(list, Nozzle{x, off, math.Abs(off) > WornFrom*slack})
	}
	return mean, list
}

// catches are the amounts of the nozzles; nil where one can't be read.
func (b *Book) catches(c store.Calibration) []float64 {
	if blank(c.Catches) {
		return nil
	}
	check := b.AmountCheck(c.Unit)
	check.Kind = checks.Repeated
	v, problems := checks.Read(check, c.Catches)
	for _, p := range problems {
		if !p.Ask {
			return nil
		}
	}
	return v.Numbers
}

func sum64(list []float64) (total float64, any bool) {
	for _, x := range list {
		total += x
	}
	return total, len(list) > 0
}

func measured(c checks.Check, typed string) (float64, bool) {
	if blank(typed) {
		return 0, false
	}
	v, problems := checks.Read(c, typed)
	for _, p := range problems {
		if !p.Ask {
			return 0, false
		}
	}
	return first(v.Numbers)
}
