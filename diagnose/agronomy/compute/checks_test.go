package compute

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"swardbook/diagnose/agronomy"
)

const (
	checksFile   = "../../../testdata/agronomy/checks.json"
	variantsFile = "../../../testdata/agronomy/variants.json"
)

func readChecks(t testing.TB) []Check { return readFile(t, checksFile) }

func readFile(t testing.TB, name string) []Check {
	t.Helper()
	file, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	checks, err := Decode(file)
	if err != nil {
		t.Fatal(err)
	}
	return checks
}

// Every published or worked example passes.
func TestChecks(t *testing.T) {
	checks := readChecks(t)
	if len(checks) < 178 {
		t.Fatalf("only %d checks", len(checks))
	}
	r := NewRegistry()
	var missing []string
	for _, c := range checks {
		if _, known := r.byName[c.Formula]; c.Formula != "" && !known {
			if !slices.Contains(missing, c.Formula) {
				missing = append(missing, c.Formula)
			}
			continue
		}
		for _, say := range Compare(c, r.Answer(c)) {
			t.Errorf("%s %s: %s", c.ID, c.Formula, say)
		}
	}
	if len(missing) > 0 {
		t.Errorf("no formula for %v", missing)
	}
}

// Other ways of asking, other units, and what may be left out, each against a second arithmetic.
func TestVariants(t *testing.T) {
	variants := readFile(t, variantsFile)
	if len(variants) < 33 {
		t.Fatalf("only %d variants", len(variants))
	}
	r := NewRegistry()
	for _, c := range variants {
		for _, say := range Compare(c, r.Answer(c)) {
			t.Errorf("%s %s: %s", c.ID, c.Formula, say)
		}
	}
}

// A check whose expectation is moved by ten tolerances, or whose words are changed, fails: the comparison compares.
func TestChecksCanFail(t *testing.T) {
	r := NewRegistry()
	for _, c := range readChecks(t) {
		if _, known := r.byName[c.Formula]; !known {
			continue
		}
		for name, e := range c.Expect {
			spoiled := c
			spoiled.Expect = map[string]Expected{name: spoil(e)}
			if len(Compare(spoiled, r.Answer(spoiled))) == 0 {
				t.Errorf("%s: %s passes although it is spoiled", c.ID, name)
			}
		}
	}
}

func spoil(e Expected) Expected {
	v := e.Value
	switch v.Kind {
	case agronomy.Number:
		v.Number += 10*e.Tolerance + 0.1 + 1e-3*math.Abs(v.Number)
	case agronomy.Numbers:
		v.Numbers = append(slices.Clone(v.Numbers), 1)
	case agronomy.Text:
		v.Text += "x"
	case agronomy.Texts:
		v.Texts = append(slices.Clone(v.Texts), "x")
	case agronomy.Flag:
		v.Yes = !v.Yes
	default:
		v = agronomy.Of(math.Pi, "")
	}
	return Expected{Value: v, Tolerance: e.Tolerance}
}

// Without being told the unit, a formula answers in the very unit that people expect of these inputs.
func TestUnitsOfAnswers(t *testing.T) {
	r := NewRegistry()
	for _, c := range readChecks(t) {
		bare := c
		bare.Expect = nil
		for name, out := range r.Answer(bare).Outputs {
			e, ok := c.Expect[name]
			if !ok || e.Value.Kind != agronomy.Number && e.Value.Kind != agronomy.Numbers {
				continue
			}
			if one, err := agronomy.Q(1, out.Unit).In(e.Value.Unit); err != nil || math.Abs(one-1) > 1e-9 {
				if !otherUnit[c.ID+" "+name] {
					t.Errorf("%s: %s is in %s, expected in %s", c.ID, name, out.Unit, e.Value.Unit)
				}
			}
		}
	}
}

// otherUnit are outputs that different sources print in different units for the same inputs.
var otherUnit = map[string]bool{"SUN-05 sunrise": true, "SUN-05 sunset": true, "SUN-06 sunrise": true, "SUN-06 sunset": true, "SUN-08 sunrise": true, "SUN-08 sunset": true}

// Every answer carries its working: formula, source, the inputs that were used, and it can be written as JSON.
func TestWorkings(t *testing.T) {
	r := NewRegistry()
	for _, c := range readChecks(t) {
		a := r.Answer(c)
		for name, out := range a.Outputs {
			w := out.Working
			if w.Formula == "" || w.Source == "" || w.Result == "" || len(w.Inputs) == 0 && len(c.Inputs) > 0 {
				t.Errorf("%s: %s has a thin working: %+v", c.ID, name, w)
			}
			if len(w.Lines()) < 3 {
				t.Errorf("%s: %s reads as %q", c.ID, name, w.String())
			}
		}
		if _, err := json.Marshal(a); err != nil {
			t.Errorf("%s: %v", c.ID, err)
		}
	}
}

// The registry is sound: names are unique, inputs and outputs are declared, units can be read.
func TestRegistry(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Formulas() {
		if seen[f.Name] || f.Name == "" || f.Does == "" || f.Source == "" || len(f.Ways) == 0 || len(f.Outputs) == 0 {
			t.Errorf("%q is twice in the registry, or lacks a name, a source, a way or outputs", f.Name)
		}
		seen[f.Name] = true
		names := map[string]bool{}
		for _, in := range f.Inputs {
			for _, name := range append([]string{in.Name}, in.Also...) {
				if names[name] {
					t.Errorf("%s: %s is the name of two inputs", f.Name, name)
				}
				names[name] = true
			}
			isNumber := in.Kind == "" || in.Kind == agronomy.Number || in.Kind == agronomy.Numbers
			if isNumber && !agronomy.Known(in.Unit) {
				t.Errorf("%s: %s works in %q, which is no unit", f.Name, in.Name, in.Unit)
			}
			if in.Says == "" {
				t.Errorf("%s: %s is not explained", f.Name, in.Name)
			}
		}
		for _, w := range f.Ways {
			for _, name := range slices.Concat(w.Needs, w.May) {
				if in, ok := inputOf(f, name); !ok || in.Name != name {
					t.Errorf("%s: a way uses %s, which is not declared", f.Name, name)
				}
			}
		}
	}
}

// What comes out is declared.
func TestOutputsAreDeclared(t *testing.T) {
	r := NewRegistry()
	for _, c := range readChecks(t) {
		f, err := r.Formula(c.Formula, slices.Collect(func(yield func(string) bool) {
			for name := range c.Inputs {
				if !yield(name) {
					return
				}
			}
		}))
		if err != nil {
			continue
		}
		for name := range r.Answer(c).Outputs {
			if !slices.ContainsFunc(f.Outputs, func(o agronomy.Output) bool { return o.Name == name || slices.Contains(o.Also, name) }) {
				t.Errorf("%s gives %s, which it doesn't declare", f.Name, name)
			}
		}
	}
}
