//go:build !windows

package main

import (
	"errors"
	"os"
	"syscall"
)

// lockFile opens path and takes it for this process, without waiting.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		if errors.Is(err, syscall.EWOULDBLOCK) {
			err = errLocked
		}
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}
