// Package checks is the catalogue's vocabulary and its reader: what a check is (as data) and how the text that a
// person typed becomes a value or a problem. It holds no check of its own; the catalogue is in diagnose/knowledge.
// Read and static/js/read.js are two writings of one meaning; testdata/vectors/read.json holds both to it.
package checks

// Kind says which control a check has and how its typed text is read.
type Kind string

// The kinds of checks.
const (
	Choice   Kind = "choice"   // one option id
	Signs    Kind = "signs"    // several option ids: present, looked-for-and-absent, or unknown
	Measure  Kind = "measure"  // one number with a unit
	Repeated Kind = "repeated" // several numbers with one unit
	Count    Kind = "count"    // whole or fractional count per area, one or several
	Mix      Kind = "mix"      // a share in percent for each of several options, together at most a hundred
	Place    Kind = "place"    // spots on the sketch of a zone, in percent from its left and from its far edge
	Note     Kind = "note"     // free text
	Photo    Kind = "photo"    // a photo, by the SHA-256 of its bytes
)

// Text is a sentence or label in the languages the crew reads.
type Text struct {
	EN string `json:"en"`
	ES string `json:"es"`
}

// In returns the text in lang ("en" or "es"); English when lang is unknown.
func (t Text) In(lang string) string {
	if lang == "es" && t.ES != "" {
		return t.ES
	}
	return t.EN
}

// Option is one answer of a choice or one sign of a signs check.
type Option struct {
	ID      string `json:"id"`
	Label   Text   `json:"label"`
	Drawing string `json:"drawing,omitempty"` // symbol id in static/img/draw.svg
}

// Unit is a unit that a number may be typed in. Value in the check's own unit = typed × Mul ÷ Div + Plus.
type Unit struct {
	ID    string  `json:"id"`
	Label Text    `json:"label"`
	Mul   float64 `json:"mul"`
	Div   float64 `json:"div"`
	Plus  float64 `json:"plus,omitempty"` // of thermometers, whose zeros differ
}

// Bounds are limits in the check's own unit, both included.
type Bounds struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Yield says which finding a check's value speaks to and how it is made from the numbers.
type Yield struct {
	Finding string `json:"finding"`
	From    string `json:"from"`            // "state" (choice), "signs", "mean", "range" (largest minus smallest), "max", "sum" (mix)
	MinN    int    `json:"min_n,omitempty"` // fewest numbers that say anything; 0 means 1
}

// Check is one thing that can be looked at or measured in a zone.
type Check struct {
	ID       string   `json:"id"`
	Section  string   `json:"section"`
	Kind     Kind     `json:"kind"`
	Label    Text     `json:"label"`
	HowTo    Text     `json:"how_to"`
	Drawing  string   `json:"drawing,omitempty"`
	Aid      string   `json:"aid,omitempty"` // one of Aids: what the phone can help to work out
	Options  []Option `json:"options,omitempty"`
	None     string   `json:"none,omitempty"`  // signs and mix only: the option id that means looked for all of them, found none
	Units    []Unit   `json:"units,omitempty"` // the first is the check's own unit (mul 1, div 1)
	Decimals int      `json:"decimals,omitempty"`
	Hard     *Bounds  `json:"hard,omitempty"`  // outside: impossible, refused
	Usual    *Bounds  `json:"usual,omitempty"` // outside: asked "sure?"
	Minutes  float64  `json:"minutes"`
	Tool     Text     `json:"tool"`
	Caution  Text     `json:"caution"`
	Yields   []Yield  `json:"yields,omitempty"`
	Standing bool     `json:"standing,omitempty"` // known without going to look, as the weather: never proposed as the next check
	Retired  bool     `json:"retired,omitempty"`
	Source   string   `json:"source,omitempty"`
}

// Aids are what the phone knows how to work out for a check: uniformity from catch cans, direct sun from what stands in its
// way, how deep the last water should have wetted the soil, a count in a frame per area, and cover from points met on a walk.
var Aids = []string{"cans", "sun", "wetting", "frame", "points"}

// Value is what a typed text means. Exactly one of its parts is set by the check's kind.
type Value struct {
	Blank   bool      `json:"blank,omitempty"`   // explicit blank: "not looked at", takes an earlier answer back
	State   string    `json:"state,omitempty"`   // choice
	Present []string  `json:"present,omitempty"` // signs, catalogue order; what a mix is made of, as typed
	Absent  []string  `json:"absent,omitempty"`  // signs looked for and not there, catalogue order
	Numbers []float64 `json:"numbers,omitempty"` // in the check's own unit, as typed order; the shares of a mix
	Unit    string    `json:"unit,omitempty"`    // unit id as typed
	Text    string    `json:"text,omitempty"`    // note; places, as "40 60; 70 20"
	SHA     string    `json:"sha,omitempty"`     // photo
}

// Problem is wrong or doubtful input, to be shown where it was typed.
type Problem struct {
	Check  string            `json:"check"`
	Code   string            `json:"code"`             // see the codes below
	Params map[string]string `json:"params,omitempty"` // words for the sentence: text, low, high, unit …
	Ask    bool              `json:"ask,omitempty"`    // true: only "sure?", the value stands
}

// Problem codes. Each has a sentence in the catalogue of strings under "problem.<code>".
const (
	Unreadable    = "unreadable"     // not a number, not an option
	WrongUnit     = "wrong_unit"     // a unit this check does not take
	OutOfBounds   = "out_of_bounds"  // outside Hard
	Unusual       = "unusual"        // outside Usual; Ask is true
	UnknownCheck  = "unknown_check"  // no such check
	UnknownOption = "unknown_option" // no such option or sign
	TooLong       = "too_long"       // note over 4000 characters, over 60 numbers, or over 12 places
	TooMuch       = "too_much"       // shares that add up to more than all
)
