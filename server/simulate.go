package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"swardbook/diagnose/simulate"
)

const simulateUsage = `Makes up visits from the network itself, so that the truth is known, and shows what the engine makes of 3, 6 and 10 checks:
how often what it names first is so, how far its likelihoods can be trusted, and how many checks it takes until one answer
stands at 0.8. The order of checks is the engine's own, the catalogue's, and one drawn for each visit.

  swardbook simulate -visits 500 -season summer

This shows what the engine is worth if the knowledge were true. Whether it is true only real lawns can tell.`

func simulateVisits(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "simulate", simulateUsage)
	c := simulate.Config{Checks: []int{3, 6, 10}, Most: 20, Enough: 0.8, Context: map[string]string{"visit": "complaint"}}
	fs.IntVar(&c.Visits, "visits", 200, "how many visits")
	fs.Uint64Var(&c.Seed, "seed", 1, "the same seed makes up the same visits")
	fs.StringVar(&c.Season, "season", "", "spring, summer, fall or winter; all months alike when left out")
	dir := knowledgeFlag(fs, t)
	asJSON := fs.Bool("json", false, "print everything as JSON")
	if err := fs.Parse(args); err != nil {
		return err
	}
	know, engine, err := loadEngine(*dir)
	if err != nil {
		return err
	}
	switch {
	case fs.NArg() > 0:
		return fmt.Errorf("simulate takes no word such as %q; see swardbook simulate -h", fs.Arg(0))
	case c.Visits < 1:
		return errors.New("-visits is at least 1")
	case c.Season != "" && !slices.Contains(know.Bundle.Seasons, c.Season):
		return fmt.Errorf("-season is one of %s, not %q", strings.Join(know.Bundle.Seasons, ", "), c.Season)
	}
	c.Progress = progress(t.stderr, c.Visits)
	result, err := simulate.Run(ctx, know, engine, c)
	if err != nil {
		return err
	}
	if *asJSON {
		return json.NewEncoder(t.stdout).Encode(result)
	}
	return printSimulation(t.stdout, result)
}

// progress says every twentieth of the way how far it is.
func progress(w io.Writer, all int) func(int) {
	return func(done int) {
		if done*20/all > (done-1)*20/all {
			fmt.Fprintf(w, "\r%d of %d visits", done, all)
		}
		if done == all {
			fmt.Fprintln(w)
		}
	}
}

func printSimulation(w io.Writer, r simulate.Result) error {
	out := &strings.Builder{}
	season := or(r.Season, "all seasons")
	fmt.Fprintf(out, "%d visits, %s, seed %d, knowledge %s; %.1f active causes a visit", r.Visits, season, r.Seed, r.Edition, r.Active)
	if r.Unanswered > 0 {
		fmt.Fprintf(out, "; %d left out since their findings can't be weighed", r.Unanswered)
	}
	fmt.Fprintf(out, "\n%.0f %% of them have more active causes than the engine takes together, which makes its small likelihoods too small.", 100*r.Beyond)
	fmt.Fprintf(out, "\n\n%-13s %7s %7s %7s %8s %8s\n", "order", "checks", "first", "top 3", "Brier", "of base")
	for _, p := range r.Policies {
		for _, a := range p.At {
			fmt.Fprintf(out, "%-13s %7d %6.0f%% %6.0f%% %8.4f %8.4f\n", p.Policy, a.Checks, 100*a.Top1, 100*a.Top3, a.Score.Brier, a.Score.Base)
		}
	}
	fmt.Fprintf(out, "\nfirst: what is named first is active, or rightly nothing is named. top 3: one of the first three.\n"+
		"Brier: mean squared error over all causes, 0 is perfect. of base: of who says of every cause how common all are.\n")
	fmt.Fprintf(out, "\nUntil one answer stands at %.2f (a visit that does not get there in %d checks counts with all it did)\n", r.Enough, r.Most)
	fmt.Fprintf(out, "%-13s %7s %8s %8s %11s\n", "order", "checks", "minutes", "reached", "then right")
	for _, p := range r.Policies {
		fmt.Fprintf(out, "%-13s %7.1f %8.1f %7.0f%% %10.0f%%\n", p.Policy, p.Mean, p.Minutes, 100*p.Reached, 100*p.Right)
	}
	reliability(out, r)
	_, err := io.WriteString(w, out.String())
	return err
}

// reliability prints the table of the engine's own order after the most checks.
func reliability(out *strings.Builder, r simulate.Result) {
	p := r.Policies[0]
	a := p.At[len(p.At)-1]
	fmt.Fprintf(out, "\nReliability, %s, %d checks\n%-13s %9s %7s %7s  %s\n", p.Policy, a.Checks, "said", "times", "mean", "true", "90 % interval")
	for _, b := range a.Score.Bins {
		fmt.Fprintf(out, "%4.1f to %4.1f %11d %7.3f %7.3f  %.3f to %.3f\n", b.Low, b.High, b.N, b.Mean, b.Share, b.From, b.To)
	}
}
