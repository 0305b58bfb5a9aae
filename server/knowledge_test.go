package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/sqlite"
)

// commanded runs the program on a command line and returns what it prints.
func commanded(t *testing.T, stdin string, args ...string) (string, error) {
	t.Helper()
	var out, hints bytes.Buffer
	err := run(context.Background(), args, func(string) string { return "" }, strings.NewReader(stdin), &out, &hints)
	if errors.Is(err, flag.ErrHelp) {
		return hints.String(), nil
	}
	return out.String(), err
}

var valley = filepath.Join("..", "testdata", "overlay")

func TestKnowledgeIsPrintedAsPhonesGetIt(t *testing.T) {
	for _, args := range [][]string{{"knowledge"}, {"knowledge", "-knowledge", valley}} {
		out, err := commanded(t, "", args...)
		if err != nil {
			t.Fatal(err)
		}
		k, err := knowledge.Decode([]byte(strings.TrimSuffix(out, "\n")))
		if err != nil {
			t.Fatal(err)
		}
		if _, own := k.Cause("vole_runs"); own != (len(args) > 1) {
			t.Errorf("%v: the firm's cause is there: %v", args, own)
		}
	}
}

func TestKnowledgeIsReportedOn(t *testing.T) {
	out, err := commanded(t, "", "knowledge", "-check", "-visits", "3", "-knowledge", valley)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"38    causes", "vole_runs", "overlay/links.csv", "hardest to tell apart, by 3 visits"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if _, err := commanded(t, "", "knowledge", "-check", "-visits", "0"); err == nil || !strings.Contains(err.Error(), "at least 1") {
		t.Errorf("no visits at all: %v", err)
	}
}

// A case may speak of the firm's own check, and its cause leads.
func TestAFirmsOwnCauseIsDiagnosed(t *testing.T) {
	const cases = `[{"id": "hedge", "season": "spring", "findings": {"surface_runs": "clipped_runs", "time_course": "present_at_snowmelt"}}]`
	out, err := commanded(t, cases, "diagnose", "-knowledge", valley)
	if err != nil {
		t.Fatal(err)
	}
	var answers []diagnose.Answer
	if err := json.Unmarshal([]byte(out), &answers); err != nil {
		t.Fatal(err)
	}
	if lead := answers[0].Causes[0]; lead.ID != "vole_runs" || lead.Likelihood < 0.5 {
		t.Errorf("%s leads with %v", lead.ID, lead.Likelihood)
	}
	if out, err := commanded(t, cases, "diagnose"); err == nil || !strings.Contains(out, `no finding \"surface_runs\"`) {
		t.Errorf("without the firm's files: %v, %s", err, out)
	}
}

func TestABrokenFolderOfKnowledgeIsRefused(t *testing.T) {
	dir := t.TempDir()
	links := filepath.Join(dir, "links.csv")
	if err := os.WriteFile(links, []byte("finding,state,cause,word,source\npattern,wavy,shade,often,EJ\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, command := range [][]string{{"knowledge"}, {"knowledge", "-check"}, {"diagnose"}, {"serve", "-data", t.TempDir(), "-addr", "127.0.0.1:0"}} {
		_, err := commanded(t, "[]", append(command, "-knowledge", dir)...)
		if err == nil || !strings.Contains(err.Error(), links+`:2: unknown state "pattern wavy"`) {
			t.Errorf("%v: %v", command, err)
		}
	}
	if _, err := commanded(t, "", "knowledge", "-knowledge", links); err == nil || !strings.Contains(err.Error(), "a folder is wanted") {
		t.Errorf("a file: %v", err)
	}
	if _, err := commanded(t, "", "knowledge", "-knowledge", filepath.Join(dir, "gone")); err == nil || !strings.Contains(err.Error(), "gone") {
		t.Errorf("nothing there: %v", err)
	}
}

func TestAnEmptyInputIsSaidToBeEmpty(t *testing.T) {
	if _, err := commanded(t, "", "diagnose"); err == nil || err.Error() != "cases: the input is empty; a list of cases is wanted, [] for none" {
		t.Errorf("%v", err)
	}
}

// What a person reads at the terminal is the sentence; which method said it is for logs, and for faults of ours.
func TestErrorsAreSentences(t *testing.T) {
	_, err := commanded(t, "", "backup", "-data", emptyDatabase(t), "-to", valley)
	if err == nil || !strings.HasPrefix(sentence(err), "A backup needs a folder") {
		t.Errorf("%q", sentence(err))
	}
	if got := sentence(store.Errorf(store.Internal, "the page is torn")); got != "the page is torn" {
		t.Errorf("%q", got)
	}
}

func emptyDatabase(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	db, err := sqlite.Open(context.Background(), databaseIn(dir), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

func TestHelpHasNoHeadingOverNothing(t *testing.T) {
	for _, c := range commands() {
		out, err := commanded(t, "", c.name, "-h")
		if err != nil {
			t.Errorf("%s -h: %v", c.name, err)
		}
		if strings.HasSuffix(strings.TrimSpace(out), "Flags:") || !strings.Contains(out, "swardbook "+c.name) {
			t.Errorf("%s -h ends in a heading:\n%s", c.name, out)
		}
	}
	var hints bytes.Buffer
	flags(terminal{stderr: &hints}, "rest", "Does nothing.").Usage()
	if strings.Contains(hints.String(), "Flags") {
		t.Errorf("%s", hints.String())
	}
}
