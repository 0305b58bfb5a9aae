package checks

import "strings"

// number is a typed number as a fraction of whole numbers, each at most maxExact: num/den has one value in every
// language, whatever its own idea of reading decimals.
type number struct {
	negative bool
	num, den uint64
}

func (n number) value() float64 {
	if n.num == 0 {
		return 0 // never -0
	}
	x := float64(n.num) / float64(n.den)
	if n.negative {
		return -x
	}
	return x
}

// glyphs are the fractions that keyboards offer as one character.
var glyphs = map[rune]number{
	'½': {num: 1, den: 2}, '¼': {num: 1, den: 4}, '¾': {num: 3, den: 4}, '⅓': {num: 1, den: 3}, '⅔': {num: 2, den: 3},
	'⅛': {num: 1, den: 8}, '⅜': {num: 3, den: 8}, '⅝': {num: 5, den: 8}, '⅞': {num: 7, den: 8},
}

// scanNumber reads a number at the start of text: 2 · 2.5 · 2,5 · .5 · 1/2 · 2 1/2 · 2½ · ½, with a minus before it or
// not. What follows, without blanks, is given back.
func scanNumber(text []rune) (n number, rest string, ok bool) {
	n.den = 1
	if len(text) > 0 && (text[0] == '-' || text[0] == '−') {
		n.negative = true
		text = text[1:]
	}
	whole, after, fits := digits(text, 0)
	seen := len(text) - len(after)
	if !fits {
		return n, "", false
	}
	n.num = whole
	text, ok = n.scanPart(text[seen:], seen > 0)
	return n, strings.TrimLeft(string(text), blanks), ok
}

// scanPart reads what may follow the whole number, or stand without one.
func (n *number) scanPart(text []rune, whole bool) ([]rune, bool) {
	if len(text) > 0 && (text[0] == '.' || text[0] == ',') {
		return n.decimals(text[1:])
	}
	if whole && len(text) > 0 && text[0] == '/' {
		num := n.num
		n.num = 0
		return n.over(num, text[1:])
	}
	next := text
	if whole {
		next = []rune(strings.TrimLeft(string(text), blanks))
	}
	if len(next) > 0 && glyphs[next[0]].den != 0 {
		g := glyphs[next[0]]
		return next[1:], n.add(g.num, g.den)
	}
	if !whole || len(next) == len(text) || len(next) == 0 || !isDigit(next[0]) {
		return text, whole
	}
	num, after, fits := digits(next, 0)
	if !fits || len(after) == 0 || after[0] != '/' {
		return nil, false
	}
	return n.over(num, after[1:])
}

// decimals reads the digits after a comma or point into the same numerator.
func (n *number) decimals(text []rune) ([]rune, bool) {
	num, after, fits := digits(text, n.num)
	places := len(text) - len(after)
	if !fits || places == 0 {
		return nil, false
	}
	for range places {
		if n.den > maxExact/10 {
			return nil, false
		}
		n.den *= 10
	}
	n.num = num
	return after, true
}

// over reads the denominator of a typed fraction and adds num over it.
func (n *number) over(num uint64, text []rune) ([]rune, bool) {
	den, after, fits := digits(text, 0)
	if !fits || den == 0 {
		return nil, false
	}
	return after, n.add(num, den)
}

// add makes the whole number n.num a fraction, n.num + num/den.
func (n *number) add(num, den uint64) bool {
	if n.num > (maxExact-num)/den {
		return false
	}
	n.num, n.den = n.num*den+num, den
	return true
}

// digits reads 0 to 9, and no other script's digits, onto what is already there.
func digits(text []rune, onto uint64) (value uint64, rest []rune, fits bool) {
	for i, r := range text {
		if !isDigit(r) {
			return onto, text[i:], true
		}
		d := uint64(r - '0')
		if onto > (maxExact-d)/10 {
			return 0, nil, false
		}
		onto = onto*10 + d
	}
	return onto, nil, true
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }
