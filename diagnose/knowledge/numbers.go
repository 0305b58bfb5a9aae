package knowledge

import (
	"math"
	"slices"
	"strings"
)

// Limits of what the words of one cause may add to for one finding. Words are coarse, so a little over or under 1 is
// rounding and is scaled; more than that is a mistake.
const (
	sumLow  = 0.80 // only when every state has a row
	sumHigh = 1.15
)

func (l *loader) readBaseline() {
	type group struct {
		f      *Finding
		season string
	}
	filled := map[group][]bool{}
	lastOf := map[group]pos{}
	var order []group
	for _, r := range l.table("baseline.csv", "finding", "state", "season", "p", "source") {
		l.source(r.at, r.cells["source"])
		f, s := l.findingOf(r)
		if f == nil {
			continue
		}
		g := group{f, r.cells["season"]}
		if g.season != "all" && l.unknown(!slices.Contains(l.seasons, g.season), r.at, "season", g.season) {
			continue
		}
		if filled[g] == nil {
			filled[g] = make([]bool, len(f.States))
			f.Base[g.season] = make([]float64, len(f.States))
			order = append(order, g)
		}
		if filled[g][s] {
			l.fail(r.at, "%s %s %s is already given", f.ID, f.States[s].ID, g.season)
		}
		filled[g][s], lastOf[g] = true, culprit(lastOf[g], r.at)
		f.Base[g.season][s] = l.number(r, "p", 0.0001, 0.9999)
	}
	for _, g := range order {
		if i := slices.Index(filled[g], false); i >= 0 {
			l.fail(lastOf[g], "%s %s: no share for %s", g.f.ID, g.season, g.f.States[i].ID)
		} else if !g.f.Multi {
			l.normalise(lastOf[g], g.f.ID+" "+g.season, g.f.Base[g.season])
		}
	}
	l.wantBase()
}

// normalise makes shares add to 1 when only rounding keeps them from it.
func (l *loader) normalise(at pos, what string, shares []float64) {
	sum := 0.0
	for _, p := range shares {
		sum += p
	}
	if !near(sum) {
		l.fail(at, "%s: the shares add to %.4f, not 1", what, sum)
		return
	}
	for i := range shares {
		shares[i] /= sum
	}
}

func (l *loader) wantBase() {
	for id, f := range l.states {
		if f.Base["all"] == nil {
			l.fail(l.findingAt[id], "no baseline for %s", id)
		}
	}
}

func (l *loader) readErrors() {
	seen := map[string]pos{}
	l.errSource = map[string]string{}
	for _, r := range l.table("errors.csv", "finding", "abs", "rel", "source") {
		from := l.source(r.at, r.cells["source"])
		f := l.states[r.cells["finding"]]
		if l.unknown(f == nil, r.at, "finding", r.cells["finding"]) || !l.once(seen, f.ID, r.at) {
			continue
		}
		l.errSource[f.ID] = from
		f.ErrAbs, f.ErrRel = l.number(r, "abs", 0, 1e6), l.number(r, "rel", 0, 2)
		if len(f.Bands) == 0 {
			l.fail(r.at, "%s has no bands", f.ID)
		}
		if f.ErrAbs+f.ErrRel == 0 {
			l.fail(r.at, "no measurement is without error")
		}
	}
	for id, f := range l.states {
		if _, ok := seen[id]; !ok && len(f.Bands) > 0 {
			l.fail(l.findingAt[id], "no measuring error for %s", id)
		}
	}
}

func (l *loader) readLinks() {
	seen := map[string]pos{}
	type pair struct {
		f     *Finding
		cause string
	}
	sums, counts, lastOf := map[pair]float64{}, map[pair]int{}, map[pair]pos{}
	for _, r := range l.table("links.csv", "finding", "state", "cause", "word", "source") {
		f, s := l.findingOf(r)
		chance, word := l.word(r)
		row := Row{r.cells["state"], r.cells["cause"], chance, word, l.source(r.at, r.cells["source"])}
		if l.unknown(l.causes[row.Cause] == nil, r.at, "cause", row.Cause) || f == nil {
			continue
		}
		if !l.once(seen, strings.Join([]string{f.ID, f.States[s].ID, row.Cause}, ","), r.at) {
			continue
		}
		f.Rows = append(f.Rows, row)
		p := pair{f, row.Cause}
		sums[p] += row.P
		counts[p]++
		lastOf[p] = culprit(lastOf[p], r.at)
	}
	for p, sum := range sums {
		full := counts[p] == len(p.f.States)
		if !p.f.Multi && (sum > sumHigh || full && sum < sumLow) {
			l.fail(lastOf[p], "%s, %s: the words add to %.2f", p.f.ID, p.cause, math.Round(sum*100)/100)
		}
	}
}

func (l *loader) readGroups(b *Bundle) {
	b.Groups = [][]string{}
	groups := map[string]pos{}
	for _, r := range l.table("groups.csv", "findings", "source") {
		l.source(r.at, r.cells["source"])
		group := strings.Fields(r.cells["findings"])
		if len(group) < 2 {
			l.fail(r.at, "a group has at least two findings")
		}
		seen := map[string]pos{}
		for _, id := range group {
			l.unknown(l.states[id] == nil, r.at, "finding", id)
			l.once(seen, id, r.at)
		}
		b.Groups = append(b.Groups, group)
		l.once(groups, strings.Join(slices.Sorted(slices.Values(group)), " "), r.at)
	}
}

func (l *loader) readIgnore(b *Bundle) {
	b.Ignore = []Ignore{}
	seen := map[string]pos{}
	for _, r := range l.table("ignore.csv", "finding", "state", "other", "other_states", "source") {
		ig := Ignore{r.cells["finding"], r.cells["state"], r.cells["other"], strings.Fields(r.cells["other_states"]),
			l.source(r.at, r.cells["source"])}
		if len(ig.OtherStates) == 0 {
			l.fail(r.at, "no other_states")
		}
		states := ig.OtherStates
		if ig.State != "" {
			l.wantStates(r.at, ig.Finding, []string{ig.State})
		}
		l.wantStates(r.at, ig.Finding, nil)
		l.wantStates(r.at, ig.Other, states)
		b.Ignore = append(b.Ignore, ig)
		l.once(seen, strings.Join([]string{ig.Finding, ig.State, ig.Other}, ","), r.at)
	}
}

func (l *loader) wantStates(at pos, finding string, states []string) {
	f := l.states[finding]
	if l.unknown(f == nil, at, "finding", finding) {
		return
	}
	for _, s := range states {
		l.unknown(stateIndex(f, s) < 0, at, "state", f.ID+" "+s)
	}
}
