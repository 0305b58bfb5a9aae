// Package learn counts a firm's own signed-off cases and says what they change in the knowledge: base rates, links and drives.
// It is pure: cases in, a report out; whoever calls it asks a manager before anything counts.
//
// A case is one zone of a signed-off visit: what was found there, the causes a person confirmed, and those a person ruled out.
//
// What a label means. A confirmed cause is active, one ruled out is not. What nobody spoke of is neither: it counts by the
// engine's posterior given the findings and the labels. To count labelled causes alone would be wrong, since people speak of the causes that
// are suspected: the share confirmed among them says nothing of how common a cause is. Weighing the rest by the posterior is sound as
// long as people choose what to speak of by what they see (the findings, the engine's answer) and not by the truth behind it.
// These are steps of expectation and maximisation (Dempster, Laird and Rubin, "Maximum likelihood from incomplete data via
// the EM algorithm", Journal of the Royal Statistical Society B 39, 1977) from the knowledge in force towards the likeliest given
// our numbers and all cases; a report takes a few, the one after it takes the next. An engine that only listened to itself would
// learn its own mistakes: a number is changed only when people's words stand behind it, at least MinLabels of them.
//
// Our own numbers count as so many cases each (knowledge.Weights), and the firm's are added: a Beta distribution for a
// rate or a drive, a Dirichlet distribution for the states of a link. Every report counts from our numbers and all cases, never from
// what was learned before, so no case counts twice.
//
//   - A rate is the chance that a cause is there by itself, in one season, where a client complains. So only complaints count, of every zone the
//     first visit of a season, and a cause that a driver explains counts by the share that is left to itself. A context that
//     multiplies the rate multiplies what the case weighs; one that puts another rate in its place leaves it out.
//   - A drive is the chance that an active parent brings its child about; it counts in the same cases where the parent is active.
//   - A link is the share of a finding's state where only one cause is active. It counts in every case as far as the cause
//     is active and no other active cause has a word to say on the finding, where the table holds as it stands.
//
// The engine looks at sets of at most K causes. So that this doesn't make causes look rarer than they are, the chance of
// one is taken under the condition that at most K−1 others are active: it may then come or go.
package learn

import (
	"runtime"
	"slices"
	"sync"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// Case is one zone of a signed-off visit. A cause is in at most one of Confirmed and RuledOut.
type Case struct {
	Case      diagnose.Case
	Confirmed []string
	RuledOut  []string
	First     bool // the zone's first signed-off visit of this season
}

// What a change must come to before it is reported.
const (
	MinLabels = 3     // people's words behind it
	MinShift  = 0.2   // of its log-odds
	MinStep   = 0.005 // of its chance
)

// The kinds of change.
const (
	Rate  = "rate"
	Link  = "link"
	Drive = "drive"
)

// Change is one number that the cases change.
type Change struct {
	Kind    string  `json:"kind"`
	Cause   string  `json:"cause"`             // of a drive the parent
	Season  string  `json:"season,omitempty"`  // of a rate
	Finding string  `json:"finding,omitempty"` // of a link
	State   string  `json:"state,omitempty"`   // of a link
	Child   string  `json:"child,omitempty"`   // of a drive
	Ours    float64 `json:"ours"`              // without the firm's cases
	Before  float64 `json:"before"`            // in force now
	After   float64 `json:"after"`
	From    float64 `json:"from"`   // 90 % interval of After
	To      float64 `json:"to"`     // 90 % interval of After
	Weight  float64 `json:"weight"` // cases that our number is worth
	Cases   float64 `json:"cases"`  // the firm's cases behind it, those that count in part by their part
	Labels  int     `json:"labels"` // of them, those in which a person spoke of the cause
	Shift   float64 `json:"shift"`  // log-odds of After less those of Before

	reported bool // it matters, or a state of the same finding does
}

// Report is what a firm's cases change, the largest change first.
type Report struct {
	Base    string   `json:"base"`   // edition of our numbers
	From    string   `json:"from"`   // edition in force
	Cases   int      `json:"cases"`  // all that were given
	Spoken  int      `json:"spoken"` // those in which a person spoke of a cause
	Left    int      `json:"left"`   // those that the engine can't weigh
	Changes []Change `json:"changes"`
}

// Learn counts cases. base is our knowledge, now the knowledge in force: base, or base with what was learned before.
func Learn(base, now *knowledge.Loaded, cases []Case) (Report, error) {
	prior, err := newStep(base)
	if err != nil {
		return Report{}, err
	}
	inForce, err := newStep(now)
	if err != nil {
		return Report{}, err
	}
	report := Report{Base: base.Edition, From: now.Edition, Cases: len(cases), Changes: []Change{}}
	for _, c := range cases {
		if len(c.Confirmed)+len(c.RuledOut) > 0 {
			report.Spoken++
		}
	}
	if report.Spoken == 0 {
		return report, nil
	}
	var spoken []Change
	for at, round := inForce, 0; round < rounds; round++ {
		all, left := at.sum(cases)
		spoken, report.Left = changes(prior, inForce, all), left
		next := laid(base, spoken)
		if apart(at.know, next) < settled {
			break
		}
		if at, err = newStep(next); err != nil {
			return Report{}, err
		}
	}
	report.Changes = slices.DeleteFunc(spoken, func(c Change) bool { return !c.reported })
	return report, nil
}

// A report takes so many steps, fewer when no number moves any more by so much in log-odds.
const (
	rounds  = 3
	settled = 0.05
)

// sum counts all cases; left is how many can't be weighed.
func (s *step) sum(cases []Case) (all *sums, left int) {
	all = newSums(s.know)
	for _, c := range s.count(cases) {
		if c == nil {
			left++
			continue
		}
		all.add(c)
	}
	return all, left
}

// count weighs every case, several at a time; nil stands for one that can't be weighed.
func (s *step) count(cases []Case) []*counts {
	out := make([]*counts, len(cases))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(cases)) {
		wg.Go(func() {
			for i := range next {
				if c, err := s.weigh(&cases[i]); err == nil {
					out[i] = c
				}
			}
		})
	}
	for i := range cases {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}
