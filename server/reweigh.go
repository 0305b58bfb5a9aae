package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"slices"
	"time"

	"swardbook/diagnose/knowledge"
	"swardbook/store/intake"
)

const reweighUsage = `Weighs all zones of all stored visits anew by the knowledge of this program (or -knowledge DIR), and prints how many
would be led by another cause than before. With -save the new answers are stored as further ones, beside those that were
given; an answer that was given is never changed.

  swardbook reweigh
  swardbook reweigh -knowledge ours -save`

func reweigh(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "reweigh", reweighUsage)
	data := fs.String("data", or(t.getenv("SWARDBOOK_DATA"), "./data"), "folder of the database")
	save := fs.Bool("save", false, "store the new answers as further ones")
	dir := knowledgeFlag(fs, t)
	if err := fs.Parse(args); err != nil {
		return err
	}
	know, engine, err := loadEngine(*dir)
	if err != nil {
		return err
	}
	db, err := openExisting(ctx, *data)
	if err != nil {
		return err
	}
	defer db.Close()
	knowing := func() (*knowledge.Loaded, intake.Engine) { return know, engine }
	svc := intake.New(db, knowing, intake.Options{Log: slog.New(slog.NewTextHandler(t.stderr, nil))})
	defer svc.Close()
	sum := newReweighed(t.stderr, time.Now)
	if err := svc.Again(ctx, *save, sum.add); err != nil {
		return err
	}
	return sum.write(t.stdout, know)
}

// progressEvery is how often a line of progress is written.
const progressEvery = 2 * time.Second

// reweighed counts what weighing anew came to.
type reweighed struct {
	progress            io.Writer
	now                 func() time.Time
	began, told         time.Time
	all, saved, refused int
	moved               map[[2]string]int // from one leading cause to another
}

func newReweighed(progress io.Writer, now func() time.Time) *reweighed {
	at := now()
	return &reweighed{progress: progress, now: now, began: at, told: at, moved: map[[2]string]int{}}
}

func (r *reweighed) add(w intake.Weighed) {
	r.all++
	if w.Saved {
		r.saved++
	}
	if w.Refused {
		r.refused++
	}
	if w.Was != w.Now {
		r.moved[[2]string{w.Was, w.Now}]++
	}
	if at := r.now(); at.Sub(r.told) >= progressEvery {
		r.told = at
		fmt.Fprintf(r.progress, "%d zone visits, %.0f a second\n", r.all, r.rate(at))
	}
}

func (r *reweighed) rate(at time.Time) float64 {
	return float64(r.all) / max(at.Sub(r.began).Seconds(), 1e-9)
}

func (r *reweighed) write(w io.Writer, know *knowledge.Loaded) error {
	moved := 0
	for _, n := range r.moved {
		moved += n
	}
	fmt.Fprintf(w, "%d zone visits weighed by edition %s, %.0f a second; %d are led by another cause, %d can't be weighed, %d new answers stored\n",
		r.all, know.Edition, r.rate(r.now()), moved, r.refused, r.saved)
	pairs := slices.SortedFunc(maps.Keys(r.moved), func(a, b [2]string) int {
		if r.moved[a] != r.moved[b] {
			return r.moved[b] - r.moved[a]
		}
		return slices.Compare(a[:], b[:])
	})
	for _, p := range pairs {
		if _, err := fmt.Fprintf(w, "%6d  %s → %s\n", r.moved[p], lead(p[0]), lead(p[1])); err != nil {
			return err
		}
	}
	return nil
}

func lead(cause string) string {
	if cause == "" {
		return "none"
	}
	return cause
}
