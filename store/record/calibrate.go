package record

import (
	"swardbook/diagnose/checks"
	"swardbook/store"
)

// feet is how a width or a length is read.
var feet = checks.Check{ID: "feet", Kind: checks.Measure, Hard: &checks.Bounds{Low: 0.1, High: 5000}, Units: []checks.Unit{
	{ID: "ft", Label: checks.Text{EN: "ft"}, Mul: 1, Div: 1}, {ID: "in", Label: checks.Text{EN: "in"}, Mul: 1, Div: 12}, {ID: "m", Label: checks.Text{EN: "m"}, Mul: 1, Div: 0.3048},
}}

// Rate reckons what a spreader or sprayer put out: collected ÷ (width × length) × 1000, in the calibration's unit per 1000
// sq ft; false when one of the three can't be read.
func (b *Book) Rate(c store.Calibration) (float64, bool) {
	collected, ok := b.Amount(c.Unit, c.Collected)
	width, wide := measured(feet, c.Width)
	length, long := measured(feet, c.Length)
	if !ok || !wide || !long {
		return 0, false
	}
	return collected / (width * length) * 1000, true
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
