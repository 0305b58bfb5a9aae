package area

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
)

// nodes and weights of Gauss and Legendre's rule with eight points on −1 to 1 (the other four are their mirror images).
var gauss = [4][2]float64{
	{0.1834346424956498, 0.3626837833783620}, {0.5255324099163290, 0.3137066458778873}, {0.7966664774136267, 0.2223810344533745}, {0.9602898564975363, 0.1012285362903763},
}

// panel is the longest piece of a line that is summed in one go, in m.
const panel = 100_000.0

// under is the area between a line and the parallel whose authalic q is given, in units of a²/2: ∫ (q − base) dλ along the
// line. The ellipsoid's area element is a²/2 dq dλ, and dλ = sin α0 ÷ (a cos² U) ds by Clairaut.
func (l *line) under(base float64) float64 {
	if l.length == 0 {
		return 0
	}
	n := math.Ceil(l.length / panel)
	half := l.length / n / 2
	sum := 0.0
	for i := 0.0; i < n; i++ {
		mid := half * (2*i + 1)
		for _, g := range gauss {
			sum += g[1] * half * (l.element(mid-half*g[0], base) + l.element(mid+half*g[0], base))
		}
	}
	return sum
}

func (l *line) element(distance, base float64) float64 {
	u := l.sinReduced(distance)
	cos2 := 1 - u*u
	if cos2 < 1e-30 {
		return 0
	}
	return (authalic(sinLatitude(u)) - base) * l.sinAlpha0 / (semiMajor * cos2)
}

// Ring is a measured polygon.
type Ring struct {
	Area, Perimeter float64 // m², m
	Sides           []float64
}

// Measure gives the area and the way round a ring of points whose sides are shortest lines on the ellipsoid. The direction
// of the ring doesn't matter; of the two parts of the earth it takes the smaller.
func Measure(points []Point) (Ring, error) {
	points, err := tidy(points)
	if err != nil {
		return Ring{}, err
	}
	lines := make([]line, len(points))
	turn, lat := 0.0, 0.0
	var r Ring
	atPole := false
	for i, p := range points {
		l := between(p, points[(i+1)%len(points)])
		if !l.ok {
			return Ring{}, refusePolygon("has a side between points nearly opposite on the earth")
		}
		lines[i] = l
		turn += l.dLongitude
		lat += p.Lat / float64(len(points))
		atPole = atPole || math.Abs(p.Lat) > 89.9999
		r.Perimeter += l.length
		r.Sides = append(r.Sides, l.length)
	}
	base := authalic(math.Sin(rad(lat)))
	if math.Abs(turn) > 1 || atPole {
		base = math.Copysign(authalic(1), lat) // the ring goes round a pole: measure from there
	}
	sum := 0.0
	for i := range lines {
		sum += lines[i].under(base)
	}
	whole := 2 * math.Pi * semiMajor * semiMajor * authalic(1)
	r.Area = math.Abs(sum) * semiMajor * semiMajor / 2
	r.Area = math.Min(r.Area, whole-r.Area)
	return r, nil
}

// tidy refuses what is no polygon and leaves out a last point that repeats the first, and points that repeat the one before.
func tidy(points []Point) ([]Point, error) {
	var out []Point
	for i, p := range points {
		if !(math.Abs(p.Lat) <= 90) || !(math.Abs(p.Lon) <= 540) {
			return nil, refusePolygon(fmt.Sprintf("has a point %d at %v, %v; latitude must be from -90 to 90 and longitude from -180 to 180 degrees", i+1, p.Lat, p.Lon))
		}
		if len(out) == 0 || out[len(out)-1] != p {
			out = append(out, p)
		}
	}
	for len(out) > 1 && out[0] == out[len(out)-1] {
		out = out[:len(out)-1]
	}
	if len(out) < 3 {
		return nil, refusePolygon("needs at least three different points")
	}
	if len(out) > 5000 {
		return nil, refusePolygon("has more than 5000 points")
	}
	if i, j, ok := crossing(flat(out)); ok {
		return nil, refusePolygon(fmt.Sprintf("crosses itself: side %d and side %d", i+1, j+1))
	}
	return out, nil
}

func refusePolygon(what string) error {
	return agronomy.RefuseSay("polygon", "", "at least three different points whose sides don't cross", "The polygon "+what+".")
}

// flat lays points on a plane about the first one, east and north, in degrees of latitude; good enough to see crossings.
func flat(points []Point) [][2]float64 {
	out := make([][2]float64, len(points))
	lon := 0.0
	for i, p := range points {
		if i > 0 {
			lon += math.Remainder(p.Lon-points[i-1].Lon, 360)
		}
		out[i] = [2]float64{lon * math.Cos(rad(points[0].Lat)), p.Lat}
	}
	return out
}

// crossing finds two sides of a ring that cross or touch, other than neighbours at their common corner.
func crossing(p [][2]float64) (i, j int, found bool) {
	n := len(p)
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if meets(p[i], p[(i+1)%n], p[j], p[(j+1)%n]) {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

func meets(a, b, c, d [2]float64) bool {
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// side says on which side of the line from a to b a point lies.
func side(a, b, p [2]float64) float64 {
	return (b[0]-a[0])*(p[1]-a[1]) - (b[1]-a[1])*(p[0]-a[0])
}

const polygonSource = "polygon of geodesics on WGS 84: Vincenty, Survey Review 23 (1975), for the sides; Snyder, Map Projections: A Working Manual, USGS PP 1395 (1987), equation 3-12, for the area; proved against GeographicLib (Karney, J. Geodesy 87:43-55, 2013)"

// Polygon is Measure with its working, m² and m.
func Polygon(points []Point) (area, perimeter agronomy.Result, err error) {
	s := agronomy.NewSheet("area on the ellipsoid of WGS 84 between shortest lines from point to point", polygonSource)
	r, err := Measure(points)
	s.Refuse(err)
	for i, p := range points {
		if i == 20 {
			s.Note("point", fmt.Sprintf("and %d more", len(points)-i))
			break
		}
		s.Note("point", fmt.Sprintf("%v, %v", p.Lat, p.Lon))
	}
	if s.Err() == nil {
		s.Step("perimeter", r.Perimeter, "m", "")
	}
	s.Remark("A phone's points are 3 to 5 m off in the open: show two figures and the uncertainty, or tape a lawn below about 1000 m².")
	return s.Number(r.Area, "m2"), s.Number(r.Perimeter, "m"), s.Err()
}
