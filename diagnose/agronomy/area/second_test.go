package area

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// Sixty random rings from a garden to a town, against GeographicLib.
func TestRandomRingsAgainstGeographicLib(t *testing.T) {
	raw, err := os.ReadFile("../../../testdata/agronomy/rings.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Rings []struct {
			Ring      [][2]float64
			Area      float64 `json:"area_m2"`
			Perimeter float64 `json:"perimeter_m"`
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil || len(file.Rings) < 60 {
		t.Fatalf("%d rings, %v", len(file.Rings), err)
	}
	for _, c := range file.Rings {
		points := make([]Point, len(c.Ring))
		for i, p := range c.Ring {
			points[i] = Point{p[0], p[1]}
		}
		r, err := Measure(points)
		if err != nil {
			t.Errorf("%v: %v", c.Ring, err)
			continue
		}
		if math.Abs(r.Area-c.Area) > 1e-3+1e-9*c.Area || math.Abs(r.Perimeter-c.Perimeter) > 1e-4 {
			t.Errorf("%v: %.4f m², %.4f m, GeographicLib %.4f, %.4f", c.Ring, r.Area, r.Perimeter, c.Area, c.Perimeter)
		}
	}
}
