// Package tell reports on knowledge: how much there is of it and what it rests on, and how well its checks can tell causes
// apart, by drawing findings from the very chances that the engine weighs with.
package tell

import (
	"cmp"
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// Options say how a report is made.
type Options struct {
	Seed   uint64 // of the draws
	Visits int    // drawn for each cause of a pair
	Pairs  int    // how many of the hardest pairs are reported
}

// Report is what there is to say of knowledge.
type Report struct {
	Edition string
	Counts  []Count
	Causes  []Cause
	Pairs   []Pair // the hardest first
	Rests   []Rests
	Named   []Named // sources, in catalogue order
	Options Options
}

// Count is how many there are of something.
type Count struct {
	What string
	N    int
}

// Cause is what the knowledge holds of one cause.
type Cause struct {
	ID               string
	Links, Findings  int
	DrivenBy, Drives int
	Published        float64 // share of its links that rest on a source that was read, in whole or in part
	Finding, State   string  // the sign that speaks loudest for it
	Times            float64 // how many times commoner that sign is with the cause than without
}

// few is the share of published links under which a cause is called weakly evidenced.
const few = 0.25

// Weak reports whether the cause rests mostly on judgement.
func (c Cause) Weak() bool { return c.Links > 0 && c.Published < few }

// Named is a source with the number of rows that name it.
type Named struct {
	knowledge.Source
	Rows int
}

// Rests counts the rows of one file by the best kind of source each names.
type Rests struct {
	File string
	Rows map[string]int // by status
	All  int
}

// Statuses are the kinds of sources, from the best down.
var Statuses = []string{"read", "part", "own", "practice", "memory", "judgement"}

// Of makes the report on k, whose engine is e. The same options give the same report.
func Of(k *knowledge.Loaded, e *diagnose.Engine, o Options) Report {
	r := Report{Edition: k.Edition, Counts: counts(&k.Bundle), Options: o}
	for _, c := range k.Bundle.Causes {
		r.Causes = append(r.Causes, CauseOf(k, c.ID))
	}
	r.Rests, r.Named = rests(k)
	r.Pairs = pairs(k, e, o)
	return r
}

func counts(b *knowledge.Bundle) []Count {
	states, links, signs := 0, 0, 0
	for i := range b.Findings {
		states += len(b.Findings[i].States)
		links += len(b.Findings[i].Rows)
		if b.Findings[i].Multi {
			signs++
		}
	}
	return []Count{
		{"causes", len(b.Causes)}, {"checks", len(b.Checks)}, {"findings", len(b.Findings)}, {"findings of several signs", signs},
		{"states", states}, {"links", links}, {"drives", len(b.Drives)}, {"adjustments of rates", len(b.Adjust)},
		{"actions", len(b.Actions)}, {"cautions", len(b.Cautions)}, {"sources", len(b.Sources)},
	}
}

// CauseOf sums up what k holds of the cause with this id.
func CauseOf(k *knowledge.Loaded, id string) Cause {
	c := Cause{ID: id}
	published := 0
	for i := range k.Bundle.Findings {
		f := &k.Bundle.Findings[i]
		before := c.Links
		for _, r := range f.Rows {
			if r.Cause != id {
				continue
			}
			c.Links++
			if s := best(k, r.Source); s == "read" || s == "part" {
				published++
			}
			c.loudest(f, r)
		}
		if c.Links > before {
			c.Findings++
		}
	}
	for _, d := range k.Bundle.Drives {
		if d.Child == id {
			c.DrivenBy++
		}
		if d.Parent == id {
			c.Drives++
		}
	}
	if c.Links > 0 {
		c.Published = float64(published) / float64(c.Links)
	}
	return c
}

func (c *Cause) loudest(f *knowledge.Finding, r knowledge.Row) {
	at := slices.IndexFunc(f.States, func(s knowledge.State) bool { return s.ID == r.State })
	if times := r.P / f.Base["all"][at]; times > c.Times {
		c.Finding, c.State, c.Times = f.ID, r.State, times
	}
}

// best is the best status of the sources that a row names.
func best(k *knowledge.Loaded, named string) string {
	at := len(Statuses) - 1
	for _, key := range knowledge.SourceKeys(named) {
		if s, ok := k.Source(key); ok {
			at = min(at, slices.Index(Statuses, s.Status))
		}
	}
	return Statuses[at]
}

// rests counts what rows rest on, by file and by source.
func rests(k *knowledge.Loaded) (files []Rests, named []Named) {
	rows := map[string]int{}
	for _, r := range k.Rests {
		at := slices.IndexFunc(files, func(f Rests) bool { return f.File == r.File })
		if at < 0 {
			at = len(files)
			files = append(files, Rests{File: r.File, Rows: map[string]int{}})
		}
		files[at].Rows[best(k, r.Source)]++
		files[at].All++
		for _, key := range knowledge.SourceKeys(r.Source) {
			rows[key]++
		}
	}
	for _, s := range k.Bundle.Sources {
		named = append(named, Named{s, rows[s.Key]})
	}
	slices.SortStableFunc(files, func(a, b Rests) int { return cmp.Compare(b.All, a.All) })
	return files, named
}
