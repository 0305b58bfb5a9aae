package knowledge

import (
	"errors"
	"io/fs"
)

// Overlay lays a firm's own files over others: a file of over stands in for the file of the same name in base, and a file
// such as links.add.csv adds its rows to links.csv. What comes of it is read by LoadFS under the same rules.
func Overlay(base, over fs.FS) fs.FS { return layers{over, base} }

type layers []fs.FS

// Open opens the file of the uppermost layer that has it.
func (l layers) Open(name string) (fs.File, error) {
	for _, layer := range l {
		f, err := layer.Open(name)
		if err == nil || !errors.Is(err, fs.ErrNotExist) {
			return f, err
		}
	}
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}
