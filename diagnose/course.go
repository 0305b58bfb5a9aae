package diagnose

import (
	"math"
	"slices"

	"swardbook/diagnose/knowledge"
)

// Earlier is what the last visit of the zone left of one cause.
type Earlier struct {
	Cause      string  `json:"cause"`
	Likelihood float64 `json:"likelihood"` // Likelihood.Carried of that visit's answer
	Days       float64 `json:"days"`       // since that visit, 0 and up
}

// Done is a step that was taken in the zone.
type Done struct {
	Action string  `json:"action"`
	Days   float64 `json:"days"` // since it was taken, 0 and up
}

// Course is what went before in a zone.
type Course struct {
	Before []Earlier `json:"before,omitempty"`
	Done   []Done    `json:"done,omitempty"`
}

// course changes rates, in catalogue order, by what went before. A cause begins with the likelihood that the last visit left,
// drawn back to its base rate as time goes by: with a time constant of Cause.Lasts days, as a thing that comes and goes by
// itself at random would. Steps taken since leave their share of it. Of a step taken before the last visit only what it has
// done since counts: the rest was seen then.
func (e *Engine) course(c *Case, rates []float64) {
	var since float64
	for _, b := range c.Before {
		i := e.cause[b.Cause]
		if lasts := e.b.Causes[i].Lasts; lasts > 0 {
			rates[i] += (b.Likelihood - rates[i]) * math.Exp(-b.Days/lasts)
		}
		since = max(since, b.Days)
	}
	for _, d := range c.Done {
		for i := range e.b.Effects {
			f := &e.b.Effects[i]
			if f.Action != d.Action {
				continue
			}
			left := 1 - (1-f.Left)*min(d.Days/f.Days, 1)
			if len(c.Before) > 0 && d.Days > since {
				left /= 1 - (1-f.Left)*min((d.Days-since)/f.Days, 1)
			}
			rates[e.cause[f.Cause]] *= left
		}
	}
}

// readCourse refuses what can't be meant.
func (e *Engine) readCourse(c *Case) error {
	wrong := func(kind InputKind, say string) error { return &InputError{Case: c.ID, Kind: kind, Say: say} }
	seen := map[string]bool{}
	for _, b := range c.Before {
		switch _, known := e.cause[b.Cause]; {
		case !known:
			return wrong(UnknownCause, "there is no cause "+b.Cause+" to have been likely before")
		case seen[b.Cause]:
			return wrong(Twice, b.Cause+" was likely before, said twice")
		case !(b.Likelihood >= 0 && b.Likelihood <= 1):
			return wrong(BadNumber, "the earlier likelihood of "+b.Cause+" lies between 0 and 1")
		case !(b.Days >= 0) || math.IsInf(b.Days, 0):
			return wrong(BadNumber, "the days since "+b.Cause+" was likely are 0 or more")
		}
		seen[b.Cause] = true
	}
	for _, d := range c.Done {
		if !slices.ContainsFunc(e.b.Actions, func(a knowledge.Action) bool { return a.ID == d.Action }) {
			return wrong(UnknownAction, "there is no step "+d.Action+" to have been taken")
		}
		if !(d.Days >= 0) || math.IsInf(d.Days, 0) {
			return wrong(BadNumber, "the days since "+d.Action+" are 0 or more")
		}
	}
	return nil
}
