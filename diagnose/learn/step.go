package learn

import (
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// step is one edition of the knowledge with what counting needs of it.
type step struct {
	know   *knowledge.Loaded
	engine *diagnose.Engine
	cause  map[string]int
	drives []drive
	speaks [][][]bool // by finding, sign (one for findings that have states) and cause: it has a row there
}

// drive is a knowledge.Drive by places.
type drive struct{ parent, child int }

func newStep(know *knowledge.Loaded) (*step, error) {
	engine, err := diagnose.New(&know.Bundle)
	if err != nil {
		return nil, err
	}
	s := &step{know: know, engine: engine, cause: map[string]int{}}
	for i := range know.Bundle.Causes {
		s.cause[know.Bundle.Causes[i].ID] = i
	}
	for _, d := range know.Bundle.Drives {
		s.drives = append(s.drives, drive{s.cause[d.Parent], s.cause[d.Child]})
	}
	for i := range know.Bundle.Findings {
		s.speaks = append(s.speaks, s.speaksOf(&know.Bundle.Findings[i]))
	}
	return s, nil
}

func (s *step) speaksOf(f *knowledge.Finding) [][]bool {
	signs := 1
	if f.Multi {
		signs = len(f.States)
	}
	out := make([][]bool, signs)
	for i := range out {
		out[i] = make([]bool, len(s.cause))
	}
	for _, r := range f.Rows {
		at := 0
		if f.Multi {
			at = stateAt(f, r.State)
		}
		out[at][s.cause[r.Cause]] = true
	}
	return out
}

func stateAt(f *knowledge.Finding, state string) int {
	return slices.IndexFunc(f.States, func(s knowledge.State) bool { return s.ID == state })
}

// places turns ids of causes into places; an id that this edition does not know is left out.
func (s *step) places(ids []string) []int {
	var out []int
	for _, id := range ids {
		if at, ok := s.cause[id]; ok {
			out = append(out, at)
		}
	}
	return out
}

// alone is the share of each state of a finding where only one cause is active.
func (s *step) alone(finding, season, cause int) []float64 {
	b := &s.know.Bundle
	p, _ := s.engine.Chances(b.Findings[finding].ID, b.Seasons[season], []int{cause})
	return p
}

// masses are sums of the posterior over the sets that fit the labels of one case. The two columns of a pair hold sets of any size and those that have room
// for one cause more; room[2] has room for two.
type masses struct {
	all, one, two float64
	in            [3][]float64   // by cause: sets with it, of any size, with room for one, for two
	both          [3][][]float64 // by two causes: the same
	self          []float64      // by cause: the part of in[0] in which it came by itself
	fired         [][]float64    // by parent and child: the part of both[0] in which the parent brought the child about
}

func newMasses(n int) *masses {
	square := func() [][]float64 {
		rows := make([][]float64, n)
		for i := range rows {
			rows[i] = make([]float64, n)
		}
		return rows
	}
	m := &masses{self: make([]float64, n), fired: square()}
	for i := range m.in {
		m.in[i], m.both[i] = make([]float64, n), square()
	}
	return m
}

// add adds a set of mass p that has room for so many causes more.
func (m *masses) add(set []int32, p float64, room int, f *diagnose.Firing) {
	m.all += p
	if room >= 1 {
		m.one += p
	}
	if room >= 2 {
		m.two += p
	}
	for _, c := range set {
		missed := 1.0 // chance that no active parent brings c about
		for _, a := range set {
			missed *= f.Spare[a][c]
		}
		there := 1 - (1-f.Rate[c])*missed
		m.self[c] += p * f.Rate[c] / there
		for r := 0; r <= min(room, 2); r++ {
			m.in[r][c] += p
		}
		for _, a := range set {
			if a == c {
				continue
			}
			m.fired[a][c] += p * (1 - f.Spare[a][c]) / there
			for r := 0; r <= min(room, 2); r++ {
				m.both[r][a][c] += p
			}
		}
	}
}

// causeMass is how much of the posterior of c's coming or going there is, and how much of it c came by itself in.
func (m *masses) causeMass(c int) (all, self float64) {
	return m.in[0][c] + max(0, m.one-m.in[1][c]), m.self[c]
}

// driveMass is the same for two causes: all, the part in which the parent is active, and that in which it brought the child about.
func (m *masses) driveMass(d drive) (all, active, fired float64) {
	a, c := d.parent, d.child
	active = m.both[0][a][c] + max(0, m.in[1][a]-m.both[1][a][c])
	all = active + max(0, m.in[1][c]-m.both[1][a][c]) + max(0, m.two-m.in[2][a]-m.in[2][c]+m.both[2][a][c])
	return all, active, m.fired[a][c]
}
