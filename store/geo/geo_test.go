package geo

import (
	"bytes"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/store"
)

// Made with GeographicLib (JavaScript geographiclib-geodesic 2.2.0; Karney 2013).
func TestAreaOfAnOutline(t *testing.T) {
	r, err := ReadRing("40, -83\n40.0002; -82.9996\n\n 40.0005 -82.9999\n40.0003,-83.0004\n40,-83")
	if err != nil || len(r) != 4 {
		t.Fatal(r, err)
	}
	got, err := r.SqFt()
	if want := 1943.7365 / (0.3048 * 0.3048); err != nil || math.Abs(got-want) > 0.01 {
		t.Errorf("%v sq ft, want %v (%v)", got, want, err)
	}
	if back, err := ParseRing(r.String()); err != nil || !reflect.DeepEqual(back, r) {
		t.Errorf("%v, %v", back, err)
	}
}

func TestOutlinesAreRefusedWithASentence(t *testing.T) {
	for text, says := range map[string]string{
		"40, -83\n40.1, -83":                             "at least three corners",
		"40, -83\nhere\n1,1":                             "line 2",
		"400, -83\n40, 3\n1,1":                           "between -90 and 90",
		"40 -83 2\n40, 3\n1,1":                           "a latitude and a longitude",
		"40,-75\n40.001,-74.999\n40.001,-75\n40,-74.999": "cross",
		`{"type":"LineString","coordinates":[]}`:         "begins with",
		`{"type":"Point","coordinates":[1,2]}`:           "one polygon",
		`{`:                                              "not GeoJSON",
		`{"type":"Polygon","coordinates":[[[0,0],[1,0],[0,1],[0,0]],[[0,0],[1,0],[0,1],[0,0]]]}`: "one polygon",
		strings.Repeat("1,1\n2,2\n", 300): "at most",
	} {
		if _, err := ReadRing(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%.40q says %v, want %q", text, err, says)
		}
	}
}

func TestFeatures(t *testing.T) {
	list, err := ReadJSON(strings.NewReader("\ufeff" + `{"type":"FeatureCollection","features":[
		{"type":"Feature","properties":{"name":"Front","n":3.5,"no":null,"yes":true},"geometry":{"type":"Polygon","coordinates":[[[-83,40],[-82.9996,40.0002],[-82.9999,40.0005],[-83,40]]]}},
		{"type":"Feature","properties":null,"geometry":{"type":"Point","coordinates":[-83,40,250]}},
		{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[0,0],[1,1]]}},
		{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[0,0,1],[500,0],[1,1]]]}},
		{"type":"Feature","properties":{},"geometry":{"type":"MultiPolygon","coordinates":[[[[0,0],[0.001,0],[0,0.001],[0,0]]]]}},
		{"type":"Feature","properties":{"name":"x"},"geometry":null}]}`))
	if err != nil || len(list) != 6 {
		t.Fatal(list, err)
	}
	if f := list[0]; len(f.Ring) != 3 || !reflect.DeepEqual(f.Properties, map[string]string{"name": "Front", "n": "3.5", "no": "", "yes": "true"}) {
		t.Errorf("%+v", f)
	}
	if p := list[1].Point; p == nil || *p != (store.LonLat{-83, 40}) {
		t.Errorf("%+v", p)
	}
	if !strings.Contains(list[2].Wrong, "LineString") || !strings.Contains(list[3].Wrong, "corner 2") || len(list[4].Ring) != 3 || list[5].Wrong != "" {
		t.Errorf("%+v", list)
	}
}

func TestWrittenFeaturesGolden(t *testing.T) {
	out := []Out{
		{Properties: [][2]any{{"name", `Front "lawn"`}, {"area_sqft", 812.5}}, Ring: Ring{{-83, 40}, {-83.0004, 40.0003}, {-82.9999, 40.0005}, {-82.9996, 40.0002}}},
		{Properties: [][2]any{{"address", "14 Alder Rise"}}, Point: &store.LonLat{-83, 40}},
		{},
	}
	var b bytes.Buffer
	if err := WriteJSON(&b, func(yield func(Out) bool) {
		for _, f := range out {
			if !yield(f) {
				return
			}
		}
	}); err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile("testdata/features.geojson")
	if err != nil || !bytes.Equal(b.Bytes(), want) {
		t.Errorf("%s\n%v", b.String(), err)
	}
	if list, err := ReadJSON(&b); err != nil || len(list) != 3 || list[0].Properties["name"] != `Front "lawn"` || len(list[0].Ring) != 4 {
		t.Errorf("%+v %v", list, err)
	}
}

// What is written is read as it was, to a millimetre.
func TestRingsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.Float64Range(-70, 70).Draw(t, "lat"), rapid.Float64Range(-179, 179).Draw(t, "lon")
		n := rapid.IntRange(3, 9).Draw(t, "corners")
		r := make(Ring, n)
		for i := range r {
			turn := 2 * math.Pi * float64(i) / float64(n)
			r[i] = store.LonLat{lon + 3e-4*math.Cos(turn), lat + 3e-4*math.Sin(turn)}
		}
		back, err := ReadRing(r.Lines())
		if err != nil || len(back) != n {
			t.Fatal(err)
		}
		again, err := ParseRing(r.String())
		if err != nil || !reflect.DeepEqual(again, back) {
			t.Fatal(again, back, err)
		}
		a, err := r.SqFt()
		b, err2 := back.SqFt()
		if err != nil || err2 != nil || math.Abs(a-b) > 1e-3*a {
			t.Fatal(a, b, err, err2)
		}
		p := NewPlane(store.LonLat{lon, lat})
		twice := 0.0
		for i := range r {
			x, y := p.Metres(r[i])
			u, v := p.Metres(r[(i+1)%n])
			twice += x*v - u*y
		}
		if flat := twice / 2 * squareFeet; math.Abs(flat-a) > 1e-4*a {
			t.Fatalf("on the plane %v, on the ellipsoid %v", flat, a)
		}
	})
}

func FuzzReadJSON(f *testing.F) {
	f.Add([]byte(`{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[0,0],[0.001,0],[0,0.001],[0,0]]]}}`))
	f.Add([]byte(`{"type":"FeatureCollection","features":[{"geometry":{"type":"Point","coordinates":[]}}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		list, err := ReadJSON(bytes.NewReader(raw))
		if err != nil {
			return
		}
		for _, x := range list {
			if x.Ring != nil {
				if _, err := x.Ring.SqFt(); err != nil {
					t.Fatal(err)
				}
			}
		}
	})
}

func FuzzReadRing(f *testing.F) {
	for _, text := range []string{"40.1, -74.2\n40.2 -74.2\n40.2;-74.1", "nan, inf\n1 1\n2 2", `{"type":"Polygon","coordinates":[[[0,0],[0.001,0],[0,0.001],[0,0]]]}`, "90 180\n-90 -180\n0 0"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ReadRing(text)
		if err != nil || r == nil {
			return
		}
		if a, err := r.SqFt(); err != nil || math.IsNaN(a) || math.IsInf(a, 0) || a < 0 {
			t.Fatalf("%q: %v sq ft, %v", text, a, err)
		}
	})
}
