package knowledge

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
)

// idsOf lists every id of a bundle as a line of ids.txt.
func idsOf(b *Bundle) []string {
	var ids []string
	add := func(words ...string) { ids = append(ids, strings.Join(words, " ")) }
	for _, c := range b.Checks {
		add("check", c.ID)
		for _, o := range c.Options {
			add("option", c.ID, o.ID)
		}
		for _, u := range c.Units {
			add("unit", c.ID, u.ID)
		}
	}
	for _, f := range b.Findings {
		add("finding", f.ID)
		for _, s := range f.States {
			add("state", f.ID, s.ID)
		}
	}
	for _, c := range b.Causes {
		add("cause", c.ID)
	}
	for _, a := range b.Actions {
		add("action", a.ID)
	}
	p := b.Planning
	for _, w := range p.Works {
		add("work", w.ID)
	}
	for _, u := range p.Uses {
		add("use", u.ID)
	}
	for _, g := range p.Grasses {
		add("grass", g.ID)
	}
	for _, f := range p.Facts {
		add("fact", f.ID)
		for _, s := range f.States {
			add("fact-state", f.ID, s)
		}
	}
	for _, r := range p.Rules {
		add("rule", r.ID)
	}
	for _, r := range p.Apart {
		add("rule", r.ID)
	}
	for _, c := range p.Caps {
		add("rule", c.ID)
	}
	return ids
}

func ledger(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("ids.txt")
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSuffix(line, "\n"); line != "" && !strings.HasPrefix(line, "#") {
			ids = append(ids, line)
		}
	}
	return ids
}

func TestEveryIDIsInTheLedger(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	written := map[string]bool{}
	for _, id := range ledger(t) {
		if written[id] {
			t.Errorf("ids.txt has %q twice", id)
		}
		written[id] = true
	}
	for _, id := range idsOf(&k.Bundle) {
		if !written[id] {
			t.Errorf("append to ids.txt: %s", id)
		}
	}
}

// An id stands in records that are kept for years. It may be retired (checks.json) and never taken away.
func TestNoIDIsTakenAway(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	alive := map[string]bool{}
	for _, id := range idsOf(&k.Bundle) {
		alive[id] = true
	}
	for _, id := range ledger(t) {
		if !alive[id] {
			t.Errorf("%s is in ids.txt and no longer in the knowledge", id)
		}
	}
}

func TestAChangedEditionHasADatedLine(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("CHANGES.md")
	if err != nil {
		t.Fatal(err)
	}
	dated := regexp.MustCompile(`(?m)^- \d{4}-\d{2}-\d{2} ([0-9a-f]{16}) \S.*$`).FindAllStringSubmatch(string(text), -1)
	if len(dated) == 0 {
		t.Fatal("CHANGES.md has no dated line")
	}
	if last := dated[len(dated)-1][1]; last != k.Edition {
		t.Error(fmt.Sprintf("the last line of CHANGES.md names edition %s; ", last) +
			"say what changed in a new line: - YYYY-MM-DD " + k.Edition + " what and why")
	}
}
