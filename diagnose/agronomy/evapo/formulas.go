package evapo

import "swardbook/diagnose/agronomy"

type values = agronomy.Values
type results = agronomy.Results

// Formulas are what this package adds to the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{pressureFormula(), vapourFormula(), skyFormula(), solarFormula(), netFormula(), heatFormula(), windFormula(), etoFormulaEntry(), hargreavesFormula(), useFormula(), meansFormula()}
}

func one(name string, r agronomy.Result, err error) (results, error) { return results{name: r}, err }

func pressureFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "air_pressure", Does: "Air pressure at a height, and the psychrometric constant.", Source: fao56, Inputs: []agronomy.Input{inElevation, inPressure},
		Outputs: []agronomy.Output{{Name: "pressure", Unit: "kPa"}, {Name: "psychrometric_constant", Also: []string{"gamma"}, Unit: "kPa/C"}},
		Ways: []agronomy.Way{
			{Needs: []string{"pressure"}, Run: func(v values) (results, error) {
				g, err := PsychrometricConstant(v.Q("pressure"))
				return one("psychrometric_constant", g, err)
			}},
			{Needs: []string{"elevation"}, Run: func(v values) (results, error) {
				p, g, err := AirPressure(v.Q("elevation"))
				return results{"pressure": p, "psychrometric_constant": g}, err
			}},
		},
	}
}

var humidityNames = []string{"ea", "tdew", "twet", "tdry", "pressure", "elevation", "psychrometer_coefficient", "rhmax", "rhmin", "rhmean", "tmin_minus_tdew"}

// humidityOf gathers what is known; the pressure of a psychrometer may come from the elevation.
func humidityOf(v values) (Humidity, error) {
	h := Humidity{Ea: v.Q("ea"), Tdew: v.Q("tdew"), Twet: v.Q("twet"), Tdry: v.Q("tdry"), Pressure: v.Q("pressure"), PsyCoefficient: v.Q("psychrometer_coefficient"),
		RHmax: v.Q("rhmax"), RHmin: v.Q("rhmin"), RHmean: v.Q("rhmean"), DryBy: v.Q("tmin_minus_tdew")}
	if v.Has("twet", "elevation") && !v.Has("pressure") {
		p, _, err := AirPressure(v.Q("elevation"))
		h.Pressure = p.Quantity()
		return h, err
	}
	return h, nil
}

func vapourFormula() agronomy.Formula {
	air := func(v values) (results, error) {
		h, err := humidityOf(v)
		if err != nil {
			return nil, err
		}
		ea, err := ActualPressure(h, v.Q("tmax"), v.Q("tmin"))
		return one("ea", ea, err)
	}
	return agronomy.Formula{
		Name: "vapour_pressure", Does: "Vapour pressure of saturated and of actual air.", Source: fao56,
		Inputs: []agronomy.Input{inT, inRH, inTmax, inTmin, inTdew, inTwet, inTdry, inPressure, inElevation, inPsy, inRHmax, inRHmin, inRHmean, inDryBy},
		Outputs: []agronomy.Output{{Name: "e", Unit: "kPa"}, {Name: "slope", Unit: "kPa/C"}, {Name: "e_tmax", Unit: "kPa"}, {Name: "e_tmin", Unit: "kPa"}, {Name: "es", Unit: "kPa", Says: "saturation"},
			{Name: "ea", Unit: "kPa", Says: "actual"}, {Name: "vpd", Also: []string{"vapour_pressure_deficit", "deficit"}, Unit: "kPa", Says: "es − ea"}},
		Ways: []agronomy.Way{
			{Needs: []string{"temperature"}, Run: func(v values) (results, error) {
				e, slope, err := Saturation(v.Q("temperature"))
				return results{"e": e, "slope": slope}, err
			}},
			{Needs: []string{"temperature", "rh"}, Run: func(v values) (results, error) {
				s := agronomy.NewSheet("ea = RH ÷ 100 × e(T)", fao56+", equation 10")
				ea := s.Take(inRH, v.Q("rh")) / 100 * saturation(s.Take(inT, v.Q("temperature")))
				return one("ea", s.Number(ea, "kPa"), s.Err())
			}},
			{Needs: []string{"tmax", "tmin"}, Run: func(v values) (results, error) {
				d, err := SaturationOfDay(v.Q("tmax"), v.Q("tmin"))
				return results{"e_tmax": d.AtMax, "e_tmin": d.AtMin, "es": d.Mean, "slope": d.Slope}, err
			}},
			{Needs: []string{"tmax"}, Run: func(v values) (results, error) {
				e, _, err := Saturation(v.Q("tmax"))
				return one("e_tmax", e, err)
			}},
			{Needs: []string{"tmin"}, Run: func(v values) (results, error) {
				e, _, err := Saturation(v.Q("tmin"))
				return one("e_tmin", e, err)
			}},
			{Needs: []string{"tdew"}, May: []string{"tmax", "tmin"}, Run: air},
			{Needs: []string{"twet", "tdry", "pressure"}, May: []string{"tmax", "tmin", "psychrometer_coefficient"}, Run: air},
			{Needs: []string{"twet", "tdry", "elevation"}, May: []string{"tmax", "tmin", "psychrometer_coefficient"}, Run: air},
			{Needs: []string{"tmax", "tmin", "rhmax", "rhmin"}, Run: air},
			{Needs: []string{"tmin", "rhmax"}, May: []string{"tmax"}, Run: air},
			{Needs: []string{"tmax", "tmin", "rhmean"}, Run: air},
			{Needs: []string{"tmin"}, May: []string{"tmax", "tmin_minus_tdew"}, Run: air},
			{Needs: []string{"tmax", "tmin"}, May: humidityNames[1:], Run: deficit},
		},
	}
}

// deficit is what the air could still take up.
func deficit(v values) (results, error) {
	h, err := humidityOf(v)
	if err != nil {
		return nil, err
	}
	ea, err := ActualPressure(h, v.Q("tmax"), v.Q("tmin"))
	if err != nil {
		return nil, err
	}
	d, err := SaturationOfDay(v.Q("tmax"), v.Q("tmin"))
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("deficit = es − ea", fao56)
	diff := s.Take(inEs, d.Mean.Quantity()) - s.Take(inEa, ea.Quantity())
	return one("vpd", s.Number(diff, "kPa"), s.Err())
}

// dayOf is the day of the year, from a date when that is given, or the middle of a month.
func dayOf(v values) (agronomy.Quantity, error) {
	switch {
	case v.Has("day_of_year"):
	case v.Has("date"):
		return DayOfYear(v.Text("date"))
	case v.Has("month"):
		return MidMonth(v["month"].String())
	}
	return v.Q("day_of_year"), nil
}

func skyFormula() agronomy.Formula {
	run := func(v values) (results, error) {
		day, err := dayOf(v)
		if err != nil {
			return nil, err
		}
		k, err := SkyOf(day, v.Q("latitude"))
		if err != nil {
			return nil, err
		}
		out := results{"dr": k.Dr, "declination": k.Declination, "sunset_hour_angle": k.Sunset, "ra": k.Ra, "ra_depth": k.RaDepth, "daylight_hours": k.Hours}
		if v.Has("elevation") {
			out["rso"], err = ClearSky(k.Ra.Quantity(), v.Q("elevation"))
		}
		return out, err
	}
	return agronomy.Formula{
		Name: "extraterrestrial_radiation", Does: "Radiation above the air, length of the day and clear-sky radiation.", Source: fao56,
		Inputs: []agronomy.Input{inDay, inDate, inMonth, inLatitude, inElevation, inRa},
		Outputs: []agronomy.Output{{Name: "dr", Unit: "ratio"}, {Name: "declination", Unit: "rad"}, {Name: "sunset_hour_angle", Unit: "rad"}, {Name: "ra", Unit: "MJ/m2/day"},
			{Name: "ra_depth", Also: []string{"ra_mm", "equivalent_depth", "ra_equivalent"}, Unit: "mm/day"}, {Name: "daylight_hours", Unit: "h"}, {Name: "rso", Unit: "MJ/m2/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"day_of_year", "latitude"}, May: []string{"elevation"}, Run: run},
			{Needs: []string{"date", "latitude"}, May: []string{"elevation"}, Run: run},
			{Needs: []string{"month", "latitude"}, May: []string{"elevation"}, Run: run},
			{Needs: []string{"ra", "elevation"}, Run: func(v values) (results, error) {
				rso, err := ClearSky(v.Q("ra"), v.Q("elevation"))
				return one("rso", rso, err)
			}},
		},
	}
}

func solarFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "solar_radiation", Does: "Solar radiation from sunshine, or guessed from the day's temperatures.", Source: fao56,
		Inputs:  []agronomy.Input{inSunshine, inHours, inRa, inDay, inDate, inMonth, inLatitude, inAs, inBs, inTmax, inTmin, inKrs, inPlace, inElevation, inRso},
		Outputs: []agronomy.Output{{Name: "rs", Unit: "MJ/m2/day"}, {Name: "rso", Unit: "MJ/m2/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"sunshine", "daylight_hours", "ra"}, May: []string{"as", "bs"}, Run: sunny},
			{Needs: []string{"sunshine", "latitude", "day_of_year"}, May: []string{"as", "bs"}, Run: sunny},
			{Needs: []string{"sunshine", "latitude", "date"}, May: []string{"as", "bs"}, Run: sunny},
			{Needs: []string{"sunshine", "latitude", "month"}, May: []string{"as", "bs"}, Run: sunny},
			{Needs: []string{"tmax", "tmin", "ra"}, May: []string{"krs", "place", "elevation", "rso"}, Run: guessed},
			{Needs: []string{"tmax", "tmin", "latitude", "day_of_year"}, May: []string{"krs", "place", "elevation", "rso"}, Run: guessed},
			{Needs: []string{"tmax", "tmin", "latitude", "date"}, May: []string{"krs", "place", "elevation", "rso"}, Run: guessed},
			{Needs: []string{"tmax", "tmin", "latitude", "month"}, May: []string{"krs", "place", "elevation", "rso"}, Run: guessed},
			{Needs: []string{"ra", "elevation"}, Run: func(v values) (results, error) {
				rso, err := ClearSky(v.Q("ra"), v.Q("elevation"))
				return one("rso", rso, err)
			}},
		},
	}
}

// above is Ra and the day's length as given, or from the place and day.
func above(v values) (ra, hours agronomy.Quantity, err error) {
	ra, hours = v.Q("ra"), v.Q("daylight_hours")
	if !v.Has("latitude") {
		return ra, hours, nil
	}
	day, err := dayOf(v)
	if err != nil {
		return ra, hours, err
	}
	k, err := SkyOf(day, v.Q("latitude"))
	return v.Q("ra", k.Ra.Quantity()), v.Q("daylight_hours", k.Hours.Quantity()), err
}

func sunny(v values) (results, error) {
	ra, hours, err := above(v)
	if err != nil {
		return nil, err
	}
	rs, err := RadiationFromSunshine(v.Q("sunshine"), hours, ra, v.Q("as"), v.Q("bs"))
	return one("rs", rs, err)
}

func guessed(v values) (results, error) {
	ra, _, err := above(v)
	if err != nil {
		return nil, err
	}
	krs, rso := v.Q("krs"), v.Q("rso")
	if v.Has("place") && !v.Has("krs") {
		if krs, err = KrsOf(v.Text("place")); err != nil {
			return nil, err
		}
	}
	if v.Has("elevation") && !v.Has("rso") {
		clear, err := ClearSky(ra, v.Q("elevation"))
		if err != nil {
			return nil, err
		}
		rso = clear.Quantity()
	}
	rs, err := RadiationFromTemperature(v.Q("tmax"), v.Q("tmin"), ra, krs, rso)
	return one("rs", rs, err)
}
