package learn_test

import (
	"bytes"
	"maps"
	"slices"
	"testing"

	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/learn"
)

// three is a report of one change of each kind, and the rows that stand in one group with a changed link.
func three() learn.Report {
	return learn.Report{Changes: []learn.Change{
		{Kind: learn.Rate, Cause: "white_grubs", Season: "fall", Before: 0.1, After: 0.2125},
		{Kind: learn.Drive, Cause: "soil_compaction", Child: "drought_stress", Before: 0.4, After: 0.35},
		{Kind: learn.Link, Cause: "drought_stress", Finding: "pattern", State: "uniform", Before: 0.4, After: 0.3},
	}}
}

func TestAReportIsLaidOver(t *testing.T) {
	base := load(t)
	r := three()
	over := r.Overlay(base, base)
	if got := slices.Sorted(maps.Keys(over)); !slices.Equal(got, []string{"drives.csv", "links.csv", "rates.csv", "sources.csv"}) {
		t.Errorf("files %v", got)
	}
	k, err := learn.Apply(knowledge.Files(), over)
	if err != nil {
		t.Fatal(err)
	}
	if k.Edition == base.Edition {
		t.Error("the edition is the same")
	}
	grubs, _ := k.Cause("white_grubs")
	was, _ := base.Cause("white_grubs")
	if grubs.Rates["fall"] != 0.2125 || grubs.Rates["summer"] != was.Rates["summer"] {
		t.Errorf("rates %v", grubs.Rates)
	}
	for _, d := range k.Bundle.Drives {
		if d.Parent == "soil_compaction" && d.Child == "drought_stress" && d.P != 0.35 {
			t.Errorf("drive %+v", d)
		}
	}
	f, _ := k.Finding("pattern")
	for _, row := range f.Rows {
		if row.Cause == "drought_stress" && row.State == "uniform" && (row.P != 0.3 || !slices.Contains(knowledge.SourceKeys(row.Source), learn.Own)) {
			t.Errorf("row %+v", row)
		}
	}
	if s, ok := k.Source(learn.Own); !ok || s.Status != "own" {
		t.Errorf("source %+v", s)
	}
}

// TestUndoneIsByteForByteTheSame holds that what lies under an overlay is not touched by it, and that a second report keeps the first.
func TestUndoneIsByteForByteTheSame(t *testing.T) {
	base := load(t)
	r := three()
	first := r.Overlay(base, base)
	one, err := learn.Apply(knowledge.Files(), first)
	if err != nil {
		t.Fatal(err)
	}
	more := learn.Report{Changes: []learn.Change{{Kind: learn.Rate, Cause: "rust", Season: "fall", Before: 0.1, After: 0.3}}}
	two, err := learn.Apply(knowledge.Files(), more.Overlay(base, one))
	if err != nil {
		t.Fatal(err)
	}
	rust, _ := two.Cause("rust")
	grubs, _ := two.Cause("white_grubs")
	if rust.Rates["fall"] != 0.3 || grubs.Rates["fall"] != 0.2125 {
		t.Errorf("after two reports: %v, %v", rust.Rates, grubs.Rates)
	}
	again, err := learn.Apply(knowledge.Files(), first)
	if err != nil || !bytes.Equal(again.JSON, one.JSON) || again.Edition != one.Edition {
		t.Error("the first overlay again is other knowledge", err)
	}
	plain, err := knowledge.LoadFS(knowledge.Files())
	if err != nil || !bytes.Equal(plain.JSON, base.JSON) {
		t.Error("our own files are other knowledge", err)
	}
}
