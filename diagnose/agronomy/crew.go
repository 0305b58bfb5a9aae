package agronomy

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// toMetric and toCustomary are the units that a crew of one side works in, in place of others: the first pairs of both are each
// other's, the rest are only read. static/js/units.js has the same, and testdata/vectors/units.json holds both to them.
var (
	toMetric = pairs(`lb/1000 ft2=g/m2; oz/1000 ft2=g/100 m2; gal/1000 ft2=L/100 m2; fl oz/1000 ft2=mL/100 m2; yd3/1000 ft2=m3/100 m2; lb/acre=kg/ha; oz/acre=g/ha;
		gal/acre=L/ha; fl oz/acre=mL/ha; lb/gal=kg/L; lb=kg; oz=g; gal=L; fl oz=mL; yd3=m3; in=mm; ft=m; in/h=mm/h; ft2=m2; acre=ha; F=C; mi/h=km/h; count/ft2=count/m2; psi=kPa; gpm=Lpm;
		qt/1000 ft2=L/100 m2; pt/1000 ft2=L/100 m2; kg/1000 ft2=g/m2; g/1000 ft2=g/100 m2; L/1000 ft2=L/100 m2; mL/1000 ft2=mL/100 m2; qt=L; pt=L; mph=km/h`)
	toCustomary = pairs(`g/m2=lb/1000 ft2; g/100 m2=oz/1000 ft2; L/100 m2=gal/1000 ft2; mL/100 m2=fl oz/1000 ft2; m3/100 m2=yd3/1000 ft2; kg/ha=lb/acre; g/ha=oz/acre;
		L/ha=gal/acre; mL/ha=fl oz/acre; kg/L=lb/gal; kg=lb; g=oz; L=gal; mL=fl oz; m3=yd3; mm=in; m=ft; mm/h=in/h; m2=ft2; ha=acre; C=F; km/h=mi/h; count/m2=count/ft2; kPa=psi; Lpm=gpm;
		kg/100 m2=lb/1000 ft2; kg/1000 ft2=lb/1000 ft2; g/1000 ft2=oz/1000 ft2; L/1000 ft2=gal/1000 ft2; mL/1000 ft2=fl oz/1000 ft2; mL/m2=fl oz/1000 ft2; cm=in; m/s=mi/h; g/L=lb/gal`)
)

func pairs(text string) map[string]string {
	out := map[string]string{}
	for pair := range strings.SplitSeq(text, ";") {
		from, to, _ := strings.Cut(strings.TrimSpace(pair), "=")
		out[from] = to
	}
	return out
}

// Crew gives a quantity in the unit that a crew of one side works in: pounds on 1000 sq ft are grams on a square metre. What
// is on that side already, or has no counterpart, stays as it is.
func (q Quantity) Crew(metric bool) Quantity {
	own := q
	if unit := crewUnit(q.Unit, metric); unit != q.Unit {
		if v, err := q.In(unit); err == nil {
			own = Q(v, unit)
		}
	}
	if metric || own.Unit != q.Unit {
		return own.sized()
	}
	return own
}

// sized says many grams in kilograms and little of a kilogram in grams; litres alike, and ounces that were grams.
func (q Quantity) sized() Quantity {
	size := math.Abs(q.Value)
	for _, s := range []struct {
		small, big string
		many       float64
	}{{"g", "kg", 1000}, {"mL", "L", 1000}, {"oz", "lb", 16}, {"fl oz", "gal", 128}} {
		switch {
		case q.Unit == s.small && size >= s.many:
			return Q(q.Value/s.many, s.big)
		case q.Unit == s.big && Metric(s.big) && size > 0 && size < 0.1:
			return Q(q.Value*s.many, s.small)
		}
	}
	return q
}

// crewUnit is the unit of one side, with what is weighed in it: lb N/1000 ft2 is g N/m2.
func crewUnit(unit string, metric bool) string {
	side := toCustomary
	if metric {
		side = toMetric
	}
	if to, ok := side[Bare(unit)]; ok {
		return withSubstance(to, substanceIn(unit))
	}
	return unit
}

// substanceIn is what is weighed in a unit, as it is written: "N" of "lb N/1000 ft2".
func substanceIn(unit string) string {
	top, _, _ := strings.Cut(unit, "/")
	words := strings.Fields(top)
	for _, w := range words[min(1, len(words)):] {
		if _, ok := substances[w]; ok {
			return w
		}
	}
	return ""
}

func withSubstance(unit, of string) string {
	if of == "" {
		return unit
	}
	top, under, found := strings.Cut(unit, "/")
	if !found {
		return top + " " + of
	}
	return top + " " + of + "/" + under
}

// inProse is a number, or two of a range, with a customary unit, as sentences have it in English and Spanish. Four digits are a year.
// Pounds of nitrogen alone are those on 1000 sq ft, as everybody in the trade says them.
var inProse = regexp.MustCompile(`\b(` + proseNumber + `)(?:( to | and | a | y |–|-)(` + proseNumber + `))? ?(` + strings.Join([]string{
	`lb(?: N| P2O5| K2O| PLS)?/1000 ft2`,
	`lb(?: N| P2O5| K2O| PLS| seed| of nitrogen| de nitrógeno| de N| de K2O| de P2O5| de semilla)? (?:per|on|por|en) 1000 (?:sq ft|ft2|pies cuadrados)`,
	`lb (?:of nitrogen|de nitrógeno)`, `lb(?: ai)?/acre`, `lb (?:per|on an|por) acre`, `gal/1000 ft2`, `in/h`, `in/week`, `°F`, `F`, `mph`, `mi/h`,
	`inch(?:es)?`, `in`, `ft`, `feet`, `sq ft`, `ft2`, `pulgadas?`, `pies cuadrados`, `pies?`,
}, "|") + `)(\b|$|[^\w])`)

// proseNumber is a number of a sentence: 0.5, 1,5 or 3/4.
const proseNumber = `\d{1,3}(?:[.,]\d+)?(?:/\d{1,2})?`

// proseUnits are the units of sentences as the units of quantities.
var proseUnits = map[string]string{"°F": "F", "F": "F", "inch": "in", "inches": "in", "feet": "ft", "sq ft": "ft2", "pulgada": "in", "pulgadas": "in", "pie": "ft", "pies": "ft", "pies cuadrados": "ft2"}

// BesideMetric puts metric figures behind the customary ones of a sentence, which keeps its own: "at 55 °F" becomes "at 55 °F
// (13 °C)". Published figures stay as they were published.
func BesideMetric(text string) string {
	return inProse.ReplaceAllStringFunc(text, func(found string) string {
		part := inProse.FindStringSubmatch(found)
		low, tail := part[1], part[5]
		unit := proseUnit(part[4])
		first, to, ok := metricFigure(low, unit)
		if !ok {
			return found
		}
		said := first
		if part[3] != "" {
			second, _, _ := metricFigure(part[3], unit)
			said += part[2] + second
		}
		return strings.TrimSuffix(found, tail) + " (" + said + " " + UnitWords(to) + ")" + tail
	})
}

func proseUnit(text string) string {
	if unit, ok := proseUnits[text]; ok {
		return unit
	}
	text = strings.NewReplacer(" of nitrogen", " N", " de nitrógeno", " N", " de semilla", "", " de ", " ", " por ", " per ", " en ", " on ", "pies cuadrados", "sq ft").Replace(text)
	if text == "lb N" {
		return "lb N/1000 ft2"
	}
	text = strings.NewReplacer(" per 1000 sq ft", "/1000 ft2", " on 1000 sq ft", "/1000 ft2", " per 1000 ft2", "/1000 ft2", " on 1000 ft2", "/1000 ft2", " per acre", "/acre", " on an acre", "/acre", " seed", "").Replace(text)
	return text
}

// metricFigure is a customary figure in metric, as exact as it was given: two digits, three when it had more.
func metricFigure(text, unit string) (figure, to string, ok bool) {
	v, err := proseFigure(text)
	if unit == "in/week" {
		return Figure(toDigits(v*25.4, 2)), "mm/week", err == nil
	}
	q := Q(v, unit).Crew(true)
	if err != nil || q.Unit == unit {
		return "", "", false
	}
	digits := 2
	if !strings.Contains(text, "/") {
		digits = max(2, len(strings.Trim(strings.NewReplacer(".", "", ",", "").Replace(text), "0")))
	}
	if q.Unit == "C" {
		return Figure(math.Round(q.Value)), q.Unit, true
	}
	return Figure(toDigits(q.Value, digits)), q.Unit, true
}

// proseFigure reads a number of a sentence.
func proseFigure(text string) (float64, error) {
	top, under, broken := strings.Cut(strings.Replace(text, ",", ".", 1), "/")
	v, err := strconv.ParseFloat(top, 64)
	if err != nil || !broken {
		return v, err
	}
	n, err := strconv.ParseFloat(under, 64)
	if err == nil && n == 0 {
		err = strconv.ErrRange
	}
	return v / n, err
}

func toDigits(v float64, digits int) float64 {
	x, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	if err != nil {
		return v
	}
	return x
}

var unitWords = strings.NewReplacer("/1000 ft2", " / 1000 sq ft", "/100 m2", " / 100 m²", "/m2", " / m²", "yd3", "cu yd", "ft2", "sq ft", "m2", "m²", "m3", "m³", "mi/h", "mph", "count", "", "Lpm", "L/min")

// UnitWords writes a unit as a crew reads it.
func UnitWords(unit string) string {
	switch unit {
	case "F", "C":
		return "°" + unit
	case "fraction", "ratio", "count":
		return ""
	}
	return strings.TrimSpace(unitWords.Replace(unit))
}

// ReadQuantity reads a number with a unit as a person types them; a number alone is in the usual unit. ok is false for what is
// no number or another kind of measure. number reads the number.
func ReadQuantity(typed, usual string, number func(string) (float64, bool)) (q Quantity, ok bool) {
	typed = strings.TrimSpace(typed)
	at := strings.IndexFunc(typed, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '°' || r == '%' })
	text, unit := typed, usual
	if at >= 0 {
		text, unit = strings.TrimSpace(typed[:at]), strings.TrimSpace(typed[at:])
	}
	v, ok := number(text)
	if !ok {
		return q, false
	}
	unit = typedUnit(unit, usual)
	if !SameKind(unit, usual) {
		return q, false
	}
	return Q(v, unit), true
}

// typedUnit is a unit in the spelling of the program: "g / m²" is g/m2, with what is weighed in the usual unit.
func typedUnit(text, usual string) string {
	text = strings.NewReplacer(" / ", "/", " on ", "/", " per ", "/", "²", "2", "³", "3", "sq ft", "ft2", "sq m", "m2", "°", "", "mph", "mi/h", "cu yd", "yd3").Replace(text)
	if of := substanceIn(usual); of != "" && substanceIn(text) == "" {
		return withSubstance(text, of)
	}
	return text
}
