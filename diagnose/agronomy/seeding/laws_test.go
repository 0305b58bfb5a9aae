package seeding

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

func percent(v float64) agronomy.Quantity { return agronomy.Q(v, "%") }

// Pure live seed lies in (0, 1]; bulk is never less than it, and comes back to it.
func TestPLSLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, g := rapid.Float64Range(0.01, 100).Draw(t, "purity"), rapid.Float64Range(0.01, 100).Draw(t, "germination")
		pls, err := PLS(percent(p), percent(g))
		if err != nil || !(pls.Number > 0 && pls.Number <= 1) {
			t.Fatalf("%v %v", pls, err)
		}
		want := agronomy.Q(rapid.Float64Range(0.01, 500).Draw(t, "wanted"), "lb")
		bulk, err := Bulk(want, pls.Quantity())
		if err != nil || bulk.Number < want.Value*(1-1e-12) {
			t.Fatalf("%v of bulk for %v, %v", bulk, want, err)
		}
		if back, err := PLSIn(bulk.Quantity(), pls.Quantity()); err != nil || !near(back.Number, want.Value) {
			t.Fatalf("%v comes back as %v, %v", want, back, err)
		}
		bag := agronomy.Q(rapid.Float64Range(1, 50).Draw(t, "bag"), "lb")
		if bags, err := Bags(bulk.Quantity(), bag); err != nil || bags.Number*bag.Value < bulk.Number*(1-1e-8) || (bags.Number-1)*bag.Value > bulk.Number*(1+1e-8) {
			t.Fatalf("%v bags of %v for %v, %v", bags, bag, bulk, err)
		}
	})
}

// Acres and pounds give what hectares and kilograms give.
func TestUnitOfEntry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate, ground := rapid.Float64Range(0.1, 12).Draw(t, "rate"), rapid.Float64Range(100, 1e6).Draw(t, "area")
		pls := agronomy.Q(rapid.Float64Range(0.05, 1).Draw(t, "PLS"), "fraction")
		us, err := BulkFor(agronomy.Q(rate, "lb PLS/1000 ft2"), agronomy.Q(ground, "ft2"), pls)
		if err != nil {
			t.Fatal(err)
		}
		metric, err := BulkFor(agronomy.Q(agronomy.MustConvert(rate, "lb/1000 ft2", "g/m2"), "g PLS/m2"), agronomy.Q(agronomy.MustConvert(ground, "ft2", "ha"), "ha"), agronomy.Q(pls.Value*100, "%"))
		if err != nil || metric.Unit != "kg" {
			t.Fatalf("%v %v", metric, err)
		}
		if back, err := metric.As("lb"); err != nil || !near(back.Number, us.Number) {
			t.Fatalf("%v and %v, %v", us, metric, err)
		}
	})
}

// Shares sum to 100, and shares by count turned into weights and back are the same.
func TestShares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weights := rapid.SliceOfN(rapid.Float64Range(0.1, 100), 1, 6).Draw(t, "weights")
		seeds := rapid.SliceOfN(rapid.Float64Range(2e5, 6e6), len(weights), len(weights)).Draw(t, "counts")
		counts := agronomy.Qs("seeds/lb", seeds...)
		shares, err := Shares(agronomy.Qs("%", weights...), counts)
		if err != nil {
			t.Fatal(err)
		}
		back, err := WeightsFor(agronomy.Qs("%", shares.Numbers...), counts)
		if err != nil {
			t.Fatal(err)
		}
		sum, total := 0.0, 0.0
		for i, w := range weights {
			sum += shares.Numbers[i]
			total += w
		}
		for i, w := range weights {
			if !near(back.Numbers[i], 100*w/total) {
				t.Fatalf("weight %v comes back as %v", 100*w/total, back.Numbers[i])
			}
		}
		if !near(sum, 100) {
			t.Fatalf("shares sum to %v", sum)
		}
	})
}

// A blend's pure live seed lies between those of its lots, whatever the order and the scale of the weights.
func TestBlendBetweenLots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := make([]Lot, rapid.IntRange(1, 6).Draw(t, "lots"))
		low, high := 1.0, 0.0
		for i := range lots {
			lots[i] = Lot{rapid.Float64Range(0.1, 100).Draw(t, "w"), rapid.Float64Range(40, 100).Draw(t, "p"), rapid.Float64Range(40, 100).Draw(t, "g")}
			own := lots[i].Purity * lots[i].Germination / 1e4
			low, high = math.Min(low, own), math.Max(high, own)
		}
		r, err := BlendPLS(lots)
		if err != nil || r.Number < low-1e-12 || r.Number > high+1e-12 {
			t.Fatalf("%v is not between %v and %v, %v", r.Number, low, high, err)
		}
		for i := range lots {
			lots[i].Weight *= 7
		}
		if scaled, err := BlendPLS(rapid.Permutation(lots).Draw(t, "order")); err != nil || !near(scaled.Number, r.Number) {
			t.Fatalf("%v is not %v, %v", scaled.Number, r.Number, err)
		}
	})
}

// A rate turned into seeds on an area and back is the same.
func TestDensity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := agronomy.Q(rapid.Float64Range(0.1, 10).Draw(t, "rate"), "lb/1000 ft2")
		perLb := agronomy.Q(rapid.Float64Range(1e5, 6e6).Draw(t, "count"), "seeds/lb")
		d, err := Density(rate, perLb)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := RateFor(d.Quantity(), perLb); err != nil || !near(back.Number, rate.Value) {
			t.Fatalf("%v comes back as %v, %v", rate, back, err)
		}
	})
}

// Every row of the tables is a range of positive numbers with a source.
func TestTables(t *testing.T) {
	for _, species := range knownSpecies() {
		for _, s := range append(append(Rates(species, ""), Counts(species)...), Emergence(species)...) {
			if !(s.Low > 0 && s.High >= s.Low) || s.Source == "" || !agronomy.Known(s.Unit) {
				t.Errorf("%s: %+v", species, s)
			}
		}
		w, err := Window(species)
		if err != nil || !(w.Low < w.High) || w.Source == "" {
			t.Errorf("%s: %+v %v", species, w, err)
		}
	}
	if w, err := Window("zoysiagrass"); err != nil || w.Low != 65 {
		t.Errorf("a warm-season grass without its own row has the field rule: %+v %v", w, err)
	}
	if _, err := Window("dandelion"); err == nil || !strings.HasPrefix(err.Error(), "species is ") {
		t.Errorf("%v", err)
	}
}

func TestRefusalsNameTheInput(t *testing.T) {
	for name, f := range map[string]func() (agronomy.Result, error){
		"purity":      func() (agronomy.Result, error) { return PLS(percent(0), percent(80)) },
		"germination": func() (agronomy.Result, error) { return PLS(percent(90), percent(101)) },
		"lots, lot 1": func() (agronomy.Result, error) { return BlendPLS([]Lot{{10, 0.98, 90}}) },
		"counts":      func() (agronomy.Result, error) { return Shares(agronomy.Qs("%", 50, 50), agronomy.Qs("seeds/lb", 1e6)) },
		"seeds_per_lb": func() (agronomy.Result, error) {
			return Density(agronomy.Q(1, "lb/1000 ft2"), agronomy.Q(0, "seeds/lb"))
		},
	} {
		if _, err := f(); err == nil || !strings.HasPrefix(err.Error(), name+" is ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
