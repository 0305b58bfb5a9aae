package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"swardbook/diagnose/knowledge"
	"swardbook/store/intake"
)

func TestReweighedCounts(t *testing.T) {
	var progress, out bytes.Buffer
	at := time.Date(2026, 8, 27, 10, 0, 0, 0, time.UTC)
	sum := newReweighed(&progress, func() time.Time { return at })
	for i := range 5 {
		at = at.Add(time.Second)
		sum.add(intake.Weighed{Was: "a", Now: map[bool]string{true: "b", false: "a"}[i < 2], Refused: i == 4, Saved: i == 0})
	}
	sum.add(intake.Weighed{Now: "a"})
	if err := sum.write(&out, &knowledge.Loaded{Edition: "e1"}); err != nil {
		t.Fatal(err)
	}
	want := "6 zone visits weighed by edition e1, 1 a second; 3 are led by another cause, 1 can't be weighed, 1 new answers stored\n" +
		"     2  a → b\n     1  none → a\n"
	if out.String() != want {
		t.Errorf("%q", out.String())
	}
	if lines := strings.Count(progress.String(), "a second"); lines != 2 {
		t.Errorf("progress: %q", progress.String())
	}
}

func TestReweighNeedsADatabase(t *testing.T) {
	if _, err := commanded(t, "", "reweigh", "-data", t.TempDir()); err == nil {
		t.Error("an empty folder is weighed")
	}
}
