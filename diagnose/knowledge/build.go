package knowledge

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"swardbook/diagnose/checks"
)

// settingsFile is settings.json.
type settingsFile struct {
	Format   int      `json:"format"`
	Seasons  []string `json:"seasons"`
	SeasonOf []string `json:"season_of"`
	Settings Settings `json:"settings"`
	Source   string   `json:"source"`
}

// findingText is an entry of findings.json; numbers are in the CSV files.
type findingText struct {
	ID     string      `json:"id"`
	Kind   string      `json:"kind"`
	Multi  bool        `json:"multi"`
	Label  checks.Text `json:"label"`
	States []State     `json:"states"`
	Source string      `json:"source"`
}

// causeText is an entry of causes.json. Avoid is said of every action of the cause that has no warning of its own.
type causeText struct {
	ID          string      `json:"id"`
	Label       checks.Text `json:"label"`
	What        checks.Text `json:"what"`
	Confirm     checks.Text `json:"confirm"`
	Season      checks.Text `json:"season"`
	Severity    float64     `json:"severity"`
	Plan        string      `json:"plan"`
	Consequence bool        `json:"consequence"`
	Avoid       checks.Text `json:"avoid"`
	Refer       checks.Text `json:"refer"`
	Expect      checks.Text `json:"expect"`
	Source      string      `json:"source"`
}

// bundle reads all files, in the order in which they lean on each other.
func (l *loader) bundle() *Bundle {
	b := &Bundle{}
	l.readSources(b)
	l.readWords()
	l.readSettings(b)
	l.readFindings(b)
	l.readChecks(b)
	avoid := l.readCauses(b)
	l.readBaseline()
	l.readBands()
	l.readErrors()
	l.readLinks()
	l.readRates(b)
	l.readDrives(b)
	l.readAdjust(b)
	l.readGroups(b)
	l.readIgnore(b)
	l.readActions(b, avoid)
	l.readCourse(b)
	l.readCautions(b)
	l.readPlanning(b)
	l.apart(b)
	l.idle(b)
	l.readWeights()
	return b
}

func (l *loader) readSources(b *Bundle) {
	l.sources = map[string]bool{}
	seen := map[string]pos{}
	statuses := []string{"read", "part", "memory", "practice", "judgement", "own"}
	for _, r := range l.table("sources.csv", "key", "title", "by", "year", "status") {
		s := Source{r.cells["key"], r.cells["title"], r.cells["by"], r.cells["year"], r.cells["status"]}
		if s.Key == "" || s.Title == "" {
			l.fail(r.at, "a source needs a key and a title")
		}
		if !slices.Contains(statuses, s.Status) {
			l.fail(r.at, "%q is not a status of a source", s.Status)
		}
		l.once(seen, s.Key, r.at)
		l.sources[s.Key] = true
		b.Sources = append(b.Sources, s)
	}
}

func (l *loader) readWords() {
	l.words = map[string]float64{}
	seen := map[string]pos{}
	for _, r := range l.table("words.csv", "word", "p", "source") {
		l.once(seen, r.cells["word"], r.at)
		l.source(r.at, r.cells["source"])
		l.words[r.cells["word"]] = l.number(r, "p", lowChance, highChance)
	}
}

func (l *loader) readSettings(b *Bundle) {
	f, at := object[settingsFile](l, "settings.json")
	b.Format, b.Seasons, b.SeasonOf, b.Settings = f.Format, f.Seasons, f.SeasonOf, f.Settings
	l.seasons = f.Seasons
	l.source(at("source"), f.Source)
	if f.Format != 1 {
		l.fail(at("format"), "format %d is not known", f.Format)
	}
	if len(f.SeasonOf) != 12 {
		l.fail(at("season_of"), "season_of has %d months, want 12", len(f.SeasonOf))
	}
	for _, s := range f.SeasonOf {
		l.unknown(!slices.Contains(f.Seasons, s), at("season_of"), "season", s)
	}
	l.checkSettings(f.Settings, at)
}

func (l *loader) checkSettings(s Settings, at func(string) pos) {
	if s.MaxSet < 1 || s.MaxSet > 4 {
		l.fail(at("max_set"), "max_set must be 1 to 4")
	}
	for key, p := range map[string]float64{
		"likely": s.Likely, "cant_tell": s.CantTell, "group_share": s.GroupShare, "other_rate": s.SourceOther,
	} {
		if !(p > 0 && p < 1) {
			l.fail(at(key), "%s lies between 0 and 1", key)
		}
	}
	if s.Likely > s.CantTell {
		l.fail(at("likely"), "likely is above cant_tell")
	}
	if s.Sure != 0 && !(s.Sure >= s.CantTell && s.Sure < 1) {
		l.fail(at("sure"), "sure lies between cant_tell and 1")
	}
	if s.Strong != 0 && !(s.Strong >= 1) {
		l.fail(at("strong"), "strong is a factor of 1 or more")
	}
}

func (l *loader) readFindings(b *Bundle) {
	l.states = map[string]*Finding{}
	l.findingAt = map[string]pos{}
	seen := map[string]pos{}
	entries := list[findingText](l, "findings.json")
	b.Findings = make([]Finding, 0, len(entries))
	kinds := []string{"look", "water", "soil", "plant", "pest", "site"}
	for _, e := range entries {
		f := Finding{ID: e.v.ID, Kind: e.v.Kind, Multi: e.v.Multi, Label: e.v.Label, States: e.v.States,
			Base: map[string][]float64{}, Rows: []Row{}, Source: l.source(e.at, e.v.Source)}
		l.once(seen, f.ID, e.at)
		if !slices.Contains(kinds, f.Kind) {
			l.fail(e.at, "%s: %q is not a kind of finding", f.ID, f.Kind)
		}
		l.labelled(e.at, f.ID, f.Label)
		l.readStates(e.at, f)
		b.Findings = append(b.Findings, f)
		l.states[f.ID] = &b.Findings[len(b.Findings)-1]
		l.findingAt[f.ID] = e.at
	}
}

func (l *loader) readStates(at pos, f Finding) {
	if len(f.States) < 2 {
		l.fail(at, "%s: a finding has at least two states", f.ID)
	}
	seen := map[string]pos{}
	for _, s := range f.States {
		l.once(seen, s.ID, at)
		l.labelled(at, f.ID+" "+s.ID, s.Say)
	}
}

// labelled wants an id and a text that a person reads, in both languages.
func (l *loader) labelled(at pos, id string, t checks.Text) {
	if id == "" {
		l.fail(at, "no id")
	}
	if t.EN == "" || t.ES == "" {
		l.fail(at, "%s: a label is wanted in both languages", id)
	}
}

func (l *loader) readCauses(b *Bundle) map[string]checks.Text {
	l.causes = map[string]*Cause{}
	l.causeAt = map[string]pos{}
	avoid := map[string]checks.Text{}
	seen := map[string]pos{}
	entries := list[causeText](l, "causes.json")
	b.Causes = make([]Cause, 0, len(entries))
	for _, e := range entries {
		c := Cause{ID: e.v.ID, Label: e.v.Label, What: e.v.What, Confirm: e.v.Confirm, Season: e.v.Season,
			Severity: e.v.Severity, Plan: e.v.Plan, Consequence: e.v.Consequence, Refer: e.v.Refer,
			Expect: e.v.Expect, Rates: map[string]float64{}, Source: l.source(e.at, e.v.Source)}
		l.once(seen, c.ID, e.at)
		l.labelled(e.at, c.ID, c.Label)
		if c.What.EN == "" || c.Confirm.EN == "" || c.Expect.EN == "" || c.Plan == "" {
			l.fail(e.at, "%s: what, confirm, expect and plan are wanted", c.ID)
		}
		if !(c.Severity >= 0 && c.Severity <= 1) {
			l.fail(e.at, "%s: severity lies between 0 and 1", c.ID)
		}
		avoid[c.ID] = e.v.Avoid
		b.Causes = append(b.Causes, c)
		l.causes[c.ID] = &b.Causes[len(b.Causes)-1]
		l.causeAt[c.ID] = e.at
	}
	return avoid
}

func (l *loader) readRates(b *Bundle) {
	head := append(append([]string{"cause"}, l.seasons...), "source")
	l.rateSource = map[string]string{}
	seen := map[string]pos{}
	for _, r := range l.table("rates.csv", head...) {
		c := l.causes[r.cells["cause"]]
		if c == nil || !l.once(seen, c.ID, r.at) {
			l.unknown(c == nil, r.at, "cause", r.cells["cause"])
			continue
		}
		l.rateSource[c.ID] = l.source(r.at, r.cells["source"])
		for _, s := range l.seasons {
			c.Rates[s] = l.number(r, s, 0.0001, 0.95)
		}
	}
	l.otherRate(b)
	for _, c := range b.Causes {
		if len(c.Rates) == 0 {
			l.fail(l.causeAt[c.ID], "no rates for %s", c.ID)
		}
	}
}

// otherRate gives the cause that stands for the unknown its one rate, which is a setting.
func (l *loader) otherRate(b *Bundle) {
	other := l.causes[b.Settings.Other]
	if other == nil {
		l.fail(pos{"settings.json", 1}, "other: unknown cause %q", b.Settings.Other)
		return
	}
	for _, s := range l.seasons {
		other.Rates[s] = b.Settings.SourceOther
	}
}

func (l *loader) unknown(is bool, at pos, what, id string) bool {
	if is {
		l.fail(at, "unknown %s %q", what, id)
	}
	return is
}

func (l *loader) readDrives(b *Bundle) {
	seen := map[string]pos{}
	b.Drives = []Drive{}
	var ats []pos
	for _, r := range l.table("drives.csv", "parent", "child", "word", "source") {
		p, _ := l.word(r)
		d := Drive{r.cells["parent"], r.cells["child"], p, l.source(r.at, r.cells["source"])}
		bad := l.unknown(l.causes[d.Parent] == nil, r.at, "cause", d.Parent)
		bad = l.unknown(l.causes[d.Child] == nil, r.at, "cause", d.Child) || bad
		if bad || !l.once(seen, d.Parent+","+d.Child, r.at) {
			continue
		}
		b.Drives = append(b.Drives, d)
		ats = append(ats, r.at)
	}
	for i, d := range b.Drives {
		if path := way(b.Drives[:i], d.Child, d.Parent); path != nil {
			l.fail(ats[i], "closes a loop: %s drives %s", d.Parent, strings.Join(path, " drives "))
			return
		}
	}
}

// way finds a chain of drives from one cause to another; a cause leads to itself.
func way(drives []Drive, from, to string) []string {
	if from == to {
		return []string{to}
	}
	for _, d := range drives {
		if d.Parent == from {
			if rest := way(drives, d.Child, to); rest != nil {
				return append([]string{from}, rest...)
			}
		}
	}
	return nil
}

func stateIndex(f *Finding, state string) int {
	return slices.IndexFunc(f.States, func(s State) bool { return s.ID == state })
}

// near says whether a sum of shares is 1 but for rounding.
func near(sum float64) bool { return math.Abs(sum-1) <= 0.001 }

func (l *loader) findingOf(r row) (*Finding, int) {
	f := l.states[r.cells["finding"]]
	if l.unknown(f == nil, r.at, "finding", r.cells["finding"]) {
		return nil, -1
	}
	s := stateIndex(f, r.cells["state"])
	if l.unknown(s < 0, r.at, "state", fmt.Sprint(f.ID, " ", r.cells["state"])) {
		return nil, -1
	}
	return f, s
}
