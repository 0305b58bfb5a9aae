package area

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Made with GeographicLib (JavaScript geographiclib-geodesic 2.2.0; Karney 2013), and of its planimeter test set.
func TestAgainstGeographicLib(t *testing.T) {
	for _, c := range []struct {
		ring                []Point
		area, perimeter     float64
		withinArea, withinP float64
	}{
		{[]Point{{48.1, 11.5}, {48.1, 11.501}, {48.101, 11.501}, {48.101, 11.5}}, 8281.6341, 371.3452, 2e-4, 1e-4},
		{[]Point{{40, -83}, {40.0002, -82.9996}, {40.0005, -82.9999}, {40.0003, -83.0004}}, 1943.7365, 178.6010, 2e-4, 1e-4},
		{[]Point{{-33.9, 151.2}, {-33.9, 151.21}, {-33.91, 151.205}}, 512963.5389, 3328.4165, 2e-3, 1e-4},
		{[]Point{{-17.8, 179.999}, {-17.8, -179.999}, {-17.802, -179.9985}, {-17.803, 179.9992}}, 65126.0901, 1040.1667, 2e-4, 1e-4},
		{[]Point{{0, -1}, {-1, 0}, {0, 1}, {1, 0}}, 24619419146, 627598.2731, 1, 1e-3},
		{[]Point{{2, 1}, {1, 2}, {3, 3}}, 18454562325.45119, 0, 0.05, 0},
		{[]Point{{89, 0}, {89, 90}, {89, 180}, {89, 270}}, 24952305678.0, 631819.8745, 2, 1e-3},
		{[]Point{{-89, 0}, {-89, 90}, {-89, 180}, {-89, 270}}, 24952305678.0, 631819.8745, 2, 1e-3},
		{[]Point{{90, 0}, {0, 0}, {0, 90}}, 63758202715511, 30022685, 1e5, 1},
	} {
		r, err := Measure(c.ring)
		if err != nil {
			t.Errorf("%v: %v", c.ring, err)
			continue
		}
		if math.Abs(r.Area-c.area) > c.withinArea || c.perimeter > 0 && math.Abs(r.Perimeter-c.perimeter) > c.withinP {
			t.Errorf("%v: %.5f m², %.4f m, want %.5f, %.4f", c.ring, r.Area, r.Perimeter, c.area, c.perimeter)
		}
	}
}

func TestRefusesPolygons(t *testing.T) {
	for name, ring := range map[string][]Point{
		"two points":      {{1, 1}, {2, 2}},
		"repeated":        {{1, 1}, {2, 2}, {1, 1}, {1, 1}},
		"bow tie":         {{40, -75}, {40.001, -74.999}, {40.001, -75}, {40, -74.999}},
		"off the earth":   {{91, 0}, {0, 0}, {0, 1}},
		"not a number":    {{math.NaN(), 0}, {0, 0}, {0, 1}},
		"nearly opposite": {{0, 0}, {0.1, 179.9}, {1, 1}},
	} {
		if r, err := Measure(ring); err == nil {
			t.Errorf("%s gives %v", name, r)
		}
	}
}

// azimuthal is the same area by another road: onto the sphere of equal area, Lambert's azimuthal projection about the mean
// point, and the shoelace (Snyder, equations 3-12, 3-13, 24-2 to 24-4).
func azimuthal(ring []Point) float64 {
	lat0, lon0 := 0.0, ring[0].Lon
	for _, p := range ring {
		lat0 += p.Lat / float64(len(ring))
	}
	qp := authalic(1)
	rq := semiMajor * math.Sqrt(qp/2)
	beta0 := math.Asin(authalic(math.Sin(rad(lat0))) / qp)
	sum := 0.0
	var xs, ys []float64
	for _, p := range ring {
		b, l := math.Asin(authalic(math.Sin(rad(p.Lat)))/qp), rad(math.Remainder(p.Lon-lon0, 360))
		k := rq * math.Sqrt(2/(1+math.Sin(beta0)*math.Sin(b)+math.Cos(beta0)*math.Cos(b)*math.Cos(l)))
		h := math.Sin(l / 2)
		xs = append(xs, k*math.Cos(b)*math.Sin(l))
		ys = append(ys, k*(math.Sin(b-beta0)+math.Sin(beta0)*math.Cos(b)*2*h*h))
	}
	for i := range xs {
		j := (i + 1) % len(xs)
		sum += xs[i]*ys[j] - xs[j]*ys[i]
	}
	return math.Abs(sum) / 2
}

// star is a ring of points about a place, none of whose sides cross.
func star(t *rapid.T) []Point {
	lat, lon := rapid.Float64Range(-75, 75).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")
	size := rapid.Float64Range(10, 500).Draw(t, "metres") / 111_000
	n := rapid.IntRange(3, 12).Draw(t, "points")
	ring := make([]Point, n)
	for i := range ring {
		turn, r := 2*math.Pi*float64(i)/float64(n), size*rapid.Float64Range(0.4, 1).Draw(t, "r")
		ring[i] = Point{lat + r*math.Sin(turn), lon + r*math.Cos(turn)/math.Cos(rad(lat))}
	}
	return ring
}

// Two roads, one area; neither the direction, nor the first point, nor the date line changes it.
func TestLawsOfPolygons(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ring := star(t)
		r, err := Measure(ring)
		if err != nil {
			t.Fatal(err)
		}
		if other := azimuthal(ring); math.Abs(r.Area-other) > 1e-3+1e-6*other {
			t.Fatalf("%v m², by the azimuthal projection %v", r.Area, other)
		}
		n := len(ring)
		turned := append(append([]Point{}, ring[1:]...), ring[0])
		back := make([]Point, n)
		shifted := make([]Point, n)
		for i, p := range ring {
			back[n-1-i] = p
			shifted[i] = Point{-p.Lat, math.Remainder(p.Lon+180-ring[0].Lon, 360)}
		}
		for _, same := range [][]Point{turned, back, shifted} {
			again, err := Measure(same)
			if err != nil || math.Abs(again.Area-r.Area) > 1e-3+1e-8*r.Area || math.Abs(again.Perimeter-r.Perimeter) > 1e-6 {
				t.Fatalf("%v, then %v (%v)", r, again, err)
			}
		}
	})
}

func BenchmarkMeasure(b *testing.B) {
	ring := []Point{{40, -83}, {40.0002, -82.9996}, {40.0005, -82.9999}, {40.0003, -83.0004}}
	for b.Loop() {
		if _, err := Measure(ring); err != nil {
			b.Fatal(err)
		}
	}
}
