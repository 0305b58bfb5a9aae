package area

import (
	"regexp"

	"swardbook/diagnose/agronomy"
)

type values = agronomy.Values
type results = agronomy.Results

// lonFirst finds a unit that names the longitude before the latitude.
var lonFirst = regexp.MustCompile(`(?i)lon.*lat`)

// Formulas are what this package adds to the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{tapeEntry(), polygonEntry(), accuracyEntry()}
}

// shape is a way to tape an area, followed by the slope and by what is taken off.
func shape(area func(v values) (agronomy.Result, error), needs ...string) agronomy.Way {
	return agronomy.Way{Needs: needs, May: []string{"slope", "deductions"}, Run: func(v values) (results, error) {
		a, err := area(v)
		if err != nil {
			return nil, err
		}
		return finish(results{"area": a}, a, v)
	}}
}

func finish(out results, a agronomy.Result, v values) (results, error) {
	var err error
	flat := a.Number
	if v.Has("slope") {
		if a, err = OnSlope(a.Quantity(), v.Q("slope")); err != nil {
			return nil, err
		}
		out["ground_area"] = a
		s := agronomy.NewSheet("increase = ground area ÷ map area − 1", geometry)
		s.Note("slope", v.Q("slope").String())
		out["slope_increase"] = s.Number(100*(a.Number/flat-1), "%")
		if s.Err() != nil {
			return nil, s.Err()
		}
	}
	if v.Has("deductions") {
		if a, err = Less(a.Quantity(), v.List("deductions")); err != nil {
			return nil, err
		}
		out["net_area"] = a
	}
	return out, nil
}

func tapeEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "tape_area", Does: "Area of a lawn by tape.", Source: geometry + "; " + offsets,
		Inputs: []agronomy.Input{inLength, inWidth, inBase, inHeight, inSides, inDiagonal, inParallel, inDiameter, inRadius, inRound, inMajor, inMinor, inAxes, inOffsets, inInterval, inSlope, inMinus, inAreaIn},
		Outputs: []agronomy.Output{{Name: "area", Unit: "ft2"}, {Name: "valid", Unit: "boolean", Says: "the sides can close"}, {Name: "trapezoidal", Also: []string{"area_trapezoidal"}, Unit: "ft2"}, {Name: "simpson", Also: []string{"area_simpson"}, Unit: "ft2"},
			{Name: "simpson_allowed", Unit: "boolean"}, {Name: "ground_area", Unit: "ft2", Says: "on the slope"}, {Name: "slope_increase", Unit: "%"}, {Name: "net_area", Unit: "ft2", Says: "without buildings, drives and beds"}},
		Ways: []agronomy.Way{
			shape(func(v values) (agronomy.Result, error) { return Rectangle(v.Q("length"), v.Q("width")) }, "length", "width"),
			shape(func(v values) (agronomy.Result, error) { return TriangleByHeight(v.Q("base"), v.Q("height")) }, "base", "height"),
			shape(func(v values) (agronomy.Result, error) { return Circle(v.Q("diameter")) }, "diameter"),
			shape(func(v values) (agronomy.Result, error) {
				r := v.Q("radius")
				return Circle(agronomy.Q(2*r.Value, r.Unit))
			}, "radius"),
			shape(func(v values) (agronomy.Result, error) { return CircleByRound(v.Q("circumference")) }, "circumference"),
			shape(func(v values) (agronomy.Result, error) { return Ellipse(v.Q("major_axis"), v.Q("minor_axis")) }, "major_axis", "minor_axis"),
			shape(func(v values) (agronomy.Result, error) {
				axes := v.List("axes")
				if len(axes.Values) != 2 {
					return agronomy.Result{}, agronomy.Refuse("axes", v["axes"].String(), "two axes")
				}
				return Ellipse(agronomy.Q(axes.Values[0], axes.Unit), agronomy.Q(axes.Values[1], axes.Unit))
			}, "axes"),
			shape(func(v values) (agronomy.Result, error) { return Quadrilateral(v.List("sides"), v.Q("diagonal")) }, "sides", "diagonal"),
			shape(runTrapezoid, "parallel_sides", "height"),
			{Needs: []string{"sides"}, May: []string{"slope", "deductions", "diagonal"}, Run: runSides},
			{Needs: []string{"offsets", "interval"}, May: []string{"slope", "deductions"}, Run: runOffsets},
			{Needs: []string{"area", "slope"}, May: []string{"deductions"}, Run: func(v values) (results, error) { return finishGiven(v) }},
			{Needs: []string{"area", "deductions"}, May: []string{"slope"}, Run: func(v values) (results, error) { return finishGiven(v) }},
		},
	}
}

func finishGiven(v values) (results, error) {
	return finish(results{}, agronomy.Result{Value: v["area"]}, v)
}

func runTrapezoid(v values) (agronomy.Result, error) {
	p := v.List("parallel_sides")
	if len(p.Values) != 2 {
		return agronomy.Result{}, agronomy.Refuse("parallel_sides", v["parallel_sides"].String(), "two sides")
	}
	return Trapezoid(agronomy.Q(p.Values[0], p.Unit), agronomy.Q(p.Values[1], p.Unit), v.Q("height"))
}

// runSides is a triangle by its sides; sides that can't close give no area, and say so.
func runSides(v values) (results, error) {
	if v.Has("diagonal") {
		return results{}, nil
	}
	ok, err := Closes(v.List("sides"))
	if err != nil {
		return nil, err
	}
	out := results{"valid": ok}
	if !ok.Yes {
		return out, nil
	}
	a, err := Triangle(v.List("sides"))
	if err != nil {
		return nil, err
	}
	out["area"] = a
	return finish(out, a, v)
}

func runOffsets(v values) (results, error) {
	list, d := v.List("offsets"), v.Q("interval")
	t, err := ByOffsets(list, d)
	if err != nil {
		return nil, err
	}
	allowed, err := SimpsonAllowed(list)
	if err != nil {
		return nil, err
	}
	out := results{"trapezoidal": t, "simpson_allowed": allowed}
	if allowed.Yes {
		if out["simpson"], err = Simpson(list, d); err != nil {
			return nil, err
		}
	}
	return finish(out, t, v)
}

func polygonEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "polygon_area", Does: "Area and way round of points on the earth.", Source: polygonSource, Inputs: []agronomy.Input{inPolygon, inSlope, inMinus},
		Outputs: []agronomy.Output{{Name: "area", Unit: "m2"}, {Name: "perimeter", Unit: "m"}, {Name: "ground_area", Unit: "m2"}, {Name: "slope_increase", Unit: "%"}, {Name: "net_area", Unit: "m2"}},
		Ways: []agronomy.Way{{Needs: []string{"polygon"}, May: []string{"slope", "deductions"}, Run: func(v values) (results, error) {
			points, err := ReadPoints(v["polygon"].Any(), v["polygon"].Unit)
			if err != nil {
				return nil, err
			}
			a, p, err := Polygon(points)
			if err != nil {
				return nil, err
			}
			return finish(results{"area": a, "perimeter": p}, a, v)
		}}},
	}
}

func accuracyEntry() agronomy.Formula {
	three := func(r Sureness, err error) (results, error) {
		return results{"area": r.Area, "area_sd": r.SD, "relative_sd": r.Relative}, err
	}
	return agronomy.Formula{
		Name: "area_accuracy", Does: "How sure an area is, and the area in other units.", Source: byPhone + "; " + byTape,
		Inputs:  []agronomy.Input{inVertices, inSquare, inPolygon, inSigma, inTapeLength, inTapeWidth, inEach, inAreaIn},
		Outputs: []agronomy.Output{{Name: "area", Unit: "m2"}, {Name: "area_sd", Unit: "m2"}, {Name: "relative_sd", Unit: "%"}, {Name: "m2", Unit: "m2"}, {Name: "ft2", Unit: "ft2"}, {Name: "acre", Unit: "acre"}, {Name: "ha", Unit: "ha"}},
		Ways: []agronomy.Way{
			{Needs: []string{"vertices", "sigma_per_axis"}, Run: func(v values) (results, error) {
				corners, err := ReadPairs("vertices", v["vertices"].Any())
				if err != nil {
					return nil, err
				}
				return three(OfVertices(corners, v["vertices"].Unit, v.Q("sigma_per_axis")))
			}},
			{Needs: []string{"side", "sigma_per_axis"}, Run: func(v values) (results, error) {
				l, err := inSquare.Number(v.Q("side"))
				if err != nil {
					return nil, err
				}
				return three(OfVertices([][2]float64{{0, 0}, {l, 0}, {l, l}, {0, l}}, inSquare.WorkUnit(v.Q("side").Unit), v.Q("sigma_per_axis")))
			}},
			{Needs: []string{"polygon", "sigma_per_axis"}, Run: func(v values) (results, error) {
				points, err := ReadPoints(v["polygon"].Any(), v["polygon"].Unit)
				if err != nil {
					return nil, err
				}
				return three(OfPhone(points, v.Q("sigma_per_axis")))
			}},
			{Needs: []string{"tape_length", "tape_width", "sd_each"}, Run: func(v values) (results, error) {
				return three(OfTape(v.Q("tape_length"), v.Q("tape_width"), v.Q("sd_each")))
			}},
			{Needs: []string{"area"}, Run: func(v values) (results, error) {
				s := agronomy.NewSheet("1000 ft² = 92.90304 m²; 1 acre = 43 560 ft²; 1 ha = 10 000 m²", "NIST, unit factors of the international foot")
				ft2 := s.Take(inAreaIn, v.Q("area"))
				out := results{}
				for _, unit := range []string{"m2", "ft2", "acre", "ha"} {
					out[unit] = s.Number(agronomy.MustConvert(ft2, "ft2", unit), unit)
				}
				return out, s.Err()
			}},
		},
	}
}
