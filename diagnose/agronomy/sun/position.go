// Package sun says where the sun stands, when it rises and sets, how long it shines on a spot behind houses and trees, and
// whether that is light enough for grass.
package sun

import (
	"math"
	"time"
)

const meeus = "Meeus, Astronomical Algorithms (1998), chapters 25 and 28 in the low-precision form; NOAA Global Monitoring Division, General solar position calculations"

// Position is where the sun's centre stands, in degrees.
type Position struct {
	Elevation   float64 // above the horizon, without the air's bending
	Azimuth     float64 // from north, clockwise
	Declination float64
	HourAngle   float64 // 0 at noon, negative before
	EquationMin float64 // equation of time, minutes
}

// Place is a spot on the earth: degrees, north and east positive.
type Place struct{ Latitude, Longitude float64 }

const unixEpoch = 2440587.5 // Julian day of 1970-01-01T00:00Z

// JulianDay of an instant.
func JulianDay(t time.Time) float64 {
	return unixEpoch + float64(t.Unix())/86400 + float64(t.Nanosecond())/86400e9
}

// sky is what the earth's way gives for an instant, whatever the place.
type sky struct{ declination, equation float64 } // degrees, minutes

// skyAt works for a Julian day of terrestrial time.
func skyAt(jd float64) sky {
	t := (jd - 2451545) / 36525
	l0 := 280.46646 + 36000.76983*t + 0.0003032*t*t
	m := rad(357.52911 + 35999.05029*t - 0.0001537*t*t)
	centre := (1.914602-0.004817*t)*math.Sin(m) + (0.019993-0.000101*t)*math.Sin(2*m) + 0.000289*math.Sin(3*m)
	node := rad(125.04 - 1934.136*t)
	lambda := rad(l0 + centre - 0.00569 - 0.00478*math.Sin(node))
	tilt := rad(23.43929 - 0.01300*t + 0.00256*math.Cos(node))
	ascension := math.Atan2(math.Cos(tilt)*math.Sin(lambda), math.Cos(lambda))
	nutation := -0.00478 * math.Sin(node) * math.Cos(tilt)
	eq := math.Remainder(l0-0.0057183-deg(ascension)+nutation, 360) // equation 28.1
	return sky{deg(math.Asin(math.Sin(tilt) * math.Sin(lambda))), 4 * eq}
}

// DefaultDeltaT is terrestrial time minus universal time, in seconds, about now; a minute more or less moves the sun by less
// than a thousandth of a degree.
const DefaultDeltaT = 69.0

// At is the sun's position at an instant, true to about 0.01 degrees.
func At(t time.Time, p Place) Position { return at(JulianDay(t), DefaultDeltaT, p) }

func at(jd, deltaT float64, p Place) Position {
	return skyAt(jd+deltaT/86400).from(math.Mod(jd-0.5, 1)*1440, p)
}

// from is the position seen from a place at a minute of the universal day.
func (s sky) from(minute float64, p Place) Position {
	h := math.Remainder((minute+s.equation+4*p.Longitude)/4-180, 360)
	lat, d, hr := rad(p.Latitude), rad(s.declination), rad(h)
	el := math.Asin(math.Max(-1, math.Min(1, math.Sin(lat)*math.Sin(d)+math.Cos(lat)*math.Cos(d)*math.Cos(hr))))
	az := math.Mod(deg(math.Atan2(math.Sin(hr), math.Cos(hr)*math.Sin(lat)-math.Tan(d)*math.Cos(lat)))+180+360, 360)
	return Position{Elevation: deg(el), Azimuth: az, Declination: s.declination, HourAngle: h, EquationMin: s.equation}
}

// between is the sky a share of the way from one to another of the same day.
func (s sky) between(other sky, share float64) sky {
	return sky{s.declination + share*(other.declination-s.declination), s.equation + share*(other.equation-s.equation)}
}

// Refraction is how much the air lifts the sun, in degrees, at a geometric elevation, a pressure (hPa) and a temperature
// (°C); none when the sun is well below the horizon.
func Refraction(elevation, pressure, temperature float64) float64 {
	if elevation < -0.575 {
		return 0
	}
	return pressure / 1010 * 283 / (273 + temperature) * 1.02 / (60 * math.Tan(rad(elevation+10.3/(elevation+5.11))))
}

func rad(d float64) float64 { return d * math.Pi / 180 }
func deg(r float64) float64 { return r * 180 / math.Pi }
