package history

import (
	"fmt"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/store/record"
)

// The workings of computed numbers, as lines for paper: what went in, in the firm's units, and where the formula is from. They stand beside
// the rows of a table, and no file holds them.

// rateWorking is how the rate of something put down came about.
func rateWorking(z AppliedRecord, unit string, metric bool) []string {
	if z.Rate == nil {
		return nil
	}
	amount, amountUnit := in(z.Amount, unit, metric)
	ground, groundUnit := in(z.AreaSqFt, "sq ft", metric)
	lines := []string{"rate = amount ÷ area treated", fmt.Sprintf("%s %s ÷ %s %s = %s", Num(amount), amountUnit, Num(ground), groundUnit, rateIn(*z.Rate, unit, metric))}
	if typed := strings.TrimSpace(z.given(unit, amountUnit)); typed != "" && typed != Num(amount).String() {
		lines = append(lines, "amount as typed: "+typed)
	}
	if z.Area != "" {
		lines = append(lines, "area as typed: "+z.Area)
	}
	return append(lines, "Source: the record; exact units")
}

// sumWorking is how a zone's sum in the year came about, record by record.
func sumWorking(s Sum, lines []record.Line, metric bool) []string {
	var out []string
	for _, l := range lines {
		share, got := s.of(l)
		if got <= 0 {
			continue
		}
		amount, unit := in(l.Zone.Amount, l.Application.Unit, metric)
		ground, groundUnit := in(l.Zone.AreaSqFt, "sq ft", metric)
		gotIn, gotUnit := in(got, s.Unit, metric)
		said := fmt.Sprintf("%s %s", Num(amount), unit)
		if lb := record.Shipped().Pounds(l.Zone.Amount, l.Material); lb > 0 && !agronomy.SameKind(l.Application.Unit, "lb") {
			weight, weightUnit := in(lb, "lb", metric)
			said += fmt.Sprintf(" (%s %s)", Num(weight), weightUnit)
		}
		out = append(out, fmt.Sprintf("%s, %s: %s × %s ÷ %s %s = %s %s", l.Application.Day, l.Application.Name, said, share, Num(ground), groundUnit, Num(gotIn), gotUnit))
	}
	if len(out) == 0 {
		return nil
	}
	return append(append([]string{"the sum of amount × share of " + s.Name + " ÷ area treated, over the records that stand"}, out...), "Source: the records; grades and labels as the list of materials had them then")
}

// of is a record's share of a sum: how much of the product it is, in words, and what the zone got of it.
func (s Sum) of(l record.Line) (share string, got float64) {
	g := l.Material.Grade
	switch {
	case s.Unit == perThousand && s.Name == "N":
		return Num(g.N).String() + " %", l.Part.N
	case s.Unit == perThousand && s.Name == "P2O5":
		return Num(g.P2O5).String() + " %", l.Part.P2O5
	case s.Unit == perThousand && s.Name == "K2O":
		return Num(g.K2O).String() + " %", l.Part.K2O
	}
	for _, a := range l.Material.Actives {
		if a.Name == s.Name && a.LbPerGal > 0 {
			return Num(a.LbPerGal).String() + " lb/gal", l.Part.Active[s.Name]
		} else if a.Name == s.Name {
			return Num(a.Percent).String() + " %", l.Part.Active[s.Name]
		}
	}
	return "its share", l.Part.Active[s.Name]
}

// meanWorking is how the number of a repeated reading came about; a single number is a plain reading.
func meanWorking(r ReadingRecord, metric bool) []string {
	if r.Count < 2 {
		return nil
	}
	value, unit := r.Said(metric)
	return []string{"mean = sum of the numbers ÷ how many", fmt.Sprintf("%s as typed, %d numbers: %s %s", strings.TrimSpace(r.Typed), r.Count, Num(value), unit), "Source: arithmetic"}
}

// auditWorking is how the scheduling multiplier of a water audit came about.
func auditWorking(x AuditRecord, metric bool) []string {
	out := meanWorking(x.ReadingRecord, metric)
	if w := x.Working; len(w) > 0 {
		out = append(out, w...)
	}
	return out
}
