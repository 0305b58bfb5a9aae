package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store/intake"
	"swardbook/store/lessons"
	"swardbook/store/sqlite"
	"swardbook/web"
	"swardbook/web/desk"
	"swardbook/web/field"
	"swardbook/web/watch"
)

func serve(ctx context.Context, args []string, t terminal) error {
	var c config
	fs := flags(t, "serve", serveUsage)
	c.flagsOf(fs)
	own := knowledgeFlag(fs, t)
	if err := settle(fs, args, t); err != nil {
		return err
	}
	c.know = *own
	if fs.NArg() > 0 {
		return fmt.Errorf("serve takes no word such as %q; see swardbook serve -h", fs.Arg(0))
	}
	if err := c.check(); err != nil {
		return err
	}
	return c.run(ctx, t)
}

// run opens everything in order, serves until ctx ends, and closes it in the other order, the database last.
func (c config) run(ctx context.Context, t terminal) (err error) {
	now, err := startingAt(c.clock)
	if err != nil {
		return err
	}
	level := slog.LevelInfo
	if c.quiet {
		level = slog.LevelWarn
	}
	log := slog.New(slog.NewJSONHandler(t.stderr, &slog.HandlerOptions{Level: level}))
	if err := os.MkdirAll(c.data, 0o750); err != nil {
		return fmt.Errorf("the data folder can't be made: %w", err)
	}
	release, err := lockData(c.data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	house, err := openHouse(ctx, c, now, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, house.close()) }()
	var signs []sign
	if c.demo {
		if signs, err = house.fillDemo(ctx); err != nil {
			return fmt.Errorf("filling the demo: %w", err)
		}
	}
	if err := house.intake.CatchUp(ctx); err != nil {
		return err
	}
	doors, err := house.doors(c, log)
	if err != nil {
		return err
	}
	greet(ctx, t, house, doors[0].url(), signs)
	ctx, end := context.WithCancelCause(ctx)
	defer end(nil)
	var chores sync.WaitGroup
	defer chores.Wait()
	defer end(nil)
	chores.Go(func() { house.sweepDaily(ctx, log) })
	chores.Go(func() { house.endWithDisk(ctx, end) })
	chores.Go(func() { house.keeper.run(ctx) })
	return serveUntil(ctx, log, doors...)
}

// doors opens every address that the settings name; the site's own is the first.
func (h *house) doors(c config, log *slog.Logger) (doors []door, err error) {
	defer func() {
		if err != nil {
			for _, d := range doors {
				err = errors.Join(err, d.Close())
			}
		}
	}()
	handler, err := h.handler(c, log)
	if err != nil {
		return nil, err
	}
	secured, plain, err := c.secured(log)
	if err != nil {
		return nil, err
	}
	site, err := openDoor("site", "addr", c.addr, handler, secured)
	if err != nil {
		return nil, err
	}
	doors = append(doors, site)
	if c.http != "" {
		beside, err := openDoor("to https", "http", c.http, plain, nil)
		if err != nil {
			return doors, err
		}
		doors = append(doors, beside)
	}
	if c.metrics != "" {
		numbers, err := openDoor("metrics", "metrics", c.metrics, h.watch, nil)
		if err != nil {
			return doors, err
		}
		doors = append(doors, numbers)
	}
	return doors, nil
}

// endWithDisk ends the program when the database could not be written: after a failed write nothing may be acknowledged until a
// new start has read the file again.
func (h *house) endWithDisk(ctx context.Context, end context.CancelCauseFunc) {
	select {
	case <-ctx.Done():
	case <-h.db.Broken():
		end(errDisk)
	}
}

var errDisk = errors.New("the disk did not take a write; nothing was acknowledged after it. Look at the disk and start again: phones keep what they have")

// sweepDaily compares the photos' folder with their rows at the start and every day.
func (h *house) sweepDaily(ctx context.Context, log *slog.Logger) {
	for {
		if n, err := h.db.EraseDue(ctx); err != nil && ctx.Err() == nil {
			log.Error("names whose time is over can't be erased", "error", err)
		} else if n > 0 {
			log.Info("names whose time was over were erased", "clients", n)
		}
		words, pictures := h.held.Know().Free()
		if photos, clients, err := h.db.LetGo(ctx, words, pictures); err != nil && ctx.Err() == nil {
			log.Error("what is kept too long can't be removed", "error", err)
		} else if photos+clients > 0 {
			log.Info("what was kept for its time was removed", "photos", photos, "clients", clients)
		}
		if found, err := h.photos.Sweep(ctx, h.now()); err != nil && ctx.Err() == nil {
			log.Error("photos can't be compared with their rows", "error", err)
		} else if len(found.NoFile)+len(found.NoRow)+len(found.Old) > 0 {
			log.Warn("photos and rows differed", "files_gone", len(found.NoFile), "entered", len(found.NoRow), "parts_removed", len(found.Old))
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(24 * time.Hour):
		}
	}
}

// greet prints where to go and, for the demo, how to sign in.
func greet(ctx context.Context, t terminal, h *house, url string, signs []sign) {
	fmt.Fprintf(t.stdout, "Swardbook listens on %s\n", url)
	for _, s := range signs {
		fmt.Fprintf(t.stdout, "  sign in as %-8s name %-8s passcode %s\n", s.role, s.name, s.passcode)
	}
	if empty, err := h.db.Empty(ctx); err == nil && empty {
		fmt.Fprintf(t.stdout, "  The database is empty: open the address and name the firm and its owner.\n")
	}
	fmt.Fprintln(t.stdout, "Ctrl-C ends it.")
}

// house is everything that is open while the program runs.
type house struct {
	db      *sqlite.DB
	dir     *os.Root
	held    *diagnose.Held
	intake  *intake.Service
	photos  *intake.Photos
	lessons *lessons.Service
	keeper  *keeper
	watch   *watch.Watch
	ending  <-chan struct{} // closed when the program was told to end
	now     func() time.Time
}

// openHouse opens the data folder, making it when it is missing.
func openHouse(ctx context.Context, c config, now func() time.Time, log *slog.Logger) (*house, error) {
	know, err := loadKnowledge(c.know) // first: nothing is made when it is refused
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Join(c.data, "photos"), 0o750); err != nil {
		return nil, fmt.Errorf("the data folder can't be made: %w", err)
	}
	held, err := diagnose.Hold(know)
	if err != nil {
		return nil, err
	}
	dir, err := os.OpenRoot(filepath.Join(c.data, "photos"))
	if err != nil {
		return nil, err
	}
	db, err := sqlite.Open(ctx, databaseIn(c.data), now)
	if err != nil {
		return nil, errors.Join(err, dir.Close())
	}
	seen := watch.New(now)
	db.NoteSlow(c.slow, func(ctx context.Context, what string, took time.Duration) {
		seen.Slow(what)
		log.LogAttrs(ctx, slog.LevelWarn, "slow", slog.String("method", what), slog.Duration("took", took), slog.String("id", web.RequestID(ctx)))
	})
	db.DifferBy(func(check, a, b string) bool { return intake.Disagree(held.Know(), check, a, b) })
	h := &house{watch: seen, ending: ctx.Done(), db: db, dir: dir, held: held, now: now, lessons: lessons.New(db, knowledgeFiles(c.know), held, now, log)}
	h.keeper = &keeper{data: c.data, folder: c.backupFolder(), every: c.backupEvery, keep: c.backupKeep, now: now, log: log}
	h.measured()
	if err := h.lessons.Restore(ctx); err != nil {
		return nil, errors.Join(err, dir.Close(), db.Close())
	}
	h.intake = intake.New(db, func() (*knowledge.Loaded, intake.Engine) { return held.Now() }, intake.Options{Now: now, Log: log, Room: roomIn(c.data)})
	h.photos = intake.NewPhotos(dir, db).Within(roomIn(c.data))
	return h, nil
}

func databaseIn(data string) string { return filepath.Join(data, "swardbook.db") }

func (h *house) close() error {
	h.intake.Close()
	return errors.Join(h.dir.Close(), h.db.Close())
}

func (h *house) handler(c config, log *slog.Logger) (http.Handler, error) {
	phone, err := field.New(field.Deps{DB: h.db, Intake: h.intake, Photos: h.photos, Know: h.held.Know, Now: h.now, Log: log})
	if err != nil {
		return nil, err
	}
	office, err := desk.New(desk.Deps{DB: h.db, Intake: h.intake, Photos: h.photos, Know: h.held.Know, Now: h.now, Lessons: h.lessons, House: h, TLS: c.tls || c.ownTLS()})
	if err != nil {
		return nil, err
	}
	trusted, err := prefixes(c.proxies)
	if err != nil {
		return nil, err
	}
	return web.New(web.Deps{DB: h.db, Desk: office, Field: phone, Log: log, Now: h.now, TLS: c.tls || c.ownTLS(), Proxies: trusted, Watch: h.watch, Ready: h.ready})
}
