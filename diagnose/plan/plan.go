// Package plan turns a diagnosis into first steps: what to do for the likely causes, in the order in which it helps, with
// the window it is allowed in, what must be read before it and what must not be done with it. Where the diagnosis can't
// tell, the step is to look further, never a pesticide.
package plan

import (
	"cmp"
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
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

// FirstStep is one thing to do.
type FirstStep struct {
	Kind     Kind                `json:"kind"`
	ID       string              `json:"id"`    // action or check id; of a referral the cause
	Cause    string              `json:"cause"` // whose step it is; "" for a check
	Order    int                 `json:"order"` // as Action.Order; 0 stands before all
	Do       checks.Text         `json:"do"`
	Window   checks.Text         `json:"window"`
	Open     bool                `json:"open"`  // the window is open this month
	Opens    int                 `json:"opens"` // the month in which it opens, 0 when it is open or always was
	Licence  bool                `json:"licence"`
	Dig      bool                `json:"dig"`
	Avoid    checks.Text         `json:"avoid"` // what must not be combined with this step
	Cautions []knowledge.Caution `json:"cautions"`
	Source   string              `json:"source"`
}

// wanted is a cause that is acted upon.
type wanted struct {
	cause      *knowledge.Cause
	likelihood float64
	confirmed  bool
	place      int // in reading order
}

// First lists the first steps for answer a in month (1 to 12; 0 when not known: then no window is called closed). judged
// holds a manager's judgement by cause: a confirmed one is acted upon whatever its likelihood, one ruled out is not.
func First(b *knowledge.Bundle, a diagnose.Answer, month int, judged map[string]string) []FirstStep {
	causes := acted(b, a, judged)
	confirmed := slices.ContainsFunc(causes, func(w wanted) bool { return w.confirmed })
	if !confirmed && a.Verdict == diagnose.NothingWrong {
		return []FirstStep{}
	}
	unsure := !confirmed && a.Verdict == diagnose.CantTell
	steps := []FirstStep{}
	if unsure {
		steps = append(steps, lookFurther(b, a, judged)...)
	}
	for _, w := range causes {
		for i := range b.Actions {
			act := &b.Actions[i]
			if act.Cause != w.cause.ID || act.Licence && (unsure || !w.mayTreat()) {
				continue
			}
			steps = append(steps, step(b, act, w, month))
		}
		if w.cause.Refer.EN != "" && !unsure {
			steps = append(steps, referral(w.cause))
		}
	}
	return ordered(steps, causes)
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

func step(b *knowledge.Bundle, act *knowledge.Action, w wanted, month int) FirstStep {
	s := FirstStep{
		Kind: Do, ID: act.ID, Cause: w.cause.ID, Order: act.Order, Do: act.Do, Window: act.Window,
		Licence: act.Licence, Dig: act.Dig, Avoid: act.Avoid, Source: act.Source, Cautions: []knowledge.Caution{},
	}
	s.Opens = opens(act.Months, month)
	s.Open = s.Opens == 0
	for i := range b.Cautions {
		where := b.Cautions[i].Where
		if s.Licence && slices.Contains(where, "pesticide") || s.Dig && slices.Contains(where, "dig") {
			s.Cautions = append(s.Cautions, b.Cautions[i])
		}
	}
	return s
}

// opens is the next of months after month, or 0 when the window is open now. Without months it is always open.
func opens(months []int, month int) int {
	if len(months) == 0 || month < 1 || month > 12 || slices.Contains(months, month) {
		return 0
	}
	return slices.MinFunc(months, func(x, y int) int { return cmp.Compare(wait(month, x), wait(month, y)) })
}

// wait is the number of months from one to the next coming other.
func wait(from, to int) int { return (to - from + 12) % 12 }

func referral(c *knowledge.Cause) FirstStep {
	return FirstStep{Kind: Refer, ID: c.ID, Cause: c.ID, Order: 4, Do: c.Refer, Open: true, Source: c.Source, Cautions: []knowledge.Caution{}}
}

// lookFurther is what would settle a diagnosis that can't be told: the best check, and whoever the leading cause that a
// manager has not ruled out refers to.
func lookFurther(b *knowledge.Bundle, a diagnose.Answer, judged map[string]string) []FirstStep {
	var out []FirstStep
	if len(a.Next) > 0 {
		at := slices.IndexFunc(b.Checks, func(c checks.Check) bool { return c.ID == a.Next[0].Check })
		if at >= 0 {
			c := &b.Checks[at]
			out = append(out, FirstStep{Kind: Check, ID: c.ID, Do: c.HowTo, Open: true, Source: c.Source, Cautions: cautionsFor(b, c.ID)})
		}
	}
	for _, l := range a.Causes {
		at := slices.IndexFunc(b.Causes, func(c knowledge.Cause) bool { return c.ID == l.ID })
		if at < 0 || judged[l.ID] == RuledOut {
			continue
		}
		if b.Causes[at].Refer.EN == "" {
			return out
		}
		r := referral(&b.Causes[at])
		r.Order = 0
		return append(out, r)
	}
	return out
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

// ordered puts steps in the order of work: by Order, then by the reading order of their causes; a referral follows the
// actions of its place.
func ordered(steps []FirstStep, causes []wanted) []FirstStep {
	place := map[string]int{}
	for _, w := range causes {
		place[w.cause.ID] = w.place
	}
	slices.SortStableFunc(steps, func(a, b FirstStep) int {
		return cmp.Or(cmp.Compare(a.Order, b.Order), cmp.Compare(last(a), last(b)), cmp.Compare(place[a.Cause], place[b.Cause]))
	})
	return steps
}

func last(s FirstStep) int {
	if s.Kind == Refer {
		return 1
	}
	return 0
}
