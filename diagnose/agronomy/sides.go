package agronomy

import (
	"math"
	"strings"
)

// Results are given on the side, and in the size, that a person works in: an answer to "pounds on an acre" is in pounds
// and acres. These functions name the unit that goes with another.

// MassOn is the unit of mass on ground that goes with another such unit, or with one of volume on ground or of area:
// lb/acre, lb/1000 ft2, kg/ha, kg/100 m2 or g/m2.
func MassOn(like string) string {
	return onGround(like, "lb", "kg", "g/m2")
}

// VolumeOn is MassOn for volumes: gal/acre, gal/1000 ft2, L/ha, L/100 m2.
func VolumeOn(like string) string {
	return onGround(like, "gal", "L", "L/100 m2")
}

func onGround(like, customaryTop, metricTop, small string) string {
	words := strings.ReplaceAll(like, " ", "")
	switch {
	case Metric(like) && (strings.Contains(words, "/ha") || strings.HasPrefix(words, "ha")):
		return metricTop + "/ha"
	case Metric(like) && strings.Contains(words, "100m2"):
		return metricTop + "/100 m2"
	case Metric(like):
		return small
	case strings.Contains(words, "acre") || strings.HasSuffix(words, "/ac") || words == "ac":
		return customaryTop + "/acre"
	}
	return customaryTop + "/1000 ft2"
}

// MassLike is pounds or kilograms, on the side of a unit.
func MassLike(like string) string { return pick(like, "lb", "kg") }

// VolumeLike is gallons or litres, on the side of a unit.
func VolumeLike(like string) string { return pick(like, "gal", "L") }

// AreaLike is square feet, acres, square metres or hectares, as a unit on ground has it.
func AreaLike(like string) string {
	switch on := MassOn(like); {
	case strings.HasSuffix(on, "acre"):
		return "acre"
	case strings.HasSuffix(on, "ha"):
		return "ha"
	case strings.HasSuffix(on, "ft2"):
		return "ft2"
	}
	return "m2"
}

// GroundLike is square feet or square metres, on the side of a unit.
func GroundLike(like string) string { return pick(like, "ft2", "m2") }

// SpeedLike is mi/h or km/h, on the side of a unit.
func SpeedLike(like string) string { return pick(like, "mi/h", "km/h") }

// LengthLike is feet or metres, on the side of a unit.
func LengthLike(like string) string { return pick(like, "ft", "m") }

func pick(like, customary, metric string) string {
	if Metric(like) {
		return metric
	}
	return customary
}

// Bare is a unit without what is weighed in it: lb N/1000 ft2 is lb/1000 ft2. It is for results in another substance.
func Bare(unit string) string {
	words := strings.FieldsFunc(unit, func(r rune) bool { return r == ' ' })
	out := words[:0]
	for _, w := range words {
		head, tail, found := strings.Cut(w, "/")
		if _, ok := substances[head]; ok && len(out) > 0 {
			if !found {
				continue
			}
			out[len(out)-1] += "/" + tail
			continue
		}
		out = append(out, w)
	}
	return strings.Join(out, " ")
}

// dust is how far a count may miss a whole number by rounding alone.
const dust = 1e-9

// Up is the whole number at or above x: bags, cans, tank fills, applications. Rounding in the last digits is no bag.
func Up(x float64) float64 { return math.Ceil(x - dust*math.Max(1, math.Abs(x))) }

// Down is the whole number at or below x: days between, full tanks.
func Down(x float64) float64 { return math.Floor(x + dust*math.Max(1, math.Abs(x))) }

// NoMore says whether x is at or below a limit; reaching it exactly is allowed, and rounding in the last digits is no
// excess.
func NoMore(x, limit float64) bool { return x <= limit+dust*math.Max(1e-3, math.Abs(limit)) }

// Gives makes what a way runs out of a function with one result.
func Gives(name string, f func(v Values) (Result, error)) func(Values) (Results, error) {
	return func(v Values) (Results, error) {
		r, err := f(v)
		if err != nil {
			return nil, err
		}
		return Results{name: r}, nil
	}
}

// In gives a result in another unit than it was worked out in, and writes the conversion down; both units stand in the
// program.
func (s *Sheet) In(v float64, from, to string) Result {
	if from == to {
		return s.Number(v, to)
	}
	s.Step("before conversion", v, from, from+" to "+to)
	return s.Number(MustConvert(v, from, to), to)
}
