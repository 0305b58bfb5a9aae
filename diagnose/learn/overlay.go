package learn

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"maps"
	"math"
	"slices"
	"strconv"

	"swardbook/diagnose/knowledge"
)

// Own is the key of the source that learned numbers name besides their own.
const Own = "OWN-CASES"

// Layer is the name that stands before the files of what was learned where the loader names a fault.
const Layer = "learned"

// Overlay is the files that lay a report over our knowledge: what is in force beyond our numbers, and the report's changes.
func (r *Report) Overlay(base, now *knowledge.Loaded) knowledge.Texts {
	n := numbersOf(now)
	for _, c := range r.Changes {
		n[c.key()] = c.After
	}
	t := knowledge.Texts{}
	put(t, "sources.csv", []string{"key", "title", "by", "year", "status"}, [][]string{
		{Own, "The firm's own signed-off visits", "", "", "own"},
	})
	put(t, "rates.csv", append(append([]string{"cause"}, base.Bundle.Seasons...), "source"), rateRows(base, n))
	put(t, "drives.csv", []string{"parent", "child", "word", "source"}, driveRows(base, n))
	put(t, "links.csv", []string{"finding", "state", "cause", "word", "source"}, linkRows(base, n))
	return t
}

// Apply reads our files with an overlay over them.
func Apply(base fs.FS, over knowledge.Texts) (*knowledge.Loaded, error) {
	return knowledge.LoadFS(knowledge.Overlay(base, over, Layer))
}

// key names one number of the knowledge.
type key struct{ kind, cause, on, state string }

func (c *Change) key() key {
	switch c.Kind {
	case Rate:
		return key{Rate, c.Cause, c.Season, ""}
	case Drive:
		return key{Drive, c.Cause, c.Child, ""}
	}
	return key{Link, c.Cause, c.Finding, c.State}
}

// numbersOf are all numbers that learning may change.
func numbersOf(k *knowledge.Loaded) map[key]float64 {
	n := map[key]float64{}
	for _, c := range k.Bundle.Causes {
		for season, p := range c.Rates {
			n[key{Rate, c.ID, season, ""}] = p
		}
	}
	for _, d := range k.Bundle.Drives {
		n[key{Drive, d.Parent, d.Child, ""}] = d.P
	}
	for _, f := range k.Bundle.Findings {
		for _, r := range f.Rows {
			n[key{Link, r.Cause, f.ID, r.State}] = r.P
		}
	}
	return n
}

func rateRows(base *knowledge.Loaded, n map[key]float64) [][]string {
	var rows [][]string
	for _, c := range base.Bundle.Causes {
		row, changed := []string{c.ID}, false
		for _, season := range base.Bundle.Seasons {
			p := n[key{Rate, c.ID, season, ""}]
			changed = changed || p != c.Rates[season]
			row = append(row, written(p))
		}
		if changed {
			rows = append(rows, append(row, owned(base.RateSource[c.ID])))
		}
	}
	return rows
}

func driveRows(base *knowledge.Loaded, n map[key]float64) [][]string {
	var rows [][]string
	for _, d := range base.Bundle.Drives {
		if p := n[key{Drive, d.Parent, d.Child, ""}]; p != d.P {
			rows = append(rows, []string{d.Parent, d.Child, written(p), owned(d.Source)})
		}
	}
	return rows
}

func linkRows(base *knowledge.Loaded, n map[key]float64) [][]string {
	var rows [][]string
	for _, f := range base.Bundle.Findings {
		for _, r := range f.Rows {
			if p := n[key{Link, r.Cause, f.ID, r.State}]; p != r.P {
				rows = append(rows, []string{f.ID, r.State, r.Cause, written(p), owned(r.Source)})
			}
		}
	}
	return rows
}

func owned(source string) string { return source + "; " + Own }

func written(p float64) string { return strconv.FormatFloat(p, 'f', -1, 64) }

// put writes a table; one without rows needs no file.
func put(t knowledge.Texts, name string, head []string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	_ = w.WriteAll(append([][]string{head}, rows...)) // a buffer takes everything
	t[name] = out.String()
}

// laid is our knowledge with some numbers changed, for counting only: it has no edition and no bytes.
func laid(base *knowledge.Loaded, list []Change) *knowledge.Loaded {
	n := numbersOf(base)
	for _, c := range list {
		n[c.key()] = c.After
	}
	k := *base
	k.Bundle.Causes = slices.Clone(k.Bundle.Causes)
	for i := range k.Bundle.Causes {
		c := &k.Bundle.Causes[i]
		c.Rates = maps.Clone(c.Rates)
		for season := range c.Rates {
			c.Rates[season] = n[key{Rate, c.ID, season, ""}]
		}
	}
	k.Bundle.Drives = slices.Clone(k.Bundle.Drives)
	for i := range k.Bundle.Drives {
		d := &k.Bundle.Drives[i]
		d.P = n[key{Drive, d.Parent, d.Child, ""}]
	}
	k.Bundle.Findings = slices.Clone(k.Bundle.Findings)
	for i := range k.Bundle.Findings {
		f := &k.Bundle.Findings[i]
		f.Rows = slices.Clone(f.Rows)
		for j := range f.Rows {
			f.Rows[j].P = n[key{Link, f.Rows[j].Cause, f.ID, f.Rows[j].State}]
		}
	}
	return &k
}

// apart is how far two editions lie apart in their most different number, in log-odds.
func apart(a, b *knowledge.Loaded) float64 {
	var most float64
	other := numbersOf(b)
	for k, p := range numbersOf(a) {
		most = max(most, math.Abs(logOdds(p)-logOdds(other[k])))
	}
	return most
}
