package main

import (
	"os"
	"syscall"
)

// sharingViolation is ERROR_SHARING_VIOLATION: the file is open elsewhere.
const sharingViolation = syscall.Errno(32)

// lockFile opens path so that nobody else can write it until it is closed.
func lockFile(path string) (*os.File, error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, syscall.FILE_SHARE_READ, nil, syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if err == sharingViolation {
		return nil, errLocked
	}
	if err != nil {
		return nil, &os.PathError{Op: "open", Path: path, Err: err}
	}
	return os.NewFile(uintptr(h), path), nil
}
