package desk

import (
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/web/page"
)

// metric reports whether the firm works in metric units.
func (a asking) metric() bool { return a.firm.Units == "metric" }

// says writes a quantity in the firm's units; nothing for none.
func (a asking) says(q *agronomy.Quantity) string {
	if q == nil {
		return ""
	}
	return asGiven(q.Crew(a.metric()))
}

// amount is says for a number with its unit.
func (a asking) amount(x float64, unit string) string {
	return asGiven(agronomy.Q(x, unit).Crew(a.metric()))
}

// unit is the firm's unit in place of another, as a crew reads it.
func (a asking) unit(of string) string {
	return agronomy.UnitWords(agronomy.Q(1, of).Crew(a.metric()).Unit)
}

// rate writes an amount on ground in the firm's units: "5 lb on 1000 sq ft", "24.41 g on 1 m²".
func (a asking) rate(x float64, unit string) string {
	q := agronomy.Q(x, unit).Crew(a.metric())
	top, under, found := strings.Cut(q.Unit, "/")
	if !found || under == "h" {
		return asGiven(q)
	}
	return figure(q.Value) + " " + agronomy.UnitWords(top) + " " + a.words.T("on."+strings.ReplaceAll(under, " ", ""))
}

// prose puts metric figures beside the customary ones of a sentence, for a firm that works in them.
func (a asking) prose(text string) string {
	if !a.metric() {
		return text
	}
	return agronomy.BesideMetric(text)
}

// in is prose for a text in the reader's language.
func (a asking) in(t checks.Text) string { return a.prose(t.In(a.words.Lang)) }

// worked is a working as lines, with the number in the firm's unit at its end where that is another.
func (a asking) worked(q *agronomy.Quantity, lines []string) []string {
	if q == nil || len(lines) == 0 {
		return lines
	}
	if own := q.Crew(a.metric()); own != *q {
		return append(lines[:len(lines):len(lines)], a.words.T("units.same", "given", asGiven(*q), "own", asGiven(own)))
	}
	return lines
}

// asGiven writes a quantity in its own unit.
func asGiven(q agronomy.Quantity) string {
	return strings.TrimSpace(figure(q.Value) + " " + agronomy.UnitWords(q.Unit))
}

// measures reads numbers with or without a unit out of a form, and keeps what was typed with its unit by the input's name.
type measures struct {
	a     asking
	form  *page.Form
	given map[string]string
}

func measuring(a asking, form *page.Form) *measures { return &measures{a, form, map[string]string{}} }

// read gives the number in a unit; a number alone is in the firm's unit. Nothing typed is 0.
func (m *measures) read(name, unit string, low, high float64) float64 {
	typed := m.form.V(name)
	if typed == "" {
		return 0
	}
	own := agronomy.Q(1, unit).Crew(m.a.metric()).Unit
	q, ok := agronomy.ReadQuantity(typed, own, parseDecimal)
	x, err := q.In(unit)
	if !ok || err != nil || x < low || x > high {
		m.form.Say(name, m.a.words.T("measure.wrong", "low", m.a.amount(low, unit), "high", m.a.amount(high, unit)))
		return 0
	}
	if q.Unit != unit || m.a.metric() {
		m.given[name] = filled(q.Value) + " " + agronomy.UnitWords(q.Unit)
	}
	return x
}

// shown is a number as its input shows it: as it was given; else in the unit it is kept in, which is said where the firm's is
// another one.
func (a asking) shown(given map[string]string, name string, x float64, unit string) string {
	if text := given[name]; text != "" {
		return text
	}
	if x == 0 || !a.metric() {
		return filled(x)
	}
	return filled(x) + " " + agronomy.UnitWords(unit)
}
