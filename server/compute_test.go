package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// callCompute runs the program with arguments and standard input.
func callCompute(t *testing.T, stdin string, args ...string) (string, error) {
	t.Helper()
	var out, errs bytes.Buffer
	err := run(context.Background(), append([]string{"compute"}, args...), func(string) string { return "" }, strings.NewReader(stdin), &out, &errs)
	return out.String(), err
}

const oneCalculation = `{"id": 7, "formula": "run_time", "inputs": {"water_need": {"value": 0.5, "unit": "in"}, "precip_rate": {"value": 0.528, "unit": "in/h"}, "du_lq": {"value": 0.771, "unit": "fraction"}}}`

func TestComputePrintsOutputsWithWorking(t *testing.T) {
	out, err := callCompute(t, oneCalculation)
	if err != nil {
		t.Fatal(err)
	}
	var answers []struct {
		ID      string
		Outputs map[string]struct {
			Value   float64
			Unit    string
			Working struct {
				Formula, Source string
				Inputs          []struct{ Name, Given string }
			}
		}
		Error *string
	}
	if err := json.Unmarshal([]byte(out), &answers); err != nil || len(answers) != 1 {
		t.Fatalf("%v in %s", err, out)
	}
	lower := answers[0].Outputs["run_time_lower"]
	if answers[0].ID != "7" || answers[0].Error != nil || lower.Unit != "min" || lower.Value < 56.8 || lower.Value > 56.9 || lower.Working.Formula == "" || lower.Working.Source == "" || len(lower.Working.Inputs) != 2 {
		t.Errorf("%s", out)
	}
}

// What is wrong is said in a sentence that names the input; the other calculations are answered all the same.
func TestComputeRefusesBySentence(t *testing.T) {
	for name, c := range map[string]struct{ in, want string }{
		"unknown formula": {`{"formula": "run_times", "inputs": {}}`, "There is no formula \"run_times\"; there is"},
		"missing input":   {`{"formula": "run_time", "inputs": {"water_need": {"value": 1, "unit": "in"}}}`, "run_time needs precip_rate"},
		"unknown input":   {`{"formula": "bucket_flow", "inputs": {"bucket": {"value": 1, "unit": "gal"}}}`, "bucket_flow takes no input \"bucket\"; it takes volume, fill_time"},
		"wrong unit":      {`{"formula": "bucket_flow", "inputs": {"volume": {"value": 1, "unit": "lb"}, "fill_time": {"value": 30, "unit": "s"}}}`, "volume must be given in a unit like L"},
		"no unit":         {`{"formula": "bucket_flow", "inputs": {"volume": {"value": 1}, "fill_time": {"value": 30, "unit": "s"}}}`, "volume has no unit"},
		"out of range":    {`{"formula": "bucket_flow", "inputs": {"volume": {"value": 5, "unit": "gal"}, "fill_time": {"value": 0, "unit": "s"}}}`, "fill_time is 0 s, but must be above 0 min."},
		"wrong kind":      {`{"formula": "bucket_flow", "inputs": {"volume": {"value": "5", "unit": "gal"}, "fill_time": {"value": 3, "unit": "s"}}}`, "volume must be a number, and a text was given."},
		"too large":       {`{"formula": "bucket_flow", "inputs": {"volume": {"value": 1e999, "unit": "gal"}, "fill_time": {"value": 3, "unit": "s"}}}`, "volume"},
		"no value":        {`{"formula": "bucket_flow", "inputs": {"volume": {"value": null, "unit": "gal"}, "fill_time": {"value": 3, "unit": "s"}}}`, "volume has no value"},
		"unknown texture": {`{"formula": "cycle_and_soak", "inputs": {"soil": {"value": "peat", "unit": ""}, "slope_class": {"value": "0-3 %", "unit": ""}}}`, "soil is \"peat\", but must be one of: clay, silty clay"},
		"two names":       {`{"formula": "run_time", "inputs": {"water_need": {"value": 1, "unit": "in"}, "need": {"value": 1, "unit": "in"}}}`, "water_need is given twice"},
		"no name":         {`{"inputs": {}}`, "No formula is named"},
	} {
		out, err := callCompute(t, "["+c.in+","+oneCalculation+"]")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var answers []struct {
			Outputs map[string]any
			Error   *string
		}
		if err := json.Unmarshal([]byte(out), &answers); err != nil || len(answers) != 2 {
			t.Fatalf("%s: %v in %s", name, err, out)
		}
		if answers[0].Error == nil || !strings.Contains(*answers[0].Error, c.want) {
			t.Errorf("%s: %s", name, out)
		}
		if answers[1].Error != nil || len(answers[1].Outputs) < 2 {
			t.Errorf("%s spoils the other calculation: %s", name, out)
		}
	}
}

func TestComputeRefusesWhatIsNoJSON(t *testing.T) {
	for _, in := range []string{"", "   ", "[", "17", `"text"`, `[1, 2]`, `{"inputs": []}`, "[{\"formula\":\n 3}]"} {
		if out, err := callCompute(t, in); err == nil {
			t.Errorf("%q gives %s", in, out)
		}
	}
}

func TestComputeCheck(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	expecting := func(value string) string {
		return strings.TrimSuffix(oneCalculation, "}") + `, "expect": {"run_time_lower": {"value": ` + value + `, "unit": "h", "tolerance": 0.001}}}`
	}
	good, bad := write("good.json", "["+expecting("0.947")+"]"), write("bad.json", expecting("0.95"))
	if out, err := callCompute(t, "", "-check", good); err != nil || !strings.Contains(out, "1 of 1 calculations hold.") {
		t.Errorf("%v: %s", err, out)
	}
	if out, err := callCompute(t, expecting("0.947"), "-check"); err != nil {
		t.Errorf("%v: %s", err, out)
	}
	out, err := callCompute(t, "", "-check", good, bad)
	if err == nil || !strings.Contains(out, "7 run_time: run_time_lower: expected 0.95 h within 0.001, got 0.946") || !strings.Contains(out, "1 of 2 calculations hold.") {
		t.Errorf("%v: %s", err, out)
	}
	if out, err := callCompute(t, oneCalculation, "-check"); err == nil {
		t.Errorf("a check that expects nothing holds: %s", out)
	}
	if out, err := callCompute(t, "[]", "-check"); err == nil {
		t.Errorf("no check at all holds: %s", out)
	}
	if _, err := callCompute(t, "", filepath.Join(dir, "none.json")); err == nil {
		t.Error("a file that isn't there is read")
	}
}

func TestComputeList(t *testing.T) {
	out, err := callCompute(t, "", "-list")
	if err != nil || !strings.Contains(out, "run_time: How long to water.") || !strings.Contains(out, "precip_rate") || !strings.Contains(out, "source: ") {
		t.Errorf("%v: %s", err, out)
	}
}
