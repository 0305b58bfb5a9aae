package tell

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// Pair is two causes, each of them alone, and how well they can be told apart.
type Pair struct {
	A, B       string
	Season     string  // in which both are met most
	Error      float64 // share of drawn visits in which all findings together point to the wrong one of the two
	Check      string  // the check that tells them best
	CheckError float64 // share of visits in which that check alone points to the wrong one; 0.5 is tossing a coin
	Bits       float64 // what its answer tells of which one it is, 1 settles it
}

// answers is one question with exclusive answers: by cause the chance of each.
type answers [][]float64

// network is every finding's chances in one season, each cause alone.
type network struct {
	b        *knowledge.Bundle
	findings [][]answers // by finding: one, or one for each sign
	groups   [][]int     // by finding: the groups it is in
}

func networkOf(b *knowledge.Bundle, e *diagnose.Engine, season string) network {
	n := network{b: b, findings: make([][]answers, len(b.Findings)), groups: make([][]int, len(b.Findings))}
	for i := range b.Findings {
		f := &b.Findings[i]
		shares := make(answers, len(b.Causes))
		for c := range b.Causes {
			shares[c], _ = e.Chances(f.ID, season, []int{c}) // finding and season are the bundle's own
		}
		n.findings[i] = []answers{shares}
		if f.Multi {
			n.findings[i] = signs(shares, len(f.States))
		}
		for g, ids := range b.Groups {
			if slices.Contains(ids, f.ID) {
				n.groups[i] = append(n.groups[i], g)
			}
		}
	}
	return n
}

// signs makes a yes-or-no question of each sign; the sign that means none of them is no question.
func signs(shares answers, states int) []answers {
	var all []answers
	for s := range states {
		one, asked := make(answers, len(shares)), false
		for c := range shares {
			one[c] = []float64{shares[c][s], 1 - shares[c][s]}
			asked = asked || shares[c][s] > 0
		}
		if asked {
			all = append(all, one)
		}
	}
	return all
}

// pairs lists the o.Pairs pairs of causes that are hardest to tell apart.
func pairs(k *knowledge.Loaded, e *diagnose.Engine, o Options) []Pair {
	b := &k.Bundle
	seasons := make([]network, len(b.Seasons))
	for s, id := range b.Seasons {
		seasons[s] = networkOf(b, e, id)
	}
	var all []Pair
	for i := range b.Causes {
		for j := i + 1; j < len(b.Causes); j++ {
			if b.Causes[i].ID == b.Settings.Other || b.Causes[j].ID == b.Settings.Other {
				continue
			}
			s := together(b, i, j)
			p := Pair{A: b.Causes[i].ID, B: b.Causes[j].ID, Season: b.Seasons[s]}
			rng := rand.New(rand.NewPCG(o.Seed, uint64(i*len(b.Causes)+j)))
			p.Error = seasons[s].mistaken(rng, i, j, o.Visits)
			all = append(all, p)
		}
	}
	slices.SortStableFunc(all, func(a, b Pair) int { return cmp.Compare(b.Error, a.Error) })
	all = all[:min(len(all), o.Pairs)]
	for at := range all {
		n := &seasons[slices.Index(b.Seasons, all[at].Season)]
		n.bestCheck(&all[at])
	}
	return all
}

// together is the season in which the rarer of two causes is commonest.
func together(b *knowledge.Bundle, i, j int) int {
	at, most := 0, -1.0
	for s, id := range b.Seasons {
		if both := min(b.Causes[i].Rates[id], b.Causes[j].Rates[id]); both > most {
			at, most = s, both
		}
	}
	return at
}

// mistaken draws visits with every finding looked at, from each cause alone, and returns the share in which the findings
// speak more for the other one. Findings that say one thing twice count as they do in a diagnosis.
func (n *network) mistaken(rng *rand.Rand, a, b, visits int) float64 {
	wrong := 0.0
	says := make([]float64, len(n.findings))
	for range visits {
		for turn, truth := range []int{a, b} {
			n.draw(rng, truth, a, b, says)
			d := n.weigh(says)
			if turn == 1 {
				d = -d
			}
			switch {
			case d < 0:
				wrong++
			case d == 0:
				wrong += 0.5
			}
		}
	}
	return wrong / float64(2*visits)
}

// draw looks at every finding once with truth the only cause, and writes how much each speaks for a against b.
func (n *network) draw(rng *rand.Rand, truth, a, b int, says []float64) {
	for i, questions := range n.findings {
		says[i] = 0
		for _, q := range questions {
			s := pick(rng, q[truth])
			says[i] += math.Log(q[a][s] / q[b][s])
		}
	}
}

func pick(rng *rand.Rand, shares []float64) int {
	x := rng.Float64()
	for s, p := range shares {
		if x -= p; x < 0 {
			return s
		}
	}
	return len(shares) - 1
}

// weigh adds what findings say: of a group the loudest in full, the others by the group's share.
func (n *network) weigh(says []float64) float64 {
	loudest := slices.Repeat([]int{-1}, len(n.b.Groups))
	for i, groups := range n.groups {
		for _, g := range groups {
			if loudest[g] < 0 || math.Abs(says[i]) > math.Abs(says[loudest[g]]) {
				loudest[g] = i
			}
		}
	}
	sum := 0.0
	for i, d := range says {
		if slices.ContainsFunc(n.groups[i], func(g int) bool { return loudest[g] != i }) {
			d *= n.b.Settings.GroupShare
		}
		sum += d
	}
	return sum
}

// bestCheck finds the check whose answer tells most, in bits, of which of the two it is.
func (n *network) bestCheck(p *Pair) {
	index := func(id string) int {
		return slices.IndexFunc(n.b.Causes, func(c knowledge.Cause) bool { return c.ID == id })
	}
	i, j := index(p.A), index(p.B)
	p.CheckError = 0.5
	for c := range n.b.Checks {
		check := &n.b.Checks[c]
		if check.Retired || len(check.Yields) == 0 {
			continue
		}
		bits, wrong := n.worth(check, i, j)
		if bits > p.Bits+1e-12 {
			p.Check, p.Bits, p.CheckError = check.ID, bits, wrong
		}
	}
}

// worth goes through every answer a check can give: what it tells in bits, and how often it misleads.
func (n *network) worth(check *checks.Check, i, j int) (bits, wrong float64) {
	as, bs := []float64{1}, []float64{1}
	for _, y := range check.Yields {
		f := slices.IndexFunc(n.b.Findings, func(f knowledge.Finding) bool { return f.ID == y.Finding })
		for _, q := range n.findings[f] {
			as, bs = outcomes(as, q[i]), outcomes(bs, q[j])
		}
	}
	for k := range as {
		bits += told(as[k], bs[k])/2 + told(bs[k], as[k])/2
		wrong += min(as[k], bs[k]) / 2
	}
	return bits, wrong
}

// outcomes joins the answers so far with those to one more question.
func outcomes(so, more []float64) []float64 {
	out := make([]float64, 0, len(so)*len(more))
	for _, p := range so {
		for _, q := range more {
			out = append(out, p*q)
		}
	}
	return out
}

// told is what an outcome of chance p tells against the mean of p and q, in bits, weighed by p.
func told(p, q float64) float64 {
	if p == 0 {
		return 0
	}
	return p * math.Log2(2*p/(p+q))
}
