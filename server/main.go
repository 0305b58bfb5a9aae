// Command server is Swardbook: one binary that serves phones and desks, keeps one SQLite database, and has a few
// commands for the person who looks after it. Run it with -h to see them.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	_ "time/tzdata" // the firm's time zone must be known on machines without zone files

	"swardbook/store"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, os.Args[1:], os.Getenv, os.Stdin, os.Stdout, os.Stderr)
	stop()
	switch {
	case err == nil || errors.Is(err, flag.ErrHelp):
	default:
		fmt.Fprintln(os.Stderr, "swardbook:", sentence(err))
		os.Exit(1)
	}
}

// sentence is what a person at the terminal reads of an error: its sentence where it has one, and all of it where the fault is
// ours, since then every word helps.
func sentence(err error) string {
	var e *store.Error
	if errors.As(err, &e) && e.Kind != store.Internal {
		return e.Say
	}
	return err.Error()
}

// terminal is what a command is given of the world.
type terminal struct {
	getenv         func(string) string
	stdin          io.Reader
	stdout, stderr io.Writer
}

// command is one word of the program.
type command struct {
	name string
	says string // one line for the list
	run  func(ctx context.Context, args []string, t terminal) error
}

// commands lists every command; serve is meant when none is named.
func commands() []command {
	return []command{
		{"serve", "serve phones and desks (meant when no command is named); -demo fills an empty database with an invented firm", serve},
		{"diagnose", "read cases as JSON, print their causes as JSON", diagnoseCases},
		{"compute", "calculate amounts, rates, water, warmth, sun and areas from JSON, with the working", computeFormulas},
		{"reweigh", "weigh all stored visits anew by today's knowledge; answers that were given stay", reweigh},
		{"season", "write one client's season record", writeSeason},
		{"knowledge", "print everything the engine and the forms know, as JSON; -check reports on it", printKnowledge},
		{"simulate", "make up visits whose truth is known and show what the engine makes of them", simulateVisits},
		{"person", "add a person, give a new passcode, list people", managePeople},
		{"backup", "copy database and photos, while they are in use, and read the copy back; -check proves an older one", makeBackup},
		{"restore", "put a backup in place of a lost data folder and prove it", restoreBackup},
		{"export", "write everything to one zip in open formats, while the server runs", exportBook},
		{"import", "make an equal server of what export wrote", importBook},
		{"health", "ask a server on this machine whether it is ready", health},
	}
}

// run is the program: it picks the command and hands it the rest of the line.
func run(ctx context.Context, args []string, getenv func(string) string, stdin io.Reader, stdout, stderr io.Writer) error {
	t := terminal{getenv, stdin, stdout, stderr}
	if len(args) > 0 {
		switch args[0] {
		case "-h", "-help", "--help", "help":
			return help(stdout)
		}
		for _, c := range commands() {
			if c.name == args[0] {
				return c.run(ctx, args[1:], t)
			}
		}
		if args[0] == "" || args[0][0] != '-' {
			return fmt.Errorf("there is no command %q; `swardbook -h` lists them", args[0])
		}
	}
	return serve(ctx, args, t)
}

func help(w io.Writer) error {
	fmt.Fprint(w, "Swardbook: from a walk over a lawn to ranked causes, a plan and a season record.\n\nCommands (each explains itself with -h):\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-10s %s\n", c.name, c.says)
	}
	return nil
}

// flags makes the flag set of one command, with what it does above its flags.
func flags(t terminal, name, usage string) *flag.FlagSet {
	fs := flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(t.stderr)
	fs.Usage = func() {
		fmt.Fprintf(t.stderr, "swardbook %s\n\n%s\n", name, usage)
		any := false
		fs.VisitAll(func(*flag.Flag) { any = true })
		if any {
			fmt.Fprint(t.stderr, "\nFlags:\n")
			fs.PrintDefaults()
		}
	}
	return fs
}

// or returns text, or other when text is empty.
func or(text, other string) string {
	if text == "" {
		return other
	}
	return text
}
