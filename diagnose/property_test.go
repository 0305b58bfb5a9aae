package diagnose_test

import (
	"encoding/json"
	"math"
	"os"
	"reflect"
	"testing"

	"swardbook/diagnose"
)

// propertyVector is zones of the invented bundle and what both engines must say of them together.
type propertyVector struct {
	Name  string                   `json:"name"`
	Zones []propertyZone           `json:"zones"`
	Want  []diagnose.PropertyCause `json:"want"`
}

type propertyZone struct {
	Zone string        `json:"zone"`
	Area float64       `json:"area"`
	Case diagnose.Case `json:"case"`
}

const propertyPath = "../testdata/vectors/property.json"

func propertyVectors(t *testing.T) []propertyVector {
	t.Helper()
	raw, err := os.ReadFile(propertyPath)
	if err != nil {
		t.Fatal(err)
	}
	var all []propertyVector
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	return all
}

func together(t *testing.T, v propertyVector) []diagnose.PropertyCause {
	t.Helper()
	var zones []diagnose.ZoneAnswer
	for _, z := range v.Zones {
		zones = append(zones, diagnose.ZoneAnswer{Zone: z.Zone, Area: z.Area, Answer: answer(t, smallEngine(t), z.Case)})
	}
	return diagnose.Property(small(t), zones)
}

func TestPropertyVectors(t *testing.T) {
	all := propertyVectors(t)
	if *update {
		for i := range all {
			all[i].Want = together(t, all[i])
		}
		raw, err := json.MarshalIndent(all, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(propertyPath, append(raw, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, v := range all {
		got := together(t, v)
		for i := range got {
			if i < len(v.Want) && math.Abs(got[i].Likelihood-v.Want[i].Likelihood) < 1e-9 {
				got[i].Likelihood = v.Want[i].Likelihood
			}
		}
		if !reflect.DeepEqual(got, v.Want) {
			t.Errorf("%s:\n%+v\n%+v", v.Name, got, v.Want)
		}
	}
}

func TestACauseThatZonesShareIsSaidOnce(t *testing.T) {
	dry := diagnose.Case{Season: "summer", Observed: []diagnose.Observed{{Finding: "core", Number: &diagnose.Number{Mean: 1, N: 5}}}}
	got := together(t, propertyVector{Zones: []propertyZone{{"front", 3000, dry}, {"back", 1000, dry}, {"not walked", 9000, diagnose.Case{Season: "summer"}}}})
	first := got[0]
	if !first.Once || first.Shared != "water" || len(first.Zones) != 2 {
		t.Errorf("%+v", first)
	}
	alone := likelihood(answer(t, smallEngine(t), dry), first.ID)
	if math.Abs(first.Likelihood-alone) > 1e-12 {
		t.Errorf("a zone nobody walked weighs: %v, want %v", first.Likelihood, alone)
	}
	for _, c := range got[1:] {
		if c.Once && c.Shared == "" {
			t.Errorf("%+v is shared by nothing", c)
		}
	}
	if one := together(t, propertyVector{Zones: []propertyZone{{"front", 0, dry}}}); one[0].Once {
		t.Errorf("one zone shares with nobody: %+v", one[0])
	}
	if none := diagnose.Property(small(t), nil); len(none) != 0 {
		t.Errorf("%+v", none)
	}
}
