package knowledge

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Term is one condition of a plan's rule.
//
//	place=New Jersey|Maryland      where the property lies; also region, texture (of the soil), grass (that is wanted)
//	day=10-16..03-31               the day it is done
//	fact:thatch_in>=0.75           a fact's number; >, <= and < as well
//	fact:soil_p=low|very_low       a fact's state
//	fact:ring_sign~dead_band       a sign that was seen
//	cause:brown_patch              a cause that is acted upon
//	for:white_grubs                the cause that the step is for
//	with:seed                      a step of this work in the same zone
//	has:P2O5                       the material holds it
//	slope>27, air>85, soil<55      of the zone in %; of the day in F
//
// != in place of = turns it round.
type Term struct {
	Key    string // what stands before the colon or the sign
	Name   string // what stands after the colon
	Op     string // "=", "!=", ">", ">=", "<", "<=", "~" or ""
	Values []string
	Number float64
}

var termForm = regexp.MustCompile(`^([a-z]+)(?::([A-Za-z0-9_ ]+))?(?:(!=|>=|<=|=|>|<|~)(.+))?$`)

// keysOf says which forms each key has.
var keysOf = map[string]struct {
	named bool
	ops   string
}{
	"place": {false, "= !="}, "region": {false, "= !="}, "texture": {false, "= !="}, "grass": {false, "= !="}, "day": {false, "= !="},
	"fact": {true, "= != > >= < <= ~"}, "cause": {true, ""}, "for": {true, ""}, "with": {true, ""}, "has": {true, ""},
	"slope": {false, "> >= < <="}, "air": {false, "> >= < <="}, "soil": {false, "> >= < <="},
}

// ParseWhen reads a condition: terms joined by "; " all hold, groups of them joined by " or ". "" is no group at all.
func ParseWhen(text string) ([][]Term, error) {
	if text == "" {
		return nil, nil
	}
	var out [][]Term
	for group := range strings.SplitSeq(text, " or ") {
		var terms []Term
		for part := range strings.SplitSeq(group, "; ") {
			t, err := parseTerm(part)
			if err != nil {
				return nil, err
			}
			terms = append(terms, t)
		}
		out = append(out, terms)
	}
	return out, nil
}

func parseTerm(part string) (Term, error) {
	m := termForm.FindStringSubmatch(part)
	if m == nil {
		return Term{}, fmt.Errorf("%q is no condition", part)
	}
	t := Term{Key: m[1], Name: m[2], Op: m[3]}
	form, known := keysOf[t.Key]
	if !known || form.named != (t.Name != "") || form.ops == "" && t.Op != "" || form.ops != "" && !contains(form.ops, t.Op) {
		return Term{}, fmt.Errorf("%q is no condition", part)
	}
	switch t.Op {
	case ">", ">=", "<", "<=":
		n, err := strconv.ParseFloat(m[4], 64)
		if err != nil {
			return Term{}, fmt.Errorf("%q: %q is no number", part, m[4])
		}
		t.Number = n
	default:
		if m[4] != "" {
			t.Values = strings.Split(m[4], "|")
		}
	}
	if t.Key == "day" && !dayRange.MatchString(m[4]) {
		return Term{}, fmt.Errorf("%q: the days are written 10-16..03-31", part)
	}
	return t, nil
}

var dayRange = regexp.MustCompile(`^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])\.\.(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$`)

func contains(list, word string) bool {
	for w := range strings.FieldsSeq(list) {
		if w == word {
			return true
		}
	}
	return false
}
