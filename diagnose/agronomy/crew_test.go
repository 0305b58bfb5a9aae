package agronomy_test

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

// TestCrew holds the units of both sides to a table written by hand; the phone is held to the same.
func TestCrew(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/units.json")
	if err != nil {
		t.Fatal(err)
	}
	var vectors []struct {
		Given  agronomy.Quantity `json:"given"`
		Metric bool              `json:"metric"`
		Is     agronomy.Quantity `json:"is"`
		Says   string            `json:"says"`
	}
	if err := json.Unmarshal(raw, &vectors); err != nil || len(vectors) < 30 {
		t.Fatal(len(vectors), err)
	}
	for _, v := range vectors {
		got := v.Given.Crew(v.Metric)
		if got.Unit != v.Is.Unit || math.Abs(got.Value-v.Is.Value) > 1e-4*math.Abs(v.Is.Value) {
			t.Errorf("%v for metric %v is %v, want %v", v.Given, v.Metric, got, v.Is)
		}
		if says := agronomy.UnitWords(got.Unit); says != v.Says {
			t.Errorf("%s is said %q, want %q", got.Unit, says, v.Says)
		}
	}
}

// TestCrewAndBack: what is said on the other side is the same amount, for every unit that has a counterpart.
func TestCrewAndBack(t *testing.T) {
	units := []string{"lb/1000 ft2", "lb N/1000 ft2", "fl oz/1000 ft2", "gal/1000 ft2", "kg/1000 ft2", "lb/acre", "lb", "oz", "gal", "ft2", "in", "F", "mi/h", "g/m2", "kg/ha", "L/100 m2", "C", "m2", "mm"}
	rapid.Check(t, func(t *rapid.T) {
		q := agronomy.Q(rapid.Float64Range(-40, 1e5).Draw(t, "value"), rapid.SampledFrom(units).Draw(t, "unit"))
		for _, metric := range []bool{true, false} {
			other := q.Crew(metric)
			back, err := other.In(q.Unit)
			if err != nil || math.Abs(back-q.Value) > 1e-9*math.Max(1, math.Abs(q.Value)) {
				t.Fatalf("%v is %v is %v %s, %v", q, other, back, q.Unit, err)
			}
			if again := other.Crew(metric); again.Unit != other.Unit {
				t.Fatalf("%v is said twice: %v, %v", q, other, again)
			}
		}
	})
}

func TestBesideMetric(t *testing.T) {
	for text, want := range map[string]string{
		"Soil at 55 °F for three days.":                                "Soil at 55 °F (13 °C) for three days.",
		"Between 50 and 65 °F":                                         "Between 50 and 65 °F (10 and 18 °C)",
		"at most 1 lb N/1000 ft2":                                      "at most 1 lb N/1000 ft2 (4.9 g N / m²)",
		"0.9 lb N per 1000 sq ft, not more":                            "0.9 lb N per 1000 sq ft (4.4 g N / m²), not more",
		"Cores 2-3 in deep.":                                           "Cores 2-3 in (51-76 mm) deep.",
		"wind 3 to 10 mph":                                             "wind 3 to 10 mph (4.8 to 16 km/h)",
		"In 3 inner rooms, 5 Fahrenheit, 2 information":                "In 3 inner rooms, 5 Fahrenheit, 2 information",
		"1 in/week of water; 0.5 in at once":                           "1 in/week (25 mm/week) of water; 0.5 in (13 mm) at once",
		"12 weeks, 3 visits, 40 percent":                               "12 weeks, 3 visits, 40 percent",
		"8.1 lb/acre":                                                  "8.1 lb/acre (9.1 kg/ha)",
		"25 sq ft, 10 ft apart":                                        "25 sq ft (2.3 m²), 10 ft (3 m) apart",
		"2 gal/1000 ft2 of mix":                                        "2 gal/1000 ft2 (8.1 L / 100 m²) of mix",
		"0.5 to 1 lb of nitrogen on 1000 sq ft, slow":                  "0.5 to 1 lb of nitrogen on 1000 sq ft (2.4 to 4.9 g N / m²), slow",
		"0.25 to 0.5 lb of nitrogen, water":                            "0.25 to 0.5 lb of nitrogen (1.2 to 2.4 g N / m²), water",
		"1 lb K2O on 1000 sq ft in two parts":                          "1 lb K2O on 1000 sq ft (4.9 g K2O / m²) in two parts",
		"Abone 0.5 a 1 lb de nitrógeno por 1000 pies cuadrados, lento": "Abone 0.5 a 1 lb de nitrógeno por 1000 pies cuadrados (2.4 a 4.9 g N / m²), lento",
		"1 lb de K2O por 1000 pies cuadrados":                          "1 lb de K2O por 1000 pies cuadrados (4.9 g K2O / m²)",
		"Cal, máximo 50 lb por 1000 pies cuadrados cada vez":           "Cal, máximo 50 lb por 1000 pies cuadrados (240 g / m²) cada vez",
		"regado con 1/2 in at once":                                    "regado con 1/2 in (13 mm) at once",
		"a 2 o 3 pulgadas; 10 pies; suelo a 55 °F":                     "a 2 o 3 pulgadas (76 mm); 10 pies (3 m); suelo a 55 °F (13 °C)",
		"Over 1 to 1.5 in with the roots inside":                       "Over 1 to 1.5 in (25 to 38 mm) with the roots inside",
		"Rellene 15 cm o más, y 3 a 5 días":                            "Rellene 15 cm o más, y 3 a 5 días",
		"Nothing to convert":                                           "Nothing to convert",
		"twice in 2026 in spring":                                      "twice in 2026 in spring",
	} {
		if got := agronomy.BesideMetric(text); got != want {
			t.Errorf("%q\n is %q\nwant %q", text, got, want)
		}
	}
}

func TestReadQuantity(t *testing.T) {
	number := func(text string) (float64, bool) { v, err := strconv.ParseFloat(text, 64); return v, err == nil }
	for _, c := range []struct {
		typed, usual string
		want         agronomy.Quantity
		ok           bool
	}{
		{"3", "lb N/1000 ft2", agronomy.Q(3, "lb N/1000 ft2"), true},
		{"4.9 g/m2", "lb N/1000 ft2", agronomy.Q(4.9, "g N/m2"), true},
		{"4.9 g N / m²", "lb N/1000 ft2", agronomy.Q(4.9, "g N/m2"), true},
		{"1 lb on 1000 sq ft", "g/m2", agronomy.Q(1, "lb/1000 ft2"), true},
		{"21 °C", "F", agronomy.Q(21, "C"), true},
		{"-2 C", "F", agronomy.Q(-2, "C"), true},
		{"10 mph", "km/h", agronomy.Q(10, "mi/h"), true},
		{"250 sq m", "ft2", agronomy.Q(250, "m2"), true},
		{"5 ft", "m", agronomy.Q(5, "ft"), true},
		{"5 lb", "g/m2", agronomy.Quantity{}, false},
		{"5 furlongs", "m", agronomy.Quantity{}, false},
		{"four", "m", agronomy.Quantity{}, false},
		{"1 g P2O5/m2", "lb N/1000 ft2", agronomy.Quantity{}, false},
		{"", "m", agronomy.Quantity{}, false},
	} {
		if got, ok := agronomy.ReadQuantity(c.typed, c.usual, number); got != c.want || ok != c.ok {
			t.Errorf("%q is %v %v, want %v", c.typed, got, ok, c.want)
		}
	}
}
