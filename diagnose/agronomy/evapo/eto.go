package evapo

import (
	"math"

	"swardbook/diagnose/agronomy"
)

// Day is what is known of one day (or a month's mean day) for Penman–Monteith. A quantity without a unit is not known; the
// best that is known is used.
type Day struct {
	Latitude, DayOfYear, Elevation agronomy.Quantity
	Pressure                       agronomy.Quantity // instead of the elevation's
	Tmax, Tmin, Tmean              agronomy.Quantity
	Humidity                       Humidity
	Wind, WindHeight               agronomy.Quantity // WindHeight 2 m when not given
	Rs, Sunshine, Krs, As, Bs      agronomy.Quantity // radiation measured; or sunshine; or guessed from the temperatures
	Ra, Hours, Rso, Rn             agronomy.Quantity // when already known
	Albedo, G                      agronomy.Quantity
}

// Reference is a day's reference evapotranspiration with all it is made of. A part that was not needed has no unit.
type Reference struct {
	U2, Pressure, Gamma, Slope, Es, Ea, VPD agronomy.Result
	Ra, Hours, Rs, Rso, Rns, Rnl, Rn, G     agronomy.Result
	ETo                                     agronomy.Result // mm/day
}

const etoFormula = "ETo = [0.408 Δ (Rn − G) + γ 900 ÷ (T + 273) u2 (es − ea)] ÷ [Δ + γ (1 + 0.34 u2)]"

// PenmanMonteith is reference evapotranspiration by FAO-56, for stations over or near well-watered grass.
func PenmanMonteith(d Day) (Reference, error) {
	s := agronomy.NewSheet(etoFormula, fao56+", equation 6")
	var r Reference
	hi, lo := s.Take(inTmax, d.Tmax), s.Take(inTmin, d.Tmin)
	ordered(s, d.Tmax, d.Tmin, hi, lo)
	mean := (hi + lo) / 2
	if given(d.Tmean) {
		mean = s.Take(inTmean, d.Tmean)
	}
	p := pressureOf(s, d, &r)
	if d.Humidity.Pressure.Unit == "" {
		d.Humidity.Pressure = agronomy.Q(p, "kPa")
	}
	gamma := s.Step("γ", gammaOf(p), "kPa/C", "")
	slope := s.Step("Δ", slopeOf(mean), "kPa/C", "slope at the mean temperature")
	es := s.Step("es", (saturation(hi)+saturation(lo))/2, "kPa", "mean of e(Tmax) and e(Tmin)")
	ea := actual(s, d.Humidity, hi, lo)
	if ea > es*1.02 {
		s.Refuse(agronomy.RefuseSay("ea", agronomy.Q(ea, "kPa").String(), "no more than es", "The air would hold more vapour ("+agronomy.Q(ea, "kPa").String()+") than it can at these temperatures ("+agronomy.Q(es, "kPa").String()+")."))
	}
	r.Gamma, r.Slope, r.Es, r.Ea, r.VPD = s.Number(gamma, "kPa/C"), s.Number(slope, "kPa/C"), s.Number(es, "kPa"), s.Number(ea, "kPa"), s.Number(es-ea, "kPa")
	rn := netOf(s, d, &r, hi, lo, ea)
	u2 := windOf(s, d, &r)
	g := 0.0
	if given(d.G) {
		g = s.Take(inG, d.G)
	}
	r.G = s.Number(g, "MJ/m2/day")
	eto := penmanMonteith(mean, rn, g, u2, es, ea, slope, gamma)
	if eto < 0 || eto > 13 {
		s.Remark("For a lawn 0 to 13 mm a day is usual; look at the inputs again.")
	}
	r.ETo = s.Number(eto, "mm/day")
	return r, s.Err()
}

// Parts is the combination equation when all it is made of is known already. G without a unit is none, as for a day.
func Parts(tmean, rn, g, u2, es, ea, slope, gamma agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet(etoFormula, fao56+", equation 6")
	t, net, wind := s.Take(inTmean, tmean), s.Take(inRn, rn), s.Take(inWind2, u2)
	full, held := s.Take(inEs, es), s.Take(inEa, ea)
	if held > full*1.02 {
		s.Refuse(agronomy.RefuseSay("ea", ea.String(), "no more than es", "The air would hold more vapour ("+ea.String()+") than it can at these temperatures ("+es.String()+")."))
	}
	heat := 0.0
	if given(g) {
		heat = s.Take(inG, g)
	}
	return s.Number(penmanMonteith(t, net, heat, wind, full, held, s.Take(inSlope, slope), s.Take(inGamma, gamma)), "mm/day"), s.Err()
}

func pressureOf(s *agronomy.Sheet, d Day, r *Reference) float64 {
	p := 0.0
	if given(d.Pressure) {
		p = s.Take(inPressure, d.Pressure)
	} else {
		p = s.Step("P", pressureAt(s.Take(inElevation, d.Elevation)), "kPa", "101.3 × ((293 − 0.0065 z) ÷ 293)^5.26")
	}
	r.Pressure = s.Number(p, "kPa")
	return p
}

func windOf(s *agronomy.Sheet, d Day, r *Reference) float64 {
	height := 2.0
	u := s.Take(inWind, d.Wind)
	if given(d.WindHeight) {
		height = s.Take(inHeight, d.WindHeight)
	}
	if height != 2 {
		u = s.Step("u2", windAt2(u, height), "m/s", "uz × 4.87 ÷ ln(67.8 z − 5.42)")
	}
	r.U2 = s.Number(u, "m/s")
	if u < 0.5 {
		s.Remark("Wind below 0.5 m/s was taken as 0.5 m/s, as the paper advises.")
		return 0.5
	}
	return u
}

// netOf is net radiation by the best that is known.
func netOf(s *agronomy.Sheet, d Day, r *Reference, tmax, tmin, ea float64) float64 {
	if given(d.Rn) {
		rn := s.Take(inRn, d.Rn)
		r.Rn = s.Number(rn, "MJ/m2/day")
		return rn
	}
	ra, hours := aboveAir(s, d, r)
	rso := 0.0
	if given(d.Rso) {
		rso = s.Take(inRso, d.Rso)
	} else {
		z := 0.0
		if given(d.Elevation) {
			z, _ = d.Elevation.In("m")
		}
		rso = s.Step("Rso", clearSky(ra, z), "MJ/m2/day", "(0.75 + 0.00002 z) Ra")
	}
	rs := 0.0
	switch {
	case given(d.Rs):
		rs = energyOf(s, inRs, d.Rs)
	case given(d.Sunshine):
		rs = fromSunshine(s, d.Sunshine, hours, ra, d.As, d.Bs)
	default:
		s.Remark("Radiation was guessed from the day's temperatures.")
		rs = fromTemperature(s, tmax, tmin, ra, rso, d.Krs)
	}
	rns := shortwave(s, rs, d.Albedo)
	rnl := s.Step("Rnl", longwave(tmax, tmin, ea, rs, rso), "MJ/m2/day", "")
	r.Rs, r.Rso, r.Rns, r.Rnl = s.Number(rs, "MJ/m2/day"), s.Number(rso, "MJ/m2/day"), s.Number(rns, "MJ/m2/day"), s.Number(rnl, "MJ/m2/day")
	rn := s.Step("Rn", rns-rnl, "MJ/m2/day", "Rns − Rnl")
	r.Rn = s.Number(rn, "MJ/m2/day")
	return rn
}

// aboveAir is Ra and the length of the day, from the place and day or as given.
func aboveAir(s *agronomy.Sheet, d Day, r *Reference) (ra, hours float64) {
	if given(d.Latitude) && given(d.DayOfYear) {
		k := takeSky(s, d.DayOfYear, d.Latitude)
		ra, hours = k.ra, k.hours
	}
	if given(d.Ra) {
		ra = takeRa(s, d.Ra)
	}
	if given(d.Hours) {
		hours = s.Take(inHours, d.Hours)
	}
	if !given(d.Latitude) && !given(d.Ra) && !(given(d.Rs) && given(d.Rso)) {
		s.Refuse(agronomy.RefuseSay("latitude", "", "-90 to 90 degrees", "Radiation needs latitude and day_of_year (or a date), or ra, or rs and rso, or rn."))
	}
	if given(d.Sunshine) && hours == 0 && !given(d.Rs) {
		s.Refuse(agronomy.RefuseSay("daylight_hours", "", "above 0 h", "Sunshine needs the length of the day: latitude and day_of_year, or daylight_hours."))
	}
	if hours > 0 {
		r.Hours = s.Number(hours, "h")
	}
	if ra > 0 {
		r.Ra = s.Number(ra, "MJ/m2/day")
	}
	return ra, hours
}

// Hargreaves is reference evapotranspiration from temperatures alone, mm/day, for means of five days or longer. ra may be
// energy or the depth of water it evaporates; tmean without a unit is the mean of the extremes.
func Hargreaves(ra, tmax, tmin, tmean agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ETo = 0.0023 (Tmean + 17.8) √(Tmax − Tmin) Ra, with Ra in mm/day", fao56+", equation 52")
	hi, lo := s.Take(inTmax, tmax), s.Take(inTmin, tmin)
	ordered(s, tmax, tmin, hi, lo)
	mean := (hi + lo) / 2
	if given(tmean) {
		mean = s.Take(inTmean, tmean)
	}
	mm := s.Step("Ra", perMJ*takeRa(s, ra), "mm/day", "0.408 × MJ/m²/day")
	s.Remark("For means of five days or longer; a single day is often out by 1 mm. Too high in humid places, too low in windy ones.")
	return s.Number(math.Max(0, hargreaves(mean, hi, lo, mm)), "mm/day"), s.Err()
}
