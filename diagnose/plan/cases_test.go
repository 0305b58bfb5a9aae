package plan_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/plan"
)

// planned is a case that was planned by hand: the steps in their order with their days, amounts to the digit that is written,
// what is refused by which rules, and what edits would break.
type planned struct {
	Name      string        `json:"name"`
	Source    string        `json:"source"`
	Basis     string        `json:"basis"`
	Materials []string      `json:"materials"`
	Input     plan.Input    `json:"input"`
	Weather   *daily        `json:"weather"`
	Expect    expected      `json:"expect"`
	Edits     []editExpects `json:"edits"`
}

type expected struct {
	Steps   [][2]string                            `json:"steps"` // id, day
	Who     map[string]string                      `json:"who"`
	Amounts []struct{ Step, Zone, Use, Is string } `json:"amounts"`
	Figures []struct{ Step, Name, Is string }      `json:"figures"`
	Refused []broken                               `json:"refused"`
	Moved   []broken                               `json:"moved"`
	Roads   [][2]string                            `json:"roads"`
	Honest  []string                               `json:"honest"`
	Cost    int64                                  `json:"cost_cents"`
	Load    map[string]string                      `json:"load"`
}

type broken struct {
	Step  string   `json:"step"`
	Zone  string   `json:"zone"`
	Rules []string `json:"rules"`
}

type editExpects struct {
	Edit   plan.Edit `json:"edit"`
	Breaks []string  `json:"breaks"` // rules that must stand
	Firm   bool      `json:"firm"`   // one of them may not be overruled
}

func planner(t testing.TB) (*plan.Planner, *knowledge.Loaded) {
	t.Helper()
	l, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	p, err := plan.New(&l.Bundle, l.Edition)
	if err != nil {
		t.Fatal(err)
	}
	return p, l
}

func materials(t testing.TB) map[string]plan.Material {
	t.Helper()
	var all []plan.Material
	readJSON(t, "../../testdata/plan/materials.json", &all)
	out := map[string]plan.Material{}
	for _, m := range all {
		out[m.ID] = m
	}
	return out
}

func readJSON(t testing.TB, file string, into any) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	dec := json.NewDecoder(f)
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
}

func load(t testing.TB, file string) planned {
	t.Helper()
	var c planned
	readJSON(t, file, &c)
	all := materials(t)
	for _, id := range c.Materials {
		m, ok := all[id]
		if !ok {
			t.Fatalf("%s: no material %s", file, id)
		}
		c.Input.Materials = append(c.Input.Materials, m)
	}
	if c.Weather != nil {
		c.Input.Weather = c.Weather
	}
	return c
}

func caseFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("../../testdata/plan/*.json")
	if err != nil {
		t.Fatal(err)
	}
	files = slices.DeleteFunc(files, func(f string) bool { return filepath.Base(f) == "materials.json" })
	if len(files) < 12 {
		t.Fatalf("%d planned cases, want 12 or more", len(files))
	}
	return files
}

func TestPlannedCases(t *testing.T) {
	pl, know := planner(t)
	for _, file := range caseFiles(t) {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".json"), func(t *testing.T) {
			c := load(t, file)
			for _, key := range knowledge.SourceKeys(c.Source) {
				if _, ok := know.Source(key); !ok {
					t.Errorf("unknown source %q", key)
				}
			}
			p, err := pl.Make(c.Input)
			if err != nil {
				t.Fatal(err)
			}
			c.Expect.hold(t, p)
			standing(t, pl, c.Input, p)
			for _, e := range c.Edits {
				e.hold(t, pl, c.Input, p)
			}
		})
	}
}

// standing wants a plan that breaks no rule when it is checked anew.
func standing(t testing.TB, pl *plan.Planner, in plan.Input, p plan.Plan) {
	t.Helper()
	found, err := pl.Verify(in, p)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range found {
		if c.Stands() {
			t.Errorf("a fresh plan breaks %s: %s (%s, %s)", c.Rule, c.Say.EN, c.Step, c.With)
		}
	}
}

func (e expected) hold(t *testing.T, p plan.Plan) {
	t.Helper()
	var got, want []string
	for _, s := range p.Steps {
		if s.Kind == plan.Do {
			got = append(got, s.ID+" "+s.Day)
		}
	}
	for _, s := range e.Steps {
		want = append(want, s[0]+" "+s[1])
	}
	if !slices.Equal(got, want) {
		t.Errorf("steps:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	for id, who := range e.Who {
		if s := stepOf(t, p, id); s.Who != who {
			t.Errorf("%s is done by %s, want %s", id, s.Who, who)
		}
	}
	e.numbers(t, p)
	e.refusals(t, p)
	for _, r := range e.Roads {
		if !slices.ContainsFunc(p.Roads, func(x plan.Road) bool { return x.Step == r[0] && x.Other == r[1] && x.Say.EN != "" && x.Say.ES != "" }) {
			t.Errorf("no other road %v in %v", r, p.Roads)
		}
	}
	var honest []string
	for _, h := range p.Honest {
		honest = append(honest, h.Cause)
	}
	if !slices.Equal(honest, e.Honest) {
		t.Errorf("said honestly of %v, want %v", honest, e.Honest)
	}
}

func (e expected) numbers(t *testing.T, p plan.Plan) {
	t.Helper()
	for _, a := range e.Amounts {
		g := goodOf(t, stepOf(t, p, a.Step), a.Zone, a.Use)
		if g.Amount == nil || !shows(*g.Amount, a.Is) {
			t.Errorf("%s %s %s: %v, want %s", a.Step, a.Zone, a.Use, g.Amount, a.Is)
		}
		if g.Amount != nil && len(g.Working) == 0 {
			t.Errorf("%s %s: an amount without its working", a.Step, a.Use)
		}
	}
	for _, f := range e.Figures {
		found := false
		for _, x := range stepOf(t, p, f.Step).Parts[0].Figures {
			found = found || x.Name == f.Name && shows(x.Value, f.Is)
		}
		if !found {
			t.Errorf("%s: %v, want %s %s", f.Step, stepOf(t, p, f.Step).Parts[0].Figures, f.Name, f.Is)
		}
	}
	for id, is := range e.Load {
		at := slices.IndexFunc(p.Loads, func(l plan.Load) bool { return l.Material == id })
		if at < 0 || !shows(p.Loads[at].Total, is) {
			t.Errorf("load of %s: %v, want %s", id, p.Loads, is)
		}
	}
	if e.Cost != 0 && p.CostCents != e.Cost {
		t.Errorf("cost %d, want %d", p.CostCents, e.Cost)
	}
}

func (e expected) refusals(t *testing.T, p plan.Plan) {
	t.Helper()
	var got, want []string
	for _, r := range p.Refused {
		got = append(got, fmt.Sprint(r.Step, r.Zone, rules(r.Conflicts)))
		for _, c := range r.Conflicts {
			if c.Say.EN == "" || c.Say.ES == "" {
				t.Errorf("%s: %s says nothing", r.Step, c.Rule)
			}
		}
	}
	for _, r := range e.Refused {
		want = append(want, fmt.Sprint(r.Step, r.Zone, r.Rules))
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("refused %v\nwant    %v", got, want)
	}
	for _, m := range e.Moved {
		if got := rules(stepOf(t, p, m.Step).Moved); !slices.Equal(got, m.Rules) {
			t.Errorf("%s was moved by %v, want %v", m.Step, got, m.Rules)
		}
	}
}

func (e editExpects) hold(t *testing.T, pl *plan.Planner, in plan.Input, p plan.Plan) {
	t.Helper()
	before, _ := json.Marshal(p)
	q, err := pl.Adjust(in, p, []plan.Edit{e.Edit})
	if err != nil {
		t.Fatalf("%+v: %v", e.Edit, err)
	}
	if after, _ := json.Marshal(p); string(after) != string(before) {
		t.Errorf("%+v changed the plan it was given", e.Edit)
	}
	var stand []string
	firm := false
	for _, c := range q.Conflicts {
		if c.Stands() && !slices.Contains(stand, c.Rule) {
			stand = append(stand, c.Rule)
			firm = firm || !c.CanOverrule()
		}
	}
	slices.Sort(stand)
	slices.Sort(e.Breaks)
	if !slices.Equal(stand, e.Breaks) || firm != e.Firm {
		t.Errorf("%+v breaks %v (by law or label: %v), want %v", e.Edit, stand, firm, e.Breaks)
	}
}

func rules(list []plan.Conflict) []string {
	var out []string
	for _, c := range list {
		out = append(out, c.Rule)
	}
	return out
}

func stepOf(t testing.TB, p plan.Plan, id string) plan.Step {
	t.Helper()
	at := slices.IndexFunc(p.Steps, func(s plan.Step) bool { return s.ID == id })
	if at < 0 {
		t.Fatalf("no step %s", id)
	}
	return p.Steps[at]
}

func goodOf(t testing.TB, s plan.Step, zone, use string) plan.Good {
	t.Helper()
	for _, part := range s.Parts {
		for _, g := range part.Goods {
			if part.Zone == zone && g.Use == use {
				return g
			}
		}
	}
	t.Fatalf("%s has no %s for %s", s.ID, use, zone)
	return plan.Good{}
}

// shows compares a quantity to one as written, to the digits that are written.
func shows(q agronomy.Quantity, written string) bool {
	number, unit, _ := strings.Cut(written, " ")
	_, after, _ := strings.Cut(number, ".")
	v, err := q.In(unit)
	return err == nil && strconv.FormatFloat(v, 'f', len(after), 64) == number
}

// daily is weather by day, for tests: highest and lowest air, and soil, in F.
type daily struct {
	Called string                `json:"name"`
	Days   map[string][3]float64 `json:"days"` // tmin, tmax, soil
}

func (w *daily) Soil(day string) (float64, bool) { d, ok := w.Days[day]; return d[2], ok }
func (w *daily) Air(day string) (float64, bool)  { d, ok := w.Days[day]; return d[1], ok }
func (w *daily) Name() string                    { return w.Called }

func (w *daily) Last() string {
	last := ""
	for day := range w.Days {
		last = max(last, day)
	}
	return last
}

func (w *daily) DegreeDays(base float64, from, to string) (float64, bool) {
	if to > w.Last() {
		return 0, false
	}
	sum := 0.0
	for day, d := range w.Days {
		if day >= from && day <= to {
			sum += max(0, (d[0]+d[1])/2-base)
		}
	}
	return sum, true
}
