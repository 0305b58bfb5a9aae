package plan_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/plan"
)

// edge is a step that stands by itself, to be put exactly at the edge of a rule and one step beyond.
type edge struct {
	in   plan.Input
	step plan.Step
	more []plan.Step
}

const onDay = "2027-06-15"

// after is a day so many days after another.
func after(day string, days int) string {
	d, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err)
	}
	return d.AddDate(0, 0, days).Format(time.DateOnly)
}

// stepFor is one step of an action on a day in zone z.
func stepFor(a knowledge.Action, day string, goods ...plan.Good) plan.Step {
	return plan.Step{ID: a.ID, Kind: plan.Do, Action: a.ID, Causes: []string{a.Cause}, Day: day, Parts: []plan.Part{{Zone: "z", Area: agronomy.Q(1000, "ft2"), Goods: goods}}}
}

// onEdge is a step with a material that serves for a use, on 1000 sq ft.
func onEdge(t *testing.T, b *knowledge.Bundle, use string, m plan.Material, rate agronomy.Quantity) *edge {
	t.Helper()
	m.ID, m.Name, m.Uses = "m", "M", []string{use}
	at := slices.IndexFunc(b.Planning.Deeds, func(d knowledge.Deed) bool { return slices.Contains(d.Uses, use) })
	if at < 0 {
		t.Fatalf("no action uses %s", use)
	}
	a := b.Actions[at]
	return &edge{in: bare(m), step: stepFor(a, onDay, plan.Good{Use: use, Material: "m", Rate: &rate})}
}

func bare(m ...plan.Material) plan.Input {
	return plan.Input{Day: "2026-01-01", Materials: m, Zones: []plan.Zone{{ID: "z", Name: "Zone", Area: agronomy.Q(1000, "ft2"), Answer: diagnose.Answer{Verdict: diagnose.ACause}}}}
}

// before puts the material down so many days before the step, at a rate.
func (e *edge) before(days int, rate agronomy.Quantity) {
	m := e.in.Materials[0]
	e.in.Applied = append(e.in.Applied, plan.Applied{ID: fmt.Sprint("a", len(e.in.Applied)), Day: after(onDay, -days), Zones: []string{"z"}, Material: &m, Rate: &rate})
}

// breaks says whether the step breaks a rule, and that it says of it what a rule must.
func (e *edge) breaks(t *testing.T, pl *plan.Planner, rule string) bool {
	t.Helper()
	found, err := pl.Verify(e.in, plan.Plan{Steps: append([]plan.Step{e.step}, e.more...)})
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(found, func(c plan.Conflict) bool { return c.Rule == rule && c.Day == e.step.Day })
	if at >= 0 && (found[at].Say.EN == "" || found[at].Kind == plan.ByLabel && found[at].Source == "") {
		t.Errorf("%s says too little: %+v", rule, found[at])
	}
	return at >= 0
}

// A step exactly at a limit of its label or of the firm is allowed, one step beyond is refused by that very limit.
func TestAtTheEdgeOfALabel(t *testing.T) {
	pl, know := planner(t)
	lb := func(v float64) agronomy.Quantity { return agronomy.Q(v, "lb/1000 ft2") }
	acre := func(v float64) *agronomy.Quantity { return q(v, "lb/acre") }
	label := func(l plan.Label) plan.Material { return plan.Material{Label: l} }
	spray := func(m plan.Material, rate agronomy.Quantity) *edge {
		return onEdge(t, &know.Bundle, "fungicide", m, rate)
	}
	holds := func(once, year *agronomy.Quantity, rolling bool) plan.Material {
		return plan.Material{Actives: []plan.Active{{Name: "made up", Percent: 50, MaxOnce: once, MaxYear: year}}, Label: plan.Label{Rolling: rolling}}
	}
	const tick = 1 + 1e-6
	for _, w := range []struct {
		name, rule string
		at, beyond func() *edge
	}{
		{"a rate", "over_label",
			func() *edge { return spray(label(plan.Label{MaxRate: q(3, "lb/1000 ft2")}), lb(3)) },
			func() *edge { return spray(label(plan.Label{MaxRate: q(3, "lb/1000 ft2")}), lb(3*tick)) }},
		{"a rate in other units", "over_label",
			func() *edge { return spray(label(plan.Label{MaxRate: q(130.68, "lb/acre")}), lb(3)) },
			func() *edge { return spray(label(plan.Label{MaxRate: q(130.68, "lb/acre")}), lb(3*tick)) }},
		{"a year's amount", "over_label_year",
			func() *edge {
				e := spray(label(plan.Label{MaxYear: q(6, "lb/1000 ft2")}), lb(3))
				e.before(60, lb(3))
				return e
			},
			func() *edge {
				e := spray(label(plan.Label{MaxYear: q(6, "lb/1000 ft2")}), lb(3))
				e.before(60, lb(3*tick))
				return e
			}},
		{"the first day of a calendar year", "over_label_year",
			func() *edge { // 166 days before 15 June is 31 December
				e := spray(label(plan.Label{MaxYear: q(3, "lb/1000 ft2")}), lb(3))
				e.before(166, lb(3))
				return e
			},
			func() *edge {
				e := spray(label(plan.Label{MaxYear: q(3, "lb/1000 ft2")}), lb(3))
				e.before(165, lb(3))
				return e
			}},
		{"the last day of a rolling year", "over_label_year",
			func() *edge {
				e := spray(label(plan.Label{MaxYear: q(3, "lb/1000 ft2"), Rolling: true}), lb(3))
				e.before(365, lb(3))
				return e
			},
			func() *edge {
				e := spray(label(plan.Label{MaxYear: q(3, "lb/1000 ft2"), Rolling: true}), lb(3))
				e.before(364, lb(3))
				return e
			}},
		{"a rolling year around the step", "over_label_year",
			func() *edge {
				e := spray(label(plan.Label{MaxYear: q(8, "lb/1000 ft2"), Rolling: true}), lb(3))
				e.before(200, lb(3))
				e.before(-165, lb(3))
				return e
			},
			func() *edge {
				e := spray(label(plan.Label{MaxYear: q(8, "lb/1000 ft2"), Rolling: true}), lb(3))
				e.before(200, lb(3))
				e.before(-164, lb(3))
				return e
			}},
		{"times in a calendar year", "over_times",
			func() *edge {
				e := spray(label(plan.Label{MaxTimes: 2}), lb(3))
				e.before(166, lb(3))
				e.before(30, lb(3))
				return e
			},
			func() *edge {
				e := spray(label(plan.Label{MaxTimes: 2}), lb(3))
				e.before(165, lb(3))
				e.before(30, lb(3))
				return e
			}},
		{"times in a rolling year", "over_times",
			func() *edge {
				e := spray(label(plan.Label{MaxTimes: 2, Rolling: true}), lb(3))
				e.before(365, lb(3))
				e.before(30, lb(3))
				return e
			},
			func() *edge {
				e := spray(label(plan.Label{MaxTimes: 2, Rolling: true}), lb(3))
				e.before(364, lb(3))
				e.before(30, lb(3))
				return e
			}},
		{"days since", "too_soon",
			func() *edge { e := spray(label(plan.Label{Interval: 28}), lb(3)); e.before(28, lb(1)); return e },
			func() *edge { e := spray(label(plan.Label{Interval: 28}), lb(3)); e.before(27, lb(1)); return e }},
		{"days until", "too_soon",
			func() *edge { e := spray(label(plan.Label{Interval: 28}), lb(3)); e.before(-28, lb(1)); return e },
			func() *edge { e := spray(label(plan.Label{Interval: 28}), lb(3)); e.before(-27, lb(1)); return e }},
		{"days between two steps", "too_soon",
			func() *edge {
				e := spray(label(plan.Label{Interval: 28}), lb(3))
				e.more = []plan.Step{e.step}
				e.more[0].ID, e.more[0].Day = e.step.ID+"#2", after(onDay, 28)
				return e
			},
			func() *edge {
				e := spray(label(plan.Label{Interval: 28}), lb(3))
				e.more = []plan.Step{e.step}
				e.more[0].ID, e.more[0].Day = e.step.ID+"#2", after(onDay, 27)
				return e
			}},
		{"an active at once", "over_active",
			func() *edge { return spray(holds(acre(1), nil, false), agronomy.Q(2, "lb/acre")) },
			func() *edge { return spray(holds(acre(1), nil, false), agronomy.Q(2*tick, "lb/acre")) }},
		{"an active in a year", "over_active_year",
			func() *edge {
				e := spray(holds(nil, acre(2), false), agronomy.Q(2, "lb/acre"))
				e.before(165, agronomy.Q(2, "lb/acre"))
				return e
			},
			func() *edge {
				e := spray(holds(nil, acre(2), false), agronomy.Q(2, "lb/acre"))
				e.before(165, agronomy.Q(2*tick, "lb/acre"))
				return e
			}},
		{"an active in a rolling year", "over_active_year",
			func() *edge {
				e := spray(holds(nil, acre(1), true), agronomy.Q(2, "lb/acre"))
				e.before(365, agronomy.Q(2, "lb/acre"))
				return e
			},
			func() *edge {
				e := spray(holds(nil, acre(1), true), agronomy.Q(2, "lb/acre"))
				e.before(364, agronomy.Q(2, "lb/acre"))
				return e
			}},
		{"the firm's limit of an active", "firm:made up:year",
			func() *edge {
				e := spray(holds(nil, nil, false), agronomy.Q(2, "lb/acre"))
				e.in.Limits = []plan.Limit{{Of: "made up", Per: plan.PerYear, Max: *acre(1)}}
				return e
			},
			func() *edge {
				e := spray(holds(nil, nil, false), agronomy.Q(2*tick, "lb/acre"))
				e.in.Limits = []plan.Limit{{Of: "made up", Per: plan.PerYear, Max: *acre(1)}}
				return e
			}},
		{"the firm's limit of a material", "firm:m:application",
			func() *edge {
				e := spray(plan.Material{}, lb(2))
				e.in.Limits = []plan.Limit{{Of: "m", Per: plan.PerApplication, Max: lb(2)}}
				return e
			},
			func() *edge {
				e := spray(plan.Material{}, lb(2*tick))
				e.in.Limits = []plan.Limit{{Of: "m", Per: plan.PerApplication, Max: lb(2)}}
				return e
			}},
		{"the firm's limit of nitrogen", "firm:N:year",
			func() *edge {
				e := onEdge(t, &know.Bundle, "fertilizer", plan.Material{Grade: &plan.Grade{N: 10, SlowN: 10}}, lb(5))
				e.before(100, lb(7))
				e.in.Limits = []plan.Limit{{Of: "N", Per: plan.PerYear, Max: lb(1.2)}}
				return e
			},
			func() *edge {
				e := onEdge(t, &know.Bundle, "fertilizer", plan.Material{Grade: &plan.Grade{N: 10, SlowN: 10}}, lb(5*tick))
				e.before(100, lb(7))
				e.in.Limits = []plan.Limit{{Of: "N", Per: plan.PerYear, Max: lb(1.2)}}
				return e
			}},
	} {
		t.Run(w.name, func(t *testing.T) {
			if w.at().breaks(t, pl, w.rule) {
				t.Error("refused at the edge")
			}
			if !w.beyond().breaks(t, pl, w.rule) {
				t.Error("allowed beyond the edge")
			}
		})
	}
}

// Every cap of a nutrient, at its number and a millionth above.
func TestAtTheEdgeOfEveryCap(t *testing.T) {
	pl, know := planner(t)
	for _, c := range know.Bundle.Planning.Caps {
		t.Run(c.ID, func(t *testing.T) {
			use, m := "fertilizer", plan.Material{Grade: &plan.Grade{N: 20, SlowN: 20}}
			switch c.Of {
			case "soluble N":
				m.Grade.SlowN = 0
			case "P2O5":
				use, m.Grade = "phosphate", &plan.Grade{P2O5: 20}
			case "K2O":
				use, m.Grade = "potash", &plan.Grade{K2O: 20}
			case "CCE":
				use, m = "lime", plan.Material{CCE: 20}
			}
			for _, beyond := range []bool{false, true} {
				now, earlier := c.Max, 0.0
				if c.Per == plan.PerYear {
					now, earlier = 0.25, c.Max-0.25
				}
				if beyond {
					now *= 1 + 1e-6
				}
				e := onEdge(t, &know.Bundle, use, m, agronomy.Q(now/0.2, "lb/1000 ft2"))
				e.in.Place.State, e.in.Zones[0].Grass = c.State, c.Grass
				if earlier > 0 {
					e.before(100, agronomy.Q(earlier/0.2, "lb/1000 ft2"))
				}
				if got := e.breaks(t, pl, c.ID); got != beyond {
					t.Errorf("beyond %v, refused %v", beyond, got)
				}
			}
		})
	}
}

// Every two kinds of work that are kept apart: exactly so many days are enough, one less is not, whichever of the two is planned
// and whichever was done.
func TestAtTheEdgeOfEveryInterval(t *testing.T) {
	pl, know := planner(t)
	for _, a := range know.Bundle.Planning.Apart {
		t.Run(a.ID, func(t *testing.T) {
			for _, days := range []int{a.Days, a.Days - 1} {
				then, _ := actionWith(t, &know.Bundle, []string{a.Then}, "", "")
				e := edge{in: bare(), step: stepFor(then, onDay)}
				e.in.Applied = []plan.Applied{{ID: "a", Day: after(onDay, -days), Zones: []string{"z"}, Works: []string{a.First}}}
				e.material(know, then, a.Then)
				if got := e.breaks(t, pl, a.ID); got != (days < a.Days) {
					t.Errorf("%s done %d days before %s: refused %v", a.First, days, a.Then, got)
				}
				first, _ := actionWith(t, &know.Bundle, []string{a.First}, "", "")
				e = edge{in: bare(), step: stepFor(first, onDay)}
				e.in.Applied = []plan.Applied{{ID: "a", Day: after(onDay, days), Zones: []string{"z"}, Works: []string{a.Then}}}
				e.material(know, first, a.First)
				if got := e.breaks(t, pl, a.ID); got != (days < a.Days) {
					t.Errorf("%s planned %d days before %s: refused %v", a.First, days, a.Then, got)
				}
			}
		})
	}
}

// material gives the step what it uses, where only the material makes it of a kind of work.
func (e *edge) material(know *knowledge.Loaded, a knowledge.Action, work string) {
	at := slices.IndexFunc(know.Bundle.Planning.Deeds, func(d knowledge.Deed) bool { return d.Action == a.ID })
	for _, use := range know.Bundle.Planning.Deeds[at].Uses {
		m := plan.Material{ID: "m " + use, Name: use, Uses: []string{use}, Grade: &plan.Grade{N: 10, Urea: true}}
		e.in.Materials = append(e.in.Materials, m)
		e.step.Parts[0].Goods = append(e.step.Parts[0].Goods, plan.Good{Use: use, Material: m.ID})
	}
}

// Every active ingredient against seeding, from both sides.
func TestAtTheEdgeOfEveryWait(t *testing.T) {
	pl, know := planner(t)
	seed, _ := actionWith(t, &know.Bundle, []string{"seed"}, "", "")
	spray, _ := actionWith(t, &know.Bundle, []string{"kill_out"}, "", "")
	for _, w := range know.Bundle.Planning.Waits {
		t.Run(w.Active, func(t *testing.T) {
			m := plan.Material{ID: "m", Name: "M", Uses: []string{"nonselective"}, Actives: []plan.Active{{Name: w.Active, Percent: 50}}}
			rate := agronomy.Q(1, "lb/acre")
			seeded := func(days int, rule string) bool { // so many days after the spray
				e := edge{in: bare(m), step: stepFor(seed, onDay)}
				e.in.Applied = []plan.Applied{{ID: "a", Day: after(onDay, -days), Zones: []string{"z"}, Material: &m, Rate: &rate}}
				return e.breaks(t, pl, rule)
			}
			sprayed := func(days int, rule string) bool { // so many days after seeding
				e := edge{in: bare(m), step: stepFor(spray, onDay, plan.Good{Use: "nonselective", Material: "m", Rate: &rate})}
				e.in.Applied = []plan.Applied{{ID: "a", Day: after(onDay, -days), Zones: []string{"z"}, Works: []string{"seed"}}}
				return e.breaks(t, pl, rule)
			}
			to, from, rules := w.ToSeeding, w.FromSeeding, [2]string{"seed_wait", "spray_wait"}
			if to < 0 { // nobody knows: a year, until somebody finds the label
				to, from, rules = 365, 365, [2]string{"find_label", "find_label"}
			}
			for i, c := range []struct {
				days int
				run  func(int, string) bool
			}{{to, seeded}, {from, sprayed}} {
				if c.run(c.days, rules[i]) {
					t.Errorf("%s: refused after %d days", rules[i], c.days)
				}
				if c.days > 1 && !c.run(c.days-1, rules[i]) { // the day itself is another matter: with the seed
					t.Errorf("%s: allowed after %d days", rules[i], c.days-1)
				}
			}
		})
	}
}

// inCalendar reckons by itself whether a day lies in a window of an action, where nothing is known but the calendar.
func inCalendar(b *knowledge.Bundle, action, frost, day string) bool {
	known := false
	for _, w := range b.Planning.Windows {
		if w.Action != action {
			continue
		}
		known = true
		year := day[:4]
		to := w.To
		if w.BeforeFrost > 0 && frost != "" {
			to = min(to, after(year+"-"+frost, -w.BeforeFrost)[5:])
		}
		at := day[5:]
		if w.From <= w.To && w.From <= at && at <= to || w.From > w.To && (at >= w.From || at <= w.To) {
			return true
		}
	}
	return !known
}

// Every window: open on its first and on its last day, shut the day before and the day after unless another one is open then.
func TestAtTheEdgeOfEveryWindow(t *testing.T) {
	pl, know := planner(t)
	b := &know.Bundle
	for _, w := range b.Planning.Windows {
		at := slices.IndexFunc(b.Actions, func(a knowledge.Action) bool { return a.ID == w.Action })
		t.Run(fmt.Sprint(w.Action, " ", w.From), func(t *testing.T) {
			shut := func(day string, in plan.Input) bool {
				e := edge{in: in, step: stepFor(b.Actions[at], day)}
				return e.breaks(t, pl, "window")
			}
			tries := []string{"2027-" + w.From, "2027-" + w.To, after("2027-"+w.From, -1), after("2027-"+w.To, 1)}
			for n, day := range tries {
				open := n < 2 || inCalendar(b, w.Action, "", day)
				if shut(day, bare()) == open {
					t.Errorf("%s: open %v", day, !open)
				}
			}
			if w.BeforeFrost > 0 {
				in, last := bare(), after("2027-"+w.To, -5)
				in.Place.FirstFrost = after(last, w.BeforeFrost)[5:]
				if shut(last, in) || !shut(after(last, 1), in) {
					t.Errorf("with the first frost on %s it ought to end on %s", in.Place.FirstFrost, last)
				}
			}
			if w.SoilLow > 0 || w.SoilHigh > 0 {
				bySoil(t, w, shut)
			}
			if w.DegreesHigh > 0 {
				byDegrees(t, w, shut)
			}
		})
	}
}

// measured is a soil, or degree days, as a test wants them on every day.
type measured struct {
	*daily
	soil, degrees float64
}

func (m measured) Soil(string) (float64, bool) { return m.soil, m.soil > 0 }
func (m measured) DegreeDays(float64, string, string) (float64, bool) {
	return m.degrees, m.degrees > 0
}

// bySoil presses a window against the soil's limits, and against the three weeks by which a soil may move it.
func bySoil(t *testing.T, w knowledge.Window, shut func(string, plan.Input) bool) {
	t.Helper()
	in, day := bare(), "2027-"+w.From
	for _, c := range []struct {
		soil float64
		open bool
	}{{w.SoilLow, true}, {w.SoilLow - 0.01, false}, {w.SoilHigh, true}, {w.SoilHigh + 0.01, w.SoilHigh == 0}} {
		if c.soil <= 0.01 {
			continue
		}
		in.Weather = measured{daily: &daily{Called: "made up"}, soil: c.soil}
		if shut(day, in) == c.open {
			t.Errorf("soil at %v: open %v", c.soil, !c.open)
		}
	}
	in.Weather = measured{daily: &daily{Called: "made up"}, soil: w.SoilLow}
	if early := after(day, -21); shut(early, in) {
		t.Errorf("%s: three weeks early and warm enough, and shut", early)
	}
}

// byDegrees presses a window against its degree days.
func byDegrees(t *testing.T, w knowledge.Window, shut func(string, plan.Input) bool) {
	t.Helper()
	in := bare()
	for _, c := range []struct {
		sum  float64
		open bool
	}{{w.DegreesLow, true}, {w.DegreesLow - 0.01, false}, {w.DegreesHigh, true}, {w.DegreesHigh + 0.01, false}} {
		in.Weather = measured{daily: &daily{Called: "made up"}, degrees: c.sum}
		if shut("2027-"+w.From, in) == c.open {
			t.Errorf("%v degree days: open %v", c.sum, !c.open)
		}
	}
	in.Weather = measured{daily: &daily{Called: "made up"}, degrees: w.DegreesLow}
	if early := after("2027-"+w.From, -21); shut(early, in) || !shut(after(early, -1), in) {
		t.Error("degree days open it three weeks early, and not one day more")
	}
}

// stemOf is a step's id without the number of its part.
func stemOf(id string) string {
	key, _, _ := strings.Cut(id, "#")
	return key
}

// A step asked for at the edge of a window: its last day is allowed, the day after is moved or dropped with the reason.
func TestPressedAgainstWindows(t *testing.T) {
	pl, know := planner(t)
	b := &know.Bundle
	gen := anyInput(b, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		rows := map[string][]knowledge.Window{}
		for _, w := range b.Planning.Windows {
			rows[w.Action] = append(rows[w.Action], w)
		}
		var open []plan.Step
		for _, s := range p.Steps {
			if s.Kind == plan.Do && len(rows[s.Action]) > 0 {
				open = append(open, s)
			}
		}
		if len(open) == 0 {
			return
		}
		s := rapid.SampledFrom(open).Draw(t, "step")
		w := rapid.SampledFrom(rows[s.Action]).Draw(t, "window")
		side := rapid.SampledFrom([]string{w.From, w.To}).Draw(t, "side")
		day := after(fmt.Sprint(rapid.IntRange(2026, 2028).Draw(t, "year"), "-", side), rapid.IntRange(-1, 1).Draw(t, "beside"))
		if w.BeforeFrost > 0 && in.Place.FirstFrost != "" && rapid.Bool().Draw(t, "by frost") {
			day = after(day[:4]+"-"+in.Place.FirstFrost, -w.BeforeFrost+rapid.IntRange(-1, 1).Draw(t, "beside the frost"))
		}
		if day < in.Day {
			return
		}
		moved, err := pl.Adjust(in, p, []plan.Edit{{Step: s.ID, Day: day}})
		if err != nil {
			t.Fatal(err)
		}
		key := stemOf(s.ID)
		outside, standing := false, 0
		for _, c := range moved.Conflicts {
			outside = outside || c.Rule == "window" && c.Step == key && c.Day == day
			if c.Stands() {
				standing++
			}
		}
		if open := inCalendar(b, s.Action, in.Place.FirstFrost, day); open == outside {
			t.Errorf("%s on %s: open by the rows %v, refused by its window %v", s.ID, day, open, outside)
		}
		in.Wishes = []plan.Wish{{Step: s.ID, Day: day}}
		again, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range s.Parts {
			on, why := found(again, key, part.Zone)
			if standing == 0 && on != day {
				t.Errorf("%s in %s may be on %s and is on %q: %v", s.ID, part.Zone, day, on, why)
			}
			if on != day && len(why) == 0 {
				t.Errorf("%s in %s is on %q instead of %s, and nobody says why", s.ID, part.Zone, on, day)
			}
			if outside && on == day {
				t.Errorf("%s is on %s, outside its window", s.ID, day)
			}
		}
	})
}

// found is the day of a step in a zone and why it is not on the day that was asked for; "" where it was refused.
func found(p plan.Plan, key, zone string) (day string, why []plan.Conflict) {
	for _, s := range p.Steps {
		if stemOf(s.ID) == key && slices.ContainsFunc(s.Parts, func(x plan.Part) bool { return x.Zone == zone }) {
			return s.Day, s.Moved
		}
	}
	for _, r := range p.Refused {
		if r.Step == key && r.Zone == zone {
			return "", r.Conflicts
		}
	}
	return "", nil
}

// pressed is a limit that a dose of a plan is brought to, exactly or one step beyond.
type pressed struct {
	name string
	rule string
	to   func(in *plan.Input, d dose, all []dose, beyond bool) bool // false: it can't be done with this dose
}

func pressings() []pressed {
	const less = 1 - 1e-6
	scale := func(beyond bool, v float64) float64 {
		if beyond {
			return v * less
		}
		return v
	}
	mine := func(in *plan.Input, d dose) *plan.Material {
		return &in.Materials[slices.IndexFunc(in.Materials, func(m plan.Material) bool { return m.ID == d.m.ID })]
	}
	sum := func(d dose, all []dose, of func(dose) float64) (total float64) {
		for _, o := range all {
			if o.zone == d.zone && o.year == d.year {
				total += of(o)
			}
		}
		return total
	}
	return []pressed{
		{"label rate", "over_label", func(in *plan.Input, d dose, all []dose, beyond bool) bool {
			mine(in, d).Label.MaxRate = q(scale(beyond, d.rate.Value), d.rate.Unit)
			return !slices.ContainsFunc(all, func(o dose) bool { // another step takes more of it
				v, _ := o.rate.In(d.rate.Unit)
				return o.zone == d.zone && o.m.ID == d.m.ID && v > d.rate.Value
			})
		}},
		{"label year", "over_label_year", func(in *plan.Input, d dose, all []dose, beyond bool) bool {
			total := sum(d, all, func(o dose) float64 {
				v, _ := o.rate.In(d.rate.Unit)
				if o.m.ID != d.m.ID {
					return 0
				}
				return v
			})
			mine(in, d).Label.MaxYear = q(scale(beyond, total), d.rate.Unit)
			return true
		}},
		{"times", "over_times", func(in *plan.Input, d dose, all []dose, beyond bool) bool {
			n := int(sum(d, all, func(o dose) float64 {
				if o.m.ID == d.m.ID {
					return 1
				}
				return 0
			}))
			if beyond {
				n--
			}
			mine(in, d).Label.MaxTimes = n
			return n > 0 // none stated is no limit
		}},
		{"interval", "too_soon", func(in *plan.Input, d dose, all []dose, beyond bool) bool {
			nearest, same := math.MaxInt, 0
			for _, o := range all {
				if o.zone == d.zone && o.m.ID == d.m.ID && o.day != d.day {
					nearest = min(nearest, between(o.day, d.day))
				} else if o.zone == d.zone && o.m.ID == d.m.ID {
					same++
				}
			}
			if same > 1 {
				return false // two steps take it on one day
			}
			if nearest > 300 {
				nearest = 40
				m := *mine(in, d)
				in.Applied = append(in.Applied, plan.Applied{ID: "pressed", Day: after(d.day, -nearest), Zones: []string{d.zone}, Material: &m, Rate: q(d.rate.Value/1000, d.rate.Unit)})
			}
			if mine(in, d).Label.Interval = nearest; beyond {
				mine(in, d).Label.Interval++
			}
			return true
		}},
		{"firm's N", "firm:N:year", func(in *plan.Input, d dose, all []dose, beyond bool) bool {
			in.Limits = []plan.Limit{{Of: "N", Per: plan.PerYear, Max: *q(scale(beyond, sum(d, all, dose.n)), "lb N/1000 ft2")}}
			return d.n() > 0
		}},
		{"firm's active", "", func(in *plan.Input, d dose, all []dose, beyond bool) bool {
			if len(d.m.Actives) == 0 {
				return false
			}
			name := d.m.Actives[0].Name
			in.Limits = []plan.Limit{{Of: name, Per: plan.PerYear, Max: *q(scale(beyond, sum(d, all, func(o dose) float64 { return o.active(name) })), "lb/acre")}}
			return true
		}},
	}
}

// A plan that uses a limit to the last is allowed, and made again stays what it was; one step beyond is refused by that limit, and
// made again keeps it.
func TestPressedAgainstLimits(t *testing.T) {
	pl, know := planner(t)
	gen := anyInput(&know.Bundle, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		for i, a := range in.Applied { // the test counts what has a rate
			if a.Rate == nil {
				in.Applied[i].Rate = q(1, "lb/1000 ft2")
			}
		}
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		planned, all := doses(in, p)
		if len(planned) == 0 {
			return
		}
		d := rapid.SampledFrom(planned).Draw(t, "dose")
		press := rapid.SampledFrom(pressings()).Draw(t, "limit")
		beyond := rapid.Bool().Draw(t, "beyond")
		hard := in
		hard.Materials, hard.Applied = slices.Clone(in.Materials), slices.Clone(in.Applied)
		if !press.to(&hard, d, all, beyond) {
			return
		}
		list, err := pl.Verify(hard, p)
		if err != nil {
			t.Fatal(err)
		}
		if press.rule == "" {
			press.rule = "firm:" + d.m.Actives[0].Name + ":year"
		}
		broken, standing := false, 0
		for _, c := range list {
			broken = broken || c.Rule == press.rule && c.Zone == d.zone && c.Day == d.day && c.Say.EN != ""
			if c.Stands() {
				standing++
			}
		}
		if broken != beyond {
			t.Fatalf("%s of %s on %s, beyond %v: refused %v, %v", press.name, d.m.ID, d.day, beyond, broken, list)
		}
		again, err := pl.Make(hard)
		if err != nil {
			t.Fatal(err)
		}
		if found, err := pl.Verify(hard, again); err != nil || slices.ContainsFunc(found, plan.Conflict.Stands) {
			t.Errorf("the plan made for it breaks %v, %v", found, err)
		}
		limitsHold(t, hard, again)
		intervalsHold(t, &know.Bundle, hard, again)
		if now, _ := doses(hard, again); standing == 0 && !slices.ContainsFunc(now, func(o dose) bool { return o.zone == d.zone && o.day == d.day && o.m.ID == d.m.ID }) {
			t.Errorf("%s: %s on %s was allowed and is planned no more", press.name, d.m.ID, d.day)
		}
	})
}

// A feeding with phosphorus is allowed by the seed of the same days, whichever of the two is asked for first.
func TestAWishForTheDayAStepHasChangesNothing(t *testing.T) {
	pl, _ := planner(t)
	in := lawn("2027-12-31", "shade", plan.Fact{Name: "ground_cover_pct", Value: q(70, "%")})
	in.Zones[0].Answer.Causes = append(in.Zones[0].Answer.Causes, diagnose.Likelihood{ID: "billbugs", Likelihood: 0.99, Role: diagnose.Secondary})
	in.Materials = []plan.Material{materials(t)["f10"]}
	p, err := pl.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	feed := stepOf(t, p, "feed")
	in.Wishes = []plan.Wish{{Step: "feed", Day: feed.Day}}
	again, err := pl.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	if day, why := found(again, "feed", "z"); day != feed.Day {
		t.Errorf("on %q instead of %s: %v", day, feed.Day, why)
	}
}

// Every number and every span of days in a rule: what stands exactly there is on the side that the row writes.
func TestAtTheEdgeOfEveryRule(t *testing.T) {
	pl, know := planner(t)
	edges := 0
	for _, rule := range know.Bundle.Planning.Rules {
		groups, err := knowledge.ParseWhen(rule.When)
		if err != nil {
			t.Fatal(err)
		}
		if len(groups) != 1 {
			continue // the scene of one group may meet another
		}
		g := groups[0]
		in := func(day string, change func(s *scene)) bool {
			s := scene{day: onDay}
			s.in.Zones = bare().Zones
			s.meet(t, &know.Bundle, g)
			if day != "" {
				s.day = day
			}
			if change != nil {
				change(&s)
			}
			return s.breaks(t, pl, &know.Bundle, rule)
		}
		for _, term := range g {
			switch term.Key {
			case "day":
				from, to, _ := strings.Cut(term.Values[0], "..")
				edges++
				for day, want := range map[string]bool{"2027-" + from: true, "2027-" + to: true, after("2027-"+from, -1): false, after("2027-"+to, 1): false} {
					if in(day, nil) != want {
						t.Errorf("%s on %s: want %v", rule.ID, day, want)
					}
				}
			case "fact":
				if !strings.ContainsAny(term.Op, "<>") {
					continue
				}
				edges++
				exactly := in("", func(s *scene) {
					at := slices.IndexFunc(s.in.Zones[0].Facts, func(f plan.Fact) bool { return f.Name == term.Name })
					s.in.Zones[0].Facts[at].Value.Value = term.Number
				})
				if exactly != strings.Contains(term.Op, "=") {
					t.Errorf("%s with %s at %v exactly: %v", rule.ID, term.Name, term.Number, exactly)
				}
			case "air", "soil":
				edges++
				exactly := in("", func(s *scene) {
					s.in.Weather.(*daily).Days[s.day] = [3]float64{term.Number, term.Number, term.Number}
				})
				if exactly != strings.Contains(term.Op, "=") {
					t.Errorf("%s with %s at %v exactly: %v", rule.ID, term.Key, term.Number, exactly)
				}
			}
		}
	}
	if edges < 10 {
		t.Errorf("%d edges in the rules", edges)
	}
}
