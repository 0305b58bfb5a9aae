package evapo

import (
	"fmt"

	"swardbook/diagnose/agronomy"
)

// AirPressure is the pressure at a height and the psychrometric constant with it, kPa and kPa/°C.
func AirPressure(elevation agronomy.Quantity) (pressure, gamma agronomy.Result, err error) {
	s := agronomy.NewSheet("P = 101.3 × ((293 − 0.0065 z) ÷ 293)^5.26; γ = 0.000665 P", fao56+", equations 7 and 8")
	p := s.Step("P", pressureAt(s.Take(inElevation, elevation)), "kPa", "")
	return s.Number(p, "kPa"), s.Number(gammaOf(p), "kPa/C"), s.Err()
}

// PsychrometricConstant is γ from a measured pressure.
func PsychrometricConstant(pressure agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("γ = 0.000665 P", fao56+", equation 8")
	return s.Number(gammaOf(s.Take(inPressure, pressure)), "kPa/C"), s.Err()
}

// Saturation is the vapour pressure of saturated air at one temperature and the slope of the curve there, kPa and kPa/°C.
func Saturation(t agronomy.Quantity) (e, slope agronomy.Result, err error) {
	s := agronomy.NewSheet("e(T) = 0.6108 exp(17.27 T ÷ (T + 237.3)); slope = 4098 e(T) ÷ (T + 237.3)²", fao56+", equations 11 and 13")
	v := s.Take(inT, t)
	return s.Number(saturation(v), "kPa"), s.Number(slopeOf(v), "kPa/C"), s.Err()
}

// Humidity is what is known of the air's moisture; quantities without a unit are not known.
type Humidity struct {
	Ea                   agronomy.Quantity // vapour pressure itself
	Tdew                 agronomy.Quantity
	Twet, Tdry, Pressure agronomy.Quantity // a psychrometer, with the pressure
	PsyCoefficient       agronomy.Quantity // 0.000662 1/°C when not given
	RHmax, RHmin, RHmean agronomy.Quantity
	DryBy                agronomy.Quantity // how far the dew point lies below Tmin, when nothing else is known
}

// actual is the actual vapour pressure by the best that is known, and the way it was found.
func actual(s *agronomy.Sheet, h Humidity, tmax, tmin float64) float64 {
	switch {
	case given(h.Ea):
		return s.Take(inEa, h.Ea)
	case given(h.Tdew):
		return s.Step("ea", saturation(s.Take(inTdew, h.Tdew)), "kPa", "e of the dew point")
	case given(h.Twet) && given(h.Tdry) && given(h.Pressure):
		return psychrometer(s, h)
	case given(h.RHmax) && given(h.RHmin):
		hi, lo := s.Take(inRHmax, h.RHmax), s.Take(inRHmin, h.RHmin)
		if lo > hi {
			s.Refuse(agronomy.Refuse("rhmin", h.RHmin.String(), "no more than rhmax, "+h.RHmax.String()))
		}
		return s.Step("ea", (saturation(tmin)*hi+saturation(tmax)*lo)/200, "kPa", "(e(Tmin) RHmax + e(Tmax) RHmin) ÷ 200")
	case given(h.RHmax):
		return s.Step("ea", saturation(tmin)*s.Take(inRHmax, h.RHmax)/100, "kPa", "e(Tmin) RHmax ÷ 100")
	case given(h.RHmean):
		return s.Step("ea", s.Take(inRHmean, h.RHmean)/100*(saturation(tmin)+saturation(tmax))/2, "kPa", "RHmean ÷ 100 × es")
	}
	below := 0.0
	if given(h.DryBy) {
		below = s.Take(inDryBy, h.DryBy)
	}
	s.Remark("Humidity is not known: the dew point was taken as the lowest temperature, which is too moist in a dry climate.")
	return s.Step("ea", saturation(tmin-below), "kPa", fmt.Sprintf("e(Tmin − %s)", agronomy.Figure(below)))
}

func psychrometer(s *agronomy.Sheet, h Humidity) float64 {
	a := 0.000662
	if given(h.PsyCoefficient) {
		a = s.Take(inPsy, h.PsyCoefficient)
	}
	wet, dry, p := s.Take(inTwet, h.Twet), s.Take(inTdry, h.Tdry), s.Take(inPressure, h.Pressure)
	if wet > dry {
		s.Refuse(agronomy.Refuse("twet", h.Twet.String(), "no more than tdry, "+h.Tdry.String()))
	}
	ea := saturation(wet) - a*p*(dry-wet)
	if ea < 0 {
		s.Refuse(agronomy.Refuse("twet", h.Twet.String(), "nearer to tdry: no air is that dry"))
	}
	return s.Step("ea", ea, "kPa", "e(Twet) − a P (Tdry − Twet)")
}

// ActualPressure is the air's vapour pressure by the best that is known of it; tmax and tmin may be missing when the
// humidity doesn't rest on them.
func ActualPressure(h Humidity, tmax, tmin agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ea, best first: dew point; psychrometer; RHmax and RHmin; RHmax; RHmean; lowest temperature", fao56+", equations 14 to 19 and 48")
	hi, lo := 0.0, 0.0
	if given(tmin) {
		lo = s.Take(inTmin, tmin)
	}
	if given(tmax) {
		hi = s.Take(inTmax, tmax)
	}
	if given(tmin) && given(tmax) {
		ordered(s, tmax, tmin, hi, lo)
	}
	ea := actual(s, h, hi, lo)
	return s.Number(ea, "kPa"), s.Err()
}

// ordered refuses a highest temperature below the lowest.
func ordered(s *agronomy.Sheet, tmax, tmin agronomy.Quantity, hi, lo float64) {
	if lo > hi {
		s.Refuse(agronomy.Refuse("tmin", tmin.String(), "no more than tmax, "+tmax.String()))
	}
}

// DaySaturation is the saturation pressure at both extremes, their mean (not that of the mean temperature) and the slope at
// the mean temperature.
type DaySaturation struct {
	AtMax, AtMin, Mean, Slope agronomy.Result // kPa, the slope kPa/°C
}

// SaturationOfDay works out a day's saturation pressures.
func SaturationOfDay(tmax, tmin agronomy.Quantity) (DaySaturation, error) {
	s := agronomy.NewSheet("es = (e(Tmax) + e(Tmin)) ÷ 2; slope at the mean temperature", fao56+", equations 11 to 13")
	hi, lo := s.Take(inTmax, tmax), s.Take(inTmin, tmin)
	ordered(s, tmax, tmin, hi, lo)
	a, b := s.Step("e(Tmax)", saturation(hi), "kPa", ""), s.Step("e(Tmin)", saturation(lo), "kPa", "")
	return DaySaturation{s.Number(a, "kPa"), s.Number(b, "kPa"), s.Number((a+b)/2, "kPa"), s.Number(slopeOf((hi+lo)/2), "kPa/C")}, s.Err()
}

// WindAt2m brings wind down (or up) to 2 m.
func WindAt2m(wind, height agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("u2 = uz × 4.87 ÷ ln(67.8 z − 5.42)", fao56+", equation 47")
	return s.Number(windAt2(s.Take(inWind, wind), s.Take(inHeight, height)), "m/s"), s.Err()
}

// SoilHeatFlux of a month, MJ/m²/day: from the months on both sides, or, without a next one, from this and the one before.
func SoilHeatFlux(previous, this, next agronomy.Quantity) (agronomy.Result, error) {
	if given(next) {
		s := agronomy.NewSheet("G = 0.07 × (T of the next month − T of the month before)", fao56+", equation 43")
		before, after := s.Take(inPrevMonth, previous), s.Take(inNextMonth, next)
		return s.Number(0.07*(after-before), "MJ/m2/day"), s.Err()
	}
	s := agronomy.NewSheet("G = 0.14 × (T of this month − T of the month before)", fao56+", equation 44")
	before, now := s.Take(inPrevMonth, previous), s.Take(inThisMonth, this)
	return s.Number(0.14*(now-before), "MJ/m2/day"), s.Err()
}

// AsDepth is radiation as the water it could evaporate, mm/day.
func AsDepth(radiation agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("mm/day = 0.408 × MJ/m²/day", fao56+", equation 20")
	in := agronomy.Input{Name: "radiation", Unit: "MJ/m2/day"}
	return s.Number(perMJ*s.Take(in, radiation), "mm/day"), s.Err()
}
