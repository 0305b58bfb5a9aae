package seeding

import (
	"fmt"

	"swardbook/diagnose/agronomy"
)

const (
	countSource = "share by count = weight × seeds in a pound ÷ the sum of these; trade note of seed counts per pound; Cornell, Seeding rates for sports fields"
	blendSource = "Penn State, Calculating the price of pure live seed, weighted by share of the blend"
)

var (
	inWeights = agronomy.Input{Name: "weights", Also: []string{"weight_shares"}, Kind: agronomy.Numbers, Unit: "%", Or: []string{"lb"}, Range: agronomy.AtLeast(0), Says: "weight, or share by weight, of each species"}
	inCounts  = agronomy.Input{Name: "counts", Also: []string{"seed_counts"}, Kind: agronomy.Numbers, Unit: "count/lb", Range: agronomy.Above(0), Says: "seeds in a pound of each species"}
	inShares  = agronomy.Input{Name: "seed_shares", Also: []string{"shares_by_seed"}, Kind: agronomy.Numbers, Unit: "%", Range: agronomy.Between(0, 100), Says: "share by count wanted of each species"}
)

// Shares is the share by number of seeds, percent, of each species in a mix by weight. Small seed dominates.
func Shares(weights, counts agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("share by count = w × n ÷ Σ(w × n)", countSource)
	w, n := s.TakeAll(inWeights, weights), s.TakeAll(inCounts, counts)
	return portions(s, "counts", w, n, func(w, n float64) float64 { return w * n })
}

// WeightsFor is the share by weight, percent, that gives shares by number of seeds.
func WeightsFor(shares, counts agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("share by weight = (share by count ÷ n) ÷ Σ(share by count ÷ n)", countSource)
	c, n := s.TakeAll(inShares, shares), s.TakeAll(inCounts, counts)
	return portions(s, "counts", c, n, func(c, n float64) float64 { return c / n })
}

// portions is each member's part of the sum, percent.
func portions(s *agronomy.Sheet, second string, a, b []float64, part func(a, b float64) float64) (agronomy.Result, error) {
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	if len(a) != len(b) {
		return agronomy.Result{}, agronomy.Refuse(second, fmt.Sprint(len(b), " numbers"), fmt.Sprint("as many as species, ", len(a)))
	}
	parts, sum := make([]float64, len(a)), 0.0
	for i := range a {
		parts[i] = part(a[i], b[i])
		sum += parts[i]
	}
	if sum <= 0 {
		return agronomy.Result{}, agronomy.Refuse("weights", "0 for every species", "above 0 for one of them")
	}
	s.Step("sum", sum, "count", "")
	for i := range parts {
		parts[i] = parts[i] / sum * 100
	}
	return s.Give(agronomy.OfList(parts, "%")), s.Err()
}

// Lot is one seed lot of a blend; weight in any unit, the same for all.
type Lot struct{ Weight, Purity, Germination float64 } // purity and germination in percent

const lotWords = "a list of [weight, purity %, germination %], weight above 0, the percents above 1 and up to 100"

var inLots = agronomy.Input{Name: "lots", Kind: agronomy.Data, Unit: "weight %, purity %, germination %", Says: lotWords}

// lotsFrom reads lots out of decoded JSON.
func lotsFrom(v agronomy.Value) ([]Lot, error) {
	list, ok := v.Data.([]any)
	if !ok || len(list) == 0 || len(list) > 1000 {
		return nil, agronomy.Refuse("lots", fmt.Sprintf("%.60q", v.String()), lotWords)
	}
	var lots []Lot
	for i, item := range list {
		row, _ := item.([]any)
		n := make([]float64, 3)
		for j := range n {
			if len(row) < 3 {
				return nil, agronomy.Refuse(fmt.Sprintf("lots, lot %d", i+1), fmt.Sprint(len(row), " numbers"), lotWords)
			}
			if n[j], ok = row[j].(float64); !ok {
				return nil, agronomy.Refuse(fmt.Sprintf("lots, lot %d", i+1), fmt.Sprintf("%.40q", fmt.Sprint(row[j])), lotWords)
			}
		}
		lots = append(lots, Lot{n[0], n[1], n[2]})
	}
	return lots, nil
}

// BlendPLS is the pure live seed of a blend, a fraction: the lots' own, weighted by weight.
func BlendPLS(lots []Lot) (agronomy.Result, error) {
	s := agronomy.NewSheet("blend PLS = Σ share × purity × germination", blendSource)
	total, live := 0.0, 0.0
	for i, l := range lots {
		if !(l.Weight > 0) || !(l.Purity > 1 && l.Purity <= 100) || !(l.Germination > 1 && l.Germination <= 100) {
			return agronomy.Result{}, agronomy.Refuse(fmt.Sprintf("lots, lot %d", i+1), fmt.Sprintf("%s, %s %%, %s %%", agronomy.Figure(l.Weight), agronomy.Figure(l.Purity), agronomy.Figure(l.Germination)), lotWords)
		}
		s.Note(fmt.Sprintf("lot %d", i+1), fmt.Sprintf("weight %s, purity %s %%, germination %s %%", agronomy.Figure(l.Weight), agronomy.Figure(l.Purity), agronomy.Figure(l.Germination)))
		total += l.Weight
		live += l.Weight * l.Purity / 100 * l.Germination / 100
	}
	if len(lots) == 0 {
		return agronomy.Result{}, agronomy.Refuse("lots", "", lotWords)
	}
	s.Step("weight together", total, "ratio", "in the lots' own unit")
	return s.Number(live/total, "fraction"), s.Err()
}

// Named is a species of a mix under its short name.
type Named struct{ Prefix, Species string }

// shortNames are the short names that mixes are written with.
var shortNames = []Named{
	{"kbg", "Kentucky bluegrass"}, {"tf", "tall fescue"}, {"prg", "perennial ryegrass"}, {"ff", "fine fescue"}, {"crf", "creeping red fescue"}, {"cf", "chewings fescue"},
	{"hf", "hard fescue"}, {"sf", "sheep fescue"}, {"rbg", "rough bluegrass"}, {"cbg", "creeping bentgrass"}, {"ar", "annual ryegrass"}, {"arg", "annual ryegrass"},
	{"bermuda", "bermudagrass"}, {"bg", "bermudagrass"}, {"zoysia", "zoysiagrass"}, {"zg", "zoysiagrass"}, {"centipede", "centipedegrass"}, {"cg", "centipedegrass"},
	{"bahia", "bahiagrass"}, {"buffalo", "buffalograss"}, {"a", "species a"}, {"b", "species b"}, {"c", "species c"}, {"d", "species d"},
}

func inWeightOf(n Named) agronomy.Input {
	return agronomy.Input{Name: n.Prefix + "_weight", Also: []string{n.Prefix + "_share_by_weight"}, Unit: "%", Or: []string{"lb"}, Range: agronomy.AtLeast(0), Says: n.Species + ", weight or share by weight"}
}

func inCountOf(n Named) agronomy.Input {
	return agronomy.Input{Name: n.Prefix + "_count", Also: []string{n.Prefix + "_seeds_per_lb"}, Unit: "count/lb", Range: agronomy.Above(0), Says: n.Species + ", seeds in a pound"}
}

// ShareOf is one species' share by number of seeds, percent, in a mix whose members are given by their short names.
func ShareOf(v agronomy.Values, n Named) (agronomy.Result, error) {
	s := agronomy.NewSheet("share by count = w × n ÷ Σ(w × n)", countSource)
	own, sum := 0.0, 0.0
	unit := inWeightOf(n).WorkUnit(v.Q(n.Prefix + "_weight").Unit)
	for _, m := range shortNames {
		if !v.Has(m.Prefix + "_weight") {
			continue
		}
		if !v.Has(m.Prefix + "_count") {
			return agronomy.Result{}, agronomy.Refuse(m.Prefix+"_count", "", "given, since "+m.Prefix+"_weight is")
		}
		w := v.Q(m.Prefix + "_weight")
		part := s.Take(inWeightOf(m), w) * s.Take(inCountOf(m), v.Q(m.Prefix+"_count"))
		if inWeightOf(m).WorkUnit(w.Unit) != unit {
			s.Refuse(agronomy.Refuse(m.Prefix+"_weight", w.String(), "of the same kind as "+n.Prefix+"_weight"))
		}
		sum += part
		if m == n {
			own = part
		}
	}
	if s.Err() == nil && sum <= 0 {
		s.Refuse(agronomy.Refuse(n.Prefix+"_weight", "0", "above 0 for one species"))
	}
	return s.Number(own/sum*100, "%"), s.Err()
}
