package backup

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// photoPath is where a photo lies below a folder of photos: ab/abcdef…
func photoPath(dir, sha string) string { return filepath.Join(dir, sha[:2], sha) }

// takePhoto puts a photo into a backup: linked from the backup before when the file there still is what its name says, else
// copied. fs.ErrNotExist says that the data folder lacks it.
func takePhoto(data, work, before, sha string) (int64, error) {
	to := photoPath(filepath.Join(work, Photos), sha)
	if err := os.MkdirAll(filepath.Dir(to), 0o750); err != nil {
		return 0, err
	}
	if before != "" {
		from := photoPath(filepath.Join(before, Photos), sha)
		if hash, size, err := hashFile(from); err == nil && hash == sha && os.Link(from, to) == nil {
			return size, nil
		}
	}
	return copyFile(photoPath(filepath.Join(data, Photos), sha), to)
}

// copyFile copies to a new file and makes it durable.
func copyFile(from, to string) (n int64, err error) {
	in, err := os.Open(from)
	if err != nil {
		return 0, err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o640)
	if err != nil {
		return 0, err
	}
	if n, err = io.Copy(out, in); err == nil {
		err = out.Sync()
	}
	return n, errors.Join(err, out.Close())
}

// hashFile returns the SHA-256 of a file and its length.
func hashFile(path string) (string, int64, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	sum := sha256.New()
	n, err := io.Copy(sum, f)
	return hex.EncodeToString(sum.Sum(nil)), n, err
}

// syncFolder makes a folder's names, or a file's bytes, durable. Windows has no such thing for folders.
func syncFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	err = f.Sync()
	if runtime.GOOS == "windows" {
		err = nil
	}
	return errors.Join(err, f.Close())
}

// syncBelow makes every folder below path durable.
func syncBelow(path string) error {
	return filepath.WalkDir(path, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		return syncFolder(path)
	})
}
