package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// errLocked is what lockFile returns when another process holds the file.
var errLocked = errors.New("locked")

// lockData holds a data folder for this process: two servers on one folder would each diagnose and sweep for themselves. The
// system lets go of the lock when the process ends, however it ends, so nothing has to be cleaned up after a crash.
func lockData(folder string) (release func() error, err error) {
	path := filepath.Join(folder, "server.lock")
	f, err := lockFile(path)
	if errors.Is(err, errLocked) {
		return nil, fmt.Errorf("another server%s works on %s already. End it first, or choose another -data folder", holder(path), folder)
	}
	if err != nil {
		return nil, fmt.Errorf("the data folder can't be held: %w", err)
	}
	if err = f.Truncate(0); err == nil {
		_, err = fmt.Fprintf(f, "%d\n", os.Getpid())
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the data folder can't be held: %w", err), f.Close())
	}
	return f.Close, nil
}

// holder names the process that wrote into a lock file, as far as it can be read.
func holder(path string) string {
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	text, _ := io.ReadAll(io.LimitReader(f, 32))
	if n, err := strconv.Atoi(strings.TrimSpace(string(text))); err == nil {
		return fmt.Sprintf(" (process %d)", n)
	}
	return ""
}
