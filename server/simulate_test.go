package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"swardbook/diagnose/simulate"
)

func simulated(t *testing.T, args ...string) (out, progress string, err error) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	err = run(t.Context(), append([]string{"simulate"}, args...), func(string) string { return "" }, strings.NewReader(""), &stdout, &stderr)
	return stdout.String(), stderr.String(), err
}

func TestSimulateCommand(t *testing.T) {
	out, progress, err := simulated(t, "-visits", "3", "-seed", "4", "-season", "fall", "-json")
	if err != nil {
		t.Fatal(err)
	}
	var r simulate.Result
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	if r.Visits != 3 || r.Seed != 4 || r.Season != "fall" || len(r.Policies) != 3 || len(r.Policies[0].At) != 3 || r.Policies[0].At[2].Checks != 10 {
		t.Errorf("%+v", r)
	}
	if !strings.Contains(progress, "3 of 3 visits") {
		t.Errorf("progress %q", progress)
	}
	table, _, err := simulated(t, "-visits", "3", "-seed", "4", "-season", "fall")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"3 visits, fall, seed 4", "next best", "fixed order", "random order", "Reliability, next best, 10 checks"} {
		if !strings.Contains(table, want) {
			t.Errorf("no %q in:\n%s", want, table)
		}
	}
}

func TestSimulateRefuses(t *testing.T) {
	for want, args := range map[string][]string{
		"-season is one of spring": {"-season", "monsoon"},
		"-visits is at least 1":    {"-visits", "0"},
		"takes no word":            {"more"},
		"invalid value":            {"-seed", "x"},
	} {
		if _, _, err := simulated(t, args...); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: got %v, want %s", args, err, want)
		}
	}
}
