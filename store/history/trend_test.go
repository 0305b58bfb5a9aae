package history

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

func rulerFor(t *testing.T, check string) ruler {
	t.Helper()
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	c, ok := know.Check(check)
	if !ok {
		t.Fatalf("no check %q", check)
	}
	return rulerOf(know, c)
}

// Worked by hand: a share of 22 % with an error of 4.1425 points is worth 2500 / 4.1425² = 145.68 points, and Wilson's bounds of it
// are 0.2272 ± 0.0670 (Newcombe 1998, formula 3); a thickness of 0.5 with an error of 0.1 is 0.304 to 0.696.
func TestEstimates(t *testing.T) {
	share := ruler{abs: 4.1425, share: true}
	plain := ruler{abs: 0.1, floor: 0}
	for _, c := range []struct {
		name      string
		ruler     ruler
		numbers   []float64
		low, high float64
	}{
		{"a share", share, []float64{22}, 16.0, 29.4},
		{"no share at all", share, []float64{0}, 0, 2.57},
		{"all of it", share, []float64{100}, 97.43, 100},
		{"a measure", plain, []float64{0.5}, 0.304, 0.696},
		{"not under nothing", plain, []float64{0.1}, 0, 0.296},
		{"several that differ", plain, []float64{0.4, 0.6}, 0.5 - 1.96*math.Hypot(0.1, 0.1), 0.5 + 1.96*math.Hypot(0.1, 0.1)},
		{"nothing is known of its error", ruler{floor: math.Inf(-1)}, []float64{3}, 3, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := c.ruler.estimate("2026-05-04", c.numbers)
			if math.Abs(e.Low-c.low) > 0.06 || math.Abs(e.High-c.high) > 0.06 {
				t.Errorf("%v to %v, want %v to %v", e.Low, e.High, c.low, c.high)
			}
		})
	}
}

// Newcombe 1998, example (a) of differences: 56/70 less 48/80 is 0.2, from 0.0524 to 0.3339.
func TestAChangeHasNewcombesBounds(t *testing.T) {
	at := func(hits, points float64) Estimate {
		p := hits / points
		r := ruler{abs: 50 / math.Sqrt(points), share: true}
		return r.estimate("2026-05-04", []float64{100 * p})
	}
	c, ok := changeOf([]Estimate{at(48, 80), at(56, 70)})
	if !ok || math.Abs(c.Low-5.24) > 0.01 || math.Abs(c.High-33.39) > 0.01 || !c.Sure() {
		t.Errorf("%+v", c)
	}
	if c, _ := changeOf([]Estimate{at(48, 80), at(50, 80)}); c.Sure() {
		t.Errorf("within its bounds and called a change: %+v", c)
	}
	if _, ok := changeOf([]Estimate{at(48, 80)}); ok {
		t.Error("one number is no change")
	}
	if _, ok := changeOf([]Estimate{{Day: "2026-05-04", Mean: 1}, {Day: "2026-06-04", Mean: 2}}); ok {
		t.Error("a change of numbers without an error")
	}
}

// By hand: 10, 7 and 4 a month apart with an error of 1 fall by 3 in 30 days; Sxx is 2, so the slope's error is 1/√2. With the
// middle one at 10 the line is off by (1, −2, 1), χ² is 6 over one degree of freedom, and the error grows by √6.
func TestSlopes(t *testing.T) {
	days := []string{"2026-05-01", "2026-05-31", "2026-06-30"}
	line := func(values ...float64) (out []Estimate) {
		for i, v := range values {
			out = append(out, Estimate{Day: days[i], Mean: v, Err: 1, Low: v - sure, High: v + sure})
		}
		return out
	}
	for _, c := range []struct{ values, want []float64 }{
		{[]float64{10, 7, 4}, []float64{-3, math.Sqrt(0.5)}},
		{[]float64{10, 10, 4}, []float64{-3, math.Sqrt(3)}},
		{[]float64{5, 5, 5}, []float64{0, math.Sqrt(0.5)}},
	} {
		change, _ := changeOf(line(c.values...))
		if math.Abs(change.Slope-c.want[0]) > 1e-9 || math.Abs(change.SlopeErr-c.want[1]) > 1e-9 {
			t.Errorf("%v: %v ± %v, want %v", c.values, change.Slope, change.SlopeErr, c.want)
		}
	}
	if by, off := slope([]Estimate{{Day: "2026-05-01", Err: 1}, {Day: "2026-05-01", Err: 1}, {Day: "2026-05-01", Err: 1}}); by != 0 || off != 0 {
		t.Errorf("visits of one day have a slope: %v ± %v", by, off)
	}
}

// Bounds hold their estimate and stay within what is possible, whatever was read.
func TestBoundsHoldTheEstimate(t *testing.T) {
	cover := rulerFor(t, "ground_cover_pct")
	if !cover.share || cover.abs == 0 || len(cover.limits()) != 2 {
		t.Fatalf("cover is read as %+v", cover)
	}
	rapid.Check(t, func(t *rapid.T) {
		numbers := rapid.SliceOfN(rapid.Float64Range(0, 100), 1, 9).Draw(t, "numbers")
		e := cover.estimate("2026-05-04", numbers)
		if !(0 <= e.Low && e.Low <= e.Mean+1e-4 && e.Mean <= e.High+1e-4 && e.High <= 100) {
			t.Fatalf("%v gives %+v", numbers, e)
		}
	})
}

// What is drawn says 95 %: of many true values read with their error, about as many lie in the bounds.
func TestBoundsHoldTheTruthAsOftenAsTheySay(t *testing.T) {
	const tries = 4000
	plain := ruler{abs: 0.2, floor: math.Inf(-1)}
	rng := rand.New(rand.NewPCG(1, 2))
	held := 0
	for range tries {
		truth := rng.Float64() * 5
		if e := plain.estimate("", []float64{truth + 0.2*rng.NormFloat64()}); e.Low <= truth && truth <= e.High {
			held++
		}
	}
	if share := float64(held) / tries; share < 0.935 || share > 0.965 {
		t.Errorf("%.3f of them", share)
	}
}

// The picture stays within its edges, names what it draws, and has no style.
func TestThePictureOfAProperty(t *testing.T) {
	at := func(v float64) *float64 { return &v }
	e := func(day string, v float64) *Estimate {
		return &Estimate{Day: day, Mean: v, Err: 5, Low: v - 9.8, High: v + 9.8}
	}
	visits := []store.Visit{{Day: "2024-05-04"}, {Day: "2024-05-20"}, {Day: "2026-08-27"}}
	past := Past{Visits: visits,
		Applied: []ApplicationRecord{{Application: store.Application{Day: "2025-01-01", Name: "Urea"}, Zones: []AppliedRecord{{AppliedZone: store.AppliedZone{Zone: "z"}}}}},
		Zones: []ZonePast{{Zone: store.Zone{ID: "z", Name: `<i>Bank`}, Visits: make([]ZoneVisit, 3),
			Causes: []CauseLine{{Label: "Grubs", Values: []*float64{at(0.9), nil, at(0.1)}}, {Label: "Drought", Values: []*float64{at(0.1), at(0.4), at(0.1)}}},
			Lines:  []CheckLine{{Check: "cover", Top: 100, Label: "Cover", Unit: "%", Values: []*float64{at(22), nil, at(60)}, Estimates: []*Estimate{e("2024-05-04", 22), nil, e("2026-08-27", 60)}, Limits: []Limit{{At: 50}, {At: 90}}}}}}}
	s := past.Scene("Bank over time", 0.4, []string{"cover"})
	for _, m := range s.Marks {
		for _, p := range m.Points {
			if p[0] < 0 || p[0] > s.W || p[1] < 0 || p[1] > s.H {
				t.Errorf("%s at %v lies outside %v × %v", m.Class, p, s.W, s.H)
			}
		}
	}
	var out strings.Builder
	if err := s.WriteSVG(&out); err != nil {
		t.Fatal(err)
	}
	svg := out.String()
	for _, want := range []string{"Grubs", "Drought", "Cover", "60 % (50–70)", "2024-05-04", "2026-08-27", "&lt;i&gt;Bank", `class="done"`, `class="bounds"`, "<title>Bank over time</title>"} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in %s", want, svg)
		}
	}
	if strings.Contains(svg, "style=") || strings.Contains(svg, "2024-05-20") {
		t.Error("a style, or a day written over another")
	}
	if bare := past.Scene("", 0.4, nil); bare.H >= s.H {
		t.Error("a check that was not chosen takes room")
	}
}
