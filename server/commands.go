package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/history"
	"swardbook/store/intake"
	"swardbook/store/sqlite"
	"swardbook/web"
)

const diagnoseUsage = `Reads an array of cases as JSON from the file named, or from standard input, and prints an array of answers:
causes in the order a person should read them, what speaks for and against each, and the next best checks.

  swardbook diagnose cases.json
  swardbook diagnose < cases.json

A case: {"id": "A1", "season": "summer", "month": "July", "context": {"visit": "complaint", "system": "none"},
         "findings": {"a finding": "its state", "a measured finding": 3.5, "measured at several places": [2, 2.5, 7],
                      "a set of signs": ["one", "another"]},
         "before": [{"cause": "a cause", "likelihood": 0.8, "days": 14}], "done": [{"action": "a step", "days": 10}]}
What the last visit left (before) and steps taken since (done) may be left out. A case that can't be weighed gets
{"id", "error"} in its place.
` + "`swardbook knowledge`" + ` prints the ids of all findings, states and causes.`

func diagnoseCases(_ context.Context, args []string, t terminal) error {
	fs := flags(t, "diagnose", diagnoseUsage)
	dir := knowledgeFlag(fs, t)
	if err := fs.Parse(args); err != nil {
		return err
	}
	in := t.stdin
	if fs.NArg() == 1 && fs.Arg(0) != "-" {
		file, err := os.Open(fs.Arg(0))
		if err != nil {
			return err
		}
		defer file.Close()
		in = file
	} else if fs.NArg() > 1 {
		return errors.New("diagnose reads one file at a time")
	}
	_, engine, err := loadEngine(*dir)
	if err != nil {
		return err
	}
	return diagnose.Run(engine, in, t.stdout)
}

const seasonUsage = `Writes the season record of one client: readings, causes, decisions, what was put down with its sums, and what became of each zone.

  swardbook season -client "Odalys Fenwright" -year 2026 -format csv > record.csv
  swardbook season -client "Odalys Fenwright" -year 2026 -format pdf -o record.pdf
  swardbook season -year 2026 -format zip -o all-clients.zip

The forms csv, json, xlsx and pdf hold the same numbers; zip holds all clients, each in every form.`

func writeSeason(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "season", seasonUsage)
	data := fs.String("data", or(t.getenv("SWARDBOOK_DATA"), "./data"), "folder of the database")
	client := fs.String("client", "", "the client's name or id")
	year := fs.Int("year", time.Now().Year(), "the season's year")
	format := fs.String("format", "csv", "csv, json, xlsx or pdf; zip for all clients")
	out := fs.String("o", "", "write to this file instead of standard output")
	dir := knowledgeFlag(fs, t)
	if err := fs.Parse(args); err != nil {
		return err
	}
	form, known := history.FormNamed(*format)
	switch {
	case !known && *format != "zip":
		return fmt.Errorf("season writes csv, json, xlsx, pdf or zip, not %q", *format)
	case known && *client == "":
		return errors.New("season needs -client, a name or an id")
	case !known && *client != "":
		return errors.New("a zip holds all clients; leave -client out")
	}
	db, err := openExisting(ctx, *data)
	if err != nil {
		return err
	}
	defer db.Close()
	know, err := loadKnowledge(*dir)
	if err != nil {
		return err
	}
	firm, err := db.Firm(ctx)
	if err != nil {
		return err
	}
	paper := history.Paper{Firm: firm.Name, Made: time.Now(), Likely: know.Bundle.Settings.Likely}
	pictures, err := os.OpenRoot(filepath.Join(*data, "photos"))
	switch {
	case err == nil:
		defer pictures.Close()
		paper.Photo = history.PaperPhoto(photosIn(ctx, intake.NewPhotos(pictures, db)))
	case !errors.Is(err, os.ErrNotExist): // a folder that never held a photo
		return err
	}
	if !known {
		return writeAllSeasons(ctx, db, know, *year, paper, t, *out)
	}
	id, err := clientNamed(ctx, db, *client)
	if err != nil {
		return err
	}
	record, err := history.Season(ctx, db, know, id, *year)
	if err != nil {
		return err
	}
	return writeTo(t.stdout, *out, func(w io.Writer) error { return form.Write(w, record, record.Table(know), paper) })
}

// mostPhoto is the biggest photo that is read whole, in bytes.
const mostPhoto = 32 << 20

// photosIn reads photos whole.
func photosIn(ctx context.Context, photos *intake.Photos) func(sha string) ([]byte, error) {
	return func(sha string) ([]byte, error) {
		f, _, err := photos.Open(ctx, sha)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		return io.ReadAll(io.LimitReader(f, mostPhoto))
	}
}

// writeAllSeasons writes the archive of all clients and says how far it is.
func writeAllSeasons(ctx context.Context, db *sqlite.DB, know *knowledge.Loaded, year int, paper history.Paper, t terminal, out string) error {
	clients, err := db.Clients(ctx)
	if err != nil {
		return err
	}
	return writeTo(t.stdout, out, func(w io.Writer) error {
		return history.WriteAll(ctx, w, db, know, clients, year, paper, func(done int) {
			if done%50 == 0 || done == len(clients) {
				fmt.Fprintf(t.stderr, "%d of %d clients\n", done, len(clients))
			}
		})
	})
}

// openExisting opens a database that is there; it makes none.
func openExisting(ctx context.Context, data string) (*sqlite.DB, error) {
	if _, err := os.Stat(databaseIn(data)); err != nil {
		return nil, fmt.Errorf("there is no database in %s: %w", data, err)
	}
	return sqlite.Open(ctx, databaseIn(data), time.Now)
}

// clientNamed finds one client by id, or by name without regard to case.
func clientNamed(ctx context.Context, db *sqlite.DB, name string) (string, error) {
	clients, err := db.Clients(ctx)
	if err != nil {
		return "", err
	}
	var names []string
	for _, c := range clients {
		if c.ID == name || strings.EqualFold(c.Name, name) {
			return c.ID, nil
		}
		names = append(names, strconv.Quote(c.Name))
	}
	return "", fmt.Errorf("no client is called %q; there are %s", name, strings.Join(names, ", "))
}

// writeTo writes to a new file, or to w when path is empty.
func writeTo(w io.Writer, path string, write func(io.Writer) error) error {
	if path == "" {
		return write(w)
	}
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(write(file), file.Close())
}

const personUsage = `Looks after the people who may sign in. Passcodes are read from standard input, never from the command line.

  swardbook person list
  swardbook person add -name Wren -role crew
  swardbook person reset -name Wren
  swardbook person second-off -name Wren     (the authenticator and the recovery codes are lost)`

func managePeople(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "person", personUsage)
	data := fs.String("data", or(t.getenv("SWARDBOOK_DATA"), "./data"), "folder of the database")
	name := fs.String("name", "", "the person's name")
	role := fs.String("role", "crew", "crew, manager or owner")
	word, err := parseAroundWord(fs, args)
	if err != nil {
		return err
	}
	db, err := openExisting(ctx, *data)
	if err != nil {
		return err
	}
	defer db.Close()
	switch word {
	case "list":
		return listPeople(ctx, db, t.stdout)
	case "add":
		if *name == "" || store.Role(*role).Rank() == 0 {
			return errors.New("add needs -name and -role (crew, manager or owner)")
		}
		hash, err := askPasscode(t)
		if err != nil {
			return err
		}
		return db.AddPerson(ctx, store.Person{ID: uuid.NewString(), Name: *name, Role: store.Role(*role), Lang: "en", Hash: hash, Active: true})
	case "reset":
		person, err := db.PersonByName(ctx, *name)
		if err != nil {
			return err
		}
		hash, err := askPasscode(t)
		if err != nil {
			return err
		}
		return errors.Join(db.SetPasscode(ctx, person.ID, hash), db.EndSessionsOf(ctx, person.ID))
	case "second-off":
		person, err := db.PersonByName(ctx, *name)
		if err != nil {
			return err
		}
		err = db.DropFactor(ctx, person.ID)
		if store.KindOf(err) == store.NotFound {
			return fmt.Errorf("%s has no second factor", person.Name)
		}
		if err == nil {
			fmt.Fprintf(t.stdout, "%s signs in with the passcode alone now.\n", person.Name)
		}
		return err
	}
	return errors.New("person needs one of: list, add, reset, second-off")
}

// parseAroundWord reads flags before and after the one word that says what to do.
func parseAroundWord(fs *flag.FlagSet, args []string) (word string, err error) {
	if err := fs.Parse(args); err != nil || fs.NArg() == 0 {
		return "", err
	}
	word = fs.Arg(0)
	if err := fs.Parse(fs.Args()[1:]); err != nil {
		return "", err
	}
	if fs.NArg() > 0 {
		return "", fmt.Errorf("%q is one word too many", fs.Arg(0))
	}
	return word, nil
}

func listPeople(ctx context.Context, db *sqlite.DB, w io.Writer) error {
	people, err := db.People(ctx, false)
	for _, p := range people {
		state := ""
		if !p.Active {
			state = "  (signed out for good)"
		}
		fmt.Fprintf(w, "%-8s %s%s\n", p.Role, p.Name, state)
	}
	return err
}

// askPasscode reads one line and returns its hash.
func askPasscode(t terminal) (string, error) {
	fmt.Fprint(t.stderr, "New passcode: ")
	line, err := bufio.NewReader(t.stdin).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	return web.HashPasscode(strings.TrimRight(line, "\r\n"))
}
