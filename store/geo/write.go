package geo

import (
	"encoding/json"
	"io"
	"math"
	"slices"

	"swardbook/store"
)

// Out is one feature to be written: properties in the order given, and a ring, a point or neither.
type Out struct {
	Properties [][2]any // name and value
	Ring       Ring
	Point      *store.LonLat
}

// WriteJSON writes features as a GeoJSON feature collection, a feature to a line.
func WriteJSON(w io.Writer, features func(yield func(Out) bool)) error {
	if _, err := io.WriteString(w, `{"type":"FeatureCollection","features":[`); err != nil {
		return err
	}
	between := "\n"
	var failed error
	for f := range features {
		text, err := f.text()
		if err == nil {
			_, err = io.WriteString(w, between+text)
		}
		if failed = err; err != nil {
			break
		}
		between = ",\n"
	}
	if failed != nil {
		return failed
	}
	_, err := io.WriteString(w, "\n]}\n")
	return err
}

func (f Out) text() (string, error) {
	out := `{"type":"Feature","properties":{`
	for i, p := range f.Properties {
		name, err := json.Marshal(p[0])
		if err != nil {
			return "", err
		}
		value, err := json.Marshal(p[1])
		if err != nil {
			return "", err
		}
		if i > 0 {
			out += ","
		}
		out += string(name) + ":" + string(value)
	}
	return out + `},"geometry":` + f.geometry() + `}`, nil
}

// geometry is a polygon whose ring is closed and goes against the clock, as RFC 7946 asks.
func (f Out) geometry() string {
	if f.Ring == nil {
		if f.Point == nil {
			return "null"
		}
		return `{"type":"Point","coordinates":[` + degree(f.Point[0]) + `,` + degree(f.Point[1]) + `]}`
	}
	r := slices.Clone(f.Ring)
	if r.clockwise() {
		slices.Reverse(r)
	}
	return `{"type":"Polygon","coordinates":[` + append(r, r[0]).String() + `]}`
}

func (r Ring) clockwise() bool {
	twice := 0.0
	for i, p := range r {
		q := r[(i+1)%len(r)]
		twice += (p[0]-r[0][0])*(q[1]-r[0][1]) - (q[0]-r[0][0])*(p[1]-r[0][1])
	}
	return twice < 0
}

// Plane turns degrees into metres east and north of a place, by the radii of the ellipsoid (WGS 84) there. On a lawn it is right to a
// millimetre; areas are never taken from it.
type Plane struct {
	at        store.LonLat
	east, nor float64 // metres to a degree
}

// NewPlane is the plane about a place.
func NewPlane(at store.LonLat) Plane {
	const a, e2 = 6378137.0, 0.0066943799901413165
	sin, cos := math.Sincos(at[1] * math.Pi / 180)
	n := a / math.Sqrt(1-e2*sin*sin)
	m := n * (1 - e2) / (1 - e2*sin*sin)
	return Plane{at, n * cos * math.Pi / 180, m * math.Pi / 180}
}

// Metres are how far a point lies east and north of the plane's place.
func (p Plane) Metres(x store.LonLat) (east, north float64) {
	return math.Remainder(x[0]-p.at[0], 360) * p.east, (x[1] - p.at[1]) * p.nor
}

// At is the point so many metres east and north of the plane's place.
func (p Plane) At(east, north float64) store.LonLat {
	return store.LonLat{p.at[0] + east/p.east, p.at[1] + north/p.nor}
}

// Middle is the middle of the box around some rings; false without corners.
func Middle(rings ...Ring) (at store.LonLat, ok bool) {
	low, high := store.LonLat{180, 90}, store.LonLat{-180, -90}
	for _, r := range rings {
		for _, p := range r {
			ok = true
			low = store.LonLat{min(low[0], p[0]), min(low[1], p[1])}
			high = store.LonLat{max(high[0], p[0]), max(high[1], p[1])}
		}
	}
	return store.LonLat{(low[0] + high[0]) / 2, (low[1] + high[1]) / 2}, ok
}
