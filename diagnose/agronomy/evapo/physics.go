// Package evapo works out how much water the air takes from a lawn: reference evapotranspiration by FAO-56
// Penman–Monteith and by Hargreaves, everything they are made of, and a turf's share of it.
package evapo

import "math"

// fao56 is the paper the numbered steps come from.
const fao56 = "Allen, Pereira, Raes and Smith, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56 (1998)"

// perMJ is millimetres of water a megajoule on a square metre evaporates.
const perMJ = 0.408

// saturation is the vapour pressure of saturated air, kPa, at °C (equation 11).
func saturation(t float64) float64 { return 0.6108 * math.Exp(17.27*t/(t+237.3)) }

// slopeOf is the slope of the saturation curve, kPa/°C (equation 13).
func slopeOf(t float64) float64 { return 4098 * saturation(t) / ((t + 237.3) * (t + 237.3)) }

// pressureAt is the air's pressure, kPa, at a height in m (equation 7).
func pressureAt(z float64) float64 { return 101.3 * math.Pow((293-0.0065*z)/293, 5.26) }

// gammaOf is the psychrometric constant, kPa/°C (equation 8).
func gammaOf(pressure float64) float64 { return 0.000665 * pressure }

// sky is what a day of the year and a latitude (radians) give: equations 21 to 25 and 34.
type sky struct {
	dr, declination, sunset, ra, hours float64
}

func skyOf(dayOfYear, latitude float64) sky {
	year := 2 * math.Pi * dayOfYear / 365
	s := sky{dr: 1 + 0.033*math.Cos(year), declination: 0.409 * math.Sin(year-1.39)}
	s.sunset = math.Acos(math.Max(-1, math.Min(1, -math.Tan(latitude)*math.Tan(s.declination))))
	s.ra = 1440 / math.Pi * 0.0820 * s.dr * (s.sunset*math.Sin(latitude)*math.Sin(s.declination) + math.Cos(latitude)*math.Cos(s.declination)*math.Sin(s.sunset))
	s.ra = math.Max(0, s.ra)
	s.hours = 24 * s.sunset / math.Pi
	return s
}

// clearSky is radiation under a clear sky (equation 37), as is.
func clearSky(ra, z float64) float64 { return (0.75 + 0.00002*z) * ra }

// longwave is net outgoing longwave radiation, MJ/m²/day (equation 39).
func longwave(tmax, tmin, ea, rs, rso float64) float64 {
	clear := 1.0
	if rso > 0 {
		clear = math.Min(1, rs/rso)
	}
	warm := (math.Pow(tmax+273.16, 4) + math.Pow(tmin+273.16, 4)) / 2
	return 4.903e-9 * warm * (0.34 - 0.14*math.Sqrt(ea)) * (1.35*clear - 0.35)
}

// windAt2 is wind at 2 m from wind at z m (equation 47).
func windAt2(wind, z float64) float64 { return wind * 4.87 / math.Log(67.8*z-5.42) }

// penmanMonteith is reference evapotranspiration, mm/day (equation 6).
func penmanMonteith(tmean, rn, g, u2, es, ea, slope, gamma float64) float64 {
	return (perMJ*slope*(rn-g) + gamma*900/(tmean+273)*u2*(es-ea)) / (slope + gamma*(1+0.34*u2))
}

// hargreaves is reference evapotranspiration, mm/day, from radiation in mm/day (equation 52).
func hargreaves(tmean, tmax, tmin, raMM float64) float64 {
	return 0.0023 * (tmean + 17.8) * math.Sqrt(tmax-tmin) * raMM
}
