// Command dockerlint reads a Dockerfile as the builder does and fails for whatever its own rules find.
package main

import (
	"fmt"
	"os"

	"github.com/moby/buildkit/frontend/dockerfile/instructions"
	"github.com/moby/buildkit/frontend/dockerfile/linter"
	"github.com/moby/buildkit/frontend/dockerfile/parser"
)

func main() {
	found, err := read(os.Args[1])
	for _, f := range found {
		fmt.Println(f)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
	if err != nil || len(found) > 0 {
		os.Exit(1)
	}
}

func read(path string) (found []string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	parsed, err := parser.Parse(f)
	if err != nil {
		return nil, err
	}
	for _, w := range parsed.Warnings {
		found = append(found, w.Short)
	}
	rules := linter.New(&linter.Config{Warn: func(rule, _, _, say string, at []parser.Range) {
		found = append(found, fmt.Sprint(path, ":", at[0].Start.Line, ": ", rule, ": ", say))
	}})
	_, _, err = instructions.Parse(parsed.AST, rules)
	return found, err
}
