package fertilizer

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
)

const blendSource = "two balances of nutrients, solved for two products; the form of every fertilizer blending sheet (common practice)"

// Mix is two products that together bring two nutrients exactly.
type Mix struct {
	RateA, RateB agronomy.Result    // product on an area
	Brings       [3]agronomy.Result // N, P2O5, K2O on an area
}

// TwoProducts finds the rates of products a and b that bring nitrogen and one more nutrient ("p2o5" or "k2o") exactly.
// It refuses where no such rates are, or only with less than nothing of a product.
func TwoProducts(a, b Grade, targetN agronomy.Quantity, second string, target agronomy.Quantity) (Mix, error) {
	s := agronomy.NewSheet("a × N_a + b × N_b = N wanted; a × X_a + b × X_b = X wanted, X = "+second, blendSource)
	in := map[string]agronomy.Input{"p2o5": inTargetP, "k2o": inTargetK}[second]
	if in.Name == "" {
		return Mix{}, agronomy.Refuse("second nutrient", fmt.Sprintf("%.20q", second), "p2o5 or k2o")
	}
	for _, g := range []Grade{a, b} {
		if err := g.check(); err != nil {
			return Mix{}, err
		}
	}
	s.Note("grade_a", a.String())
	s.Note("grade_b", b.String())
	n, x := s.Take(inTargetN, targetN), s.Take(in, target)
	if s.Err() != nil {
		return Mix{}, s.Err()
	}
	xa, xb := a.Percent(second), b.Percent(second)
	det := a.N*xb - b.N*xa
	if math.Abs(det) < 1e-9 {
		return Mix{}, agronomy.RefuseSay("grade_b", b.String(), "a grade of another ratio", fmt.Sprintf("%s and %s have nitrogen and %s in the same ratio; no mix of them brings both as wanted.", a, b, second))
	}
	ra := s.Step("rate of a", 100*(n*xb-b.N*x)/det, "lb/1000 ft2", "")
	rb := s.Step("rate of b", 100*(a.N*x-n*xa)/det, "lb/1000 ft2", "")
	if ra < -1e-9 || rb < -1e-9 {
		return Mix{}, agronomy.RefuseSay(in.Name, target.String(), "between what either product alone brings with the nitrogen wanted",
			fmt.Sprintf("%s with %s of nitrogen can't be reached with %s and %s: it would take less than nothing of one of them.", target, targetN, a, b))
	}
	ra, rb = math.Max(0, ra), math.Max(0, rb)
	unit := agronomy.MassOn(targetN.Unit)
	give := func(v float64) agronomy.Result { return s.In(v, "lb/1000 ft2", unit) }
	m := Mix{RateA: give(ra), RateB: give(rb)}
	for i, name := range []string{"n", "p2o5", "k2o"} {
		m.Brings[i] = give((ra*a.Percent(name) + rb*b.Percent(name)) / 100)
	}
	return m, s.Err()
}

func inAmount(which string) agronomy.Input {
	return agronomy.Input{Name: "amount_" + which, Also: []string{"weight_" + which}, Unit: "lb", Range: agronomy.AtLeast(0), Says: "weight of product " + which}
}

// Blend is the grade and the nutrients of two products mixed: percents of the mix, then weights in the unit of the first.
func Blend(a, b Grade, amountA, amountB agronomy.Quantity) (agronomy.Results, error) {
	s := agronomy.NewSheet("percent of the blend = Σ weight × percent ÷ Σ weight", blendSource)
	for _, g := range []Grade{a, b} {
		if err := g.check(); err != nil {
			return nil, err
		}
	}
	wa, wb := s.Take(inAmount("a"), amountA), s.Take(inAmount("b"), amountB)
	s.Note("grade_a", a.String())
	s.Note("grade_b", b.String())
	if s.Err() == nil && wa+wb <= 0 {
		s.Refuse(agronomy.Refuse("amount_a", amountA.String(), "above 0, or amount_b"))
	}
	if s.Err() != nil {
		return nil, s.Err()
	}
	out := agronomy.Results{"blend_total": s.In(wa+wb, "lb", agronomy.Bare(amountA.Unit))}
	grade := [3]float64{}
	for i, name := range []string{"n", "p2o5", "k2o"} {
		held := (wa*a.Percent(name) + wb*b.Percent(name)) / 100
		grade[i] = 100 * held / (wa + wb)
		out[name] = s.In(held, "lb", agronomy.Bare(amountA.Unit))
		out["blend_"+name] = s.Number(grade[i], "%")
	}
	out["blend_grade"] = s.Give(agronomy.OfText(Grade{grade[0], grade[1], grade[2]}.String(), "N-P2O5-K2O %"))
	return out, s.Err()
}

var inWanted = agronomy.Input{Name: "wanted_n", Also: []string{"blend_n"}, Unit: "%", Range: agronomy.AboveTo(0, greatestN), Says: "nitrogen the mix is to have"}

// SharesFor is the share of each product in a mix that is to have a percent of nitrogen between theirs.
func SharesFor(a, b Grade, wantedN agronomy.Quantity) (shareA, shareB agronomy.Result, err error) {
	s := agronomy.NewSheet("share of a = (wanted − N_b) ÷ (N_a − N_b)", blendSource)
	for _, g := range []Grade{a, b} {
		if err := g.check(); err != nil {
			return shareA, shareB, err
		}
	}
	w := s.Take(inWanted, wantedN)
	s.Note("grade_a", a.String())
	s.Note("grade_b", b.String())
	if s.Err() == nil && (a.N == b.N || w < math.Min(a.N, b.N) || w > math.Max(a.N, b.N)) {
		s.Refuse(agronomy.Refuse("wanted_n", wantedN.String(), fmt.Sprintf("between the nitrogen of two different products, here %s %% and %s %%", agronomy.Figure(a.N), agronomy.Figure(b.N))))
	}
	share := (w - b.N) / (a.N - b.N)
	return s.Number(100*share, "%"), s.Number(100*(1-share), "%"), s.Err()
}

const coverageSource = "bag coverage: what a bag covers is its weight over the product rate (arithmetic of every bag's label)"

// Coverage is the ground a bag covers at a product rate.
func Coverage(bag, product agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("coverage = weight of the bag ÷ product rate", coverageSource)
	b, r := s.Take(inBag, bag), s.Take(inProduct, product)
	return s.In(b/r*1000, "ft2", agronomy.GroundLike(product.Unit)), s.Err()
}

// LeftOver is what remains of whole bags.
func LeftOver(bags, bag, total agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("left over = bags × weight of a bag − total", coverageSource)
	inBags := agronomy.Input{Name: "bags", Unit: "count", Range: agronomy.AtLeast(0), Says: "whole bags"}
	n, b, t := s.Take(inBags, bags), s.Take(inBag, bag), s.Take(inWeight, total)
	return s.In(math.Max(0, n*b-t), "lb", agronomy.MassLike(total.Unit)), s.Err()
}
