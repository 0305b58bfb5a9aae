// Package geo reads and writes places and outlines: corners as people type them, GeoJSON (RFC 7946) as other programs give it,
// and the area of an outline on the ellipsoid. It draws a sketch of outlines on a plane, north up, without any map behind it.
package geo

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/area"
	"swardbook/store"
)

// MostCorners bounds one outline.
const MostCorners = 500

// squareFeet are the square feet of a square metre, by the international foot of 0.3048 m.
const squareFeet = 1 / (0.3048 * 0.3048)

// Ring is an outline: its corners in order, the first not repeated.
type Ring []store.LonLat

// ParseRing reads an outline as the store keeps it; "" is none.
func ParseRing(text string) (Ring, error) {
	if text == "" {
		return nil, nil
	}
	var r Ring
	err := json.Unmarshal([]byte(text), &r)
	return r, err
}

// String writes a ring as the store keeps it, to a hundredth of a millionth of a degree: a millimetre.
func (r Ring) String() string {
	if len(r) == 0 {
		return ""
	}
	var b strings.Builder
	for i, p := range r {
		b.WriteString(map[bool]string{true: "[[", false: ",["}[i == 0])
		b.WriteString(degree(p[0]) + "," + degree(p[1]) + "]")
	}
	return b.String() + "]"
}

func degree(x float64) string {
	text := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(x, 'f', 8, 64), "0"), ".")
	if text == "-0" {
		return "0"
	}
	return text
}

// Lines writes a ring as a person reads it: a corner to a line, latitude first.
func (r Ring) Lines() string {
	out := make([]string, len(r))
	for i, p := range r {
		out[i] = degree(p[1]) + ", " + degree(p[0])
	}
	return strings.Join(out, "\n")
}

// SqFt is the area of a ring on the ellipsoid in square feet. What is no ring is refused with a sentence.
func (r Ring) SqFt() (float64, error) {
	measured, err := area.Measure(r.points())
	return measured.Area * squareFeet, err
}

func (r Ring) points() []area.Point {
	points := make([]area.Point, len(r))
	for i, p := range r {
		points[i] = area.Point{Lat: p[1], Lon: p[0]}
	}
	return points
}

// Area is SqFt with its working.
func (r Ring) Area() (agronomy.Result, error) {
	res, _, err := area.Polygon(r.points())
	if err != nil {
		return res, err
	}
	return res.As("ft2")
}

// ReadRing reads what a person put in for an outline: corners, one to a line as latitude and longitude, or GeoJSON with one
// polygon. Nothing is no outline.
func ReadRing(text string) (Ring, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, nil
	}
	if strings.HasPrefix(text, "{") {
		features, err := ReadJSON(strings.NewReader(text))
		if err != nil {
			return nil, err
		}
		if len(features) != 1 || features[0].Ring == nil {
			return nil, errors.New("the GeoJSON must hold one polygon")
		}
		return features[0].Ring, features[0].Ring.check()
	}
	var r Ring
	n := 0
	for line := range strings.Lines(text) {
		if n++; strings.TrimSpace(line) == "" {
			continue
		}
		p, err := ReadPlace(line)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
		r = append(r, p)
	}
	r = r.open()
	return r, r.check()
}

// ReadPlace reads a latitude and a longitude in degrees, parted by a comma, blanks or a semicolon.
func ReadPlace(text string) (store.LonLat, error) {
	parts := strings.FieldsFunc(text, func(c rune) bool { return c == ',' || c == ';' || c == ' ' || c == '\t' || c == '\r' || c == '\n' })
	if len(parts) != 2 {
		return store.LonLat{}, errors.New("a place is a latitude and a longitude in degrees, such as 40.7128, -74.006")
	}
	lat, errLat := strconv.ParseFloat(parts[0], 64)
	lon, errLon := strconv.ParseFloat(parts[1], 64)
	if errLat != nil || errLon != nil {
		return store.LonLat{}, errors.New("a place is two numbers in degrees, such as 40.7128, -74.006")
	}
	return placed(lon, lat)
}

func placed(lon, lat float64) (store.LonLat, error) {
	if !(lat >= -90 && lat <= 90) || !(lon >= -180 && lon <= 180) { // not a number is neither
		return store.LonLat{}, errors.New("a latitude lies between -90 and 90, a longitude between -180 and 180; the latitude comes first")
	}
	return store.LonLat{lon, lat}, nil
}

// open leaves out a last corner that repeats the first.
func (r Ring) open() Ring {
	if len(r) > 1 && r[0] == r[len(r)-1] {
		return r[:len(r)-1]
	}
	return r
}

func (r Ring) check() error {
	if len(r) < 3 {
		return errors.New("an outline has at least three corners")
	}
	if len(r) > MostCorners {
		return fmt.Errorf("an outline has at most %d corners, this one has %d", MostCorners, len(r))
	}
	_, err := r.SqFt()
	return err
}

// Feature is one thing of a GeoJSON file: its properties as text, and a polygon, a point, or neither.
type Feature struct {
	Properties map[string]string
	Ring       Ring
	Point      *store.LonLat
	Wrong      string // why its geometry can't be taken; "" when it can
}

type jsonFeature struct {
	Type       string                     `json:"type"`
	Properties map[string]json.RawMessage `json:"properties"`
	Geometry   *jsonGeometry              `json:"geometry"`
	Features   []jsonFeature              `json:"features"`
	Coordinate json.RawMessage            `json:"coordinates"`
}

type jsonGeometry struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
}

// ReadJSON reads a GeoJSON feature collection, a feature, or a bare polygon or point. A feature whose geometry can't be taken
// comes with the reason; an error is a file that is no GeoJSON at all.
func ReadJSON(from io.Reader) ([]Feature, error) {
	raw, err := io.ReadAll(from)
	if err != nil {
		return nil, err
	}
	var top jsonFeature
	if err := json.Unmarshal(bytes.TrimPrefix(raw, []byte("\ufeff")), &top); err != nil {
		return nil, fmt.Errorf("this is not GeoJSON: %w", err)
	}
	list := []jsonFeature{top}
	switch top.Type {
	case "FeatureCollection":
		list = top.Features
	case "Feature":
	case "Polygon", "Point", "MultiPolygon":
		list[0].Geometry = &jsonGeometry{Type: top.Type, Coordinates: top.Coordinate}
	default:
		return nil, fmt.Errorf("GeoJSON begins with a FeatureCollection, a Feature, a Polygon or a Point, and not with %q", top.Type)
	}
	out := make([]Feature, len(list))
	for i, f := range list {
		out[i] = Feature{Properties: map[string]string{}}
		for name, value := range f.Properties {
			out[i].Properties[name] = plain(value)
		}
		if err := out[i].take(f.Geometry); err != nil {
			out[i].Wrong = err.Error()
		}
	}
	return out, nil
}

// plain is a property's value as it would be typed.
func plain(raw json.RawMessage) string {
	var text string
	if json.Unmarshal(raw, &text) == nil {
		return text
	}
	if string(raw) == "null" {
		return ""
	}
	return string(raw)
}

func (f *Feature) take(g *jsonGeometry) error {
	if g == nil {
		return nil
	}
	switch g.Type {
	case "Point":
		var p []float64
		if json.Unmarshal(g.Coordinates, &p) != nil || len(p) < 2 {
			return errors.New("a point has a longitude and a latitude")
		}
		at, err := placed(p[0], p[1])
		if err == nil {
			f.Point = &at
		}
		return err
	case "Polygon":
		var rings [][][]float64
		if json.Unmarshal(g.Coordinates, &rings) != nil || len(rings) == 0 {
			return errors.New("a polygon has a list of rings")
		}
		if len(rings) > 1 {
			return errors.New("a polygon with holes can't be taken: give what lies around the hole as corners")
		}
		return f.takeRing(rings[0])
	case "MultiPolygon":
		var parts [][][][]float64
		if json.Unmarshal(g.Coordinates, &parts) != nil || len(parts) != 1 || len(parts[0]) != 1 {
			return errors.New("a zone is one polygon without holes")
		}
		return f.takeRing(parts[0][0])
	}
	return fmt.Errorf("a %s can't be taken: a zone is a polygon, a property a point", g.Type)
}

func (f *Feature) takeRing(corners [][]float64) error {
	var r Ring
	for i, c := range corners {
		if len(c) < 2 {
			return fmt.Errorf("corner %d has no longitude and latitude", i+1)
		}
		p, err := placed(c[0], c[1])
		if err != nil {
			return fmt.Errorf("corner %d: %w", i+1, err)
		}
		r = append(r, p)
	}
	r = r.open()
	if err := r.check(); err != nil {
		return err
	}
	f.Ring = r
	return nil
}
