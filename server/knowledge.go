package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/tell"
)

// knowledgeFlag gives a command -knowledge; what it names is read with loadKnowledge.
func knowledgeFlag(fs *flag.FlagSet, t terminal) *string {
	return fs.String("knowledge", t.getenv("SWARDBOOK_KNOWLEDGE"), "folder of the firm's own knowledge files, laid over the built-in ones")
}

// loadKnowledge reads the built-in knowledge with the files of dir laid over it; with no dir it is the built-in one alone.
func loadKnowledge(dir string) (*knowledge.Loaded, error) {
	if dir == "" {
		return knowledge.Load()
	}
	if info, err := os.Stat(dir); err != nil {
		return nil, fmt.Errorf("-knowledge: %w", err)
	} else if !info.IsDir() {
		return nil, fmt.Errorf("-knowledge: %s is a file; a folder is wanted", dir)
	}
	return knowledge.LoadFS(knowledgeFiles(dir))
}

// knowledgeFiles are the files that loadKnowledge reads.
func knowledgeFiles(dir string) fs.FS {
	if dir == "" {
		return knowledge.Files()
	}
	return knowledge.Overlay(knowledge.Files(), os.DirFS(dir), dir)
}

// loadEngine reads the knowledge as loadKnowledge does, and makes it ready to weigh by.
func loadEngine(dir string) (*knowledge.Loaded, *diagnose.Engine, error) {
	know, err := loadKnowledge(dir)
	if err != nil {
		return nil, nil, err
	}
	engine, err := diagnose.New(&know.Bundle)
	if err != nil {
		return nil, nil, err
	}
	engine.Edition = know.Edition
	return know, engine, nil
}

const knowledgeUsage = `Prints everything the engine and the forms know, as the JSON that phones get; with -check a report on it instead: what there
is, what it rests on, and which causes are hard to tell apart.

  swardbook knowledge > knowledge.json
  swardbook knowledge -check
  swardbook knowledge -check -knowledge ./valley`

// hardest is how many pairs of causes the report lists.
const hardest = 25

func printKnowledge(_ context.Context, args []string, t terminal) error {
	fs := flags(t, "knowledge", knowledgeUsage)
	dir := knowledgeFlag(fs, t)
	check := fs.Bool("check", false, "report on the knowledge")
	seed := fs.Uint64("seed", 1, "of the report's draws")
	visits := fs.Int("visits", 400, "how many visits the report draws for each cause of a pair")
	if err := fs.Parse(args); err != nil {
		return err
	}
	switch {
	case fs.NArg() > 0:
		return fmt.Errorf("knowledge takes no word such as %q; see swardbook knowledge -h", fs.Arg(0))
	case *visits < 1:
		return errors.New("-visits must be at least 1")
	}
	know, engine, err := loadEngine(*dir)
	if err != nil {
		return err
	}
	if *check {
		return tell.Of(know, engine, tell.Options{Seed: *seed, Visits: *visits, Pairs: hardest}).Write(t.stdout)
	}
	_, err = t.stdout.Write(append(know.JSON, '\n'))
	return err
}
