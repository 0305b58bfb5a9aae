package soilwater

import (
	"fmt"

	"swardbook/diagnose/agronomy"
)

type values = agronomy.Values
type results = agronomy.Results

// Formulas are what this package adds to the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{storeFormula(), intervalFormula(), wettingFormula(), bucketFormula(), expectedFormula(), volumeFormula()}
}

func one(name string, r agronomy.Result, err error) (results, error) { return results{name: r}, err }

// availableFrom is the soil's available water as given, from water contents, or the middle of the texture's range.
func availableFrom(v values) (agronomy.Quantity, error) {
	switch {
	case v.Has("available_water"):
		return v.Q("available_water"), nil
	case v.Has("field_capacity", "wilting_point"):
		r, err := WaterBetween(v.Q("field_capacity"), v.Q("wilting_point"))
		return r.Quantity(), err
	}
	a, err := AvailableWater(v.Text("texture"), v.Text("table"))
	return a.Middle.Quantity(), err
}

// allowedFrom is the allowed share as given, or that of the kind of grass.
func allowedFrom(v values) (agronomy.Quantity, error) {
	if v.Has("mad") || !v.Has("turf") {
		return v.Q("mad"), nil
	}
	r, err := DefaultAllowed(v.Text("turf"))
	return r.Quantity(), err
}

// soilWays repeats a way for each of the three ways to know the soil.
func soilWays(needs, may []string, run func(values) (results, error)) []agronomy.Way {
	var ways []agronomy.Way
	for _, soil := range [][]string{{"available_water"}, {"field_capacity", "wilting_point"}, {"texture"}} {
		way := agronomy.Way{Needs: append(append([]string{}, soil...), needs...), May: may, Run: run}
		if soil[0] == "texture" {
			way.May = append(append([]string{}, may...), "table")
		}
		ways = append(ways, way)
	}
	return ways
}

func storeFormula() agronomy.Formula {
	ways := []agronomy.Way{
		{Needs: []string{"texture"}, May: []string{"table"}, Run: func(v values) (results, error) {
			a, err := AvailableWater(v.Text("texture"), v.Text("table"))
			return results{"available_low": a.Low, "available_water": a.Middle, "available_high": a.High}, err
		}},
		{Needs: []string{"field_capacity", "wilting_point"}, Run: func(v values) (results, error) {
			a, err := WaterBetween(v.Q("field_capacity"), v.Q("wilting_point"))
			return one("available_water", a, err)
		}},
		{Needs: []string{"species"}, Run: func(v values) (results, error) {
			r, err := RootsOf(v.Text("species"))
			return results{"root_low": r.Low, "root_high": r.High, "allowed_fraction": r.Allowed}, err
		}},
		{Needs: []string{"mad", "etc"}, Run: func(v values) (results, error) {
			p, err := AdjustedAllowed(v.Q("mad"), v.Q("etc"))
			return one("p_adjusted", p, err)
		}},
		{Needs: []string{"taw", "mad"}, Run: func(v values) (results, error) {
			raw, err := Allowed(v.Q("taw"), v.Q("mad"))
			return results{"allowed_depletion": raw, "raw": raw}, err
		}},
		{Needs: []string{"taw", "mad", "depletion"}, Run: func(v values) (results, error) {
			k, err := Stress(v.Q("depletion"), v.Q("taw"), v.Q("mad"))
			return one("ks", k, err)
		}},
	}
	ways = append(ways, soilWays([]string{"root_depth"}, []string{"mad", "turf", "depletion"}, runStore)...)
	return agronomy.Formula{
		Name: "soil_store", Does: "What the root zone holds, and how much of it may be used up.", Source: fao56 + "; " + uc,
		Inputs: []agronomy.Input{inAvailable, inCapacity, inWilting, inTexture, inTable, inRoots, inSpecies, inMAD, inTurf, inETc, inTAW, inDepletion},
		Outputs: []agronomy.Output{{Name: "available_low", Unit: "in/ft"}, {Name: "available_water", Unit: "in/ft"}, {Name: "available_high", Unit: "in/ft"}, {Name: "total_available", Unit: "in"},
			{Name: "taw", Unit: "in", Says: "the same under its short name"}, {Name: "allowed_depletion", Unit: "in"}, {Name: "raw", Unit: "in", Says: "the same under its short name"},
			{Name: "root_low", Unit: "in"}, {Name: "root_high", Unit: "in"}, {Name: "allowed_fraction", Unit: "fraction"}, {Name: "p_adjusted", Also: []string{"p", "mad"}, Unit: "fraction"}, {Name: "ks", Also: []string{"stress"}, Unit: "fraction", Says: "stress, 1 is none"}},
		Ways: ways,
	}
}

func runStore(v values) (results, error) {
	a, err := availableFrom(v)
	if err != nil {
		return nil, err
	}
	total, err := TotalAvailable(a, v.Q("root_depth"))
	if err != nil {
		return nil, err
	}
	out := results{"total_available": total, "taw": total}
	p, err := allowedFrom(v)
	if err != nil || p.Unit == "" {
		return out, err
	}
	raw, err := Allowed(total.Quantity(), p)
	if err != nil {
		return nil, err
	}
	out["allowed_depletion"], out["raw"] = raw, raw
	if v.Has("depletion") {
		out["ks"], err = Stress(v.Q("depletion"), total.Quantity(), p)
	}
	return out, err
}

// useFrom is a day's use as given, or from the reference and the coefficient.
func useFrom(v values) (agronomy.Quantity, error) {
	if v.Has("etc") {
		return v.Q("etc"), nil
	}
	s := agronomy.NewSheet("ETc = Kc × ETo", fao56+", equation 58")
	e, k := s.Take(inETo, v.Q("eto")), s.Take(inKc, v.Q("kc", agronomy.Q(1, "ratio")))
	return agronomy.Q(e*k, "in/day"), s.Err()
}

func intervalFormula() agronomy.Formula {
	var ways []agronomy.Way
	for _, use := range [][]string{{"etc"}, {"eto", "kc"}} {
		ways = append(ways, agronomy.Way{Needs: append([]string{"allowed_depletion"}, use...), Run: runInterval})
		ways = append(ways, soilWays(append([]string{"root_depth", "mad"}, use...), nil, runInterval)...)
		ways = append(ways, soilWays(append([]string{"root_depth", "turf"}, use...), nil, runInterval)...)
	}
	return agronomy.Formula{
		Name: "irrigation_interval", Does: "How many days the allowed water lasts.", Source: "an irrigation manufacturer's technical handbook, scheduling chapter; " + uc,
		Inputs:  []agronomy.Input{inAvailable, inCapacity, inWilting, inTexture, inTable, inRoots, inMAD, inTurf, inETc, inETo, inKc, inRAW},
		Outputs: []agronomy.Output{{Name: "total_available", Unit: "in"}, {Name: "allowed_depletion", Unit: "in"}, {Name: "etc", Unit: "in/day"}, {Name: "interval", Unit: "day"}, {Name: "interval_whole_days", Unit: "day"}},
		Ways:    ways,
	}
}

func runInterval(v values) (results, error) {
	out := results{}
	allowed := v.Q("allowed_depletion")
	if !v.Has("allowed_depletion") {
		stored, err := runStore(v)
		if err != nil {
			return nil, err
		}
		out["total_available"], out["allowed_depletion"] = stored["total_available"], stored["allowed_depletion"]
		allowed = stored["allowed_depletion"].Quantity()
	}
	use, err := useFrom(v)
	if err != nil {
		return nil, err
	}
	days, whole, err := Interval(allowed, use)
	out["interval"], out["interval_whole_days"] = days, whole
	return out, err
}

func wettingFormula() agronomy.Formula {
	ways := soilWays([]string{"applied", "depletion_before"}, nil, func(v values) (results, error) {
		a, err := availableFrom(v)
		if err != nil {
			return nil, err
		}
		d, err := WettingDepth(v.Q("applied"), a, v.Q("depletion_before"))
		return one("wetting_depth", d, err)
	})
	ways = append(ways, soilWays([]string{"depth_to_wet", "depletion_before"}, nil, func(v values) (results, error) {
		a, err := availableFrom(v)
		if err != nil {
			return nil, err
		}
		w, err := WaterToWet(v.Q("depth_to_wet"), a, v.Q("depletion_before"))
		return one("water_needed", w, err)
	})...)
	return agronomy.Formula{
		Name: "wetting_depth", Does: "How deep water wets soil, and how much wets it to a depth.", Source: byBalance,
		Inputs:  []agronomy.Input{inApplied, inAvailable, inCapacity, inWilting, inTexture, inTable, inDried, inWetTo},
		Outputs: []agronomy.Output{{Name: "wetting_depth", Unit: "in"}, {Name: "water_needed", Also: []string{"applied"}, Unit: "in"}},
		Ways:    ways,
	}
}

func volumeFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "water_volume", Does: "A depth of water on ground as a volume, and back.", Source: "definitions of the units", Inputs: []agronomy.Input{inArea, inDepth, inVolume},
		Outputs: []agronomy.Output{{Name: "volume", Unit: "gal"}, {Name: "depth", Unit: "in"}},
		Ways: []agronomy.Way{
			{Needs: []string{"area", "depth"}, Run: func(v values) (results, error) {
				r, err := WaterVolume(v.Q("area"), v.Q("depth"))
				return one("volume", r, err)
			}},
			{Needs: []string{"area", "volume"}, Run: func(v values) (results, error) {
				r, err := DepthOf(v.Q("volume"), v.Q("area"))
				return one("depth", r, err)
			}},
		},
	}
}

var (
	inDaysETo  = agronomy.Input{Name: "days_eto", Kind: agronomy.Numbers, Unit: "mm", Or: []string{"mm/day"}, Range: agronomy.Between(0, 25), Says: "reference evapotranspiration of each day"}
	inDaysRain = agronomy.Input{Name: "days_rain", Kind: agronomy.Numbers, Unit: "mm", Or: []string{"mm/day"}, Range: agronomy.Between(0, 2000), Says: "rain of each day"}
	inDaysIrr  = agronomy.Input{Name: "days_irrigation", Kind: agronomy.Numbers, Unit: "mm", Or: []string{"mm/day"}, Range: agronomy.Between(0, 500), Says: "watering of each day"}
	inDaysOff  = agronomy.Input{Name: "days_runoff", Kind: agronomy.Numbers, Unit: "mm", Or: []string{"mm/day"}, Range: agronomy.Between(0, 2000), Says: "run-off of each day"}
	inStart    = agronomy.Input{Name: "start_depletion", Also: []string{"initial_depletion"}, Unit: "mm", Range: agronomy.AtLeast(0), Says: "depletion before the first day"}
	inDaysKc   = agronomy.Input{Name: "kc", Kind: agronomy.Numbers, Unit: "ratio", Range: agronomy.AboveTo(0, 1.5), Says: "turf coefficient, one or one a day"}
	inAdjust   = agronomy.Input{Name: "adjust_p", Kind: agronomy.Flag, Says: "fit p to each day's use"}
	inSkip     = agronomy.Input{Name: "skip_light_rain", Kind: agronomy.Flag, Says: "leave out rain below a fifth of ETo"}
)

// bucketFrom takes the account's inputs down on a sheet.
func bucketFrom(s *agronomy.Sheet, v values) ([]Day, Bucket) {
	eto := s.TakeAll(inDaysETo, v.List("days_eto"))
	rain, irr, off := dayList(s, inDaysRain, v, len(eto)), dayList(s, inDaysIrr, v, len(eto)), dayList(s, inDaysOff, v, len(eto))
	kc := []float64{1}
	if v.Has("kc") {
		kc = s.TakeAll(inDaysKc, v.List("kc"))
	}
	if s.Err() == nil && len(kc) != 1 && len(kc) != len(eto) {
		s.Refuse(agronomy.Refuse("kc", fmt.Sprintf("%d values", len(kc)), fmt.Sprintf("one value, or %d, one a day", len(eto))))
	}
	b := Bucket{TAW: s.Take(inTAW, v.Q("taw")), P: s.Take(inMAD, v.Q("mad")), AdjustP: v["adjust_p"].Yes, SkipLightRain: v["skip_light_rain"].Yes}
	b.Start = s.Take(inStart, v.Q("start_depletion", agronomy.Q(0, "mm")))
	if s.Err() != nil {
		return nil, b
	}
	if b.Start > b.TAW {
		s.Refuse(agronomy.Refuse("start_depletion", v.Q("start_depletion").String(), "no more than taw, "+v.Q("taw").String()))
	}
	days := make([]Day, len(eto))
	for i := range days {
		days[i] = Day{ETo: eto[i], Rain: rain[i], Irrigation: irr[i], RunOff: off[i], Kc: kc[min(i, len(kc)-1)]}
	}
	return days, b
}

// dayList is one list of days; one that isn't given is all zero.
func dayList(s *agronomy.Sheet, in agronomy.Input, v values, n int) []float64 {
	if !v.Has(in.Name) {
		return make([]float64, n)
	}
	list := s.TakeAll(in, v.List(in.Name))
	if s.Err() == nil && len(list) != n {
		s.Refuse(agronomy.Refuse(in.Name, fmt.Sprintf("%d values", len(list)), fmt.Sprintf("%d values, one for each of days_eto", n)))
	}
	return list
}
