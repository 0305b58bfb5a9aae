package checks

import (
	"slices"
	"strings"
)

func words(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(blanks, r) })
}

// readMix reads "a 10; b 2 1/2": the share of each, in percent. The check's none alone says that none is there.
func readMix(c Check, text string) (Value, []Problem) {
	if len(c.Units) == 0 {
		return Value{}, []Problem{{Check: c.ID, Code: UnknownCheck}}
	}
	if text == c.None {
		return Value{Numbers: []float64{0}}, nil
	}
	var v Value
	var problems []Problem
	total := 0.0
	for _, piece := range strings.Split(text, ";") {
		piece = strings.Trim(piece, blanks)
		id, share, problem := c.share(piece)
		if problem == nil && slices.Contains(v.Present, id) {
			problem = []Problem{quoted(c, Unreadable, piece)}
		}
		if problem != nil {
			problems = append(problems, problem...)
			continue
		}
		v.Present, v.Numbers = append(v.Present, id), append(v.Numbers, share)
		total += share
	}
	if len(problems) == 0 && total > c.Hard.High {
		p := quoted(c, TooMuch, plain(total))
		p.Params["high"], p.Params["unit"] = plain(c.Hard.High), c.Units[0].ID
		problems = append(problems, p)
	}
	if len(problems) > 0 {
		return Value{}, problems
	}
	return v, nil
}

// share reads one piece of a mix.
func (c Check) share(piece string) (string, float64, []Problem) {
	all := words(piece)
	if len(all) == 0 {
		return "", 0, []Problem{quoted(c, Unreadable, piece)}
	}
	id := all[0]
	if !c.hasOption(id) || id == c.None {
		return "", 0, []Problem{quoted(c, UnknownOption, id)}
	}
	n, rest, ok := scanNumber([]rune(strings.Trim(strings.TrimPrefix(piece, id), blanks)))
	if !ok || rest != "" && rest != c.Units[0].ID {
		return "", 0, []Problem{quoted(c, Unreadable, piece)}
	}
	x := n.value()
	if h := c.Hard; h != nil && !(x >= h.Low && x <= h.High) {
		return "", 0, c.bounds(x, piece, c.Units[0])
	}
	return id, x, nil
}

// readPlaces reads "40 60; 70 20": how far each spot lies from the left and from the far edge, in whole percent.
func readPlaces(c Check, text string) (Value, []Problem) {
	pieces := strings.Split(text, ";")
	if len(pieces) > maxPlaces {
		return Value{}, []Problem{tooLong(c, maxPlaces)}
	}
	var problems []Problem
	for i, piece := range pieces {
		at := words(piece)
		if len(at) != 2 || !percent(at[0]) || !percent(at[1]) {
			problems = append(problems, quoted(c, Unreadable, strings.Trim(piece, blanks)))
			continue
		}
		pieces[i] = at[0] + " " + at[1]
	}
	if len(problems) > 0 {
		return Value{}, problems
	}
	return Value{Text: strings.Join(pieces, "; ")}, nil
}

// percent reports whether text is a whole number from 0 to 100 without a needless zero.
func percent(text string) bool {
	if text == "100" {
		return true
	}
	return len(text) > 0 && len(text) <= 2 && strings.Trim(text, "0123456789") == "" && (len(text) == 1 || text[0] != '0')
}
