package area

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
)

const (
	geometry = "plane geometry"
	offsets  = "surveying course problem, area by offsets from a straight line"
)

// tape is an input measured in feet or metres; nothing taped is longer than 20 km.
func tape(name, says string, also ...string) agronomy.Input {
	return agronomy.Input{Name: name, Also: also, Unit: "ft", Range: agronomy.AboveTo(0, 65000), Says: says}
}

var (
	inLength   = tape("length", "length of a rectangle", "tape_length")
	inWidth    = tape("width", "width of a rectangle", "tape_width")
	inBase     = tape("base", "base of a triangle")
	inHeight   = tape("height", "height of a triangle or between parallel sides")
	inDiameter = tape("diameter", "diameter of a circle")
	inRadius   = tape("radius", "radius of a circle")
	inRound    = tape("circumference", "way round a circle")
	inMajor    = tape("major_axis", "whole long axis of an ellipse", "long_axis", "axis_a", "a")
	inMinor    = tape("minor_axis", "whole short axis of an ellipse", "short_axis", "axis_b", "b")
	inDiagonal = tape("diagonal", "diagonal from the first corner of four sides to the third")
	inInterval = tape("interval", "distance between offsets")
	inSides    = agronomy.Input{Name: "sides", Kind: agronomy.Numbers, Unit: "ft", Range: agronomy.AboveTo(0, 65000), Says: "three sides of a triangle, or four of a quadrilateral in order"}
	inParallel = agronomy.Input{Name: "parallel_sides", Kind: agronomy.Numbers, Unit: "ft", Range: agronomy.Between(0, 65000), Says: "two parallel sides"}
	inOffsets  = agronomy.Input{Name: "offsets", Kind: agronomy.Numbers, Unit: "ft", Range: agronomy.Between(0, 65000), Says: "distances from a straight line, at equal intervals"}
	inAxes     = agronomy.Input{Name: "axes", Kind: agronomy.Numbers, Unit: "ft", Range: agronomy.AboveTo(0, 65000), Says: "both whole axes of an ellipse"}
	inSlope    = agronomy.Input{Name: "slope", Also: []string{"grade"}, Unit: "%", Or: []string{"deg"}, Range: agronomy.Between(0, 200), Says: "slope, as a grade or an angle"}
	inMinus    = agronomy.Input{Name: "deductions", Also: []string{"subtract"}, Kind: agronomy.Numbers, Unit: "ft2", Range: agronomy.AtLeast(0), Says: "areas of buildings, drives and beds within"}
	inAreaIn   = agronomy.Input{Name: "area", Also: []string{"map_area"}, Unit: "ft2", Range: agronomy.AtLeast(0), Says: "an area"}
)

// square gives square feet in the square of the unit a tape was read in.
func square(s *agronomy.Sheet, ft2 float64, like string) agronomy.Result {
	if agronomy.Metric(like) {
		return s.Number(agronomy.MustConvert(ft2, "ft2", "m2"), "m2")
	}
	return s.Number(ft2, "ft2")
}

// Rectangle is length times width.
func Rectangle(length, width agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = length × width", geometry)
	return square(s, s.Take(inLength, length)*s.Take(inWidth, width), length.Unit), s.Err()
}

// Trapezoid is the mean of two parallel sides times their distance.
func Trapezoid(a, b, height agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = (a + b) ÷ 2 × height", geometry)
	x, y, h := s.Take(inParallel, a), s.Take(inParallel, b), s.Take(inHeight, height)
	return square(s, (x+y)/2*h, height.Unit), s.Err()
}

// Circle by its diameter.
func Circle(diameter agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = π × diameter² ÷ 4", geometry)
	d := s.Take(inDiameter, diameter)
	return square(s, math.Pi*d*d/4, diameter.Unit), s.Err()
}

// CircleByRound is a circle by the way round it.
func CircleByRound(circumference agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = circumference² ÷ (4 π)", geometry)
	c := s.Take(inRound, circumference)
	return square(s, c*c/(4*math.Pi), circumference.Unit), s.Err()
}

// Ellipse by its whole axes.
func Ellipse(major, minor agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = π × long axis × short axis ÷ 4", geometry)
	return square(s, math.Pi*s.Take(inMajor, major)*s.Take(inMinor, minor)/4, major.Unit), s.Err()
}

// TriangleByHeight is half of base times height.
func TriangleByHeight(base, height agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = base × height ÷ 2", geometry)
	return square(s, s.Take(inBase, base)*s.Take(inHeight, height)/2, base.Unit), s.Err()
}

// Closes says whether three sides can make a triangle, with a remark when they can't.
func Closes(sides agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("the longest side is shorter than the others together", "triangle inequality")
	x := s.TakeAll(inSides, sides)
	if s.Err() == nil && len(x) != 3 {
		s.Refuse(agronomy.Refuse("sides", fmt.Sprintf("%d sides", len(x)), "three sides"))
	}
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	ok := closes(x[0], x[1], x[2])
	if !ok {
		s.Remark("These sides can't close to a triangle; tape them again.")
	}
	return s.Give(agronomy.OfFlag(ok)), s.Err()
}

func closes(a, b, c float64) bool {
	return math.Max(a, math.Max(b, c)) < (a+b+c)/2
}

// heron is the area of a triangle by its sides.
func heron(a, b, c float64) float64 {
	h := (a + b + c) / 2
	return math.Sqrt(h * (h - a) * (h - b) * (h - c))
}

// Triangle by its three sides (Heron). Sides that can't close are refused.
func Triangle(sides agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = √(s (s − a)(s − b)(s − c)), s half the way round", "Heron's formula")
	x := s.TakeAll(inSides, sides)
	if s.Err() == nil && (len(x) != 3 || !closes(x[0], x[1], x[2])) {
		s.Refuse(agronomy.RefuseSay("sides", agronomy.OfList(sides.Values, sides.Unit).String(), "three sides, the longest shorter than the others together", "These sides can't close to a triangle; tape them again."))
	}
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return square(s, heron(x[0], x[1], x[2]), sides.Unit), s.Err()
}

// Quadrilateral by four sides in order and the diagonal from the first corner to the third: two triangles.
func Quadrilateral(sides agronomy.Quantities, diagonal agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("two triangles by Heron's formula, on both sides of the diagonal", "Heron's formula")
	x, d := s.TakeAll(inSides, sides), s.Take(inDiagonal, diagonal)
	if s.Err() == nil && (len(x) != 4 || !closes(x[0], x[1], d) || !closes(x[2], x[3], d)) {
		s.Refuse(agronomy.RefuseSay("sides", agronomy.OfList(sides.Values, sides.Unit).String(), "four sides that close with the diagonal", "These four sides can't close with that diagonal; tape them again."))
	}
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	a, b := s.Step("first triangle", heron(x[0], x[1], d), "ft2", ""), s.Step("second triangle", heron(x[2], x[3], d), "ft2", "")
	return square(s, a+b, sides.Unit), s.Err()
}

// ByOffsets is an area between a straight line and a border by the trapezoid rule.
func ByOffsets(list agronomy.Quantities, interval agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = interval × [(first + last) ÷ 2 + all between]", offsets)
	h, d := takeOffsets(s, list, interval)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	sum := (h[0] + h[len(h)-1]) / 2
	for _, v := range h[1 : len(h)-1] {
		sum += v
	}
	return square(s, d*sum, list.Unit), s.Err()
}

func takeOffsets(s *agronomy.Sheet, list agronomy.Quantities, interval agronomy.Quantity) ([]float64, float64) {
	h, d := s.TakeAll(inOffsets, list), s.Take(inInterval, interval)
	if s.Err() == nil && len(h) < 2 {
		s.Refuse(agronomy.Refuse("offsets", fmt.Sprintf("%d value", len(h)), "at least two offsets"))
	}
	return h, d
}

// SimpsonAllowed says whether Simpson's rule may be used: with an odd number of offsets, at least three.
func SimpsonAllowed(list agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("an odd number of offsets, at least three", offsets)
	h := s.TakeAll(inOffsets, list)
	return s.Give(agronomy.OfFlag(len(h) >= 3 && len(h)%2 == 1)), s.Err()
}

// Simpson is the area by Simpson's rule, for smooth curves; straight and jagged borders want the trapezoid rule.
func Simpson(list agronomy.Quantities, interval agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("area = interval ÷ 3 × [first + last + 4 × (2nd, 4th, …) + 2 × (3rd, 5th, …)]", offsets)
	h, d := takeOffsets(s, list, interval)
	if s.Err() == nil && (len(h) < 3 || len(h)%2 == 0) {
		s.Refuse(agronomy.Refuse("offsets", fmt.Sprintf("%d values", len(h)), "an odd number of offsets, at least three, for Simpson's rule"))
	}
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	sum := h[0] + h[len(h)-1]
	for i := 1; i < len(h)-1; i++ {
		sum += h[i] * float64(2+2*(i%2))
	}
	return square(s, d/3*sum, list.Unit), s.Err()
}

// OnSlope is the ground's area for an area on the map.
func OnSlope(area, slope agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ground area = map area ÷ cos(slope)", geometry)
	a, g := s.Take(inAreaIn, area), s.Take(inSlope, slope)
	angle := math.Atan(g / 100)
	if inSlope.WorkUnit(slope.Unit) == "deg" {
		if g >= 80 {
			s.Refuse(agronomy.Refuse("slope", slope.String(), "below 80 deg"))
		}
		angle = rad(g)
	}
	return square(s, a/math.Cos(angle), area.Unit), s.Err()
}

// Less takes buildings, drives and beds off an area.
func Less(area agronomy.Quantity, minus agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("lawn = area − buildings, drives and beds", geometry)
	left := s.Take(inAreaIn, area)
	for _, v := range s.TakeAll(inMinus, minus) {
		left -= v
	}
	if left < 0 {
		s.Refuse(agronomy.Refuse("deductions", agronomy.OfList(minus.Values, minus.Unit).String(), "no more in all than the area, "+area.String()))
	}
	return square(s, left, area.Unit), s.Err()
}
