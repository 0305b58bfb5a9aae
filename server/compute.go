package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/compute"
)

const computeUsage = `Reads calculations as JSON from the files named, or from standard input, and prints what they give, with the working.

  swardbook compute < calculations.json
  swardbook compute -check checks.json
  swardbook compute -list

Give one calculation, or an array of them:

  {"id": "front", "formula": "run_time",
   "inputs": {"water_need": {"value": 0.5, "unit": "in"}, "precip_rate": {"value": 12, "unit": "mm/h"}}}

The answer is an array of {"id", "outputs": {name: {"value", "unit", "working"}}, "error"} with every output that the inputs
allow. What can't be used is refused in "error" by a sentence that names the input and what is allowed.
With -check every calculation says what it expects, "expect": {name: {"value", "unit", "tolerance"}}; what doesn't hold is
printed, and the command ends with an error.`

// mostInput is the most that is read of one input; checks are small.
const mostInput = 64 << 20

func computeFormulas(_ context.Context, args []string, t terminal) error {
	fs := flags(t, "compute", computeUsage)
	check := fs.Bool("check", false, "compare with what each calculation expects")
	list := fs.Bool("list", false, "list every formula with its inputs, units and outputs")
	if err := fs.Parse(args); err != nil {
		return err
	}
	registry := compute.NewRegistry()
	if *list {
		return listFormulas(t.stdout, compute.Formulas())
	}
	checks, err := readChecks(fs.Args(), t.stdin)
	if err != nil {
		return err
	}
	if *check {
		return compareAll(registry, checks, t.stdout)
	}
	out := json.NewEncoder(t.stdout)
	out.SetEscapeHTML(false)
	out.SetIndent("", " ")
	return out.Encode(registry.Run(checks))
}

// readChecks reads every file named, in order; "-" and no name at all are standard input.
func readChecks(names []string, stdin io.Reader) ([]compute.Check, error) {
	if len(names) == 0 {
		names = []string{"-"}
	}
	var all []compute.Check
	for _, name := range names {
		checks, err := readCheckFile(name, stdin)
		if err != nil {
			return nil, err
		}
		all = append(all, checks...)
	}
	return all, nil
}

func readCheckFile(name string, stdin io.Reader) ([]compute.Check, error) {
	in := stdin
	if name != "-" {
		file, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		defer file.Close()
		in = file
	}
	checks, err := compute.Decode(io.LimitReader(in, mostInput))
	if err != nil && name != "-" {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return checks, err
}

// compareAll prints what doesn't hold, a line each, and a count.
func compareAll(r *compute.Registry, checks []compute.Check, w io.Writer) error {
	out := bufio.NewWriter(w)
	failed := 0
	for _, c := range checks {
		fails := compute.Compare(c, r.Answer(c))
		if len(fails) > 0 {
			failed++
		}
		for _, say := range fails {
			fmt.Fprintf(out, "%s %s: %s\n", or(c.ID, "(no id)"), or(c.Formula, "(no formula)"), say)
		}
	}
	fmt.Fprintf(out, "%d of %d calculations hold.\n", len(checks)-failed, len(checks))
	if err := out.Flush(); err != nil {
		return err
	}
	if failed > 0 || len(checks) == 0 {
		return fmt.Errorf("%d of %d calculations fail", failed, len(checks))
	}
	return nil
}

// listFormulas prints the registry for a person.
func listFormulas(w io.Writer, all []agronomy.Formula) error {
	out := bufio.NewWriter(w)
	for _, f := range all {
		fmt.Fprintf(out, "%s: %s\n", f.Name, f.Does)
		for _, in := range f.Inputs {
			fmt.Fprintf(out, "  %-28s %s\n", in.Name, compute.Describe(in))
		}
		for _, way := range f.Ways {
			line := "  give " + strings.Join(way.Needs, ", ")
			if len(way.May) > 0 {
				line += "; perhaps " + strings.Join(way.May, ", ")
			}
			fmt.Fprintln(out, line)
		}
		for _, o := range f.Outputs {
			fmt.Fprintf(out, "  = %-26s %s\n", o.Name, strings.Trim(o.Unit+", "+o.Says, ", "))
		}
		fmt.Fprintf(out, "  source: %s\n\n", f.Source)
	}
	return out.Flush()
}
