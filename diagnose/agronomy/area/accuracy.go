package area

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
)

const (
	byPhone = "Standard deviation of GNSS areas, Journal of the Japanese Forest Society 100:193-200 (2018), re-derived: first order, independent errors of the vertices"
	byTape  = "first-order propagation of errors for a taped rectangle"
)

var (
	inSigma      = agronomy.Input{Name: "sigma_per_axis", Also: []string{"sigma", "vertex_sd"}, Unit: "m", Range: agronomy.Between(0, 1000), Says: "error of a vertex on each axis (2 to 3 m by phone in the open)"}
	inTapeLength = tape("tape_length", "taped length", "length")
	inTapeWidth  = tape("tape_width", "taped width", "width")
	inSquare     = agronomy.Input{Name: "side", Also: []string{"square_side"}, Unit: "m", Range: agronomy.AboveTo(0, 20000), Says: "side of a square"}
	inEach       = agronomy.Input{Name: "sd_each", Unit: "ft", Range: agronomy.Between(0, 1000), Says: "error of each taped side"}
	inVertices   = agronomy.Input{Name: "vertices", Kind: agronomy.Data, Unit: "m", Says: "corners as [x, y] on a plane, in order"}
	inPolygon    = agronomy.Input{Name: "polygon", Kind: agronomy.Data, Unit: "deg lat, lon", Says: "points as [latitude, longitude] in degrees, in order"}
)

// Sureness is an area with its standard deviation.
type Sureness struct {
	Area, SD, Relative agronomy.Result // relative in percent
}

// OfVertices is how sure the area of a ring on a plane is, in m² or ft² by the corners' unit. sigma is the independent error
// of a corner on each axis.
func OfVertices(corners [][2]float64, unit string, sigma agronomy.Quantity) (Sureness, error) {
	s := agronomy.NewSheet("sd = σ ÷ 2 × √(Σ squared distance between the two neighbours of each vertex)", byPhone)
	sd := s.Take(inSigma, sigma)
	scale, err := agronomy.Q(1, unit).In("m")
	if err != nil {
		s.Refuse(agronomy.RefuseSay("vertices", unit, "a unit like m", fmt.Sprintf("vertices must be given in a unit like m or ft: %v.", err)))
	}
	if s.Err() == nil && len(corners) < 3 {
		s.Refuse(agronomy.Refuse("vertices", fmt.Sprintf("%d corners", len(corners)), "at least three corners"))
	}
	if i, j, cross := crossing(corners); s.Err() == nil && cross {
		s.Refuse(agronomy.Refuse("vertices", fmt.Sprintf("a ring whose sides %d and %d cross", i+1, j+1), "a ring whose sides don't cross"))
	}
	if s.Err() != nil {
		return Sureness{}, s.Err()
	}
	twice, squares := 0.0, 0.0
	n := len(corners)
	for i, p := range corners {
		next, before := corners[(i+1)%n], corners[(i+n-1)%n]
		twice += p[0]*next[1] - next[0]*p[1]
		dx, dy := next[0]-before[0], next[1]-before[1]
		squares += dx*dx + dy*dy
	}
	s.Note("vertices", fmt.Sprintf("%d corners, in %s", n, unit))
	s.Remark("Errors within one visit hang together, so that the shape may be better than this and its place worse; more walked points don't help in proportion.")
	a, u := math.Abs(twice)/2*scale*scale, sd/2*math.Sqrt(squares)*scale
	return sureness(s, a, u, "m2", unit)
}

func sureness(s *agronomy.Sheet, a, sd float64, unit, like string) (Sureness, error) {
	if a <= 0 {
		s.Refuse(agronomy.RefuseSay("vertices", "no area", "corners around an area", "These corners lie on one line and hold no area."))
		return Sureness{}, s.Err()
	}
	to := "m2"
	if agronomy.Customary(like) {
		to = "ft2"
	}
	in := func(v float64) float64 { return agronomy.MustConvert(v, unit, to) }
	return Sureness{s.Number(in(a), to), s.Number(in(sd), to), s.Number(100*sd/a, "%")}, s.Err()
}

// OfTape is how sure a taped rectangle is, when both sides have the same error.
func OfTape(length, width, each agronomy.Quantity) (Sureness, error) {
	s := agronomy.NewSheet("sd = error of each side × √(length² + width²)", byTape)
	l, w, e := s.Take(inTapeLength, length), s.Take(inTapeWidth, width), s.Take(inEach, each)
	if s.Err() != nil {
		return Sureness{}, s.Err()
	}
	return sureness(s, l*w, e*math.Hypot(l, w), "ft2", length.Unit)
}

// OfPhone is how sure the area of points from a phone is, m².
func OfPhone(points []Point, sigma agronomy.Quantity) (Sureness, error) {
	r, err := Measure(points)
	if err != nil {
		return Sureness{}, err
	}
	ring, err := tidy(points)
	if err != nil {
		return Sureness{}, err
	}
	metres := flat(ring)
	for i := range metres {
		metres[i][0] *= 111_195
		metres[i][1] *= 111_195
	}
	out, err := OfVertices(metres, "m", sigma)
	if err != nil {
		return Sureness{}, err
	}
	exact := out.Area
	exact.Value = agronomy.Of(r.Area, "m2")
	exact.Working.Result = exact.Value.String()
	out.Area = exact
	out.Relative.Number = 100 * out.SD.Number / r.Area
	out.Relative.Working.Result = out.Relative.String()
	return out, nil
}

// ReadPoints reads decoded JSON: a list of [latitude, longitude], or of objects with lat and lon. A unit that names the
// longitude first ("deg lon, lat") turns the pairs round.
func ReadPoints(data any, unit string) ([]Point, error) {
	if list, ok := data.([]any); ok && len(list) > 0 {
		if _, isObject := list[0].(map[string]any); isObject {
			return readObjects(list)
		}
	}
	pairs, err := ReadPairs("polygon", data)
	if err != nil {
		return nil, err
	}
	points := make([]Point, len(pairs))
	for i, p := range pairs {
		points[i] = Point{p[0], p[1]}
		if lonFirst.MatchString(unit) {
			points[i] = Point{p[1], p[0]}
		}
	}
	return points, nil
}

func readObjects(list []any) ([]Point, error) {
	points := make([]Point, len(list))
	for i, item := range list {
		fields, _ := item.(map[string]any)
		lat, okLat := firstNumber(fields, "lat", "latitude")
		lon, okLon := firstNumber(fields, "lon", "lng", "longitude")
		if !okLat || !okLon {
			return nil, refusePolygon(fmt.Sprintf("has a point %d without lat and lon", i+1))
		}
		points[i] = Point{lat, lon}
	}
	return points, nil
}

func firstNumber(fields map[string]any, names ...string) (float64, bool) {
	for _, name := range names {
		if v, ok := fields[name].(float64); ok {
			return v, true
		}
	}
	return 0, false
}

// ReadPairs reads a list of pairs of numbers.
func ReadPairs(name string, data any) ([][2]float64, error) {
	list, _ := data.([]any)
	out := make([][2]float64, len(list))
	for i, item := range list {
		pair, _ := item.([]any)
		if len(pair) != 2 {
			return nil, agronomy.Refuse(name, fmt.Sprintf("%v at place %d", item, i+1), "a list of pairs of numbers")
		}
		for k := range pair {
			v, ok := pair[k].(float64)
			if !ok {
				return nil, agronomy.Refuse(name, fmt.Sprintf("%v at place %d", item, i+1), "a list of pairs of numbers")
			}
			out[i][k] = v
		}
	}
	if len(out) < 3 {
		return nil, agronomy.Refuse(name, fmt.Sprintf("%d points", len(out)), "at least three points")
	}
	return out, nil
}
