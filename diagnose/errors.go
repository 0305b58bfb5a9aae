package diagnose

import (
	"fmt"
	"strings"
)

// InputKind says what is wrong with a case.
type InputKind string

// The ways in which a case can be wrong.
const (
	UnknownSeason  InputKind = "unknown_season"  // neither a known season nor a month
	UnknownFinding InputKind = "unknown_finding" // no such finding
	UnknownState   InputKind = "unknown_state"   // no such state or sign of the finding
	UnknownUnit    InputKind = "unknown_unit"    // no check that yields the finding takes this unit
	WrongForm      InputKind = "wrong_form"      // a number where states are due, or the reverse
	BadNumber      InputKind = "bad_number"      // negative, not a number, or no measurement behind it
	UnknownCause   InputKind = "unknown_cause"   // no such cause to have been likely before
	UnknownAction  InputKind = "unknown_action"  // no such step to have been taken
	Twice          InputKind = "twice"           // one finding, or one sign, said twice
)

// InputError is a case that can't be weighed because of what it says.
type InputError struct {
	Case    string
	Finding string
	Kind    InputKind
	Say     string
}

// Error names the case and the finding.
func (e *InputError) Error() string {
	at := e.Case
	if e.Finding != "" {
		at = strings.TrimSpace(at + " " + e.Finding)
	}
	if at == "" {
		return e.Say
	}
	return at + ": " + e.Say
}

// Contradiction is evidence that no set of causes can bring about: findings that can't all be true at once. Where two of
// them suffice there are two; a single one is impossible by itself.
type Contradiction struct {
	Case     string
	Findings []string
}

// Error names the findings.
func (e *Contradiction) Error() string {
	say := strings.Join(e.Findings, " and ") + " can't all be true at once"
	if len(e.Findings) == 1 {
		say = e.Findings[0] + " can't be true as it stands"
	}
	if e.Case == "" {
		return say
	}
	return e.Case + ": " + say
}

func bundleError(format string, args ...any) error {
	return fmt.Errorf("diagnose: "+format, args...)
}
