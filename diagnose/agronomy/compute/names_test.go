package compute

import (
	"math"
	"strings"
	"testing"
)

func answer(t *testing.T, text string) Answer {
	t.Helper()
	checks, err := Decode(strings.NewReader(text))
	if err != nil || len(checks) != 1 {
		t.Fatalf("%d checks, %v", len(checks), err)
	}
	return NewRegistry().Answer(checks[0])
}

// Inputs and outputs go by further names; an output asked for by one of them is given under it too.
func TestFurtherNames(t *testing.T) {
	a := answer(t, `{"formula": "can_audit", "inputs": {"depths": {"value": [10, 12, 14, 16], "unit": "mm"}}, "expect": {"christiansen": {"value": 0.85, "unit": "fraction", "tolerance": 0.01}}}`)
	if a.Error != nil || a.Outputs["christiansen"].Value != a.Outputs["cu"].Value || a.Outputs["cu"].Value == nil {
		t.Errorf("%+v", a)
	}
}

// Without a formula's name the inputs tell, when only one formula takes them.
func TestFormulaByInputs(t *testing.T) {
	a := answer(t, `{"inputs": {"cool_monthly": {"value": [1,1,1,1,1,1,0.5,0.5,0.5,0.5,0.5,0.5], "unit": "ratio"}}}`)
	if a.Error != nil || a.Outputs["cool_mean"].Value != 0.75 {
		t.Errorf("%+v", a)
	}
	if b := answer(t, `{"inputs": {"area": {"value": 1, "unit": "ft2"}, "grade_n": {"value": 1, "unit": "%"}, "zenith": {"value": 1, "unit": "deg"}}}`); b.Error == nil {
		t.Errorf("%+v", b)
	}
}

// What no part of a formula could use is named.
func TestUnused(t *testing.T) {
	a := answer(t, `{"formula": "can_audit", "inputs": {"catch": {"value": [10, 12], "unit": "mL"}, "throat_area": {"value": 16, "unit": "in2"}}}`)
	if a.Error != nil || len(a.Unused) != 1 || a.Unused[0] != "throat_area" {
		t.Errorf("%+v", a)
	}
}

// A missing day is a gap to degree days, and refused where every value counts.
func TestGapsInLists(t *testing.T) {
	a := answer(t, `{"formula": "degree_days", "inputs": {"tmax": {"value": [70, null, 74], "unit": "F"}, "tmin": {"value": [50, 50, 50], "unit": "F"}, "base": {"value": 50, "unit": "F"}}}`)
	if a.Error != nil || a.Outputs["total"].Value != 33.0 || a.Outputs["estimated"].Value != true {
		t.Errorf("%+v", a)
	}
	b := answer(t, `{"formula": "can_audit", "inputs": {"catch": {"value": [10, null, 12], "unit": "mL"}}}`)
	if b.Error == nil || !strings.Contains(*b.Error, "catch has a gap") {
		t.Errorf("%+v", b)
	}
}

// Outputs come in the unit that is expected of them, and the working says both.
func TestExpectedUnit(t *testing.T) {
	a := answer(t, `{"formula": "run_time", "inputs": {"need": {"value": 10, "unit": "mm"}, "rate": {"value": 20, "unit": "mm/h"}}, "expect": {"run_time_lower": {"value": 0.5, "unit": "h", "tolerance": 0}}}`)
	out := a.Outputs["run_time_lower"]
	if a.Error != nil || out.Unit != "h" || math.Abs(out.result.Number-0.5) > 1e-12 || out.Working.Result != "30 min = 0.5 h" {
		t.Errorf("%+v", a)
	}
}
