package history

import (
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
)

// Metric is how a firm's units are named that works in metric ones.
const Metric = "metric"

// metricUnits are the ids of units of checks on the metric side; static/js/control.js has the same.
var metricUnits = []string{"mm", "cm", "m", "km", "g", "kg", "mL", "L", "C", "km/h", "m/s", "mm/h", "m2", "ha", "sqm", "cm/h"}

// ownUnit is the unit in which a firm reads a check's numbers: the first of its side, else the check's own.
func ownUnit(c checks.Check, metric bool) (u checks.Unit) {
	for i, x := range c.Units {
		if metric && slices.Contains(metricUnits, x.ID) {
			return x
		}
		if i == 0 {
			u = x
		}
	}
	return u
}

// Said is the reading's number in the firm's units, with the label of its unit.
func (r ReadingRecord) Said(metric bool) (float64, string) {
	if u := r.metric; metric && u.Mul != 0 {
		return rounded((*r.Number - u.Plus) * u.Div / u.Mul), u.Label.EN
	}
	return *r.Number, r.Unit
}

// in gives a number of what was put down in the firm's units: what is written in a table, and the unit beside it.
func in(x float64, unit string, metric bool) (float64, string) {
	was := strings.ReplaceAll(unit, "sq ft", "ft2")
	if q := agronomy.Q(x, was).Crew(metric); q.Unit != was {
		return rounded(q.Value), fileUnit(q.Unit)
	}
	return rounded(x), unit
}

// inUnitOf is in for a second number that stands in the unit of a first one.
func inUnitOf(first, x float64, unit string, metric bool) float64 {
	was := strings.ReplaceAll(unit, "sq ft", "ft2")
	if q, err := agronomy.Q(x, was).In(agronomy.Q(first, was).Crew(metric).Unit); err == nil && q != x {
		return rounded(q)
	}
	return rounded(x)
}

func fileUnit(unit string) string { return strings.ReplaceAll(agronomy.UnitWords(unit), " / ", "/") }

// rateIn says an amount on ground in the firm's units: "3.125 lb on 1000 sq ft", "15.2577 g on 1 m²".
func rateIn(x float64, unit string, metric bool) string {
	v, said := in(x, unit+"/1000 sq ft", metric)
	top, under, _ := strings.Cut(said, "/")
	if under == "m²" {
		under = "1 m²"
	}
	return Num(v).String() + " " + top + " on " + under
}

// prose puts metric figures beside the customary ones of a sentence, for a firm that works in them.
func prose(text string, metric bool) string {
	if metric {
		return agronomy.BesideMetric(text)
	}
	return text
}
