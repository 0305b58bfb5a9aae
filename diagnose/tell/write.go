package tell

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"
)

// Write writes the report as text for a person at a terminal.
func (r Report) Write(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "Knowledge %s. It passes every rule of the loader.\n\n", r.Edition)
	for _, c := range r.Counts {
		fmt.Fprintf(t, "%d\t%s\n", c.N, c.What)
	}
	r.writeCauses(t)
	r.writePairs(t)
	r.writeRests(t)
	r.writeSources(t)
	return t.Flush()
}

func (r Report) writeCauses(w io.Writer) {
	fmt.Fprint(w, "\nCauses: links, findings they speak of, drives to and from, and the share of links that rests on a source that was read.\n\n")
	fmt.Fprintln(w, "cause\tlinks\tfindings\tdriven by\tdrives\tread\tloudest sign\t\t")
	var weak []string
	for _, c := range r.Causes {
		loud := "-"
		if c.Times > 0 {
			loud = fmt.Sprintf("%s %s, x%.0f", c.Finding, c.State, c.Times)
		}
		mark := ""
		if c.Weak() {
			mark = "weak"
			weak = append(weak, c.ID)
		}
		fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d\t%s\t%s\t%s\t\n", c.ID, c.Links, c.Findings, c.DrivenBy, c.Drives, percent(c.Published), loud, mark)
	}
	fmt.Fprintf(w, "\nWeakly evidenced, under %s of links read: %s.\n", percent(few), orNone(weak))
}

func (r Report) writePairs(w io.Writer) {
	fmt.Fprintf(w, "\nThe %d pairs of causes that are hardest to tell apart, by %d visits drawn from each cause alone (seed %d), every finding seen without error.\n",
		len(r.Pairs), r.Options.Visits, r.Options.Seed)
	fmt.Fprint(w, "wrong: how often all findings together point to the other one. alone: how often the best check by itself does; bits: what it tells.\n\n")
	fmt.Fprintln(w, "one\tthe other\tin\twrong\tbest check\talone\tbits\t")
	for _, p := range r.Pairs {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%.2f\t\n", p.A, p.B, p.Season, tenths(p.Error), p.Check, percent(p.CheckError), p.Bits)
	}
}

func (r Report) writeRests(w io.Writer) {
	fmt.Fprintf(w, "\nWhat rows rest on, by the best source that each names.\n\nfile\trows\t%s\t\n", strings.Join(Statuses, "\t"))
	total := Rests{File: "all", Rows: map[string]int{}}
	for _, f := range r.Rests {
		writeRest(w, f)
		total.All += f.All
		for s, n := range f.Rows {
			total.Rows[s] += n
		}
	}
	writeRest(w, total)
	if total.All == 0 {
		return
	}
	fmt.Fprint(w, "share\t\t")
	for _, s := range Statuses {
		fmt.Fprintf(w, "%s\t", percent(float64(total.Rows[s])/float64(total.All)))
	}
	fmt.Fprintln(w)
}

func writeRest(w io.Writer, f Rests) {
	fmt.Fprintf(w, "%s\t%d\t", f.File, f.All)
	for _, s := range Statuses {
		fmt.Fprintf(w, "%d\t", f.Rows[s])
	}
	fmt.Fprintln(w)
}

func (r Report) writeSources(w io.Writer) {
	count := map[string]int{}
	var idle []string
	fmt.Fprint(w, "\nSources quoted from memory, to be looked up:\n\nkey\trows\ttitle\t\n")
	for _, s := range r.Named {
		count[s.Status]++
		if s.Rows == 0 {
			idle = append(idle, s.Key)
		}
		if s.Status == "memory" {
			fmt.Fprintf(w, "%s\t%d\t%s\t\n", s.Key, s.Rows, s.Title)
		}
	}
	fmt.Fprintf(w, "\nOf %d sources %d were read, %d in part, %d are from memory.\n", len(r.Named), count["read"], count["part"], count["memory"])
	fmt.Fprintf(w, "Named by no row: %s.\n", orNone(idle))
}

func orNone(ids []string) string {
	if len(ids) == 0 {
		return "none"
	}
	return strings.Join(ids, ", ")
}

func percent(p float64) string { return fmt.Sprintf("%.0f %%", p*100) }

// tenths is a percentage with one decimal, for shares that are mostly small.
func tenths(p float64) string { return fmt.Sprintf("%.1f %%", math.Round(p*1000)/10) }
