package evapo

import "swardbook/diagnose/agronomy"

func netFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "net_radiation", Does: "Radiation that stays: shortwave, longwave and their difference.", Source: fao56,
		Inputs: []agronomy.Input{inTmax, inTmin, inEa, inTdew, inTwet, inTdry, inPressure, inElevation, inPsy, inRHmax, inRHmin, inRHmean, inDryBy, inRs, inRso, inRa, inAlbedo, inRns, inRnl},
		Outputs: []agronomy.Output{{Name: "rns", Unit: "MJ/m2/day", Says: "shortwave"}, {Name: "rnl", Unit: "MJ/m2/day", Says: "longwave, outgoing"}, {Name: "rn", Unit: "MJ/m2/day"},
			{Name: "rn_depth", Also: []string{"equivalent_depth"}, Unit: "mm/day"}, {Name: "rso", Unit: "MJ/m2/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"rns", "rnl"}, Run: func(v values) (results, error) { return difference(v.Q("rns"), v.Q("rnl"), results{}) }},
			{Needs: []string{"rs", "rnl"}, May: []string{"albedo"}, Run: func(v values) (results, error) {
				rns, err := NetShortwave(v.Q("rs"), v.Q("albedo"))
				if err != nil {
					return nil, err
				}
				return difference(rns.Quantity(), v.Q("rnl"), results{"rns": rns})
			}},
			{Needs: []string{"rs"}, May: []string{"albedo"}, Run: func(v values) (results, error) {
				rns, err := NetShortwave(v.Q("rs"), v.Q("albedo"))
				return one("rns", rns, err)
			}},
			{Needs: []string{"tmax", "tmin", "rs", "rso"}, May: append([]string{"albedo", "rns"}, humidityNames...), Run: net},
			{Needs: []string{"tmax", "tmin", "rs", "ra", "elevation"}, May: append([]string{"albedo", "rns"}, humidityNames...), Run: net},
		},
	}
}

func difference(rns, rnl agronomy.Quantity, out results) (results, error) {
	rn, err := NetRadiation(rns, rnl)
	if err != nil {
		return nil, err
	}
	out["rn"] = rn
	out["rn_depth"], err = AsDepth(rn.Quantity())
	return out, err
}

func net(v values) (results, error) {
	h, err := humidityOf(v)
	if err != nil {
		return nil, err
	}
	ea, err := ActualPressure(h, v.Q("tmax"), v.Q("tmin"))
	if err != nil {
		return nil, err
	}
	out := results{}
	rso := v.Q("rso")
	if !v.Has("rso") {
		clear, err := ClearSky(v.Q("ra"), v.Q("elevation"))
		if err != nil {
			return nil, err
		}
		out["rso"], rso = clear, clear.Quantity()
	}
	rnl, err := NetLongwave(v.Q("tmax"), v.Q("tmin"), ea.Quantity(), v.Q("rs"), rso)
	if err != nil {
		return nil, err
	}
	out["rnl"] = rnl
	rns := v.Q("rns")
	if !v.Has("rns") {
		short, err := NetShortwave(v.Q("rs"), v.Q("albedo"))
		if err != nil {
			return nil, err
		}
		rns = short.Quantity()
	}
	return difference(rns, rnl.Quantity(), out)
}

func heatFormula() agronomy.Formula {
	run := func(v values) (results, error) {
		g, err := SoilHeatFlux(v.Q("t_prev_month"), v.Q("t_month"), v.Q("t_next_month"))
		if err != nil {
			return nil, err
		}
		depth, err := AsDepth(g.Quantity())
		return results{"soil_heat_flux": g, "equivalent_depth": depth}, err
	}
	return agronomy.Formula{
		Name: "soil_heat_flux", Does: "Heat that goes into the soil over a month; none for a day.", Source: fao56,
		Inputs:  []agronomy.Input{inPrevMonth, inThisMonth, inNextMonth},
		Outputs: []agronomy.Output{{Name: "soil_heat_flux", Unit: "MJ/m2/day"}, {Name: "equivalent_depth", Unit: "mm/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"t_prev_month", "t_next_month"}, Run: run},
			{Needs: []string{"t_prev_month", "t_month"}, Run: run},
		},
	}
}

func windFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "wind_at_2m", Does: "Wind brought to a height of 2 m.", Source: fao56, Inputs: []agronomy.Input{inWind, inHeight, inWind10},
		Outputs: []agronomy.Output{{Name: "u2", Unit: "m/s"}},
		Ways: []agronomy.Way{
			{Needs: []string{"wind", "height"}, Run: func(v values) (results, error) {
				u, err := WindAt2m(v.Q("wind"), v.Q("height"))
				return one("u2", u, err)
			}},
			{Needs: []string{"wind_10m"}, Run: func(v values) (results, error) {
				u, err := WindAt2m(v.Q("wind_10m"), agronomy.Q(10, "m"))
				return one("u2", u, err)
			}},
		},
	}
}

func etoFormulaEntry() agronomy.Formula {
	may := append([]string{"latitude", "day_of_year", "date", "month", "elevation", "pressure", "tmean", "height", "rs", "sunshine", "krs", "place", "as", "bs", "ra", "daylight_hours", "rso", "rn", "albedo",
		"soil_heat_flux", "t_prev_month", "t_month", "t_next_month"}, humidityNames...)
	var ways []agronomy.Way
	for _, wind := range []string{"wind_2m", "wind_10m", "wind"} {
		ways = append(ways, agronomy.Way{Needs: []string{"tmax", "tmin", wind}, May: may, Run: runETo})
	}
	for _, mean := range [][]string{{"tmean"}, {"tmax", "tmin"}} {
		ways = append(ways, agronomy.Way{Needs: append(mean, parts...), May: []string{"soil_heat_flux"}, Run: runParts})
	}
	return agronomy.Formula{
		Name: "eto_penman_monteith", Does: "Reference evapotranspiration by FAO-56 Penman–Monteith, with all it is made of.", Source: fao56,
		Inputs: []agronomy.Input{inLatitude, inElevation, inPressure, inDay, inDate, inMonth, inTmax, inTmin, inTmean, inEa, inTdew, inTwet, inTdry, inPsy, inRHmax, inRHmin, inRHmean, inDryBy, inWind, inHeight, inWind2, inWind10,
			inRs, inSunshine, inHours, inKrs, inPlace, inAs, inBs, inRa, inRso, inRn, inAlbedo, inG, inPrevMonth, inThisMonth, inNextMonth, inEs, inSlope, inGamma},
		Outputs: []agronomy.Output{{Name: "u2", Unit: "m/s"}, {Name: "pressure", Unit: "kPa"}, {Name: "psychrometric_constant", Also: []string{"gamma"}, Unit: "kPa/C"}, {Name: "slope", Unit: "kPa/C"}, {Name: "es", Unit: "kPa"},
			{Name: "ea", Unit: "kPa"}, {Name: "vpd", Unit: "kPa"}, {Name: "ra", Unit: "MJ/m2/day"}, {Name: "daylight_hours", Unit: "h"}, {Name: "rs", Unit: "MJ/m2/day"}, {Name: "rso", Unit: "MJ/m2/day"},
			{Name: "rns", Unit: "MJ/m2/day"}, {Name: "rnl", Unit: "MJ/m2/day"}, {Name: "rn", Unit: "MJ/m2/day"}, {Name: "soil_heat_flux", Also: []string{"g"}, Unit: "MJ/m2/day"}, {Name: "eto", Also: []string{"eto_penman_monteith"}, Unit: "mm/day"}},
		Ways: ways,
	}
}

// parts are what the combination equation is made of, beside the mean temperature.
var parts = []string{"rn", "wind_2m", "es", "ea", "slope", "psychrometric_constant"}

func runETo(v values) (results, error) {
	if v.Has(parts...) {
		return results{}, nil
	}
	d, err := dayFrom(v)
	if err != nil {
		return nil, err
	}
	r, err := PenmanMonteith(d)
	if err != nil {
		return nil, err
	}
	out := results{}
	for name, res := range map[string]agronomy.Result{"u2": r.U2, "pressure": r.Pressure, "psychrometric_constant": r.Gamma, "slope": r.Slope, "es": r.Es, "ea": r.Ea, "vpd": r.VPD, "ra": r.Ra,
		"daylight_hours": r.Hours, "rs": r.Rs, "rso": r.Rso, "rns": r.Rns, "rnl": r.Rnl, "rn": r.Rn, "soil_heat_flux": r.G, "eto": r.ETo} {
		if res.Unit != "" {
			out[name] = res
		}
	}
	return out, nil
}

func runParts(v values) (results, error) {
	mean := v.Q("tmean")
	if !v.Has("tmean") {
		hi, err := v.Q("tmax").In("C")
		if err != nil {
			return nil, err
		}
		lo, err := v.Q("tmin").In("C")
		if err != nil {
			return nil, err
		}
		mean = agronomy.Q((hi+lo)/2, "C")
	}
	eto, err := Parts(mean, v.Q("rn"), v.Q("soil_heat_flux"), v.Q("wind_2m"), v.Q("es"), v.Q("ea"), v.Q("slope"), v.Q("psychrometric_constant"))
	return one("eto", eto, err)
}

// dayFrom gathers a day from the inputs; the heat of the soil may come from the months.
func dayFrom(v values) (Day, error) {
	h, err := humidityOf(v)
	if err != nil {
		return Day{}, err
	}
	day, err := dayOf(v)
	if err != nil {
		return Day{}, err
	}
	d := Day{Latitude: v.Q("latitude"), DayOfYear: day, Elevation: v.Q("elevation"), Pressure: v.Q("pressure"), Tmax: v.Q("tmax"), Tmin: v.Q("tmin"), Tmean: v.Q("tmean"), Humidity: h,
		Rs: v.Q("rs"), Sunshine: v.Q("sunshine"), Krs: v.Q("krs"), As: v.Q("as"), Bs: v.Q("bs"), Ra: v.Q("ra"), Hours: v.Q("daylight_hours"), Rso: v.Q("rso"), Rn: v.Q("rn"),
		Albedo: v.Q("albedo"), G: v.Q("soil_heat_flux")}
	d.Wind, d.WindHeight = windFrom(v)
	if v.Has("place") && !v.Has("krs") {
		if d.Krs, err = KrsOf(v.Text("place")); err != nil {
			return d, err
		}
	}
	if !v.Has("soil_heat_flux") && v.Has("t_prev_month") && (v.Has("t_month") || v.Has("t_next_month")) {
		g, err := SoilHeatFlux(v.Q("t_prev_month"), v.Q("t_month"), v.Q("t_next_month"))
		d.G = g.Quantity()
		return d, err
	}
	return d, nil
}

func windFrom(v values) (wind, height agronomy.Quantity) {
	switch {
	case v.Has("wind_2m"):
		return v.Q("wind_2m"), agronomy.Quantity{}
	case v.Has("wind_10m"):
		return v.Q("wind_10m"), agronomy.Q(10, "m")
	}
	return v.Q("wind"), v.Q("height")
}

func hargreavesFormula() agronomy.Formula {
	run := func(v values) (results, error) {
		ra, _, err := above(v)
		if err != nil {
			return nil, err
		}
		eto, err := Hargreaves(ra, v.Q("tmax"), v.Q("tmin"), v.Q("tmean"))
		return one("eto_hargreaves", eto, err)
	}
	return agronomy.Formula{
		Name: "eto_hargreaves", Does: "Reference evapotranspiration from temperatures alone.", Source: fao56,
		Inputs:  []agronomy.Input{inRa, inLatitude, inDay, inDate, inMonth, inTmax, inTmin, inTmean},
		Outputs: []agronomy.Output{{Name: "eto_hargreaves", Also: []string{"eto"}, Unit: "mm/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"ra", "tmax", "tmin"}, May: []string{"tmean"}, Run: run},
			{Needs: []string{"latitude", "day_of_year", "tmax", "tmin"}, May: []string{"tmean"}, Run: run},
			{Needs: []string{"latitude", "date", "tmax", "tmin"}, May: []string{"tmean"}, Run: run},
			{Needs: []string{"latitude", "month", "tmax", "tmin"}, May: []string{"tmean"}, Run: run},
		},
	}
}

func useFormula() agronomy.Formula {
	use := func(v values, kc agronomy.Result, err error) (results, error) {
		if err != nil {
			return nil, err
		}
		out := results{"kc": kc}
		if v.Has("eto") {
			out["etc"], err = TurfUse(v.Q("eto"), kc.Quantity())
		}
		return out, err
	}
	return agronomy.Formula{
		Name: "crop_water_use", Does: "What a turf uses of the reference evapotranspiration.", Source: turfSource,
		Inputs:  []agronomy.Input{inETo, inMonth, inTurf, inStage, inKc, inSpecies},
		Outputs: []agronomy.Output{{Name: "kc", Unit: "ratio"}, {Name: "etc", Unit: "mm/day"}, {Name: "max_use_low", Unit: "mm/day"}, {Name: "max_use_high", Unit: "mm/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"eto", "kc"}, Run: func(v values) (results, error) {
				etc, err := TurfUse(v.Q("eto"), v.Q("kc"))
				return one("etc", etc, err)
			}},
			{Needs: []string{"turf", "month"}, May: []string{"eto"}, Run: func(v values) (results, error) {
				kc, err := TurfCoefficient(v.Text("turf"), v["month"].String())
				return use(v, kc, err)
			}},
			{Needs: []string{"turf", "stage"}, May: []string{"eto"}, Run: func(v values) (results, error) {
				kc, err := StageCoefficient(v.Text("turf"), v.Text("stage"))
				return use(v, kc, err)
			}},
			{Needs: []string{"turf"}, May: []string{"eto"}, Run: func(v values) (results, error) {
				kc, err := AnnualCoefficient(v.Text("turf"))
				return use(v, kc, err)
			}},
			{Needs: []string{"species"}, Run: func(v values) (results, error) {
				low, high, err := GreatestUse(v.Text("species"))
				return results{"max_use_low": low, "max_use_high": high}, err
			}},
		},
	}
}

func meansFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "plant_factor_means", Does: "Plain means of monthly turf coefficients.", Source: turfSource, Inputs: []agronomy.Input{inCool, inWarm},
		Outputs: []agronomy.Output{{Name: "cool_mean", Unit: "ratio"}, {Name: "warm_mean", Unit: "ratio"}},
		Ways: []agronomy.Way{
			{Needs: []string{"cool_monthly"}, Run: func(v values) (results, error) {
				m, err := MeanOfMonths(inCool, v.List("cool_monthly"))
				return one("cool_mean", m, err)
			}},
			{Needs: []string{"warm_monthly"}, Run: func(v values) (results, error) {
				m, err := MeanOfMonths(inWarm, v.List("warm_monthly"))
				return one("warm_mean", m, err)
			}},
		},
	}
}
