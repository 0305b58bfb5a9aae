package geo

import (
	"fmt"
	"math"
	"strings"

	"swardbook/store"
)

// Sketch is a drawing of outlines on a square of SketchSide units, north up.
type Sketch struct {
	Shapes []Shape
	Bar    float64 // length of the scale bar in units
	Metres float64 // what the bar stands for
}

// Shape is one outline: its points as SVG has them, and where its name goes.
type Shape struct {
	Points string
	X, Y   float64
}

// SketchSide is the side of a sketch.
const SketchSide = 400.0

const sketchEdge = 24.0

// Draw draws the rings to one scale; false when there is none. A ring without corners gets an empty shape.
func Draw(rings []Ring) (Sketch, bool) {
	middle, ok := Middle(rings...)
	if !ok {
		return Sketch{}, false
	}
	plane := NewPlane(middle)
	reach := 1.0
	for _, r := range rings {
		for _, p := range r {
			x, y := plane.Metres(p)
			reach = max(reach, math.Abs(x), math.Abs(y))
		}
	}
	scale := (SketchSide/2 - sketchEdge) / reach
	s := Sketch{Metres: round(reach / 2)}
	s.Bar = s.Metres * scale
	for _, r := range rings {
		s.Shapes = append(s.Shapes, shape(r, plane, scale))
	}
	return s, true
}

func shape(r Ring, plane Plane, scale float64) Shape {
	var out []string
	var s Shape
	for _, p := range r {
		x, y := at(p, plane, scale)
		out = append(out, fmt.Sprintf("%.1f,%.1f", x, y))
		s.X, s.Y = s.X+x/float64(len(r)), s.Y+y/float64(len(r))
	}
	s.Points = strings.Join(out, " ")
	return s
}

func at(p store.LonLat, plane Plane, scale float64) (x, y float64) {
	east, north := plane.Metres(p)
	return SketchSide/2 + east*scale, SketchSide/2 - north*scale
}

// round is the next of 1, 2, 5, 10, 20 … below x.
func round(x float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(x)))
	for _, n := range []float64{5, 2} {
		if n*ten <= x {
			return n * ten
		}
	}
	return ten
}
