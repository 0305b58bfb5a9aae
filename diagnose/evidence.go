package diagnose

import (
	"fmt"
	"math"
	"slices"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// piece is the evidence of one finding: what it says of each of its variables.
type piece struct {
	finding int
	parts   []part
	shown   int   // the state it shows; of a number the likeliest; -1 for signs
	present []int // signs
}

// part is the evidence on one variable: a certain state, or the chance of what was measured under each state.
type part struct {
	at     int // place in finding.vars
	state  int // -1: see weight
	weight []float64
}

// surely reports whether the piece shows state beyond reasonable doubt.
func (p *piece) surely(state int) bool {
	if state < 0 {
		return false
	}
	if p.shown < 0 {
		return slices.Contains(p.present, state)
	}
	only := p.parts[0]
	return p.shown == state && (only.state >= 0 || only.weight[state] >= 0.95)
}

// shows reports whether state is what the piece most likely shows.
func (p *piece) shows(state int) bool {
	return state >= 0 && (p.shown == state || slices.Contains(p.present, state))
}

func pieceOf(pieces []*piece, finding int) *piece {
	for _, p := range pieces {
		if p.finding == finding {
			return p
		}
	}
	return nil
}

// read turns a case's observations into pieces in catalogue order.
func (e *Engine) read(c *Case) ([]*piece, error) {
	var out []*piece
	for i := range c.Observed {
		o := &c.Observed[i]
		wrong := func(kind InputKind, format string, args ...any) error {
			return &InputError{Case: c.ID, Finding: o.Finding, Kind: kind, Say: fmt.Sprintf(format, args...)}
		}
		f, ok := e.finding[o.Finding]
		if !ok {
			return nil, wrong(UnknownFinding, "there is no finding %q", o.Finding)
		}
		if pieceOf(out, f) != nil {
			return nil, wrong(Twice, "said twice")
		}
		p, err := e.readOne(f, o, c.shown, wrong)
		if err != nil {
			return nil, err
		}
		if len(p.parts) > 0 {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b *piece) int { return a.finding - b.finding })
	return out, nil
}

// shown is the state that a finding looked at shows in c, "" where it was not looked at or is no state.
func (c *Case) shown(finding string) string {
	for i := range c.Observed {
		if c.Observed[i].Finding == finding {
			return c.Observed[i].State
		}
	}
	return ""
}

type (
	wrongFunc func(kind InputKind, format string, args ...any) error
	shownFunc func(finding string) string
)

func (e *Engine) readOne(f int, o *Observed, shown shownFunc, wrong wrongFunc) (*piece, error) {
	know := &e.b.Findings[f]
	signs := len(o.Present) > 0 || len(o.Absent) > 0
	forms := 0
	for _, set := range []bool{o.State != "", o.Number != nil, signs} {
		if set {
			forms++
		}
	}
	switch {
	case forms != 1:
		return nil, wrong(WrongForm, "needs a state, a number or signs: exactly one of them")
	case know.Multi && o.State != "":
		return e.readSigns(f, []string{o.State}, nil, wrong)
	case know.Multi && signs:
		return e.readSigns(f, o.Present, o.Absent, wrong)
	case know.Multi:
		return nil, wrong(WrongForm, "has signs that are there or not; a number says nothing")
	case signs:
		return nil, wrong(WrongForm, "has one state at a time, not a list of signs")
	case o.Number != nil:
		return e.readNumber(f, o.Number, shown, wrong)
	}
	s := e.state(f, o.State)
	if s < 0 {
		return nil, wrong(UnknownState, "there is no state %q", o.State)
	}
	return &piece{finding: f, shown: s, parts: []part{{state: s}}}, nil
}

// readSigns takes signs that are there and signs that were looked for and are not; the none sign alone means that all of
// them were looked for.
func (e *Engine) readSigns(f int, present, absent []string, wrong wrongFunc) (*piece, error) {
	know := &e.b.Findings[f]
	said := make([]int, len(know.States)) // 0 not said, else signYes+1 or signNo+1
	none := e.none[know.ID]
	for answer, ids := range [][]string{present, absent} {
		for _, id := range ids {
			if id == none && answer == signYes && len(present) == 1 && len(absent) == 0 {
				return e.allAbsent(f), nil
			}
			s := e.state(f, id)
			if s < 0 || id == none {
				return nil, wrong(UnknownState, "there is no sign %q to name here", id)
			}
			if said[s] != 0 {
				return nil, wrong(Twice, "sign %s said twice", id)
			}
			said[s] = answer + 1
		}
	}
	return signsPiece(f, said), nil
}

func (e *Engine) allAbsent(f int) *piece {
	know := &e.b.Findings[f]
	said := make([]int, len(know.States))
	for s := range know.States {
		if know.States[s].ID != e.none[know.ID] {
			said[s] = signNo + 1
		}
	}
	return signsPiece(f, said)
}

func signsPiece(f int, said []int) *piece {
	p := &piece{finding: f, shown: -1}
	for s, answer := range said {
		if answer == 0 {
			continue
		}
		p.parts = append(p.parts, part{at: s, state: answer - 1})
		if answer == signYes+1 {
			p.present = append(p.present, s)
		}
	}
	return p
}

func (e *Engine) readNumber(f int, n *Number, shown shownFunc, wrong wrongFunc) (*piece, error) {
	know := &e.b.Findings[f]
	if len(know.Bands) == 0 {
		return nil, wrong(WrongForm, "is not a number; name one of its states")
	}
	unit, ok := e.unit(know.ID, n.Unit)
	if !ok {
		return nil, wrong(UnknownUnit, "is not measured in %q", n.Unit)
	}
	mean, sd := n.Mean*unit.Mul/unit.Div, n.SD*unit.Mul/unit.Div
	switch {
	case math.IsNaN(mean) || math.IsInf(mean, 0) || math.IsNaN(sd) || math.IsInf(sd, 0):
		return nil, wrong(BadNumber, "is not a finite number")
	case mean < 0 || sd < 0:
		return nil, wrong(BadNumber, "can't be negative")
	case n.N < 1:
		return nil, wrong(BadNumber, "needs at least one measurement")
	}
	w, best := e.spread(f, know.BandsWith(shown), mean, sd, n.N)
	return &piece{finding: f, shown: best, parts: []part{{state: -1, weight: w}}}, nil
}

// spread is the chance that the true value lies in each state's band of bands, given the readings' standard error and the known
// error of the measurement, and the likeliest state. The outer bands are open. The error of the measurement is that at the
// band's limit: whether the true value may lie beyond the limit is asked, and an error in proportion grows with the true
// value, not with what was read.
func (e *Engine) spread(f int, bands []knowledge.Band, mean, sd float64, n int) (weight []float64, best int) {
	know := &e.b.Findings[f]
	away := func(limit float64) float64 {
		known := know.ErrAbs + know.ErrRel*math.Abs(limit)
		return steps(limit-mean, math.Sqrt(sd*sd/float64(n)+known*known))
	}
	weight = make([]float64, len(know.States))
	for i, band := range bands {
		low, high := math.Inf(-1), math.Inf(1)
		if i > 0 {
			low = away(band.Low)
		}
		if i < len(bands)-1 {
			high = away(band.High)
		}
		weight[e.state(f, band.State)] = between(low, high)
	}
	for s := range weight {
		if weight[s] > weight[best] {
			best = s
		}
	}
	return weight, best
}

// unit finds the unit id among the checks that yield the finding as a measured number; "" is the finding's own.
func (e *Engine) unit(finding, id string) (checks.Unit, bool) {
	if id == "" {
		return checks.Unit{Mul: 1, Div: 1}, true
	}
	for i := range e.b.Checks {
		c := &e.b.Checks[i]
		if !slices.ContainsFunc(c.Yields, func(y checks.Yield) bool { return y.Finding == finding }) {
			continue
		}
		for _, u := range c.Units {
			if u.ID == id && u.Div != 0 {
				return u, true
			}
		}
	}
	return checks.Unit{}, false
}

// state returns the place of a state in its finding, or -1.
func (e *Engine) state(f int, id string) int {
	return slices.IndexFunc(e.b.Findings[f].States, func(s knowledge.State) bool { return s.ID == id })
}

// counts splits pieces into those that count and the ids of those that don't in this context.
func (e *Engine) counts(pieces []*piece) (kept []*piece, ignored []string) {
	ignored = []string{}
	for _, p := range pieces {
		if e.ignored(p.finding, p.shows, pieces) {
			ignored = append(ignored, e.b.Findings[p.finding].ID)
			continue
		}
		kept = append(kept, p)
	}
	return kept, ignored
}

// ignored reports whether a rule sets aside finding f when it shows what shows says.
func (e *Engine) ignored(f int, shows func(state int) bool, seen []*piece) bool {
	for i := range e.b.Ignore {
		r := &e.b.Ignore[i]
		if e.b.Findings[f].ID != r.Finding || r.State != "" && !shows(e.state(f, r.State)) {
			continue
		}
		other := pieceOf(seen, e.finding[r.Other])
		if other != nil && slices.ContainsFunc(r.OtherStates, func(s string) bool { return other.shows(e.state(other.finding, s)) }) {
			return true
		}
	}
	return false
}

// factor is the logarithm of P(piece | set) for every set. What is certain is read off; the room of piece i is written when it
// has to be computed.
func (e *Engine) factor(w *scratch, i int, p *piece) []float64 {
	f, room := e.model[w.season][p.finding], w.room[i]
	first := &p.parts[0]
	if first.state < 0 {
		f.vars[first.at].blend(e.sets, first.weight, w.measured[i], room)
		return room
	}
	row := f.vars[first.at].logRow(first.state)
	if len(p.parts) == 1 {
		return row
	}
	copy(room, row)
	for _, part := range p.parts[1:] {
		for s, l := range f.vars[part.at].logRow(part.state) {
			room[s] += l
		}
	}
	return room
}

// blend writes the chance of what was measured, weight over the states, and its logarithm. A set whose last member has no say
// in the finding is as the set without it.
func (v *variable) blend(sets *sets, weight []float64, chance, logs []float64) {
	clear(chance)
	for st, w := range weight {
		if w == 0 {
			continue
		}
		for i, p := range v.row(st) {
			chance[i] += w * p
		}
	}
	logs[0] = safeLog(chance[0])
	for i := 1; i < len(logs); i++ {
		if v.given[sets.last[i]] == nil {
			logs[i] = logs[sets.parent[i]]
			continue
		}
		logs[i] = safeLog(chance[i])
	}
}
