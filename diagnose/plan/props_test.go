package plan_test

import (
	"encoding/json"
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

func q(v float64, unit string) *agronomy.Quantity { return &agronomy.Quantity{Value: v, Unit: unit} }

// anyDay draws a day of three years.
func anyDay(from, to string) *rapid.Generator[string] {
	a, _ := time.Parse(time.DateOnly, from)
	b, _ := time.Parse(time.DateOnly, to)
	days := int(b.Sub(a).Hours() / 24)
	return rapid.Custom(func(t *rapid.T) string {
		return a.AddDate(0, 0, rapid.IntRange(0, days).Draw(t, "days")).Format(time.DateOnly)
	})
}

// anyInput draws a property with what may be thought, known, at hand, done before and forbidden.
func anyInput(b *knowledge.Bundle, all map[string]plan.Material) *rapid.Generator[plan.Input] {
	var ids []string
	for id := range all {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return rapid.Custom(func(t *rapid.T) plan.Input {
		in := plan.Input{Day: anyDay("2026-01-01", "2027-12-31").Draw(t, "day"), Place: plan.Place{
			Region:    rapid.SampledFrom([]string{"", "transition", "northeast"}).Draw(t, "region"),
			State:     rapid.SampledFrom([]string{"", "Ohio", "New Jersey", "Maryland", "Minnesota", "New York"}).Draw(t, "state"),
			LastFrost: "05-01", FirstFrost: rapid.SampledFrom([]string{"", "09-25", "10-10", "11-05"}).Draw(t, "frost")}}
		for _, id := range rapid.SliceOfNDistinct(rapid.SampledFrom(ids), 0, 8, rapid.ID).Draw(t, "materials") {
			in.Materials = append(in.Materials, all[id])
		}
		for i := range rapid.IntRange(1, 3).Draw(t, "zones") {
			in.Zones = append(in.Zones, anyZone(b, in.Day, i).Draw(t, "zone"))
		}
		for i := range rapid.IntRange(0, 4).Draw(t, "applied") {
			m := all[rapid.SampledFrom(ids).Draw(t, "material")]
			a := plan.Applied{ID: fmt.Sprint("a", i), Day: anyDay("2025-06-01", "2027-12-31").Draw(t, "on"), Zones: []string{"z0"}, Material: &m}
			if m.Rate != nil {
				a.Rate = m.Rate
			} else if m.Grade != nil {
				a.Rate = q(rapid.Float64Range(1, 5).Draw(t, "rate"), "lb/1000 ft2")
			}
			in.Applied = append(in.Applied, a)
		}
		if rapid.Bool().Draw(t, "limited") {
			in.Limits = []plan.Limit{{Of: "N", Per: plan.PerYear, Max: *q(rapid.Float64Range(0.1, 2).Draw(t, "n"), "lb N/1000 ft2")},
				{Of: "2,4-d", Per: plan.PerYear, Max: *q(rapid.Float64Range(0.5, 3).Draw(t, "24d"), "lb/acre")}}
		}
		return in
	})
}

func anyZone(b *knowledge.Bundle, day string, i int) *rapid.Generator[plan.Zone] {
	return rapid.Custom(func(t *rapid.T) plan.Zone {
		z := plan.Zone{ID: fmt.Sprint("z", i), Name: fmt.Sprint("Zone ", i), Area: *q(math.Round(rapid.Float64Range(100, 20000).Draw(t, "area")), "ft2"),
			Grass: rapid.SampledFrom([]string{"", "kbg", "tf", "prg", "ff"}).Draw(t, "grass")}
		if rapid.Bool().Draw(t, "sloped") {
			z.Slope, z.Soil = q(rapid.Float64Range(0, 40).Draw(t, "slope"), "%"), "clay loam"
		}
		z.Answer.Verdict = rapid.SampledFrom([]string{diagnose.ACause, diagnose.ACause, diagnose.CantTell}).Draw(t, "verdict")
		causes := rapid.SliceOfNDistinct(rapid.IntRange(0, len(b.Causes)-1), 1, 4, rapid.ID).Draw(t, "causes")
		for n, c := range causes {
			role := diagnose.Secondary
			if n == 0 {
				role = diagnose.Primary
			}
			z.Answer.Causes = append(z.Answer.Causes, diagnose.Likelihood{ID: b.Causes[c].ID, Role: role, Likelihood: rapid.Float64Range(0.25, 0.99).Draw(t, "p")})
		}
		z.Facts = anyFacts(day).Draw(t, "facts")
		return z
	})
}

func anyFacts(day string) *rapid.Generator[[]plan.Fact] {
	return rapid.Custom(func(t *rapid.T) []plan.Fact {
		facts := []plan.Fact{
			{Name: "grubs_sqft", Value: q(rapid.Float64Range(0, 20).Draw(t, "grubs"), "sqft")},
			{Name: "ground_cover_pct", Value: q(rapid.Float64Range(0, 100).Draw(t, "cover"), "%")},
			{Name: "thatch_in", Value: q(rapid.Float64Range(0, 2).Draw(t, "thatch"), "in")},
			{Name: "sun_hours", Value: q(rapid.Float64Range(0, 12).Draw(t, "sun"), "h")},
			{Name: "moisture_profile", State: rapid.SampledFrom([]string{"even_moist", "dry_all", "wet_all"}).Draw(t, "moist")},
			{Name: "soil_p", State: rapid.SampledFrom([]string{"low", "optimum"}).Draw(t, "p")},
			{Name: "lab_name", State: rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "lab")},
			{Name: "indicator_plants", Present: []string{"hot_thin_weeds", "moss_algae"}},
		}
		facts = slices.DeleteFunc(facts, func(plan.Fact) bool { return rapid.IntRange(0, 2).Draw(t, "known") == 0 })
		for i := range facts {
			facts[i].Day = day
		}
		return facts
	})
}

// Whatever is thought, known and at hand: a fresh plan breaks no rule, says of everything refused why, and adds up.
func TestFreshPlansStand(t *testing.T) {
	pl, know := planner(t)
	gen := anyInput(&know.Bundle, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		found, err := pl.Verify(in, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range found {
			t.Errorf("a fresh plan breaks %+v", c)
		}
		for _, r := range p.Refused {
			if len(r.Conflicts) == 0 || r.Do.EN == "" {
				t.Errorf("refused without a reason: %+v", r)
			}
		}
		limitsHold(t, in, p)
		intervalsHold(t, &know.Bundle, in, p)
		addsUp(t, p)
		readable(t, p)
	})
}

// readable wants what every step must say, and what JSON gives back.
func readable(t *rapid.T, p plan.Plan) {
	seen := map[string]bool{}
	for _, s := range p.Steps {
		if seen[s.ID] || s.Do.EN == "" || s.Source == "" || len(s.Parts) == 0 || s.Kind == plan.Do && (s.Day == "" || len(s.Causes) == 0) {
			t.Errorf("a step that says too little, or twice: %+v", s)
		}
		seen[s.ID] = true
		if strings.Contains(fmt.Sprint(s), "{") && strings.Contains(s.Window.Note.EN, "{") {
			t.Errorf("words are missing: %s", s.Window.Note.EN)
		}
	}
	raw, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var back plan.Plan
	if err := json.Unmarshal(raw, &back); err != nil {
		t.Fatal(err)
	}
	if again, _ := json.Marshal(back); string(again) != string(raw) {
		t.Error("a plan is not the same after JSON")
	}
}

// metric is the same input in the other system's units.
func metric(in plan.Input) plan.Input {
	raw, _ := json.Marshal(in)
	var out plan.Input
	if err := json.Unmarshal(raw, &out); err != nil {
		panic(err)
	}
	to := func(x *agronomy.Quantity) {
		if x == nil {
			return
		}
		for _, u := range []string{"m2", "kg/ha", "L/ha", "kg", "L", "m3", "cm", "g/L"} {
			if v, err := x.In(u); err == nil {
				*x = agronomy.Q(v, u)
				return
			}
		}
	}
	material := func(m *plan.Material) {
		to(m.Rate)
		to(m.Label.MaxRate)
		to(m.Label.MaxYear)
		for i := range m.Actives {
			to(m.Actives[i].Density)
			to(m.Actives[i].MaxOnce)
			to(m.Actives[i].MaxYear)
		}
		if m.Cost != nil {
			to(&m.Cost.Pack)
		}
	}
	for i := range out.Zones {
		to(&out.Zones[i].Area)
		for j := range out.Zones[i].Facts {
			to(out.Zones[i].Facts[j].Value)
		}
	}
	for i := range out.Materials {
		material(&out.Materials[i])
	}
	for i := range out.Applied {
		material(out.Applied[i].Material)
		to(out.Applied[i].Rate)
	}
	for i := range out.Limits {
		to(&out.Limits[i].Max)
	}
	return out
}

// The unit in which anything was entered does not change the plan.
func TestUnitsOfEntryDoNotMatter(t *testing.T) {
	pl, know := planner(t)
	gen := anyInput(&know.Bundle, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		a, err := pl.Make(in)
		b, err2 := pl.Make(metric(in))
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if len(a.Steps) != len(b.Steps) || len(a.Refused) != len(b.Refused) {
			t.Fatalf("%d steps and %d in metric", len(a.Steps), len(b.Steps))
		}
		for i, s := range a.Steps {
			o := b.Steps[i]
			if s.ID != o.ID || s.Day != o.Day || abs(s.CostCents-o.CostCents) > int64(len(s.Parts)) {
				t.Fatalf("%s on %s for %d, in metric %s on %s for %d", s.ID, s.Day, s.CostCents, o.ID, o.Day, o.CostCents)
			}
			for j, g := range s.Goods {
				if (g.Total == nil) != (o.Goods[j].Total == nil) {
					t.Fatalf("%s: %v and %v", s.ID, g.Total, o.Goods[j].Total)
				}
				if g.Total == nil {
					continue
				}
				if v, err := o.Goods[j].Total.In(g.Total.Unit); err != nil || math.Abs(v-g.Total.Value) > 1e-6*g.Total.Value {
					t.Fatalf("%s: %v and %v", s.ID, g.Total, o.Goods[j].Total)
				}
			}
		}
	})
}

func abs(x int64) int64 { return max(x, -x) }

// A wish for any day puts the step there, moves it with the reason, or drops it with the reason.
func TestWishesAreMetMovedOrDropped(t *testing.T) {
	pl, know := planner(t)
	gen := anyInput(&know.Bundle, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		var done []plan.Step
		for _, s := range p.Steps {
			if s.Kind == plan.Do {
				done = append(done, s)
			}
		}
		if len(done) == 0 {
			return
		}
		s := rapid.SampledFrom(done).Draw(t, "step")
		zone := s.Parts[0].Zone
		wish := plan.Wish{Step: s.ID, Zone: zone, Day: anyDay(in.Day, "2028-06-30").Draw(t, "wish")}
		in.Wishes = []plan.Wish{wish}
		after, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		key, _, _ := strings.Cut(s.ID, "#")
		for _, x := range after.Steps {
			k, _, _ := strings.Cut(x.ID, "#")
			if k == key && slices.ContainsFunc(x.Parts, func(part plan.Part) bool { return part.Zone == zone }) {
				if x.Day != wish.Day && len(x.Moved) == 0 {
					t.Errorf("%s was wished for %s, is on %s, and nobody says why", x.ID, wish.Day, x.Day)
				}
				return
			}
		}
		at := slices.IndexFunc(after.Refused, func(r plan.Refused) bool { return r.Step == key && r.Zone == zone && len(r.Conflicts) > 0 })
		if at < 0 {
			t.Errorf("%s in %s is gone without a reason", key, zone)
		}
	})
}

// An edit outside a window is always seen, and one above a label can't be overruled whatever a manager writes.
func TestEditsAboveTheLabelNeverPass(t *testing.T) {
	pl, know := planner(t)
	gen := anyInput(&know.Bundle, materials(t))
	rapid.Check(t, func(t *rapid.T) {
		in := gen.Draw(t, "in")
		p, err := pl.Make(in)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range p.Steps {
			for _, g := range s.Goods {
				if g.Total == nil || g.Label == nil || g.Label.MaxRate == nil {
					continue
				}
				more := *g.Label.MaxRate
				more.Value *= rapid.Float64Range(1.001, 50).Draw(t, "times")
				in.Overruled = nil
				for _, rule := range []string{"over_label", "over_active", "window", "over_label_year", "over_active_year"} {
					in.Overruled = append(in.Overruled, plan.Overrule{Rule: rule, Step: s.ID, By: "m1", Why: "because"})
				}
				after, err := pl.Adjust(in, p, []plan.Edit{{Step: s.ID, Use: g.Use, Target: &more}})
				if err != nil {
					t.Fatal(err)
				}
				if !slices.ContainsFunc(after.Conflicts, func(c plan.Conflict) bool { return c.Rule == "over_label" && c.Stands() }) {
					t.Errorf("%s at %v passes", g.Material, more)
				}
			}
		}
	})
}
