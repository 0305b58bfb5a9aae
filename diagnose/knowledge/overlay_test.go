package knowledge

import (
	"strings"
	"testing"
	"testing/fstest"
)

func TestAFirmAddsItsOwnRows(t *testing.T) {
	ours, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := LoadFS(Overlay(Files(), fstest.MapFS{
		"links.add.csv":   {Data: []byte("finding,state,cause,word,source\nfootprint_test,stays,shade,rarely,FIRM\n")},
		"sources.add.csv": {Data: []byte("key,title,by,year,status\nFIRM,Our own lawns,,2026,practice\n")},
	}))
	if err != nil {
		t.Fatal(err)
	}
	was, _ := ours.Finding("footprint_test")
	is, _ := theirs.Finding("footprint_test")
	if len(is.Rows) != len(was.Rows)+1 {
		t.Errorf("%d rows, want one more than %d", len(is.Rows), len(was.Rows))
	}
	if theirs.Edition == ours.Edition {
		t.Error("other knowledge has the same edition")
	}
}

func TestAFirmReplacesAFile(t *testing.T) {
	theirs, err := LoadFS(Overlay(Files(), fstest.MapFS{
		"groups.csv": {Data: []byte("findings,source\ntug_test billbug_sign,EJ\n")},
	}))
	if err != nil {
		t.Fatal(err)
	}
	if got := len(theirs.Bundle.Groups); got != 1 {
		t.Errorf("%d groups, want the firm's one", got)
	}
}

func TestAFirmsFaultIsNamedInItsOwnFile(t *testing.T) {
	_, err := LoadFS(Overlay(Files(), fstest.MapFS{
		"links.add.csv": {Data: []byte("finding,state,cause,word,source\n# ours\npattern,uniform,drought_stress,rarely,EJ\n")},
	}))
	want := `links.add.csv:3: "pattern,uniform,drought_stress" is already in links.csv:4`
	if err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("got %v, want %s", err, want)
	}
}
