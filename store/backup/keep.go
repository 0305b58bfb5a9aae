package backup

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// nameForm names a scheduled backup after its moment, so that names are in order of time.
const nameForm = "2006-01-02T150405Z"

// Kept is one scheduled backup in its folder.
type Kept struct {
	Path string
	Made time.Time
}

// List returns the finished backups of a folder, oldest first. A folder that is not there holds none.
func List(folder string) (list []Kept, err error) {
	entries, err := os.ReadDir(folder)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	for _, e := range entries {
		made, wrong := time.Parse(nameForm, e.Name())
		if wrong != nil || !e.IsDir() {
			continue
		}
		list = append(list, Kept{filepath.Join(folder, e.Name()), made})
	}
	slices.SortFunc(list, func(a, b Kept) int { return a.Made.Compare(b.Made) })
	return list, err
}

// Next makes the next backup of a folder and then removes the oldest beyond keep. It removes only what it made itself: folders
// named after a moment, and halves of such.
func Next(ctx context.Context, data, folder string, keep int, now time.Time) (Manifest, error) {
	if err := clearHalves(folder); err != nil {
		return Manifest{}, err
	}
	list, err := List(folder)
	if err != nil {
		return Manifest{}, err
	}
	before := ""
	if len(list) > 0 {
		before = list[len(list)-1].Path
	}
	m, err := Make(ctx, data, filepath.Join(folder, now.UTC().Format(nameForm)), before, now)
	if err != nil {
		return m, err
	}
	for len(list)+1 > keep && len(list) > 0 {
		if err := os.RemoveAll(list[0].Path); err != nil {
			return m, err
		}
		list = list[1:]
	}
	return m, nil
}

// clearHalves removes what a crash left of a backup that was being made.
func clearHalves(folder string) error {
	entries, err := os.ReadDir(folder)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	for _, e := range entries {
		name, half := strings.CutSuffix(e.Name(), halfDone)
		if _, wrong := time.Parse(nameForm, name); half && wrong == nil {
			err = errors.Join(err, os.RemoveAll(filepath.Join(folder, e.Name())))
		}
	}
	return err
}
