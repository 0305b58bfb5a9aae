package fertilizer

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/diagnose/agronomy"
)

func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

func aGrade(t *rapid.T, label string) Grade {
	n := rapid.Float64Range(0.5, 46).Draw(t, label+" N")
	p := rapid.Float64Range(0, 25).Draw(t, label+" P2O5")
	return Grade{n, p, rapid.Float64Range(0, 25).Draw(t, label+" K2O")}
}

// The unit of entry doesn't matter: pounds and acres give what kilograms and hectares give.
func TestUnitOfEntry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		target := rapid.Float64Range(0.05, 2).Draw(t, "target")
		n := agronomy.Q(rapid.Float64Range(1, 46).Draw(t, "N"), "%")
		ground, bag := rapid.Float64Range(50, 1e6).Draw(t, "area"), rapid.Float64Range(5, 60).Draw(t, "bag")
		us, err := Amount(agronomy.Q(target, "lb/1000 ft2"), n, agronomy.Q(ground, "ft2"), agronomy.Q(bag, "lb"))
		if err != nil {
			t.Fatal(err)
		}
		metric, err := Amount(agronomy.Q(agronomy.MustConvert(target, "lb/1000 ft2", "kg/ha"), "kg/ha"), n, agronomy.Q(agronomy.MustConvert(ground, "ft2", "m2"), "m2"), agronomy.Q(bag*0.45359237, "kg"))
		if err != nil {
			t.Fatal(err)
		}
		back, err := metric.Total.As("lb")
		if err != nil || !near(back.Number, us.Total.Number) || us.Bags.Number != metric.Bags.Number || metric.Total.Unit != "kg" || metric.Rate.Unit != "kg/ha" {
			t.Fatalf("%v and %v, %v", us.Total, metric.Total, err)
		}
		if us.Bags.Number*bag < us.Total.Number*(1-1e-8) {
			t.Fatalf("%v bags of %v don't hold %v", us.Bags.Number, bag, us.Total.Number)
		}
	})
}

// The total of an area is the sum of its parts, and what is put down is what was wanted.
func TestPartsAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := agronomy.Q(rapid.Float64Range(0.1, 20).Draw(t, "rate"), "lb/1000 ft2")
		zones := rapid.SliceOfN(rapid.Float64Range(1, 1e5), 1, 12).Draw(t, "zones")
		sumOf, ground := 0.0, 0.0
		for _, z := range zones {
			one, err := Total(rate, agronomy.Q(z, "ft2"))
			if err != nil {
				t.Fatal(err)
			}
			sumOf, ground = sumOf+one.Number, ground+z
		}
		whole, err := Total(rate, agronomy.Q(ground, "ft2"))
		if err != nil || !near(whole.Number, sumOf) {
			t.Fatalf("%v is not the sum %v, %v", whole.Number, sumOf, err)
		}
		n := agronomy.Q(rapid.Float64Range(1, 46).Draw(t, "N"), "%")
		product, err := ProductRate(rate, n)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := NitrogenRate(product.Quantity(), n); err != nil || !near(back.Number, rate.Value) {
			t.Fatalf("%v comes back as %v, %v", rate, back.Number, err)
		}
	})
}

// Oxide to element and back is where it began, and the element is always less.
func TestOxides(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 100).Draw(t, "percent")
		from := rapid.SampledFrom([]string{"p2o5", "k2o"}).Draw(t, "from")
		to, element, err := OxideElement(from, agronomy.Q(v, "%"))
		if err != nil || element.Number > v {
			t.Fatalf("%v %v", element, err)
		}
		if again, back, err := OxideElement(to, element.Quantity()); err != nil || again != from || !near(back.Number, v) {
			t.Fatalf("%v comes back as %v, %v", v, back.Number, err)
		}
	})
}

// A blend loses no nutrient and makes none; two products that are solved for bring what was wanted.
func TestBlendsConserve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := aGrade(t, "a"), aGrade(t, "b")
		wa, wb := rapid.Float64Range(0, 500).Draw(t, "weight a"), rapid.Float64Range(0.1, 500).Draw(t, "weight b")
		out, err := Blend(a, b, agronomy.Q(wa, "lb"), agronomy.Q(wb, "lb"))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"n", "p2o5", "k2o"} {
			held := (wa*a.Percent(name) + wb*b.Percent(name)) / 100
			if !near(out[name].Number, held) || !near(out["blend_"+name].Number/100*out["blend_total"].Number, held) {
				t.Fatalf("%s: %v is not %v", name, out[name].Number, held)
			}
		}
		want, k := rapid.Float64Range(0.1, 2).Draw(t, "N wanted"), rapid.Float64Range(0.1, 2).Draw(t, "K2O wanted")
		m, err := TwoProducts(a, b, agronomy.Q(want, "lb/1000 ft2"), "k2o", agronomy.Q(k, "lb/1000 ft2"))
		if err != nil {
			if !strings.HasSuffix(err.Error(), ".") {
				t.Fatal(err)
			}
			return
		}
		if math.Abs(m.Brings[0].Number-want) > 1e-6 || math.Abs(m.Brings[2].Number-k) > 1e-6 || m.RateA.Number < 0 || m.RateB.Number < 0 {
			t.Fatalf("%v of a and %v of b bring %v and %v", m.RateA.Number, m.RateB.Number, m.Brings[0].Number, m.Brings[2].Number)
		}
	})
}

// What the limits let through keeps every limit; a season's remaining and total add up to the cap.
func TestLimitsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, slow := rapid.Float64Range(0.01, 2).Draw(t, "N"), rapid.Float64Range(0, 1).Draw(t, "slow")
		for _, c := range Caps() {
			ok, err := Allowed(agronomy.Q(n, "lb/1000 ft2"), agronomy.Q(slow, "fraction"), c)
			if err != nil {
				t.Fatal(err)
			}
			if ok.Yes && (n > c.TotalMax+1e-6 || n*(1-slow) > c.SolubleMax+1e-6 || slow < c.SlowMin-1e-6) {
				t.Fatalf("%s lets %v with %v slow through", c.Place, n, slow)
			}
		}
		list := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 8).Draw(t, "applications")
		cap := agronomy.Q(rapid.Float64Range(0, 6).Draw(t, "cap"), "lb/1000 ft2")
		total, err := SeasonTotal(agronomy.Qs("lb/1000 ft2", list...), agronomy.Quantities{})
		if err != nil {
			t.Fatal(err)
		}
		left, err := Remaining(total.Quantity(), cap)
		if err != nil || !near(left.Number+total.Number, cap.Value) {
			t.Fatalf("%v left of %v after %v, %v", left.Number, cap.Value, total.Number, err)
		}
	})
}

func TestWinterDates(t *testing.T) {
	c, err := CapOf("maryland")
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range []struct {
		day         string
		closed, pro bool
	}{{"2026-11-14", false, false}, {"2026-11-15", true, false}, {"2026-11-30", true, false}, {"2026-12-01", true, true}, {"2027-02-28", true, true}, {"2027-03-01", false, false}, {"2026-07-04", false, false}} {
		day, err := time.Parse("2006-01-02", d.day)
		if err != nil {
			t.Fatal(err)
		}
		if c.Closed(day, false) != d.closed || c.Closed(day, true) != d.pro {
			t.Errorf("%s: closed %v, for professionals %v", d.day, c.Closed(day, false), c.Closed(day, true))
		}
	}
}

func TestGradesRefused(t *testing.T) {
	for _, bad := range []string{"", "10-10", "a-b-c", "-1-0-0x", "90-0-0", "50-30-20", "0-0-0", "1e309-0-0", "1-2-3-4-5-6-7"} {
		if g, err := ParseGrade(bad); err == nil {
			t.Errorf("%q is read as %v", bad, g)
		} else if !strings.Contains(err.Error(), "grade") {
			t.Errorf("%q: %v doesn't name the input", bad, err)
		}
	}
	if g, err := ParseGrade("21-0-0-24"); err != nil || g != (Grade{21, 0, 0}) {
		t.Errorf("sulphur behind the three: %v %v", g, err)
	}
}

func TestRefusalsNameTheInput(t *testing.T) {
	lb, percent := func(v float64) agronomy.Quantity { return agronomy.Q(v, "lb/1000 ft2") }, func(v float64) agronomy.Quantity { return agronomy.Q(v, "%") }
	for name, f := range map[string]func() (agronomy.Result, error){
		"target_n":                   func() (agronomy.Result, error) { return ProductRate(lb(0), percent(20)) },
		"grade_n":                    func() (agronomy.Result, error) { return ProductRate(lb(1), percent(83)) },
		"area":                       func() (agronomy.Result, error) { return Total(lb(1), agronomy.Q(-5, "ft2")) },
		"slow_release_fraction_of_n": func() (agronomy.Result, error) { return SolubleN(lb(1), agronomy.Q(30, "fraction")) },
		"slow_n":                     func() (agronomy.Result, error) { return SlowFraction(percent(25), percent(24)) },
		"passes":                     func() (agronomy.Result, error) { return NPerPass(lb(1), agronomy.Q(1.5, "count")) },
		"test_area":                  func() (agronomy.Result, error) { return SpreaderRate(agronomy.Q(1, "lb"), agronomy.Q(0, "ft2")) },
		"density":                    func() (agronomy.Result, error) { return NPerVolume(agronomy.Q(0, "lb/gal"), percent(20)) },
	} {
		if _, err := f(); err == nil || !strings.HasPrefix(err.Error(), name+" is ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
