package record_test

import (
	"encoding/json"
	"math"
	"os"
	"reflect"
	"slices"
	"testing"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/records"
	"swardbook/store"
	"swardbook/store/record"
)

type vectors struct {
	Materials []store.Material `json:"materials"`
	Cases     []struct {
		Name        string              `json:"name"`
		Firm        record.Firm         `json:"firm"`
		Application store.Application   `json:"application"`
		Earlier     []store.Application `json:"earlier"`
		Same        []store.Application `json:"same"` // of the same day, on any property
		Missing     []string            `json:"missing"`
		Flags       []store.Flag        `json:"flags"`
	} `json:"cases"`
	Series struct {
		Records []store.Application               `json:"records"`
		Current []string                          `json:"current"`
		Totals  map[string]map[string]record.Part `json:"totals"`
		Running []struct {
			Now   time.Time `json:"now"`
			Names []string  `json:"names"`
		} `json:"running"`
	} `json:"series"`
	Calibrations []struct {
		store.Calibration
		Why    string    `json:"why"`
		Wanted float64   `json:"wanted"`
		Mean   float64   `json:"mean"`
		Off    []float64 `json:"off"`
		Worn   []int     `json:"worn"` // numbers of nozzles, from 1
	} `json:"calibrations"`
}

func readVectors(t *testing.T) (v vectors) {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/record.json")
	if err == nil {
		err = json.Unmarshal(raw, &v)
	}
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func (v vectors) material(id string, version int64) (store.Material, bool) {
	for _, m := range v.Materials {
		if m.ID == id && m.Version == version {
			return m, true
		}
	}
	return store.Material{}, false
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

func TestVectors(t *testing.T) {
	v, b := readVectors(t), record.Shipped()
	for _, c := range v.Cases {
		t.Run(c.Name, func(t *testing.T) {
			for _, z := range c.Application.Zones {
				if got, _ := b.Amount(c.Application.Unit, z.Typed); !near(got, z.Amount) {
					t.Errorf("%q %s is %v, want %v", z.Typed, c.Application.Unit, got, z.Amount)
				}
			}
			m, _ := v.material(c.Application.Material, c.Application.Version)
			if got := b.Missing(c.Application, m, c.Firm, c.Same); !reflect.DeepEqual(got, c.Missing) {
				t.Errorf("missing %v, want %v", got, c.Missing)
			}
			got := b.Judge(c.Application, record.Known{Material: v.material, Earlier: record.Current(c.Earlier), Firm: c.Firm})
			if !reflect.DeepEqual(got, c.Flags) {
				t.Errorf("flags %+v, want %+v", got, c.Flags)
			}
		})
	}
}

func TestSeries(t *testing.T) {
	v, b := readVectors(t), record.Shipped()
	current := record.Current(v.Series.Records)
	var ids []string
	for _, a := range current {
		ids = append(ids, a.ID)
	}
	if !reflect.DeepEqual(ids, v.Series.Current) {
		t.Errorf("records %v stand, want %v", ids, v.Series.Current)
	}
	for year, zones := range v.Series.Totals {
		got := b.Totals(year, current, v.material)
		if len(got) != len(zones) {
			t.Errorf("%s: %d zones", year, len(got))
		}
		for _, z := range got {
			samePart(t, year+" "+z.Zone, z.Sum, zones[z.Zone])
			var lines record.Part
			for _, l := range z.Lines {
				lines.N += l.Part.N
			}
			if !near(lines.N, z.Sum.N) {
				t.Errorf("the lines of %s add up to %v, the sum is %v", z.Zone, lines.N, z.Sum.N)
			}
		}
	}
	for _, r := range v.Series.Running {
		names := []string{}
		for _, off := range record.Running(current, v.material, r.Now) {
			names = append(names, off.Name)
		}
		if !reflect.DeepEqual(names, r.Names) {
			t.Errorf("at %v %v keep people off, want %v", r.Now, names, r.Names)
		}
	}
}

func samePart(t *testing.T, name string, got, want record.Part) {
	t.Helper()
	if !near(got.N, want.N) || !near(got.P2O5, want.P2O5) || !near(got.K2O, want.K2O) || len(got.Active) != len(want.Active) {
		t.Errorf("%s: %+v, want %+v", name, got, want)
	}
	for active, x := range want.Active {
		if !near(got.Active[active], x) {
			t.Errorf("%s: %s %v, want %v", name, active, got.Active[active], x)
		}
	}
}

func TestCalibrations(t *testing.T) {
	for _, c := range readVectors(t).Calibrations {
		want := c.Rate
		c.Rate = 0
		if got, ok := record.Shipped().Rate(c.Calibration); !near(got, want) || ok != (want > 0) {
			t.Errorf("%s: %v %v, want %v", c.Why, got, ok, want)
		}
		if got, _ := record.Shipped().Wanted(c.Calibration); !near(got, c.Wanted) {
			t.Errorf("%s: wanted %v, want %v", c.Why, got, c.Wanted)
		}
		mean, list := record.Shipped().Nozzles(c.Calibration)
		if !near(mean, c.Mean) || len(list) != len(c.Off) {
			t.Errorf("%s: mean %v of %d nozzles, want %v of %d", c.Why, mean, len(list), c.Mean, len(c.Off))
			continue
		}
		worn := []int{}
		for i, n := range list {
			if !near(n.Off, c.Off[i]) {
				t.Errorf("%s: nozzle %d is %v %% off, want %v", c.Why, i+1, n.Off, c.Off[i])
			}
			if n.Worn {
				worn = append(worn, i+1)
			}
		}
		if !slices.Equal(worn, c.Worn) && len(worn)+len(c.Worn) > 0 {
			t.Errorf("%s: worn %v, want %v", c.Why, worn, c.Worn)
		}
	}
}

// TestShorterRecordHoldsTheLaw: the items of the shorter record are those that the law's own paragraph has.
func TestShorterRecordHoldsTheLaw(t *testing.T) {
	b := record.Shipped()
	items, _, err := records.Required(records.Case{Rule: "7 CFR 110.3(b)"})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range b.Rules {
		if r.Spot == nil {
			continue
		}
		have := map[string]bool{}
		for _, id := range r.Spot.Items {
			it, _ := b.Item(id)
			for _, word := range it.Answers {
				have[word] = true
			}
		}
		for _, item := range items {
			if !have[item] {
				t.Errorf("%s asks for %q, and the shorter record of %s has no item for it", r.Spot.Rule, item, r.ID)
			}
		}
		allowed, err := records.SpotAllowed(agronomy.Q(r.Spot.MostSqFt*0.9999, "ft2"))
		atLimit, err2 := records.SpotAllowed(agronomy.Q(r.Spot.MostSqFt, "ft2"))
		if err != nil || err2 != nil || !allowed.Value.Yes || atLimit.Value.Yes {
			t.Errorf("%s: the limit of %v sq ft is not the law's: %v %v", r.ID, r.Spot.MostSqFt, allowed.Value, atLimit.Value)
		}
	}
}

// TestRulesHoldTheLaw: every item that a law asks for is asked for by our rule of that law, or by the federal one it adds to.
func TestRulesHoldTheLaw(t *testing.T) {
	b := record.Shipped()
	answers := func(law string) map[string]bool {
		out := map[string]bool{}
		for _, r := range b.Rules {
			if r.Law != law && r.Law != records.Federal {
				continue
			}
			for _, id := range r.Items {
				it, _ := b.Item(id)
				for _, word := range it.Answers {
					out[word] = true
				}
			}
		}
		return out
	}
	for _, law := range records.Rules() {
		items, _, err := records.Required(records.Case{Rule: law, Supervised: true})
		if err != nil {
			t.Fatal(err)
		}
		have := answers(law)
		for _, item := range items {
			if !have[item] {
				t.Errorf("%s asks for %q, and no item of ours answers it", law, item)
			}
		}
		terms, err := records.TermsOf(law, time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range b.Rules {
			if r.Law == law && (terms.Keep.Year() != 2026+r.Keep || !terms.Due.Equal(time.Date(2026, 5, 1+r.Due, 0, 0, 0, 0, time.UTC))) {
				t.Errorf("%s: kept %d years and due in %d days, the law says %v and %v", law, r.Keep, r.Due, terms.Keep, terms.Due)
			}
		}
	}
}

// TestExamples holds the examples to the book: kinds, units and tools are known, nothing is without a source.
func TestExamples(t *testing.T) {
	list, err := record.Examples()
	if err != nil || len(list) < 10 {
		t.Fatalf("%d examples, %v", len(list), err)
	}
	b := record.Shipped()
	seen := map[string]bool{}
	for _, m := range list {
		kind, known := b.Kind(m.Kind)
		if _, unit := b.Unit(m.Unit); !known || !unit || m.Source == "" || m.RegNo != "" || seen[m.ID] || m.Stock != 0 || m.UnitCost != 0 {
			t.Errorf("%s: kind, unit or source is not known, or it is somebody's product", m.ID)
		}
		if kind.Pesticide != (len(m.Actives) > 0) {
			t.Errorf("%s: a pesticide names its active ingredient, nothing else does", m.ID)
		}
		for _, tool := range m.Tools {
			if _, ok := b.Tool(tool); !ok {
				t.Errorf("%s needs %q, which is no tool", m.ID, tool)
			}
		}
		seen[m.ID] = true
	}
}
