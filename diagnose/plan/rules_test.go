package plan_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/plan"
)

// scene is a zone on a day in which a condition holds.
type scene struct {
	in    plan.Input
	day   string
	has   string
	cause string
}

// meet makes a scene in which every term of a group holds.
func (s *scene) meet(t *testing.T, know *knowledge.Bundle, group []knowledge.Term) {
	z := &s.in.Zones[0]
	for _, term := range group {
		switch term.Key {
		case "place":
			s.in.Place.State = term.Values[0]
		case "region":
			if term.Op == "=" {
				s.in.Place.Region = term.Values[0]
			}
		case "day":
			from, _, _ := strings.Cut(term.Values[0], "..")
			s.day = "2027-" + from
		case "cause", "for":
			s.cause = term.Name
			z.Answer.Causes = append(z.Answer.Causes, diagnose.Likelihood{ID: term.Name, Likelihood: 0.9, Role: diagnose.Primary})
		case "has":
			s.has = term.Name
		case "slope":
			z.Slope = &agronomy.Quantity{Value: term.Number + 1, Unit: "%"}
		case "air", "soil":
			s.in.Weather = &daily{Called: "made up", Days: map[string][3]float64{}}
			s.weather(term)
		case "fact":
			z.Facts = append(z.Facts, met(term))
		default:
			t.Fatalf("a term of kind %s is not known to this test", term.Key)
		}
	}
}

func (s *scene) weather(term knowledge.Term) {
	v := term.Number + 1
	if strings.HasPrefix(term.Op, "<") {
		v = term.Number - 1
	}
	s.in.Weather.(*daily).Days[s.day] = [3]float64{v, v, v}
}

func met(term knowledge.Term) plan.Fact {
	f := plan.Fact{Name: term.Name}
	switch term.Op {
	case "~":
		f.Present = term.Values
	case "=":
		f.State = term.Values[0]
	case ">", ">=":
		f.Value = &agronomy.Quantity{Value: term.Number + 0.1}
	default:
		f.Value = &agronomy.Quantity{Value: term.Number - 0.1}
	}
	return f
}

// actionWith finds an action of a kind of work, for the cause a rule speaks of where it speaks of one.
func actionWith(t *testing.T, b *knowledge.Bundle, works []string, cause, unless string) (knowledge.Action, knowledge.Deed) {
	uses := map[string][]string{}
	for _, u := range b.Planning.Uses {
		uses[u.ID] = u.Works
	}
	for i, a := range b.Actions {
		d := b.Planning.Deeds[i]
		all := slices.Clone(d.Works)
		for _, u := range d.Uses {
			all = append(all, uses[u]...)
		}
		if slices.ContainsFunc(all, func(w string) bool { return strings.Contains(unless, "with:"+w) }) {
			continue
		}
		if (cause == "" || a.Cause == cause) && slices.ContainsFunc(works, func(w string) bool { return slices.Contains(all, w) }) {
			return a, d
		}
	}
	t.Fatalf("no action of the works %v for %q", works, cause)
	return knowledge.Action{}, knowledge.Deed{}
}

// Every row forbids something: in a scene where its condition holds and nothing excuses it, a step of its work is a conflict, of
// the row's kind; and without the scene it is not.
func TestEveryRuleForbids(t *testing.T) {
	pl, know := planner(t)
	for _, rule := range know.Bundle.Planning.Rules {
		t.Run(rule.ID, func(t *testing.T) {
			groups, err := knowledge.ParseWhen(rule.When)
			if err != nil {
				t.Fatal(err)
			}
			if len(groups) == 0 {
				groups = [][]knowledge.Term{nil}
			}
			for _, g := range groups {
				s := scene{day: "2027-05-20"}
				s.in.Zones = []plan.Zone{{ID: "z", Name: "Zone", Area: agronomy.Q(1000, "ft2"), Answer: diagnose.Answer{Verdict: diagnose.ACause}}}
				s.meet(t, &know.Bundle, g)
				if !s.breaks(t, pl, &know.Bundle, rule) {
					t.Errorf("%v does not lead to it", g)
				}
				if rule.When != "" {
					bare := scene{day: dayOutside(g), has: s.has, cause: s.forCause(g)}
					bare.in.Zones = []plan.Zone{{ID: "z", Name: "Zone", Area: agronomy.Q(1000, "ft2"), Answer: diagnose.Answer{Verdict: diagnose.ACause}}}
					if onlyAlways(g) {
						continue
					}
					if bare.breaks(t, pl, &know.Bundle, rule) {
						t.Errorf("it is broken where %v does not hold", g)
					}
				}
			}
		})
	}
}

// dayOutside is a day on which no term of days holds.
func dayOutside(g []knowledge.Term) string {
	for _, term := range g {
		if term.Key == "day" {
			_, to, _ := strings.Cut(term.Values[0], "..")
			d, _ := time.Parse(time.DateOnly, "2027-"+to)
			return d.AddDate(0, 0, 3).Format(time.DateOnly)
		}
	}
	return "2027-05-20"
}

func (s *scene) forCause(g []knowledge.Term) string {
	for _, term := range g {
		if term.Key == "for" {
			return term.Name
		}
	}
	return ""
}

// onlyAlways says that the bare scene would meet the terms as well: a material, a step's own cause, and no other region.
func onlyAlways(g []knowledge.Term) bool {
	return !slices.ContainsFunc(g, func(t knowledge.Term) bool {
		return t.Key != "has" && t.Key != "for" && !(t.Key == "region" && t.Op == "!=")
	})
}

func (s *scene) breaks(t *testing.T, pl *plan.Planner, b *knowledge.Bundle, rule knowledge.Rule) bool {
	s.in.Day = s.day
	for i := range s.in.Zones[0].Facts {
		s.in.Zones[0].Facts[i].Day = s.day
	}
	cause := ""
	if strings.Contains(rule.When, "for:") {
		cause = s.cause
	}
	act, deed := actionWith(t, b, rule.Works, cause, rule.Unless)
	part := plan.Part{Zone: "z", Area: s.in.Zones[0].Area}
	for _, use := range deed.Uses {
		m := plan.Material{ID: "m " + use, Uses: deed.Uses, Grade: &plan.Grade{N: 10}}
		if s.has == "P2O5" {
			m.Grade.P2O5 = 10
		}
		s.in.Materials = append(s.in.Materials, m)
		part.Goods = append(part.Goods, plan.Good{Use: use, Material: m.ID})
	}
	step := plan.Step{ID: act.ID, Kind: plan.Do, Action: act.ID, Causes: []string{act.Cause}, Day: s.day, Parts: []plan.Part{part}}
	found, err := pl.Verify(s.in, plan.Plan{Steps: []plan.Step{step}})
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(found, func(c plan.Conflict) bool { return c.Rule == rule.ID })
	if at < 0 {
		return false
	}
	if c := found[at]; c.Kind != rule.Kind || c.Say != rule.Say || c.Source != rule.Source || c.CanOverrule() != (rule.Kind == knowledge.RulePractice) {
		t.Errorf("the conflict is not the row's: %+v", c)
	}
	return true
}

// What excuses a rule does excuse it, while it is fresh.
func TestWhatExcuses(t *testing.T) {
	pl, know := planner(t)
	for _, w := range []struct {
		name, rule, day string
		fact            plan.Fact
		broken          bool
	}{
		{"a fresh count", "grub_count", "2027-08-20", plan.Fact{Name: "grubs_sqft", Value: q(8, "sqft"), Day: "2027-08-01"}, false},
		{"a stale count", "grub_count", "2027-09-20", plan.Fact{Name: "grubs_sqft", Value: q(8, "sqft"), Day: "2027-08-01"}, true},
		{"a count below", "grub_count", "2027-08-20", plan.Fact{Name: "grubs_sqft", Value: q(5, "sqft"), Day: "2027-08-01"}, true},
		{"no count", "grub_count", "2027-08-20", plan.Fact{Name: "bloom", State: "no", Day: "2027-08-01"}, true},
		{"last autumn's count, for a preventive", "grub_history", "2027-05-10", plan.Fact{Name: "grubs_sqft", Value: q(8, "sqft"), Day: "2026-09-10"}, false},
		{"the soil test of a year ago", "lime_test", "2027-10-01", plan.Fact{Name: "soil_ph", Value: q(5.8, "pH"), Day: "2026-09-10"}, false},
		{"the soil test of four years ago", "lime_test", "2027-10-01", plan.Fact{Name: "soil_ph", Value: q(5.8, "pH"), Day: "2023-09-10"}, true},
		{"soil that is not acid", "lime_test", "2027-10-01", plan.Fact{Name: "soil_ph", Value: q(6.8, "pH"), Day: "2026-09-10"}, true},
	} {
		t.Run(w.name, func(t *testing.T) {
			at := slices.IndexFunc(know.Bundle.Planning.Rules, func(r knowledge.Rule) bool { return r.ID == w.rule })
			rule := know.Bundle.Planning.Rules[at]
			s := scene{day: w.day}
			s.in.Zones = []plan.Zone{{ID: "z", Area: agronomy.Q(1000, "ft2"), Answer: diagnose.Answer{Verdict: diagnose.ACause}}}
			if strings.Contains(rule.When, "white_grubs") {
				s.cause = "white_grubs"
			}
			got := s.breaksWith(t, pl, &know.Bundle, rule, w.fact)
			if got != w.broken {
				t.Errorf("broken %v, want %v", got, w.broken)
			}
		})
	}
}

func (s *scene) breaksWith(t *testing.T, pl *plan.Planner, b *knowledge.Bundle, rule knowledge.Rule, f plan.Fact) bool {
	s.in.Day = s.day
	s.in.Zones[0].Facts = []plan.Fact{f}
	act, _ := actionWith(t, b, rule.Works, s.cause, rule.Unless)
	step := plan.Step{ID: act.ID, Kind: plan.Do, Action: act.ID, Causes: []string{act.Cause}, Day: s.day, Parts: []plan.Part{{Zone: "z"}}}
	found, err := pl.Verify(s.in, plan.Plan{Steps: []plan.Step{step}})
	if err != nil {
		t.Fatal(err)
	}
	return slices.ContainsFunc(found, func(c plan.Conflict) bool { return c.Rule == rule.ID })
}
