package combined

import (
	"maps"
	"slices"

	"swardbook/diagnose/agronomy"
)

const source = "the sources of its parts, which every result names"

// own are the inputs of the chain itself.
var own = []agronomy.Input{
	{Name: "days", Unit: "day", Range: agronomy.AboveTo(0, 60), Says: "days of water to replace"},
	{Name: "rain", Unit: "mm", Range: agronomy.AtLeast(0), Says: "rain in these days"},
}

// Formulas are this subject's entries of the registry: the one chain of all.
func Formulas() []agronomy.Formula {
	f := agronomy.Formula{
		Name: "combined", Does: "Formulas of several subjects one after the other: ground, then what it takes; weather, then water, then minutes.", Source: source, ByName: true,
	}
	f.Inputs, f.Outputs = inputs(), outputs()
	var names []string
	for _, in := range f.Inputs {
		names = append(names, in.Name)
	}
	f.Ways = []agronomy.Way{{May: names, Run: Run}}
	return []agronomy.Formula{f}
}

// inputs are the inputs of all parts, each name once. They are taken as given; each part reads them by its own measure,
// since the same name may be a volume in one and a weight in another.
func inputs() []agronomy.Input {
	says := map[string]string{}
	note := func(name, text string) {
		if _, ok := says[name]; !ok {
			says[name] = text
		}
	}
	for _, f := range append([]agronomy.Formula{{Inputs: own}}, chain...) {
		for _, in := range f.Inputs {
			note(in.Name, in.Says)
			for _, other := range in.Also {
				note(other, in.Says)
			}
		}
	}
	var out []agronomy.Input
	for _, name := range slices.Sorted(maps.Keys(says)) {
		out = append(out, agronomy.Input{Name: name, Kind: agronomy.Data, Says: says[name]})
	}
	return out
}

func outputs() []agronomy.Output {
	out := []agronomy.Output{{Name: "area_simpson", Unit: "ft2"}, {Name: "area_trapezoidal", Unit: "ft2"}, {Name: "water_need", Unit: "in"}}
	seen := map[string]bool{}
	for _, f := range chain {
		for _, o := range f.Outputs {
			if !seen[o.Name] {
				seen[o.Name] = true
				out = append(out, o)
			}
		}
	}
	return out
}

// Run runs the chain on what is given. It gives every output of every part that has enough, and refuses what any part
// refuses; where no part has enough it says so.
func Run(given agronomy.Values) (agronomy.Results, error) {
	if err := misfit(given); err != nil {
		return nil, err
	}
	p := &pool{given: given, derived: agronomy.Values{}, out: agronomy.Results{}}
	for _, f := range chain {
		if f.Name == "run_time" {
			if err := p.need(); err != nil {
				return nil, err
			}
		}
		if err := p.run(f); err != nil {
			return nil, err
		}
		if err := p.after(f.Name); err != nil {
			return nil, err
		}
	}
	if len(p.out) == 0 {
		return nil, agronomy.RefuseSay("", "", "inputs of at least one formula", "combined has not enough for any of its parts; give what one formula needs, like length and width, or polygon.")
	}
	return p.out, nil
}

// after names what a part gave as later parts take it.
func (p *pool) after(part string) error {
	switch part {
	case "tape_area":
		p.shape()
		return p.ground()
	case "polygon_area":
		return p.ground()
	case "eto_penman_monteith", "eto_hargreaves":
		p.hand("eto_hargreaves", "eto")
	case "can_audit", "flow_precip_rate":
		p.hand("net_precip_rate", "precip_rate")
		p.hand("gross_precip_rate", "precip_rate")
	case "run_time":
		p.hand("run_time_upper", "total_run_time")
		p.hand("run_time_lower", "total_run_time")
	}
	return nil
}

// shape names areas by offsets, and takes Simpson's where it is allowed.
func (p *pool) shape() {
	for from, to := range map[string]string{"simpson": "area_simpson", "trapezoidal": "area_trapezoidal"} {
		if r, ok := p.out[from]; ok {
			p.add(to, r)
		}
	}
	p.hand("simpson", "area")
	p.hand("trapezoidal", "area")
}

// ground is the area that is treated: on the slope, without what is taken off; in square feet when anything else is in US
// customary units.
func (p *pool) ground() error {
	for _, better := range []string{"net_area", "ground_area"} {
		if v, ok := p.derived[better]; ok {
			p.derived["area"] = v
			break
		}
	}
	v, ok := p.derived["area"]
	if !ok || v.Unit != "m2" || !p.customary() {
		return nil
	}
	r := p.out["area"]
	as, err := r.As("ft2")
	if err != nil {
		return err
	}
	p.derived["area"] = agronomy.Of(agronomy.MustConvert(v.Number, "m2", "ft2"), "ft2")
	if r.Unit == "m2" {
		as.Working.Steps = append(slices.Clone(as.Working.Steps), agronomy.Step{Name: "in square feet", Value: as.Number, Unit: "ft2", How: "÷ 0.3048²"})
		as.Working.Result = as.Value.String()
		p.out["area"] = as
	}
	return nil
}

func (p *pool) customary() bool {
	for _, v := range p.given {
		if agronomy.Customary(v.Unit) {
			return true
		}
	}
	return false
}

// need is the water to replace: the turf's use over the days less rain, or what may be used up of the soil's store.
func (p *pool) need() error {
	if _, ok := p.given["water_need"]; ok {
		return nil
	}
	use, ok := p.derived["etc"]
	days, given := p.given["days"]
	if !ok || !given {
		p.hand("allowed_depletion", "water_need")
		return nil
	}
	s := agronomy.NewSheet("water to replace = use × days − rain, not below 0", source)
	inUse := agronomy.Input{Name: "etc", Unit: "mm/day", Range: agronomy.AtLeast(0)}
	u, d := s.Take(inUse, use.Quantity()), s.Take(own[0], days.Quantity())
	rain := 0.0
	if v, ok := p.given["rain"]; ok {
		rain = s.Take(own[1], v.Quantity())
	}
	if s.Err() != nil {
		return s.Err()
	}
	unit := map[bool]string{true: "mm", false: "in"}[agronomy.Metric(use.Unit)]
	p.add("water_need", s.In(max(0, u*d-rain), "mm", unit))
	return s.Err()
}
