package main

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
)

// settle parses a command's line and fills in what it leaves out: first from the environment (-backup-keep is
// SWARDBOOK_BACKUP_KEEP), then from the file that -config or SWARDBOOK_CONFIG names, then the flag's own default.
func settle(fs *flag.FlagSet, args []string, t terminal) error {
	file := fs.String("config", "", "file with further settings, one `name = value` a line, names as the flags here; # begins a remark")
	if err := fs.Parse(args); err != nil {
		return err
	}
	said := map[string]bool{}
	fs.Visit(func(f *flag.Flag) { said[f.Name] = true })
	var errs []error
	fs.VisitAll(func(f *flag.Flag) {
		if text := t.getenv(variable(f.Name)); text != "" && !said[f.Name] {
			said[f.Name] = true
			if err := fs.Set(f.Name, text); err != nil {
				errs = append(errs, fmt.Errorf("%s=%q can't be used: %w", variable(f.Name), text, err))
			}
		}
	})
	if err := errors.Join(errs...); err != nil || *file == "" {
		return err
	}
	return settleFrom(fs, *file, said)
}

// settleFrom reads a settings file. A name that is none is refused: a mistyped limit must not be no limit.
func settleFrom(fs *flag.FlagSet, path string, said map[string]bool) error {
	file, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("the settings can't be read: %w", err)
	}
	defer file.Close()
	lines, err := readSettings(file)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, line := range lines {
		switch {
		case fs.Lookup(line.name) == nil || line.name == "config":
			return fmt.Errorf("%s:%d: there is no setting %q; `swardbook %s -h` lists them", path, line.n, line.name, fs.Name())
		case said[line.name]:
			continue
		}
		if err := fs.Set(line.name, line.value); err != nil {
			return fmt.Errorf("%s:%d: %s = %q can't be used: %w", path, line.n, line.name, line.value, err)
		}
	}
	return nil
}

// setting is one line of a settings file.
type setting struct {
	n           int
	name, value string
}

// readSettings reads `name = value` lines. A value may stand in double quotes; a name may stand once.
func readSettings(r io.Reader) (list []setting, err error) {
	seen := map[string]bool{}
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		text := strings.TrimSpace(strings.TrimPrefix(lines.Text(), "\uFEFF"))
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		name, value, ok := strings.Cut(text, "=")
		name, value = strings.TrimLeft(strings.TrimSpace(name), "-"), strings.TrimSpace(value)
		if !ok || name == "" {
			return nil, fmt.Errorf("line %d is not `name = value`: %q", n, text)
		}
		if seen[name] {
			return nil, fmt.Errorf("line %d says %s a second time", n, name)
		}
		seen[name] = true
		if len(value) > 1 && strings.HasPrefix(value, `"`) && strings.HasSuffix(value, `"`) {
			value = value[1 : len(value)-1]
		}
		list = append(list, setting{n, name, value})
	}
	return list, lines.Err()
}

// variable is the environment's name of a flag.
func variable(name string) string {
	return "SWARDBOOK_" + strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
}
