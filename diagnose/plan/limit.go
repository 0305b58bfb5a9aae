package plan

import (
	"cmp"
	"math"
	"slices"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// hair is how far above a limit counts as the limit: rounding of converted units.
const hair = 1e-9

// over1000 is the unit in which nutrients are counted, in lb of them.
const over1000 = "lb/1000 ft2"

// brings is what a material at a rate brings of a nutrient, lb on 1000 sq ft. "soluble N" leaves slow nitrogen out, "CCE" is
// lime as calcium carbonate.
func brings(p put, of string) float64 {
	if p.material == nil {
		if of == "soluble N" {
			return 0 // which product is not known
		}
		return p.nutrient[of]
	}
	w, ok := weightOf(p)
	if !ok {
		return 0
	}
	if of == "CCE" {
		return w * p.material.CCE / 100
	}
	g := p.material.Grade
	if g == nil {
		return 0
	}
	switch of {
	case "N":
		return w * g.N / 100
	case "soluble N":
		return w * (g.N - g.SlowN) / 100
	case "P2O5":
		return w * g.P2O5 / 100
	case "K2O":
		return w * g.K2O / 100
	}
	return 0
}

// weightOf is a rate as lb of product on 1000 sq ft; a liquid's by its density.
func weightOf(p put) (float64, bool) {
	if w, err := p.rate.In(over1000); err == nil {
		return w, true
	}
	v, err := p.rate.In("gal/1000 ft2")
	if err != nil || p.material.Grade == nil || p.material.Grade.Yield == 0 {
		return 0, false
	}
	return v * p.material.Grade.Yield, true
}

// activeOf is a material's rate as lb of an active on an acre.
func activeOf(p put, name string) (float64, bool) {
	if p.material == nil {
		return 0, false
	}
	at := slices.IndexFunc(p.material.Actives, func(a Active) bool { return a.Name == name })
	if at < 0 {
		return 0, false
	}
	a := p.material.Actives[at]
	if a.Density != nil {
		gallons, err := p.rate.In("gal/acre")
		lb, err2 := a.Density.In("lb/gal")
		return gallons * lb, err == nil && err2 == nil
	}
	w, err := p.rate.In("lb/acre")
	return w * a.Percent / 100, err == nil
}

// spent sums over what is done or planned in the zone in the year of a day, but for one task. A rolling year is any 365 days
// that hold the day, and the greatest sum counts.
func (s *site) spent(but *task, day int, rolling bool, of func(put) float64) float64 {
	return s.yearly(but, day, rolling, func(e *entry) float64 {
		sum := 0.0
		for _, p := range e.goods {
			sum += of(p)
		}
		return sum
	})
}

// yearly sums what counts of each entry in the year of a day.
func (s *site) yearly(but *task, day int, rolling bool, of func(*entry) float64) float64 {
	list := s.entries(but)
	within := func(from, to int) (sum float64) {
		for _, e := range list {
			if from <= e.day && e.day <= to {
				sum += of(e)
			}
		}
		return sum
	}
	if !rolling {
		return within(inYear(yearOf(day), "01-01"), inYear(yearOf(day), "12-31"))
	}
	most := within(day, day+364)
	for _, e := range list { // the worst year begins on the day of something done, or on the day itself
		if day-365 < e.day && e.day <= day {
			most = max(most, within(e.day, e.day+364))
		}
	}
	return most
}

// limit is one limit as it stands for a task: how much is left of it.
type limit struct {
	left     float64
	conflict Conflict
}

// capsFor lists the caps of a nutrient and what each leaves, lb on 1000 sq ft.
func (r *run) capsFor(t *task, of string, day int) []limit {
	var out []limit
	grass := cmp.Or(t.at.zone.Grass, t.at.facts[r.roles["grass"]].State)
	for i := range r.p.Caps {
		c := &r.p.Caps[i]
		if c.Of != of || c.State != "" && c.State != r.in.Place.State || c.Grass != "" && c.Grass != grass {
			continue
		}
		top, err := agronomy.Q(c.Max, c.Unit).In(over1000)
		if err != nil {
			continue
		}
		say := fill(c.Say, "max", agronomy.Figure(c.Max)+" "+c.Unit)
		out = append(out, r.left(t, of, c.Per, top, day, Conflict{Rule: c.ID, Kind: c.Kind, Say: say, Source: c.Source}))
	}
	return append(out, r.firmFor(t, of, day)...)
}

// firmFor lists the firm's own limits of a nutrient.
func (r *run) firmFor(t *task, of string, day int) []limit {
	var out []limit
	for _, l := range r.in.Limits {
		if l.Of != of {
			continue
		}
		top, err := l.Max.In(over1000)
		if err != nil {
			continue
		}
		say := r.say("firm_limit", "of", of, "max", l.Max.String())
		out = append(out, r.left(t, of, l.Per, top, day, Conflict{Rule: "firm:" + of + ":" + l.Per, Kind: ByFirm, Say: say, Source: l.Why}))
	}
	return out
}

func (r *run) left(t *task, of, per string, top float64, day int, c Conflict) limit {
	c.Step, c.Zone, c.Day = t.key, t.at.zone.ID, dayText(day)
	if per == PerYear {
		top -= t.at.spent(t, day, false, func(p put) float64 { return brings(p, of) })
	}
	return limit{top, c}
}

// nutrients says which nutrients a way of reckoning is capped in, and how much of each a unit of its target brings with a
// material.
func nutrients(by string, m *Material) map[string]float64 {
	switch by {
	case "nitrogen", "phosphate", "potash":
	case "lime":
		return map[string]float64{"CCE": 1}
	default:
		return nil
	}
	own := map[string]string{"nitrogen": "N", "phosphate": "P2O5", "potash": "K2O"}[by]
	out := map[string]float64{own: 1}
	if m == nil || m.Grade == nil {
		return out
	}
	per := map[string]float64{"N": m.Grade.N, "P2O5": m.Grade.P2O5, "K2O": m.Grade.K2O}
	if per[own] <= 0 {
		return out
	}
	for _, of := range []string{"N", "P2O5", "K2O"} {
		out[of] = per[of] / per[own]
	}
	out["soluble N"] = (m.Grade.N - m.Grade.SlowN) / per[own]
	return out
}

// cut brings a target down to what the caps leave. Less than is worth the way is a conflict of the cap. Overruled caps don't
// cut, label and law always do.
func (r *run) cut(t *task, a *knowledge.Amount, m *Material, k *reckoned, day int) {
	want, err := k.good.Target.In(over1000)
	if err != nil {
		return
	}
	least, _ := agronomy.Q(a.Least, a.Unit).In(over1000)
	allowed, by := want, Conflict{}
	for _, of := range []string{"N", "soluble N", "P2O5", "K2O", "CCE"} {
		share := nutrients(a.By, m)[of]
		if share <= 0 {
			continue
		}
		for _, l := range r.capsFor(t, of, day) {
			if standing, _ := split(r.overrule(t, []Conflict{l.conflict})); len(standing) == 0 {
				continue
			}
			if most := max(0, l.left) / share; most < allowed*(1-hair) {
				allowed, by = most, l.conflict
			}
		}
	}
	if by.Rule == "" {
		return
	}
	if allowed <= 0 || allowed < least*(1-hair) {
		k.faults = append(k.faults, by)
		return
	}
	k.cut(want, allowed, by.Say)
	if a.By == total {
		k.good.Rest = &agronomy.Quantity{Value: k.good.Target.Value * (want - allowed) / allowed, Unit: k.good.Target.Unit}
	}
}

// total is the way of reckoning whose amount is a need, to be met in parts where it is too much at once.
const total = "lime"

// cut writes the lower target in the unit it was given in.
func (k *reckoned) cut(want, allowed float64, why checks.Text) {
	was := *k.good.Target
	now := agronomy.Quantity{Value: was.Value * allowed / want, Unit: was.Unit}
	k.good.Target = &now
	k.good.Note = fill(checks.Text{EN: "{wanted} → {max}: {why}", ES: "{wanted} → {max}: {why}"}, "wanted", was.String(), "max", now.String(), "why", why)
}

// overLimits lists every limit that goods at their rates pass: label, law, practice and the firm's. It is what a plan that
// was changed by hand is held to, and what a new one never breaks.
func (r *run) overLimits(t *task, goods []Good, day int) []Conflict {
	var out []Conflict
	for _, g := range goods {
		m := t.picked[g.Use]
		p := put{material: m, nutrient: nutrientOf(g)}
		if g.Rate != nil {
			p.rate = *g.Rate
		}
		for _, of := range []string{"N", "soluble N", "P2O5", "K2O", "CCE"} {
			is := brings(p, of)
			for _, l := range r.capsFor(t, of, day) {
				if is > 0 && is > l.left+hair*math.Abs(l.left)+hair {
					out = append(out, l.conflict)
				}
			}
		}
		if m != nil {
			out = append(out, r.overLabel(t, m, g, p, day)...)
			out = append(out, r.overFirm(t, m, p, day)...)
		}
	}
	return r.overrule(t, out)
}
