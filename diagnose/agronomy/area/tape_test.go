package area

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

func is(t *testing.T, what string, got agronomy.Result, err error, want float64, unit string) {
	t.Helper()
	if err != nil || math.Abs(got.Number-want) > 1e-9*math.Max(1, want) || got.Unit != unit {
		t.Errorf("%s: %v (%v), want %g %s", what, got.Value, err, want, unit)
	}
}

// Shapes by numbers anybody can do.
func TestShapes(t *testing.T) {
	q := agronomy.Q
	a, err := Rectangle(q(60, "ft"), q(25, "ft"))
	is(t, "rectangle", a, err, 1500, "ft2")
	a, err = Rectangle(q(10, "m"), q(1000, "cm"))
	is(t, "metric", a, err, 100, "m2")
	a, err = Triangle(agronomy.Qs("m", 3, 4, 5))
	is(t, "triangle", a, err, 6, "m2")
	a, err = TriangleByHeight(q(8, "ft"), q(3, "ft"))
	is(t, "half a rectangle", a, err, 12, "ft2")
	a, err = Quadrilateral(agronomy.Qs("m", 3, 4, 3, 4), q(5, "m"))
	is(t, "rectangle by its sides", a, err, 12, "m2")
	a, err = Ellipse(q(10, "m"), q(10, "m"))
	is(t, "round ellipse", a, err, 25*math.Pi, "m2")
	a, err = CircleByRound(q(10*math.Pi, "m"))
	is(t, "circle", a, err, 25*math.Pi, "m2")
	a, err = ByOffsets(agronomy.Qs("ft", 4, 4, 4, 4), q(5, "ft"))
	is(t, "even strip", a, err, 60, "ft2")
	a, err = Simpson(agronomy.Qs("m", 0, 1, 4), q(1, "m"))
	is(t, "parabola x² to 2", a, err, 8.0/3, "m2")
	a, err = OnSlope(q(1000, "ft2"), q(100, "%"))
	is(t, "slope of 100 %", a, err, 1000*math.Sqrt2, "ft2")
	b, err := OnSlope(q(1000, "ft2"), q(45, "deg"))
	is(t, "slope of 45 deg", b, err, a.Number, "ft2")
	a, err = Less(q(1000, "ft2"), agronomy.Qs("ft2", 200, 100))
	is(t, "without house and drive", a, err, 700, "ft2")
}

func TestTapeRefusals(t *testing.T) {
	q := agronomy.Q
	for name, c := range map[string]struct {
		err   error
		input string
	}{
		"can't close":        {err2(Triangle(agronomy.Qs("m", 10, 4, 5))), "sides"},
		"flat":               {err2(Triangle(agronomy.Qs("m", 9, 4, 5))), "sides"},
		"no width":           {err2(Rectangle(q(10, "m"), q(0, "m"))), "width"},
		"area for a length":  {err2(Rectangle(q(10, "m2"), q(1, "m"))), "length"},
		"even for Simpson":   {err2(Simpson(agronomy.Qs("m", 1, 2, 3, 4), q(1, "m"))), "offsets"},
		"one offset":         {err2(ByOffsets(agronomy.Qs("m", 1), q(1, "m"))), "offsets"},
		"no interval":        {err2(ByOffsets(agronomy.Qs("m", 1, 2), q(0, "m"))), "interval"},
		"more than there is": {err2(Less(q(100, "m2"), agronomy.Qs("m2", 60, 60))), "deductions"},
		"a wall":             {err2(OnSlope(q(100, "m2"), q(90, "deg"))), "slope"},
		"wrong diagonal":     {err2(Quadrilateral(agronomy.Qs("m", 3, 4, 3, 4), q(9, "m"))), "sides"},
	} {
		var refused *agronomy.InputError
		if !errors.As(c.err, &refused) || refused.Input != c.input {
			t.Errorf("%s: %v", name, c.err)
		}
	}
}

func err2(_ agronomy.Result, err error) error { return err }

// The first-order error of a ring agrees with what shaken rings show, and a square of side L has √2 L σ.
func TestSureness(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.Float64Range(5, 100).Draw(t, "side")
		square := [][2]float64{{0, 0}, {side, 0}, {side, side}, {0, side}}
		got, err := OfVertices(square, "m", agronomy.Q(2, "m"))
		if err != nil || math.Abs(got.SD.Number-math.Sqrt2*side*2) > 1e-9*side || math.Abs(got.Area.Number-side*side) > 1e-9*side*side {
			t.Fatalf("%v ± %v (%v)", got.Area, got.SD, err)
		}
		feet, err := OfVertices(square, "ft", agronomy.Q(2/0.3048*0.3048, "m"))
		if err != nil || feet.Area.Unit != "ft2" {
			t.Fatalf("%v (%v)", feet.Area, err)
		}
	})
	phone, err := OfPhone([]Point{{40, -75}, {40, -74.99965}, {40.00018, -74.99965}, {40.00018, -75}}, agronomy.Q(3, "m"))
	if err != nil || math.Abs(phone.Area.Number-597.345) > 0.02 || phone.Relative.Number < 15 || phone.Relative.Number > 21 {
		t.Errorf("%v ± %v %v (%v)", phone.Area, phone.SD, phone.Relative, err)
	}
}

// Points may be pairs, pairs turned round, or objects.
func TestReadPoints(t *testing.T) {
	want := []Point{{40, -75}, {40, -74.9}, {40.1, -75}}
	pairs := []any{[]any{40.0, -75.0}, []any{40.0, -74.9}, []any{40.1, -75.0}}
	turned := []any{[]any{-75.0, 40.0}, []any{-74.9, 40.0}, []any{-75.0, 40.1}}
	objects := []any{map[string]any{"lat": 40.0, "lon": -75.0}, map[string]any{"lat": 40.0, "lng": -74.9}, map[string]any{"latitude": 40.1, "longitude": -75.0}}
	for unit, data := range map[string]any{"deg lat, lon": pairs, "deg lon, lat": turned, "deg": objects} {
		got, err := ReadPoints(data, unit)
		if err != nil || len(got) != 3 || got[0] != want[0] || got[1] != want[1] || got[2] != want[2] {
			t.Errorf("%s: %v (%v)", unit, got, err)
		}
	}
	for _, data := range []any{nil, 3.0, []any{}, []any{1.0, 2.0, 3.0}, []any{[]any{1.0}, []any{1.0}, []any{1.0}}, []any{map[string]any{}, 1.0, 2.0}, []any{[]any{"a", 1.0}, []any{1.0, 2.0}, []any{3.0, 4.0}}} {
		if got, err := ReadPoints(data, "deg"); err == nil {
			t.Errorf("%v gives %v", data, got)
		}
	}
}
