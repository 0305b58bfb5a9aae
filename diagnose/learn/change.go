package learn

import (
	"cmp"
	"math"
	"slices"

	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/score"
)

// Bounds of what the loader takes.
const (
	lowRate, highRate     = 0.0001, 0.95
	lowChance, highChance = 0.001, 0.999
)

// belief is a number before the firm's cases: what it is and how many cases it is worth.
type belief struct{ ours, weight float64 }

// with adds cases and gives the chance that comes of it, within bounds and to four decimals, as it is written down.
func (b belief) with(hits, of, low, high float64) float64 {
	p := (b.weight*b.ours + hits) / (b.weight + of)
	return math.Round(1e4*min(max(p, low), high)) / 1e4
}

// changes are all numbers that enough of people's words stand behind, the largest change first; those to report are marked.
func changes(prior, now *step, all *sums) []Change {
	out := []Change{}
	out = append(out, rateChanges(prior, now, all)...)
	out = append(out, driveChanges(prior, now, all)...)
	out = append(out, linkChanges(prior, now, all)...)
	slices.SortStableFunc(out, func(a, b Change) int { return cmp.Compare(math.Abs(b.Shift), math.Abs(a.Shift)) })
	return out
}

// weigh fills in what follows from the numbers.
func (c *Change) weigh(b belief, of float64, labels int) {
	c.Ours, c.Weight, c.Cases, c.Labels = b.ours, b.weight, of, labels
	c.From, c.To = score.Interval(c.After*(b.weight+of), b.weight+of)
	c.Shift = logOdds(c.After) - logOdds(c.Before)
	c.reported = c.matters()
}

// matters reports whether a change is large enough to report.
func (c *Change) matters() bool {
	return math.Abs(c.Shift) >= MinShift && math.Abs(c.After-c.Before) >= MinStep
}

func logOdds(p float64) float64 {
	p = min(max(p, lowRate), 1-lowRate)
	return math.Log(p / (1 - p))
}

func rateChanges(prior, now *step, all *sums) []Change {
	var out []Change
	base := prior.know
	for s, season := range base.Bundle.Seasons {
		for i := range base.Bundle.Causes {
			cause, t := &base.Bundle.Causes[i], all.rates[s][i]
			if cause.ID == base.Bundle.Settings.Other {
				continue // it stands for what nobody has a name for, so nobody's words stand behind it
			}
			b := belief{cause.Rates[season], base.Weights.Of(base, "rate", base.RateSource[cause.ID])}
			c := Change{Kind: Rate, Cause: cause.ID, Season: season, Before: now.know.Bundle.Causes[i].Rates[season]}
			c.After = b.with(t.hits, t.of, lowRate, highRate)
			if c.weigh(b, t.of, t.labels); c.Labels >= MinLabels {
				out = append(out, c)
			}
		}
	}
	return out
}

func driveChanges(prior, now *step, all *sums) []Change {
	var out []Change
	base := prior.know
	for i, d := range base.Bundle.Drives {
		t := all.drives[i]
		b := belief{d.P, base.Weights.Of(base, "drive", d.Source)}
		c := Change{Kind: Drive, Cause: d.Parent, Child: d.Child, Before: now.know.Bundle.Drives[i].P}
		c.After = b.with(t.hits, t.of, lowChance, highChance)
		if c.weigh(b, t.of, t.labels); c.Labels >= MinLabels {
			out = append(out, c)
		}
	}
	return out
}

// linkChanges goes by finding, sign and cause in the order of the catalogue.
func linkChanges(prior, now *step, all *sums) []Change {
	var out []Change
	for f := range prior.know.Bundle.Findings {
		for sign := range prior.speaks[f] {
			for c := range prior.know.Bundle.Causes {
				at := place{f, sign, c}
				if x := all.links[at]; x != nil && x.labels >= MinLabels && prior.speaks[f][sign][c] {
					out = append(out, linkChange(prior, now, at, x)...)
				}
			}
		}
	}
	return out
}

// linkChange is what becomes of the rows of one cause for one finding, or one sign. They share what there is, so all change when
// one does by enough.
func linkChange(prior, now *step, at place, x *states) []Change {
	f := &prior.know.Bundle.Findings[at.finding]
	cause := prior.know.Bundle.Causes[at.cause].ID
	ours, before := prior.alone(at.finding, 0, at.cause), now.alone(at.finding, 0, at.cause)
	rows := rowsOf(f, cause)
	if f.Multi {
		rows = slices.DeleteFunc(rows, func(r knowledge.Row) bool { return r.State != f.States[at.sign].ID })
	}
	var weight, of float64
	for _, r := range rows {
		weight = max(weight, prior.know.Weights.Of(prior.know, "link", r.Source))
	}
	for _, n := range x.n {
		of += n
	}
	var out []Change
	report := false
	for _, r := range rows {
		s := stateAt(f, r.State)
		hits := x.n[0]
		if !f.Multi {
			hits = x.n[s]
		}
		b := belief{ours[s], weight}
		c := Change{Kind: Link, Cause: cause, Finding: f.ID, State: r.State, Before: before[s], After: b.with(hits, of, lowChance, highChance)}
		c.weigh(b, of, x.labels)
		report = report || c.reported
		out = append(out, c)
	}
	for i := range out {
		out[i].reported = report && math.Abs(out[i].After-out[i].Before) >= MinStep
	}
	return out
}

func rowsOf(f *knowledge.Finding, cause string) []knowledge.Row {
	var rows []knowledge.Row
	for _, r := range f.Rows {
		if r.Cause == cause {
			rows = append(rows, r)
		}
	}
	return rows
}
