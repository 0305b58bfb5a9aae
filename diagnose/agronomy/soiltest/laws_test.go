package soiltest

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

func ph(v float64) agronomy.Quantity { return agronomy.Q(v, "pH") }

// More acidity never takes less lime, a higher goal never less, and a soil at its goal takes none.
func TestLimeTableRises(t *testing.T) {
	if len(limeTable) != 38 {
		t.Fatalf("%d rows", len(limeTable))
	}
	for i, row := range limeTable {
		if row.goal[7] < row.goal[6.5] || row.goal[6.5] < row.goal[6] {
			t.Errorf("row %v: a higher goal takes less", row.acidity)
		}
		if i > 0 && (row.acidity <= limeTable[i-1].acidity || row.goal[7] < limeTable[i-1].goal[7] || row.goal[6.5] < limeTable[i-1].goal[6.5] || row.goal[6] < limeTable[i-1].goal[6]) {
			t.Errorf("row %v falls", row.acidity)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0, 25.7).Draw(t, "acidity")
		b := rapid.Float64Range(0, a).Draw(t, "less")
		goal := ph(rapid.SampledFrom([]float64{6, 6.5, 7}).Draw(t, "goal"))
		more, err := FromTable(agronomy.Q(a, "meq/100 g"), goal, agronomy.Quantity{})
		if err != nil {
			t.Fatal(err)
		}
		less, err := FromTable(agronomy.Q(b, "cmol/kg"), goal, agronomy.Quantity{})
		if err != nil || less.Number > more.Number {
			t.Fatalf("%v for %v, %v for %v, %v", more, a, less, b, err)
		}
		if none, err := FromTable(agronomy.Q(a, "meq/100 g"), goal, goal); err != nil || none.Number != 0 {
			t.Fatalf("%v at the goal, %v", none, err)
		}
	})
}

// Applications under a cap are enough, none is above the cap, and one fewer would be.
func TestApplicationsKeepTheCap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		need, cce := agronomy.Q(rapid.Float64Range(1, 600).Draw(t, "need"), "lb CCE/1000 ft2"), agronomy.Q(rapid.Float64Range(30, 130).Draw(t, "CCE"), "%")
		most := agronomy.Q(rapid.Float64Range(10, 100).Draw(t, "cap"), "lb/1000 ft2")
		m, err := Material(need, cce, agronomy.Quantity{})
		if err != nil || !near(m.Number*cce.Value/100, need.Value) {
			t.Fatalf("%v %v", m, err)
		}
		n, err := Applications(m.Quantity(), most)
		if err != nil {
			t.Fatal(err)
		}
		each, err := Each(m.Quantity(), n.Quantity())
		if err != nil || each.Number > most.Value*(1+1e-8) || n.Number > 1 && m.Number/(n.Number-1) < most.Value*(1-1e-8) {
			t.Fatalf("%v applications of %v under %v, %v", n, each, most, err)
		}
	})
}

func TestBufferFormula(t *testing.T) {
	b, err := FromBuffer(ph(6.3), ph(5), ph(6), agronomy.Q(0, "ton/acre"))
	if err != nil || !near(b.Acidity.Number, 1.2) || !near(b.Factor.Number, 0.625) || !near(b.Lime.Number, 0.75) {
		t.Errorf("%v %v", b, err)
	}
	if b, err := FromBuffer(ph(6.3), ph(6.2), ph(6), agronomy.Quantity{}); err != nil || b.Lime.Number != 0 {
		t.Errorf("above the target: %v %v", b.Lime, err)
	}
	if b, err := FromBuffer(ph(6.3), ph(5), ph(6), agronomy.Q(2, "ton/acre")); err != nil || b.Lime.Number != 0 {
		t.Errorf("a credit above the need: %v %v", b.Lime, err)
	}
	for name, try := range map[string][3]float64{"buffer_ph": {6.61, 5, 6}, "target_ph": {6.3, 5, 6.6}, "soil_ph": {6.3, 2, 6}} {
		if _, err := FromBuffer(ph(try[0]), ph(try[1]), ph(try[2]), agronomy.Quantity{}); err == nil || !strings.HasPrefix(err.Error(), name+" is ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Every value has a class, classes rise with the value, and the ends stand where the table has them.
func TestClassesRise(t *testing.T) {
	sets := []struct{ set, nutrient, extractant string }{{"delaware", "p", "mehlich3"}, {"delaware", "k", "mehlich3"}, {"finer", "p", "mehlich3"}, {"finer", "p", "olsen"}, {"finer", "p", "bray_p1"}, {"finer", "k", "mehlich3"}}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(sets).Draw(t, "set")
		low := rapid.Float64Range(0, 400).Draw(t, "low")
		high := rapid.Float64Range(low, 400).Draw(t, "high")
		r, err := Class(s.set, s.nutrient, s.extractant, "x", agronomy.Qs("ppm", low, high))
		if err != nil {
			t.Fatal(err)
		}
		rank := map[string]int{}
		for i, line := range Ranges(s.set, s.nutrient, s.extractant) {
			rank[line.Class] = i + 1
		}
		if rank[r.Texts[0]] == 0 || rank[r.Texts[0]] > rank[r.Texts[1]] {
			t.Fatalf("%v is %v, %v is %v", low, r.Texts[0], high, r.Texts[1])
		}
	})
	if _, err := Class("delaware", "p", "olsen", "olsen_p", agronomy.Qs("ppm", 20)); err == nil {
		t.Error("a Mehlich-3 set was used for an Olsen value")
	}
}

// SAR is the same for mg/L and meq/L, and mmol/L of calcium counts twice.
func TestSodiumUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		na, ca, mg := rapid.Float64Range(0, 80).Draw(t, "Na"), rapid.Float64Range(0.1, 40).Draw(t, "Ca"), rapid.Float64Range(0, 40).Draw(t, "Mg")
		want, err := SAR(agronomy.Q(na, "meq/L"), agronomy.Q(ca, "meq/L"), agronomy.Q(mg, "meq/L"))
		if err != nil {
			t.Fatal(err)
		}
		for unit, factors := range map[string][3]float64{"mg/L": {weightNa, weightCa, weightMg}, "mmol/L": {1, 0.5, 0.5}, "ppm": {weightNa, weightCa, weightMg}} {
			var q [3]agronomy.Quantity
			for i, ion := range []string{"na", "ca", "mg"} {
				r, err := Milliequivalents(ion, agronomy.Q([3]float64{na, ca, mg}[i]*factors[i], unit))
				if err != nil {
					t.Fatal(err)
				}
				q[i] = r.Quantity()
			}
			if got, err := SAR(q[0], q[1], q[2]); err != nil || !near(got.Number, want.Number) {
				t.Fatalf("%s: %v is not %v, %v", unit, got, want, err)
			}
		}
		if _, esp, _, err := Exchangeable(want.Quantity()); err != nil || esp.Number < 0 || esp.Number >= 100 {
			t.Fatalf("ESP %v, %v", esp, err)
		}
	})
	if _, err := SAR(agronomy.Q(5, "meq/L"), agronomy.Q(0, "meq/L"), agronomy.Q(0, "meq/L")); err == nil {
		t.Error("sodium was divided by nothing")
	}
}

// What a deficit weighs doesn't depend on the units of depth and density.
func TestDeficitUnits(t *testing.T) {
	us, err := OnGround(agronomy.Q(30, "ppm"), agronomy.Q(4, "in"), agronomy.Q(1.3, "g/cm3"))
	if err != nil {
		t.Fatal(err)
	}
	metric, err := OnGround(agronomy.Q(30, "ppm"), agronomy.Q(10.16, "cm"), agronomy.Q(1300, "kg/m3"))
	if err != nil || metric.Unit != "kg/ha" {
		t.Fatalf("%v %v", metric, err)
	}
	if back, err := metric.As("lb/1000 ft2"); err != nil || !near(back.Number, us.Number) {
		t.Errorf("%v and %v, %v", us, metric, err)
	}
	if none, err := Required("k", agronomy.Q(10, "ppm"), MinimumLevel("k"), agronomy.Q(500, "ppm")); err != nil || none.Number != 0 {
		t.Errorf("a rich soil needs %v, %v", none, err)
	}
}

func TestGypsumLaws(t *testing.T) {
	run := func(now, target float64) (agronomy.Result, error) {
		return Gypsum(agronomy.Q(1.1, "ratio"), agronomy.Q(6, "in"), agronomy.Q(1.3, "g/cm3"), agronomy.Q(20, "meq/100 g"), agronomy.Q(now, "%"), agronomy.Q(target, "%"), agronomy.Q(90, "%"))
	}
	if g, err := run(5, 10); err != nil || g.Number != 0 {
		t.Errorf("below the target: %v %v", g, err)
	}
	ten, err := run(15, 5)
	if err != nil {
		t.Fatal(err)
	}
	if twenty, err := run(25, 5); err != nil || !near(twenty.Number, 2*ten.Number) {
		t.Errorf("%v is not twice %v, %v", twenty, ten, err)
	}
}
