package book

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"swardbook/store"
)

func ids() func() string {
	n := 0
	return func() string { n++; return fmt.Sprint("id", n) }
}

func TestASheetOfClientsIsPlanned(t *testing.T) {
	raw := "\ufeffName;Phone;Street;Lawn;area_sqft;lat;lon;Sprinklers;caution\r\n" +
		"Fen household;555 0101;3 Fen Lane;Front;1800;40,5;-74,25;yes;Dog | Slope\r\n" +
		"fen  HOUSEHOLD;;3 fen lane;Back;;;;;\r\n" +
		"\r\n" +
		"Marsh household;;;;;;;;\r\n" +
		"Old household;;1 Old Road;Front;;;;;\r\n" +
		"Old household;;1 Old Road;Side;'-;;;;\r\n"
	s, err := ReadSheet([]byte(raw))
	if err != nil || len(s.Columns) != 9 {
		t.Fatal(s, err)
	}
	held := Held{[]store.Client{{ID: "old", Name: "Old Household"}}, []store.Property{{ID: "road", Client: "old", Address: "1 Old Road"}}, []store.Zone{{ID: "z", Property: "road", Name: "front"}}}
	got := Plan(s, Guess(s.Columns), 1, held, ids())
	if len(got.Clients) != 2 || len(got.Properties) != 1 || len(got.Zones) != 2 || got.Same != 1 {
		t.Errorf("%+v", got)
	}
	if p := got.Properties[0]; p.System != "present" || p.Place == nil || p.Place[1] != 40.5 || strings.Join(p.Cautions, ",") != "Dog,Slope" {
		t.Errorf("%+v", p)
	}
	if got.Zones[0].AreaSqFt != 1800 || got.Zones[1].AreaSqFt != 0 || got.Zones[1].Property != got.Zones[0].Property {
		t.Errorf("%+v", got.Zones)
	}
	if len(got.Bad) != 1 || got.Bad[0].Line != 7 || !strings.Contains(got.Bad[0].Says, "is no area") {
		t.Errorf("%+v", got.Bad)
	}
}

func TestEveryBadRowIsNamed(t *testing.T) {
	raw := "client,address,zone,area,latitude,longitude,system\n" +
		",1 A Road,Front,,,,\n" +
		"A,,Front,,,,\n" +
		"A,1 A Road,Front,12x,,,\n" +
		"A,1 A Road,Front,100,91,0,\n" +
		"A,1 A Road,Front,100,,,perhaps\n" +
		"A,1 A Road,Front,100,,,\n" +
		"A,1 A Road,FRONT,100,,,\n" +
		"A,1 A Road\n" +
		strings.Repeat("x", 400) + ",1 A Road,Z,,,,\n" +
		"B,2 B Road,Front,0.5,,,\n" +
		"\"open,1,2\n3"
	s, err := ReadSheet([]byte(raw))
	if err != nil {
		t.Fatal(err)
	}
	got := Plan(s, Guess(s.Columns), 1, Held{}, ids())
	want := []struct {
		line int
		says string
	}{{2, "name is missing"}, {3, "address is missing"}, {4, "is no area"}, {5, "latitude lies"}, {6, "Sprinklers"}, {8, "stands twice"}, {9, "2 cells"}, {10, "longer than"}, {11, "is no area"}, {12, "can't be read"}}
	if len(got.Bad) != len(want) {
		t.Fatalf("%+v", got.Bad)
	}
	for i, w := range want {
		if got.Bad[i].Line != w.line || !strings.Contains(got.Bad[i].Says, w.says) {
			t.Errorf("%+v, want line %d with %q", got.Bad[i], w.line, w.says)
		}
	}
}

func TestAConsentThatIsNoneIsNamed(t *testing.T) {
	s, err := ReadSheet([]byte("client,photos\nA,maybe\nB,No\nC,\n"))
	if err != nil {
		t.Fatal(err)
	}
	got := Plan(s, Guess(s.Columns), 1, Held{}, ids())
	if len(got.Bad) != 1 || got.Bad[0].Line != 2 || !strings.Contains(got.Bad[0].Says, "not “maybe”") {
		t.Errorf("%+v", got.Bad)
	}
	if len(got.Clients) != 2 || got.Clients[0].Photos != store.PhotosNo || got.Clients[1].Photos != store.NotAsked {
		t.Errorf("%+v", got.Clients)
	}
}

func TestShapesAreTakenInWithTheirAreas(t *testing.T) {
	s, err := ReadSheet([]byte(`{"type":"FeatureCollection","features":[
		{"type":"Feature","properties":{"client":"A","address":"1 A Road","zone":"Front"},"geometry":{"type":"Polygon","coordinates":[[[-83,40],[-82.9996,40.0002],[-82.9999,40.0005],[-83.0004,40.0003],[-83,40]]]}},
		{"type":"Feature","properties":{"client":"A","address":"1 A Road","zone":"Back","area":"900"},"geometry":null},
		{"type":"Feature","properties":{"client":"A","address":"1 A Road"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[0.001,0],[0,0.001],[0,0]]]}},
		{"type":"Feature","properties":{"client":"A","address":"1 A Road","zone":"Path"},"geometry":{"type":"LineString","coordinates":[]}}]}`))
	if err != nil || !s.Shapes {
		t.Fatal(err)
	}
	got := Plan(s, Guess(s.Columns), 1, Held{}, ids())
	// 1943.7365 m² by GeographicLib (JavaScript geographiclib-geodesic 2.2.0).
	if len(got.Zones) != 2 || math.Abs(got.Zones[0].AreaSqFt-1943.7365/0.09290304) > 0.01 || got.Zones[0].Outline == "" || got.Zones[1].AreaSqFt != 900 {
		t.Errorf("%+v", got.Zones)
	}
	if p := got.Properties[0].Place; p == nil || math.Abs(p[1]-40.00025) > 1e-6 {
		t.Errorf("%v", p)
	}
	if len(got.Bad) != 2 || got.Bad[0].Line != 3 || !strings.Contains(got.Bad[1].Says, "LineString") {
		t.Errorf("%+v", got.Bad)
	}
}

func TestFilesThatAreNone(t *testing.T) {
	for raw, says := range map[string]string{
		"": "empty", "  \n ": "empty", "caf\xe9,b\n": "UTF-8", `{"type":"Topology"}`: "begins with", "{": "not GeoJSON", `"` + "\n": "first line",
		"a\n" + strings.Repeat("x\n", MostRows+1): "at most",
	} {
		if _, err := ReadSheet([]byte(raw)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%.30q says %v, want %q", raw, err, says)
		}
	}
}

// Our own sheet can be taken in again, and the golden holds its form.
func TestOurOwnSheetComesBack(t *testing.T) {
	b := shelf{
		clients:    []row{{"id": "c", "name": "=Fen, household", "phone": "555 0101", "email": "", "note": "", "photos": "firm", "archived": ""}, {"id": "d", "name": "Marsh", "phone": "", "email": "", "note": "Ring \"twice\"", "archived": "2026-01-01T00:00:00.000Z"}},
		properties: []row{{"id": "p", "client": "c", "address": "3 Fen Lane", "system": "none", "region": "", "cautions": `["Dog","Slope"]`, "lat": 40.5, "lon": -74.25, "archived": ""}},
		zones:      []row{{"id": "z", "property": "p", "name": "Front", "area_sqft": 812.5, "archived": ""}, {"id": "y", "property": "p", "name": "Back", "area_sqft": 0.0, "archived": ""}},
	}
	var out bytes.Buffer
	if err := b.clientSheet(&out); err != nil {
		t.Fatal(err)
	}
	want := "\ufeffclient,phone,email,note,photos,address,system,region,cautions,latitude,longitude,zone,area_sqft,archived\r\n" +
		"\"'=Fen, household\",555 0101,,,firm,3 Fen Lane,none,,Dog | Slope,40.5,-74.25,Front,812.5,\r\n" +
		"\"'=Fen, household\",555 0101,,,firm,3 Fen Lane,none,,Dog | Slope,40.5,-74.25,Back,,\r\n" +
		"Marsh,,,\"Ring \"\"twice\"\"\",,,,,,,,,,yes\r\n"
	if out.String() != want {
		t.Errorf("%s", out.String())
	}
	s, err := ReadSheet(out.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	got := Plan(s, Guess(s.Columns), 1, Held{}, ids())
	if len(got.Bad) != 0 || len(got.Clients) != 2 || got.Clients[0].Name != "=Fen, household" || got.Clients[0].Photos != store.PhotosFirm || len(got.Zones) != 2 || got.Zones[0].AreaSqFt != 812.5 || got.Properties[0].System != "none" {
		t.Errorf("%+v", got)
	}
}

func FuzzReadSheet(f *testing.F) {
	f.Add([]byte("client,address\nA,B\n"))
	f.Add([]byte(`{"type":"Feature","properties":{"client":"A"},"geometry":null}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		s, err := ReadSheet(raw)
		if err != nil {
			return
		}
		got := Plan(s, Guess(s.Columns), 1, Held{}, ids())
		if len(got.Bad)+got.Same > len(s.Rows) {
			t.Fatalf("%d bad and %d same of %d rows", len(got.Bad), got.Same, len(s.Rows))
		}
		for _, z := range got.Zones {
			if z.Name == "" || z.Property == "" || z.AreaSqFt < 0 {
				t.Fatalf("%+v", z)
			}
		}
	})
}
