//go:build !windows

package main

import (
	"syscall"

	"swardbook/store/intake"
)

// roomIn tells how many bytes are free for us on the disk of a folder.
func roomIn(folder string) intake.Room {
	return func() (uint64, error) {
		var disk syscall.Statfs_t
		if err := syscall.Statfs(folder, &disk); err != nil {
			return 0, err
		}
		return disk.Bavail * uint64(disk.Bsize), nil
	}
}
