// Package plan turns causes into dated steps with amounts for the zones of one property: what to do in the order in which it
// helps, when, by whom and how much, what it costs, what comes of it, what is refused and by which rule, and the roads not
// taken. What it knows of steps, windows, amounts and rules are rows of the knowledge (Planning); here are only the kinds of
// rules and the search. It has no clock, no I/O and no database: the same input gives the same plan.
package plan

import (
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// Kind says what a step is.
type Kind string

// The kinds of steps.
const (
	Do    Kind = "do"    // an action of a cause
	Check Kind = "check" // a check that would settle the diagnosis
	Refer Kind = "refer" // somebody else, who can settle or do it
)

// What a manager may have judged of a cause.
const (
	Confirmed = "confirmed"
	RuledOut  = "ruled_out"
)

// sure is the likelihood from which an unconfirmed cause may lead to a pesticide step.
const sure = 0.6

// wanted is a cause that is acted upon.
type wanted struct {
	cause      *knowledge.Cause
	likelihood float64
	confirmed  bool
	place      int // by leverage
}

func (w wanted) mayTreat() bool { return w.confirmed || w.likelihood >= sure }

// acted lists the causes to act upon in reading order: those with a role, and those a manager confirmed.
func acted(b *knowledge.Bundle, a diagnose.Answer, judged map[string]string) []wanted {
	var out []wanted
	for i, l := range a.Causes {
		verdict := judged[l.ID]
		if verdict == RuledOut || l.Role == "" && verdict != Confirmed {
			continue
		}
		at := slices.IndexFunc(b.Causes, func(c knowledge.Cause) bool { return c.ID == l.ID })
		if at < 0 {
			continue // a cause of an older edition: nothing is known of it
		}
		out = append(out, wanted{&b.Causes[at], l.Likelihood, verdict == Confirmed, i})
	}
	return out
}

// asked are the causes for which somebody else is asked: those acted upon, or while nothing can be told the likeliest that a
// manager has not ruled out.
func (r *run) asked(s *site) []*knowledge.Cause {
	var out []*knowledge.Cause
	if !s.unsure {
		for _, w := range s.acted {
			out = append(out, w.cause)
		}
		return out
	}
	for _, l := range s.zone.Answer.Causes {
		if c := r.causes[l.ID]; c != nil && s.zone.Judged[l.ID] != RuledOut {
			return []*knowledge.Cause{c}
		}
	}
	return nil
}

func cautionsFor(b *knowledge.Bundle, check string) []knowledge.Caution {
	out := []knowledge.Caution{}
	for i := range b.Cautions {
		if slices.Contains(b.Cautions[i].Where, check) {
			out = append(out, b.Cautions[i])
		}
	}
	return out
}
