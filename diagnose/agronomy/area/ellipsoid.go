// Package area measures lawns: by tape, by points from a phone on the ellipsoid of the earth, and says how sure an area is.
package area

import (
	"math"
)

// The ellipsoid of WGS 84.
const (
	semiMajor  = 6378137.0
	flattening = 1 / 298.257223563
	ecc2       = flattening * (2 - flattening)
)

// Point is a place on the earth in degrees, north and east positive.
type Point struct{ Lat, Lon float64 }

// line is the shortest line between two points, in the terms of Vincenty's sphere.
type line struct {
	length     float64 // m
	sinAlpha0  float64 // of the line where it crosses the equator
	cosAlpha0  float64
	sigma1     float64 // from the equator to the first point, rad
	a, b       float64 // series for distance along the line
	semi       float64 // semi-minor axis
	ok         bool    // the search came to an end; not so for points nearly opposite on the earth
	dLongitude float64 // rad, east positive
}

// between is Vincenty's inverse (T. Vincenty, Survey Review 23, 1975).
func between(p, q Point) line {
	semi := semiMajor * (1 - flattening)
	l := rad(math.Remainder(q.Lon-p.Lon, 360))
	su1, cu1 := reduced(p.Lat)
	su2, cu2 := reduced(q.Lat)
	lambda := l
	out := line{semi: semi, dLongitude: l}
	for range 200 {
		sl, cl := math.Sincos(lambda)
		x, y := cu2*sl, cu1*su2-su1*cu2*cl
		sinSigma, cosSigma := math.Hypot(x, y), su1*su2+cu1*cu2*cl
		if sinSigma == 0 {
			out.ok = true
			return out
		}
		sigma := math.Atan2(sinSigma, cosSigma)
		sinAlpha := cu1 * cu2 * sl / sinSigma
		cos2 := 1 - sinAlpha*sinAlpha
		mid := 0.0
		if cos2 > 1e-14 {
			mid = cosSigma - 2*su1*su2/cos2
		}
		c := flattening / 16 * cos2 * (4 + flattening*(4-3*cos2))
		next := l + (1-c)*flattening*sinAlpha*(sigma+c*sinSigma*(mid+c*cosSigma*(2*mid*mid-1)))
		if math.Abs(next-lambda) < 1e-15 || math.Abs(next-lambda) < 1e-13*math.Abs(l) {
			out.finish(math.Atan2(x, y), su1, cu1, sigma, sinSigma, cosSigma, mid, cos2)
			return out
		}
		lambda = next
	}
	return out
}

func (l *line) finish(azimuth, su1, cu1, sigma, sinSigma, cosSigma, mid, cos2 float64) {
	u2 := cos2 * (semiMajor*semiMajor - l.semi*l.semi) / (l.semi * l.semi)
	l.a = 1 + u2/16384*(4096+u2*(-768+u2*(320-175*u2)))
	l.b = u2 / 1024 * (256 + u2*(-128+u2*(74-47*u2)))
	l.length = l.semi * l.a * (sigma - l.bend(sinSigma, cosSigma, mid))
	sa, ca := math.Sincos(azimuth)
	l.sinAlpha0 = sa * cu1
	l.cosAlpha0 = math.Hypot(ca, sa*su1)
	l.sigma1 = math.Atan2(su1, ca*cu1)
	l.ok = true
}

// bend is Δσ of Vincenty's equation 6.
func (l *line) bend(sinSigma, cosSigma, mid float64) float64 {
	return l.b * sinSigma * (mid + l.b/4*(cosSigma*(2*mid*mid-1)-l.b/6*mid*(4*sinSigma*sinSigma-3)*(4*mid*mid-3)))
}

// sinReduced is the sine of the reduced latitude at a distance along the line (Vincenty's direct, equations 5 to 7).
func (l *line) sinReduced(distance float64) float64 {
	if l.a == 0 {
		return 0
	}
	start := distance / (l.semi * l.a)
	sigma := start
	for range 50 {
		mid := math.Cos(2*l.sigma1 + sigma)
		next := start + l.bend(math.Sin(sigma), math.Cos(sigma), mid)
		if math.Abs(next-sigma) < 1e-16 {
			break
		}
		sigma = next
	}
	return l.cosAlpha0 * math.Sin(l.sigma1+sigma)
}

// reduced gives sine and cosine of the reduced latitude.
func reduced(lat float64) (sin, cos float64) {
	if math.Abs(lat) == 90 {
		return math.Copysign(1, lat), 0
	}
	return math.Sincos(math.Atan((1 - flattening) * math.Tan(rad(lat))))
}

// authalic is q of Snyder's equation 3-12 for the sine of a latitude: the ellipsoid's area from the equator, up to a factor.
func authalic(sinLat float64) float64 {
	e := math.Sqrt(ecc2)
	es := e * sinLat
	return (1 - ecc2) * (sinLat/(1-es*es) + math.Atanh(es)/e)
}

// sinLatitude from the sine of the reduced latitude.
func sinLatitude(sinU float64) float64 {
	cosU := math.Sqrt(math.Max(0, 1-sinU*sinU))
	return sinU / math.Hypot(sinU, (1-flattening)*cosU)
}

func rad(d float64) float64 { return d * math.Pi / 180 }
