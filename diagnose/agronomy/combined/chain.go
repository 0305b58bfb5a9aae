// Package combined runs formulas of several subjects one after the other, each taking what the earlier ones gave: ground
// by tape or points, then seed, spray, feed or lime for it; weather, then water, then minutes. Nothing is rounded between.
package combined

import (
	"maps"
	"math"
	"slices"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/area"
	"swardbook/diagnose/agronomy/evapo"
	"swardbook/diagnose/agronomy/fertilizer"
	"swardbook/diagnose/agronomy/irrigation"
	"swardbook/diagnose/agronomy/seeding"
	"swardbook/diagnose/agronomy/soiltest"
	"swardbook/diagnose/agronomy/soilwater"
	"swardbook/diagnose/agronomy/sprayer"
)

// order is the formulas of a chain, in the order in which they run: what others need stands first.
var order = []string{
	"tape_area", "polygon_area", "eto_penman_monteith", "eto_hargreaves", "crop_water_use", "soil_store", "irrigation_interval", "can_audit", "bucket_flow", "flow_precip_rate", "run_time", "cycle_and_soak", "water_volume",
	"fertilizer_amount", "bag_coverage", "slow_release", "fertilizer_cost", "spreader_calibration", "season_nitrogen",
	"sprayer_output", "product_from_active", "tank_mix", "label_maximum", "pure_live_seed", "seed_density", "seed_blend", "lime", "gypsum",
}

// chain are the formulas themselves.
var chain = func() []agronomy.Formula {
	known := map[string]agronomy.Formula{}
	for _, list := range [][]agronomy.Formula{area.Formulas(), evapo.Formulas(), soilwater.Formulas(), irrigation.Formulas(), fertilizer.Formulas(), sprayer.Formulas(), seeding.Formulas(), soiltest.Formulas()} {
		for _, f := range list {
			known[f.Name] = f
		}
	}
	var out []agronomy.Formula
	for _, name := range order {
		if f, ok := known[name]; ok {
			out = append(out, f)
		}
	}
	return out
}()

// pool is what a chain knows so far.
type pool struct {
	given   agronomy.Values // as the person gave it
	derived agronomy.Values // by the names of outputs
	out     agronomy.Results
}

// find is the value for an input: given under its name or one of its further names, or worked out under its very name.
func (p *pool) find(in agronomy.Input) (agronomy.Value, bool) {
	for _, name := range append([]string{in.Name}, in.Also...) {
		if v, ok := p.given[name]; ok && fits(in, v) {
			return v, true
		}
	}
	v, ok := p.derived[in.Name]
	return v, ok && fits(in, v)
}

// fits says whether a value is of an input's kind and measure; whether it is in its range the formula says itself.
func fits(in agronomy.Input, v agronomy.Value) bool {
	switch in.Kind {
	case "", agronomy.Number:
		return v.Kind == agronomy.Number && measured(in, v)
	case agronomy.Numbers:
		return (v.Kind == agronomy.Numbers || v.Kind == agronomy.Number) && measured(in, v)
	case agronomy.Text:
		_, err := in.Option(v.Text)
		return v.Kind == agronomy.Text && err == nil
	case agronomy.Texts:
		return v.Kind == agronomy.Text || v.Kind == agronomy.Texts
	case agronomy.Flag, agronomy.Flags:
		return v.Kind == in.Kind
	}
	return true
}

// misfit refuses the first thing given that no part can take, since it is of another kind or measure than all of them ask for.
func misfit(given agronomy.Values) error {
	for _, name := range slices.Sorted(maps.Keys(given)) {
		v := given[name]
		var asks []agronomy.Input
		for _, f := range append([]agronomy.Formula{{Inputs: own}}, chain...) {
			for _, in := range f.Inputs {
				if in.Name == name || slices.Contains(in.Also, name) {
					asks = append(asks, in)
				}
			}
		}
		if len(asks) > 0 && !slices.ContainsFunc(asks, func(in agronomy.Input) bool { return fits(in, v) }) {
			asks[0].Name = name
			return refusal(asks[0], v)
		}
	}
	return nil
}

// refusal says why a value does not fit an input.
func refusal(in agronomy.Input, v agronomy.Value) error {
	switch in.Kind {
	case "", agronomy.Number, agronomy.Numbers:
		if v.Kind != agronomy.Number && v.Kind != agronomy.Numbers || in.Kind != agronomy.Numbers && v.Kind == agronomy.Numbers {
			return agronomy.RefuseSay(in.Name, v.String(), "a number", in.Name+" must be a number, and a "+string(v.Kind)+" was given.")
		}
		if v.Unit == "" {
			return agronomy.RefuseSay(in.Name, v.String(), "given with a unit like "+in.Unit, in.Name+" has no unit; give it one, like "+in.Unit+".")
		}
		in.Range = agronomy.Between(math.Inf(-1), math.Inf(1))
		_, err := in.Number(agronomy.Q(1, v.Unit))
		return err
	case agronomy.Text:
		if v.Kind == agronomy.Text {
			_, err := in.Option(v.Text)
			return err
		}
	}
	return agronomy.RefuseSay(in.Name, v.String(), "a "+string(in.Kind), in.Name+" must be a "+string(in.Kind)+", and a "+string(v.Kind)+" was given.")
}

func measured(in agronomy.Input, v agronomy.Value) bool {
	if v.Unit == "" {
		return agronomy.SameKind(in.Unit, "ratio") || agronomy.SameKind(in.Unit, "count")
	}
	return agronomy.SameKind(v.Unit, in.WorkUnit(v.Unit))
}

// values are what the pool has for a formula, as the formula itself would be given them.
func (p *pool) values(f agronomy.Formula) agronomy.Values {
	values := agronomy.Values{}
	for _, in := range f.Inputs {
		v, ok := p.find(in)
		if !ok {
			continue
		}
		if v.Unit == "" && v.Kind != agronomy.Text {
			v.Unit = in.Unit
		}
		if in.Kind == agronomy.Text {
			v.Text, _ = in.Option(v.Text)
		}
		values[in.Name] = v
	}
	return values
}

// inRange refuses numbers that a way would take and its formula doesn't allow.
func (p *pool) inRange(f agronomy.Formula, way agronomy.Way, values agronomy.Values) error {
	for _, in := range f.Inputs {
		v, ok := values[in.Name]
		if !ok || in.Kind != "" && in.Kind != agronomy.Number && in.Kind != agronomy.Numbers || !slices.Contains(way.Needs, in.Name) && !slices.Contains(way.May, in.Name) {
			continue
		}
		for _, other := range in.Also {
			if _, given := p.given[other]; given {
				in.Name = other // a refusal speaks of it as it was given
			}
		}
		for _, x := range v.Quantities().Values {
			if _, err := in.Number(agronomy.Q(x, v.Unit)); err != nil {
				return err
			}
		}
	}
	return nil
}

// asked says whether a person gave anything that a way needs. Otherwise what one part worked out would go into every other
// that happens to take a rate. Minutes are the exception: weather, soil and cans alone lead to them.
func (p *pool) asked(f agronomy.Formula, way agronomy.Way) bool {
	return f.Name == "run_time" || slices.ContainsFunc(f.Inputs, func(in agronomy.Input) bool {
		return slices.Contains(way.Needs, in.Name) && slices.ContainsFunc(append([]string{in.Name}, in.Also...), func(name string) bool {
			v, ok := p.given[name]
			return ok && fits(in, v)
		})
	})
}

// run runs the ways of one formula that the pool has enough for.
func (p *pool) run(f agronomy.Formula) error {
	values := p.values(f)
	for _, way := range f.Ways {
		if !values.Has(way.Needs...) || !p.asked(f, way) {
			continue
		}
		if err := p.inRange(f, way, values); err != nil {
			return err
		}
		out, err := way.Run(values)
		if err != nil {
			return err
		}
		for name, r := range out {
			p.add(name, r)
		}
	}
	return nil
}

// add keeps an output, unless it was given or is there already.
func (p *pool) add(name string, r agronomy.Result) {
	if _, ok := p.given[name]; ok {
		return
	}
	if _, ok := p.out[name]; !ok {
		p.out[name], p.derived[name] = r, r.Value
	}
}

// hand gives what one formula worked out to the next under the name that it takes, unless that is known already.
func (p *pool) hand(from, to string) {
	_, have := p.find(agronomy.Input{Name: to, Kind: agronomy.Data})
	if v, ok := p.derived[from]; ok && !have {
		p.derived[to] = v
	}
}
