package diagnose

import (
	"math"
	"slices"
)

// The roles of a cause in an answer.
const (
	Primary   = "primary"
	Secondary = "secondary"
)

// The verdicts.
const (
	ACause       = "cause"
	CantTell     = "cant_tell"
	NothingWrong = "nothing_wrong"
)

func (e *Engine) likely(p float64) bool { return grid(p) >= grid(e.b.Settings.Likely) }

// rank gives roles and the order in which a person should read the causes: the primary ones, what they drive or what is
// likely besides, and the rest. in is in catalogue order, w holds the posterior behind it.
func (e *Engine) rank(in []Likelihood, w *scratch) []Likelihood {
	e.roles(in, w)
	class := make([]int, len(in))
	for i := range in {
		class[i] = e.class(in, i)
	}
	order := make([]int, len(in))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if class[a] != class[b] {
			return class[a] - class[b]
		}
		return falling(e.worth(in, class, a), e.worth(in, class, b))
	})
	out := make([]Likelihood, len(in))
	for i, c := range order {
		out[i] = in[c]
	}
	return out
}

// The classes of causes, in reading order.
const (
	leads      = iota // primary, and likely enough to be named
	suspected         // primary, and no more than likely
	leadsMute         // primary, but no finding speaks of it: it leads only alone
	drivesOnly        // not likely itself, but the best driver there is of a likely consequence
	follows           // secondary
	others
)

func (e *Engine) class(in []Likelihood, i int) int {
	switch {
	case in[i].Role == Primary && e.mute[i]:
		return leadsMute
	case in[i].Role == Primary && grid(in[i].Likelihood) >= grid(e.b.Settings.CantTell):
		return leads
	case in[i].Role == Primary:
		return suspected
	case in[i].Role == Secondary:
		return follows
	case e.underlies(in, i):
		return drivesOnly
	}
	return others
}

// worth is what orders causes within a class: primaries by what is at stake, others by likelihood.
func (e *Engine) worth(in []Likelihood, class []int, i int) float64 {
	if class[i] <= leadsMute {
		return in[i].Likelihood * e.b.Causes[i].Severity
	}
	return in[i].Likelihood
}

// roles sets Role and DrivenBy.
func (e *Engine) roles(in []Likelihood, w *scratch) {
	count := 0
	for _, l := range in {
		if e.likely(l.Likelihood) {
			count++
		}
	}
	for i := range in {
		if !e.likely(in[i].Likelihood) {
			continue
		}
		in[i].Role = Secondary
		for _, l := range e.links {
			if l.child == i && e.likely(in[l.parent].Likelihood) && e.drives(w, l, in[i].Likelihood) {
				in[i].DrivenBy = append(in[i].DrivenBy, in[l.parent].ID)
			}
		}
		driven := len(in[i].DrivenBy) > 0
		if e.b.Causes[i].Consequence {
			driven = count > 1 || e.halfDriven(in, i)
		}
		if !driven {
			in[i].Role = Primary
		}
	}
}

// drives reports whether the parent of l is at work here: it is active in at least half of what makes the child likely.
// A link alone does not make a parent the reason of its child; both may be likely and yet exclude each other. Nor is one its
// reason that alone would not make it likely: dry turf draws chinch bugs, but where they are counted they are there by themselves.
func (e *Engine) drives(w *scratch, l link, child float64) bool {
	if !e.b.Causes[l.child].Consequence && !e.likely(l.p) {
		return false
	}
	var both float64
	for _, i := range w.near {
		members := e.sets.of(int(i))
		if slices.Contains(members, int32(l.parent)) && slices.Contains(members, int32(l.child)) {
			both += w.post[i]
		}
	}
	return grid(both) >= grid(child/2)
}

// halfDriven reports whether a driver of consequence c is at least half as likely as c.
func (e *Engine) halfDriven(in []Likelihood, c int) bool {
	return slices.ContainsFunc(e.links, func(l link) bool {
		return l.child == c && grid(in[l.parent].Likelihood) >= grid(in[c].Likelihood/2)
	})
}

// underlies reports whether cause i, not likely itself, drives a likely consequence and is at least half as likely: the
// consequence must not be read first.
func (e *Engine) underlies(in []Likelihood, i int) bool {
	return slices.ContainsFunc(e.links, func(l link) bool {
		return l.parent == i && in[l.child].Role == Secondary && len(in[l.child].DrivenBy) == 0 &&
			e.b.Causes[l.child].Consequence && grid(in[i].Likelihood) >= grid(in[l.child].Likelihood/2)
	})
}

// verdict says what the answer comes to. Without a finding that counts nothing can be told, not even that all is well.
func (e *Engine) verdict(a *Answer, w *scratch) string {
	beats, likely := true, false
	for _, l := range a.Causes {
		beats = beats && a.NothingWrong > l.Likelihood
		likely = likely || e.likely(l.Likelihood)
	}
	switch {
	case a.Counted == 0 || len(a.Causes) == 0:
		return CantTell
	case beats && (a.NothingWrong >= 0.5 || !likely):
		return NothingWrong
	case grid(a.Causes[0].Likelihood) < grid(e.b.Settings.CantTell):
		return CantTell
	case e.b.Causes[e.cause[a.Causes[0].ID]].Consequence:
		return CantTell // that there are weeds in thin turf is seen; why is not known yet
	case grid(a.Causes[0].Likelihood) < grid(e.b.Settings.Sure) && !e.strong(w, e.cause[a.Causes[0].ID]):
		return CantTell // common and no more than that: two glances don't make it the cause
	}
	return ACause
}

// strong reports whether what was found multiplied the odds of cause c by Settings.Strong, against what was thought before
// anything was found: the season, the context and the earlier visit.
func (e *Engine) strong(w *scratch, c int) bool {
	e.prior(w.rates, w.season, w.before)
	top := highest(w.before)
	var with, without float64
	for i, l := range w.before {
		if l -= top; l < negligible {
			continue
		}
		if p := math.Exp(l); slices.Contains(e.sets.of(i), int32(c)) {
			with += p
		} else {
			without += p
		}
	}
	now := w.like[c]
	return grid(now*without) >= grid(e.b.Settings.Strong*(1-now)*with)
}
