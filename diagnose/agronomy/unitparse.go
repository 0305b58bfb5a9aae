package agronomy

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// parseUnit reads a unit's text: terms joined by "/", each an optional number and atoms with exponents, then at most one
// substance: "in/h", "lb N/1000 ft2", "MJ/m2/day", "kPa/C", "1/C^0.5". What follows a comma, a bracket or one of the
// words in remarks is a remark for people ("min after local midnight") and doesn't change the unit.
func parseUnit(text string) (unit, error) {
	head := cutRemark(strings.TrimSpace(text))
	if head == "" {
		return unit{}, fmt.Errorf("a unit is missing")
	}
	if len(head) > 80 {
		return unit{}, fmt.Errorf("the unit %.20q… is too long to be one", head)
	}
	if u, ok := temperature(head); ok {
		return u, nil
	}
	u := unit{factor: 1}
	for i, term := range strings.Split(head, "/") {
		t, err := parseTerm(strings.TrimSpace(term))
		if err != nil {
			return unit{}, fmt.Errorf("the unit %q is not known", text)
		}
		u = u.times(t, i > 0)
	}
	return u, nil
}

// remarks are words that end the unit itself.
var remarks = []string{" of ", " after ", " local", " index", " as ", " from ", " in one ", " geometric", " above ", " below ", " at ", " on ", " since "}

func cutRemark(text string) string {
	text = tidy.Replace(text)
	for _, cut := range []string{",", "(", ";"} {
		text, _, _ = strings.Cut(text, cut)
	}
	text += " "
	for _, word := range remarks {
		if i := strings.Index(text, word); i > 0 {
			text = text[:i] + " "
		}
	}
	text = strings.TrimSpace(text)
	if before, after, found := strings.Cut(text, " per "); found {
		if _, err := parseTerm(after); err == nil {
			return before + "/" + after
		}
		return before
	}
	return text
}

var tidy = strings.NewReplacer("²", "2", "³", "3", "°", "deg ", "µ", "u", "μ", "u", "·", " ", "square feet", "ft2", "sq ft", "ft2", "sq. ft.", "ft2", "sq m", "m2", "sq in", "in2",
	"sqft", "ft2", "1,000", "1000", "cu ft", "ft3")

// temperature reads a unit that is a temperature alone; "delta C" and "C difference" are differences.
func temperature(head string) (unit, bool) {
	name := strings.TrimSpace(strings.ReplaceAll(head, "deg ", ""))
	for _, mark := range []string{"delta ", "delta", " difference", " diff"} {
		if bare := strings.Replace(name, mark, "", 1); bare != name {
			u, ok := atom(strings.TrimSpace(bare))
			return u, ok && u.dim == warmth
		}
	}
	u, ok := atom(name)
	if !ok || u.dim != warmth {
		return unit{}, false
	}
	u.absolute = true
	switch {
	case u.side == customary:
		u.offset = 273.15 - 32/1.8
	case name != "K" && !strings.EqualFold(name, "kelvin"):
		u.offset = 273.15
	}
	return u, true
}

// fillers are words that say what is measured without changing the unit: "% slope", "lb product/acre".
var fillers = map[string]bool{"slope": true, "grade": true, "soil": true, "air": true, "mean": true, "daily": true, "product": true, "mix": true, "spray": true, "seed": true, "turf": true, "lawn": true,
	"water": true, "content": true, "total": true, "material": true, "fertilizer": true, "cover": true, "cores": true, "catch": true, "depth": true, "each": true, "annual": true}

// parseTerm reads what stands between two strokes.
func parseTerm(term string) (unit, error) {
	u := unit{factor: 1}
	words := strings.Fields(term)
	if len(words) == 0 {
		return u, fmt.Errorf("nothing")
	}
	if n, err := strconv.ParseFloat(words[0], 64); err == nil {
		if !(n > 0 && n < 1e12) {
			return u, fmt.Errorf("number")
		}
		u.factor, words = n, words[1:]
	}
	for len(words) > 0 {
		if s, ok := substances[words[0]]; ok && u.dim != (dim{}) || ok && u.factor == 0.01 {
			u.of, words = s, words[1:]
			continue
		}
		if fillers[words[0]] && u.dim != (dim{}) || fillers[words[0]] && u.factor == 0.01 {
			words = words[1:]
			continue
		}
		a, used, err := longestAtom(words)
		if err != nil {
			return u, err
		}
		u, words = u.times(a, false), words[used:]
	}
	return u, nil
}

// longestAtom takes up to three words that name one atom ("imp fl oz", "deg N").
func longestAtom(words []string) (unit, int, error) {
	for n := min(3, len(words)); n > 0; n-- {
		if u, ok := atom(strings.Join(words[:n], " ")); ok {
			return u, n, nil
		}
	}
	return unit{}, 0, fmt.Errorf("%s", words[0])
}

// atom finds one unit with an exponent, or none: "ft", "ft2", "C^0.5", "h-1".
func atom(word string) (unit, bool) {
	if u, ok := bareAtom(word); ok {
		return u, true
	}
	base, exponent, found := strings.Cut(word, "^")
	if !found {
		base = strings.TrimRight(word, "0123456789-")
		exponent = word[len(base):]
	}
	u, ok := bareAtom(base)
	p, err := strconv.ParseFloat(exponent, 64)
	if !ok || err != nil || p == 0 || math.Abs(p) > 4 || p*2 != math.Trunc(p*2) {
		return unit{}, false
	}
	return u.power(p), true
}

func bareAtom(word string) (unit, bool) {
	if u, ok := atoms[word]; ok {
		return u, true
	}
	other, ok := others[strings.ToLower(word)]
	if !ok && len(word) > 1 {
		other = strings.ToLower(word) // "Gal", "FT"; never a single letter, where capitals tell units apart
	}
	if u, ok := atoms[other]; ok {
		return u, true
	}
	if !ok {
		return unit{}, false
	}
	u, err := parseUnit(other) // "kmh" is km/h
	return u, err == nil
}

func (u unit) power(p float64) unit {
	for i := range u.dim {
		u.dim[i] = int8(float64(u.dim[i]) * p)
	}
	u.factor = math.Pow(u.factor, p)
	return u
}

func (u unit) times(v unit, under bool) unit {
	for i := range u.dim {
		if under {
			u.dim[i] -= v.dim[i]
		} else {
			u.dim[i] += v.dim[i]
		}
	}
	if under {
		u.factor /= v.factor
	} else {
		u.factor *= v.factor
	}
	if v.of != "" && !under {
		u.of = v.of
	}
	if u.side == either {
		u.side = v.side
	}
	return u
}
