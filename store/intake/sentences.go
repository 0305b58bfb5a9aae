package intake

import (
	"strings"

	"swardbook/diagnose/checks"
)

// Codes of why a thing is set aside, beside those of package checks.
const (
	Malformed    = "malformed"     // not readable as an operation
	UnknownKind  = "unknown_kind"  // of a kind this office does not know
	UnknownVisit = "unknown_visit" // of a visit the office does not have
	UnknownZone  = "unknown_zone"  // of a zone the office does not have, or another property's
	NotYours     = "not_yours"     // of a visit of somebody else's
	SignedOff    = "signed_off"    // of a visit that is closed
	Future       = "future"        // made later than now
	Author       = "author"        // in the name of somebody who never used this phone
)

// asideSentences say what happened, what is safe and what to do next. Words in braces are filled in.
var asideSentences = map[string]string{
	checks.Unreadable:    "“{text}” could not be read as an answer to {check}. It is kept as typed; enter the answer again in the zone.",
	checks.WrongUnit:     "{check} is not measured in “{unit}”. It is kept as typed; enter it again in a unit the check takes.",
	checks.OutOfBounds:   "“{text}” is outside what is possible for {check} ({low} to {high}). It is kept as typed; measure or type it again in the zone.",
	checks.UnknownCheck:  "The office does not know this check. The answer is kept as typed; the office can read it under “set aside”.",
	checks.UnknownOption: "“{text}” is not an answer that {check} offers. It is kept as typed; choose the answer again in the zone.",
	checks.TooLong:       "The answer to {check} is longer than the office takes. All of it is kept; enter a shorter one in the zone.",
	checks.TooMuch:       "The shares of {check} add up to {text}, which is more than all ({high}). They are kept as typed; enter them again in the zone.",
	Malformed:            "The office could not read this record. It is kept exactly as the phone sent it; enter it again, and tell the office.",
	UnknownKind:          "The office does not know this kind of record yet. It is kept exactly as the phone sent it; the office must update its program.",
	UnknownVisit:         "The office has no such visit. What was recorded is kept; ask the office which visit it belongs to.",
	UnknownZone:          "The office has no such zone on this property. What was recorded is kept; ask the office which zone it belongs to.",
	NotYours:             "This visit is not yours on the day sheet. What was recorded is kept; ask the office to assign the visit or to take it in.",
	SignedOff:            "The office had already signed off this visit. What was recorded is kept; ask the office to take it in.",
	Future:               "This was recorded at a time that is still to come. It is kept; set the phone's clock, and ask the office to take it in.",
	Author:               "This was recorded in the name of someone who has not used this phone. It is kept; ask the office to take it in.",
}

// say fills the sentence of a code. What has no word of its own is named generally.
func say(code string, words map[string]string) string {
	s, ok := asideSentences[code]
	if !ok {
		s = asideSentences[Malformed]
	}
	pairs := make([]string, 0, 2*len(generalWords))
	for word, general := range generalWords {
		text := words[word]
		if text == "" {
			text = general
		}
		pairs = append(pairs, "{"+word+"}", clip(text, 80))
	}
	return strings.NewReplacer(pairs...).Replace(s)
}

var generalWords = map[string]string{
	"text": "this", "check": "this check", "unit": "this unit", "low": "the least", "high": "the most",
}
