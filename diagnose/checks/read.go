package checks

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Limits of what is read.
const (
	maxNote    = 4000    // characters of a note
	maxNumbers = 60      // numbers of one reading
	maxPlaces  = 12      // spots on a sketch
	maxQuoted  = 40      // characters of typed text that a problem repeats
	maxExact   = 1 << 53 // whole numbers up to here are exact in both languages
)

// blanks are the characters that count as space: what phone keyboards and pasted text really hold. The list is written
// out because the two languages' own ideas of space differ.
const blanks = " \t\u00a0\u202f\u2009\r\n"

// Read turns what a person typed into a value, or into the problems to show where it was typed. With a problem that is
// not only a question (Ask), the value is empty. An empty text or "-" takes an earlier answer back.
func Read(c Check, typed string) (Value, []Problem) {
	text := strings.Trim(typed, blanks)
	if text == "" || text == "-" {
		return Value{Blank: true}, nil
	}
	switch c.Kind {
	case Choice:
		return readChoice(c, text)
	case Signs:
		return readSigns(c, text)
	case Measure:
		return readNumbers(c, []string{text})
	case Repeated, Count:
		return readNumbers(c, strings.Split(text, ";"))
	case Mix:
		return readMix(c, text)
	case Place:
		return readPlaces(c, text)
	case Note:
		return readNote(c, typed)
	case Photo:
		return readPhoto(c, text)
	}
	return Value{}, []Problem{{Check: c.ID, Code: UnknownCheck}}
}

func (c Check) hasOption(id string) bool {
	return slices.ContainsFunc(c.Options, func(o Option) bool { return o.ID == id })
}

// quoted is a problem about one piece of the typed text.
func quoted(c Check, code, text string) Problem {
	return Problem{Check: c.ID, Code: code, Params: map[string]string{"text": cut(text)}}
}

func cut(text string) string {
	n := 0
	for i := range text {
		if n == maxQuoted {
			return text[:i] + "…"
		}
		n++
	}
	return text
}

func readChoice(c Check, text string) (Value, []Problem) {
	if !c.hasOption(text) {
		return Value{}, []Problem{quoted(c, UnknownOption, text)}
	}
	return Value{State: text}, nil
}

// readSigns reads "a b -c": a and b are there, c was looked for and is not. "only" says that all others are not there,
// and the check's none that all are not.
func readSigns(c Check, text string) (Value, []Problem) {
	said := map[string]bool{} // sign → there
	rest := false
	var problems []Problem
	words := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(blanks, r) })
	for _, word := range words {
		id, absent := strings.CutPrefix(word, "-")
		before, again := said[id]
		switch {
		case word == "only" || word == c.None && len(words) == 1:
			rest = true
		case !c.hasOption(id):
			problems = append(problems, quoted(c, UnknownOption, word))
		case id == c.None || again && before == absent:
			problems = append(problems, quoted(c, Unreadable, word))
		default:
			said[id] = !absent
		}
	}
	if len(problems) > 0 {
		return Value{}, problems
	}
	return c.signs(said, rest), nil
}

// signs lists what was said in the catalogue's order; rest makes every sign not spoken of absent.
func (c Check) signs(said map[string]bool, rest bool) Value {
	var v Value
	for _, o := range c.Options {
		there, known := said[o.ID]
		switch {
		case o.ID == c.None:
		case there:
			v.Present = append(v.Present, o.ID)
		case known || rest:
			v.Absent = append(v.Absent, o.ID)
		}
	}
	return v
}

func readNote(c Check, typed string) (Value, []Problem) {
	if utf8.RuneCountInString(typed) > maxNote {
		return Value{}, []Problem{tooLong(c, maxNote)}
	}
	return Value{Text: typed}, nil
}

func tooLong(c Check, most int) Problem {
	return Problem{Check: c.ID, Code: TooLong, Params: map[string]string{"high": strconv.Itoa(most)}}
}

func readPhoto(c Check, text string) (Value, []Problem) {
	sha := lower(text)
	if len(sha) != 64 || strings.Trim(sha, "0123456789abcdef") != "" {
		return Value{}, []Problem{quoted(c, Unreadable, text)}
	}
	return Value{SHA: sha}, nil
}

// lower folds the letters A to Z only, which is the same in every language and locale.
func lower(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' {
			return r + 'a' - 'A'
		}
		return r
	}, s)
}

// readNumbers reads one number from each piece; a unit after the last one is meant for all.
func readNumbers(c Check, pieces []string) (Value, []Problem) {
	if len(pieces) > maxNumbers {
		return Value{}, []Problem{tooLong(c, maxNumbers)}
	}
	if len(c.Units) == 0 {
		return Value{}, []Problem{{Check: c.ID, Code: UnknownCheck}}
	}
	v := Value{}
	own, unit := c.Units[0], c.Units[0]
	var problems []Problem
	read := make([]number, len(pieces))
	for i, piece := range pieces {
		piece = strings.Trim(piece, blanks)
		pieces[i] = piece
		n, rest, ok := scanNumber([]rune(piece))
		read[i] = n
		last := i == len(pieces)-1
		switch {
		case !ok || rest != "" && !last:
			problems = append(problems, quoted(c, Unreadable, piece))
		case rest != "":
			var code string
			if unit, code = c.unitOf(rest); code != "" {
				problems = append(problems, unitProblem(c, code, piece, rest))
			}
			v.Unit = unit.ID
		}
	}
	if len(problems) > 0 {
		return Value{}, problems
	}
	for i, n := range read {
		x := n.value()*unit.Mul/unit.Div + unit.Plus
		v.Numbers = append(v.Numbers, x)
		problems = append(problems, c.bounds(x, pieces[i], own)...)
	}
	if hard := slices.DeleteFunc(slices.Clone(problems), func(p Problem) bool { return p.Ask }); len(hard) > 0 {
		return Value{}, hard
	}
	return v, problems
}

// unitOf finds the unit that was typed after a number.
func (c Check) unitOf(typed string) (Unit, string) {
	for _, u := range c.Units {
		if lower(u.ID) == lower(typed) {
			return u, ""
		}
	}
	first := typed[0]
	letter := first >= 'a' && first <= 'z' || first >= 'A' && first <= 'Z' || first == '%'
	if !letter || strings.ContainsAny(typed, "0123456789") {
		return Unit{}, Unreadable
	}
	return Unit{}, WrongUnit
}

func unitProblem(c Check, code, piece, typed string) Problem {
	if code == Unreadable {
		return quoted(c, code, piece)
	}
	var takes []string
	for _, u := range c.Units {
		takes = append(takes, u.ID)
	}
	p := quoted(c, code, typed)
	p.Params["unit"] = strings.Join(takes, ", ")
	return p
}

// bounds compares one number with what is possible and with what is usual.
func (c Check) bounds(x float64, piece string, own Unit) []Problem {
	ask := func(code string, b Bounds) []Problem {
		p := quoted(c, code, piece)
		p.Params["low"], p.Params["high"], p.Params["unit"] = plain(b.Low), plain(b.High), own.ID
		p.Ask = code == Unusual
		return []Problem{p}
	}
	if h := c.Hard; h != nil && !(x >= h.Low && x <= h.High) {
		return ask(OutOfBounds, *h)
	}
	if u := c.Usual; u != nil && !(x >= u.Low && x <= u.High) {
		return ask(Unusual, *u)
	}
	return nil
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
