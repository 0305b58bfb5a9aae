package plan

import (
	"fmt"
	"math"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/fertilizer"
	"swardbook/diagnose/agronomy/soiltest"
	"swardbook/diagnose/knowledge"
)

// reckoned is one good with what keeps it from being put down.
type reckoned struct {
	good   Good
	faults []Conflict
}

// reckon works out what a task takes of each use on a day, with the materials picked. Nutrients are cut to what the caps
// and the firm leave; what would be less than is worth the way is a conflict.
func (r *run) reckon(t *task, day int) (goods []Good, faults []Conflict) {
	for _, use := range t.deed.Uses {
		a := r.amountOf(t, use)
		g := r.good(t, use, a, t.picked[use], day)
		goods = append(goods, g.good)
		faults = append(faults, g.faults...)
	}
	return goods, faults
}

// amountOf is the row that says how much of a use an action takes; without one the material's own rate.
func (r *run) amountOf(t *task, use string) *knowledge.Amount {
	for _, a := range r.amounts[t.action.ID] {
		if a.Use == use {
			return a
		}
	}
	return &knowledge.Amount{Action: t.action.ID, Use: use, By: "label", Source: t.action.Source}
}

func (r *run) good(t *task, use string, a *knowledge.Amount, m *Material, day int) reckoned {
	k := &reckoned{good: Good{Use: use}}
	if m != nil {
		k.good.Material = m.ID
	} else if u := r.uses[use]; u != nil {
		k.good.Note = r.say("no_material", "use", u.Label)
	}
	target, err := r.target(t, a, m, k)
	if err == nil && target != nil {
		k.good.Target = target
		r.cut(t, a, m, k, day)
	}
	if err == nil && m != nil {
		err = r.product(t, a, m, k)
	}
	if err != nil {
		k.good.Note = r.say("no_figure", "why", err.Error())
	}
	return *k
}

// target is what is wanted on an area, before any cap: the manager's wish, or what the row says.
func (r *run) target(t *task, a *knowledge.Amount, m *Material, k *reckoned) (*agronomy.Quantity, error) {
	if t.wish != nil && t.wish.Target != nil && len(t.deed.Uses) > 0 && a.Use == t.wishUse() {
		return t.wish.Target, nil
	}
	if t.owed != nil {
		rest := *t.owed
		k.good.Note = r.say("rest", "rest", rest.String())
		return &rest, nil
	}
	switch a.By {
	case "seed", "seed_new":
		return r.seedTarget(t, a.By == "seed_new")
	case "lime":
		return r.limeTarget(t, a, k)
	case "label":
		if m == nil || m.Rate == nil {
			return nil, nil
		}
		rate := *m.Rate
		return &rate, nil
	}
	if a.Rate > 0 {
		return &agronomy.Quantity{Value: a.Rate, Unit: a.Unit}, nil
	}
	return nil, nil
}

// wishUse is the use a wished amount is for: the named one, else the first.
func (t *task) wishUse() string {
	if t.wish.Use != "" {
		return t.wish.Use
	}
	return t.deed.Uses[0]
}

// product turns the target into product on an area and for the zone.
func (r *run) product(t *task, a *knowledge.Amount, m *Material, k *reckoned) error {
	if k.good.Target == nil {
		if a.By == "area" {
			return r.cover(t, m, k)
		}
		k.good.Note = r.say("no_rate", "name", m.Name)
		return nil
	}
	results, err := rateOf(a, m, *k.good.Target)
	if err != nil {
		return err
	}
	for _, res := range results {
		k.good.Working = append(k.good.Working, res.Working)
	}
	q := results[len(results)-1].Quantity()
	k.good.Rate = &q
	return r.amount(t, m, k, q)
}

// amount is the rate over the zone's area, with its cost.
func (r *run) amount(t *task, m *Material, k *reckoned, rate agronomy.Quantity) error {
	if t.at.zone.Area.Value <= 0 {
		k.good.Note = r.say("no_area", "zone", t.at.zone.Name)
		return nil
	}
	total, err := over(rate, t.at.zone.Area)
	if err != nil {
		return err
	}
	return k.total(m, total)
}

func (k *reckoned) total(m *Material, total agronomy.Result) error {
	q := total.Quantity()
	k.good.Amount = &q
	k.good.Working = append(k.good.Working, total.Working)
	k.good.Cents = costOf(m, q)
	if k.good.Cents > 0 {
		k.good.Working = append(k.good.Working, costWorking(m, q, k.good.Cents))
	}
	return nil
}

// Formulas of a good's workings, by which a page tells them apart.
const (
	AmountFormula = "amount = rate × area"
	CoverFormula  = "amount = area of the zone"
	CostFormula   = "cost = amount ÷ pack × price of a pack"
)

func costWorking(m *Material, amount agronomy.Quantity, cents int64) agronomy.Working {
	money := func(n int64) string { return fmt.Sprintf("%d.%02d", n/100, n%100) }
	return agronomy.Working{
		Formula: CostFormula, Source: "the firm's list of materials", Result: money(cents),
		Inputs: []agronomy.Used{{Name: "amount", Given: amount.String()}, {Name: "pack", Given: m.Cost.Pack.String()}, {Name: "price of a pack", Given: money(int64(m.Cost.Cents))}},
	}
}

// costOf is the share of packs that an amount is, in cents.
func costOf(m *Material, amount agronomy.Quantity) int64 {
	if m.Cost == nil {
		return 0
	}
	v, err := amount.In(m.Cost.Pack.Unit)
	if err != nil || m.Cost.Pack.Value <= 0 {
		return 0
	}
	return int64(math.Round(v / m.Cost.Pack.Value * float64(m.Cost.Cents)))
}

// cover is what is laid by the square foot.
func (r *run) cover(t *task, m *Material, k *reckoned) error {
	s := agronomy.NewSheet(CoverFormula, "the zone's area")
	area := t.at.zone.Area
	v := s.Take(inZone, area)
	if s.Err() != nil {
		return s.Err()
	}
	return k.total(m, s.Number(v, "ft2"))
}

// limeTarget is the lime that the soil test asks for, by its acidity, up to the pH that the row names.
func (r *run) limeTarget(t *task, a *knowledge.Amount, k *reckoned) (*agronomy.Quantity, error) {
	acidity, ok := r.role(t.at, "acidity", "meq/100 g")
	if !ok {
		return nil, nil
	}
	ph := agronomy.Quantity{}
	if v, ok := r.role(t.at, "ph", "pH"); ok {
		ph = agronomy.Q(v, "pH")
	}
	need, err := soiltest.FromTable(agronomy.Q(acidity, "meq/100 g"), agronomy.Q(a.Rate, a.Unit), ph)
	if err != nil {
		return nil, err
	}
	k.good.Working = append(k.good.Working, need.Working)
	q := need.Quantity()
	return &q, nil
}

var (
	inZone  = agronomy.Input{Name: "area", Unit: "ft2", Range: agronomy.Above(0), Says: "the zone's area"}
	inDepth = agronomy.Input{Name: "depth", Unit: "in", Range: agronomy.Above(0), Says: "how thick it is spread"}
	inShare = agronomy.Input{Name: "share", Unit: "%", Range: agronomy.AboveTo(0, 110), Says: "how much of the product it is"}
	inPart  = agronomy.Input{Name: "target", Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "what is wanted on an area"}
)

const arithmetic = "arithmetic; exact units"

// rateOf is the product that brings a target: the last of the results, after those that lead to it.
func rateOf(a *knowledge.Amount, m *Material, target agronomy.Quantity) ([]agronomy.Result, error) {
	if !(target.Value > 0) {
		return nil, agronomy.Refuse("rate", target.String(), "more than nothing")
	}
	switch a.By {
	case "nitrogen", "phosphate", "potash":
		if m.Grade == nil {
			return nil, agronomy.Refuse("grade", "", "three numbers like 25-0-10")
		}
		return one(feeding(a.By, m.Grade, target))
	case "seed", "seed_new":
		return seedRate(m, target)
	case "lime":
		return one(soiltest.Material(target, agronomy.Q(m.CCE, "%"), agronomy.Quantity{}))
	case "depth":
		return one(spread(target))
	}
	s := agronomy.NewSheet("product as the label's rate", a.Source)
	s.Note("rate", target.String())
	return one(s.Number(target.Value, target.Unit), s.Err())
}

func one(res agronomy.Result, err error) ([]agronomy.Result, error) {
	return []agronomy.Result{res}, err
}

func feeding(by string, g *Grade, target agronomy.Quantity) (agronomy.Result, error) {
	if by == "nitrogen" {
		rate, err := fertilizer.ProductRate(target, agronomy.Q(g.N, "%"))
		if err != nil || g.Yield == 0 {
			return rate, err
		}
		return liquid(rate, g.Yield)
	}
	share := g.P2O5
	if by == "potash" {
		share = g.K2O
	}
	return byShare("product = nutrient wanted ÷ (its percent ÷ 100)", arithmetic, target, share)
}

var inWeight = agronomy.Input{Name: "product by weight", Unit: "lb/1000 ft2", Range: agronomy.Above(0)}

// liquid is a rate by weight as a rate by volume; yield in lb/gal.
func liquid(rate agronomy.Result, yield float64) (agronomy.Result, error) {
	s := agronomy.NewSheet("product by volume = product by weight ÷ density", arithmetic)
	w := s.Take(inWeight, rate.Quantity())
	s.Note("density", agronomy.Figure(yield)+" lb/gal")
	return s.Number(w/yield, "gal/1000 ft2"), s.Err()
}

func byShare(formula, source string, target agronomy.Quantity, percent float64) (agronomy.Result, error) {
	s := agronomy.NewSheet(formula, source)
	v, p := s.Take(inPart, target), s.Take(inShare, agronomy.Q(percent, "%"))
	return s.Number(v/(p/100), "lb/1000 ft2"), s.Err()
}

// spread is a depth as a volume on an area.
func spread(depth agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("volume on 1000 ft² = depth ÷ 12 × 1000 ÷ 27", arithmetic)
	d := s.Take(inDepth, depth)
	return s.Number(d/12*1000/27, "yd3/1000 ft2"), s.Err()
}

// over is a rate on an area: "fl oz/1000 ft2" on ft2 gives "fl oz".
func over(rate, area agronomy.Quantity) (agronomy.Result, error) {
	unit, _, _ := strings.Cut(rate.Unit, "/")
	s := agronomy.NewSheet(AmountFormula, arithmetic)
	a := s.Take(inZone, area)
	perFoot, err := rate.In(unit + "/ft2")
	if err != nil {
		return agronomy.Result{}, err
	}
	s.Note("rate", rate.String())
	return s.Number(perFoot*a, unit), s.Err()
}

// figures are the numbers of a task that takes no material: water, passes.
func (r *run) figures(t *task) []Figure {
	var out []Figure
	for _, a := range r.amounts[t.action.ID] {
		if a.Use != "" {
			continue
		}
		switch a.By {
		case "passes":
			out = append(out, r.asTold("passes", a))
		case "water", "soak":
			out = append(out, r.water(t, a)...)
		case "run_factor":
			out = append(out, r.runFactor(t)...)
		}
	}
	return out
}

// asTold is a number that a row of the knowledge gives as it is.
func (r *run) asTold(name string, a *knowledge.Amount) Figure {
	q := agronomy.Q(a.Rate, a.Unit)
	return Figure{Name: name, Say: r.notes["figure_"+name], Value: q, Working: &agronomy.Working{Formula: "as recommended", Inputs: []agronomy.Used{}, Result: q.String(), Source: a.Source}}
}

func (r *run) figure(name string, res agronomy.Result) Figure {
	return Figure{Name: name, Say: r.notes["figure_"+strings.ReplaceAll(name, " ", "_")], Value: res.Quantity(), Working: &res.Working}
}
