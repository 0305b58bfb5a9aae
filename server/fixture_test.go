package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
)

// shared is the folder of what is made once for all tests of this package.
var shared string

func TestMain(m *testing.M) { os.Exit(withShared(m)) }

func withShared(m *testing.M) int {
	dir, err := os.MkdirTemp("", "swardbook-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	shared = dir
	defer os.RemoveAll(dir)
	return m.Run()
}

// program is the real binary, powerCutter the disk whose power can be cut; both are built once.
var (
	program     = sync.OnceValues(func() (string, error) { return built("swardbook", ".") })
	powerCutter = sync.OnceValues(func() (string, error) { return built("powercut", filepath.Join("..", ".ci", "powercut")) })
)

func built(name, dir string, flags ...string) (string, error) {
	path := filepath.Join(shared, name)
	build := exec.Command("go", append(append([]string{"build"}, flags...), "-o", path, ".")...)
	build.Dir = dir
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return path, nil
}

// filled is a data folder that holds the demo of the day on which the tests begin, made once. Tests work on copies of it.
var filled = sync.OnceValues(func() (string, error) {
	now, err := startingAt(august)
	if err != nil {
		return "", err
	}
	dir := filepath.Join(shared, "data")
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return "", err
	}
	ctx := context.Background()
	h, err := openHouse(ctx, config{data: dir}, now, silent())
	if err != nil {
		return "", err
	}
	if _, err := h.fillDemo(ctx); err != nil {
		return "", err
	}
	return dir, h.close()
})

// layIn gives the office a copy of the filled folder when it has none yet, safe on the disk before it starts.
func (o *office) layIn() {
	o.t.Helper()
	if _, err := os.Stat(databaseIn(o.data)); err == nil {
		return
	}
	layDemoIn(o.t, o.data)
}

func layDemoIn(t testing.TB, data string) {
	t.Helper()
	from, err := filled()
	if err != nil {
		t.Fatal(err)
	}
	err = filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			return os.MkdirAll(filepath.Join(data, rel), 0o750)
		}
		return copied(filepath.Join(data, rel), path)
	})
	if err != nil {
		t.Fatal(err)
	}
}

func copied(to, from string) error {
	raw, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.Write(raw); err != nil {
		return err
	}
	return f.Sync()
}
