package knowledge

import (
	"errors"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// Overlay lays a firm's own files over others. Files have the same names and the same columns: a row or an entry whose key
// (see keys) is in base stands in its place, any other is added; of settings.json only the named fields change. What
// comes of it is read by LoadFS under the same rules, and a fault in a file of over is named as name/file:line.
func Overlay(base, over fs.FS, name string) fs.FS {
	if name = strings.TrimRight(name, "/"); name == "" {
		name = "."
	}
	return overlaid(append(layersOf(base), layer{name, over}))
}

// keys is how many of a table's first columns say which row it is. Rows of a table that is not named here are only added.
var keys = map[string]int{
	"adjust.csv": 2, "amounts.csv": 3, "apart.csv": 1, "bands.csv": 2, "bands_by.csv": 4, "baseline.csv": 3, "caps.csv": 1, "deeds.csv": 1, "drives.csv": 2,
	"effects.csv": 2, "errors.csv": 1, "facts.csv": 1, "grasses.csv": 1, "groups.csv": 1, "honest.csv": 2, "ignore.csv": 3, "links.csv": 3,
	"notes.csv": 1, "persistence.csv": 1, "rates.csv": 1, "roles.csv": 1, "rules.csv": 1, "shared.csv": 1, "sooner.csv": 2,
	"sources.csv": 1, "uses.csv": 1, "waits.csv": 1, "weights.csv": 1, "who.csv": 1, "windows.csv": 3, "words.csv": 1, "works.csv": 1,
}

// layer is a folder of knowledge files. Its name stands before its files' names; the lowest has none.
type layer struct {
	name string
	fsys fs.FS
}

// overlaid is layers, the lowest first.
type overlaid []layer

func layersOf(fsys fs.FS) overlaid {
	if o, ok := fsys.(overlaid); ok {
		return slices.Clone(o)
	}
	return overlaid{{"", fsys}}
}

// Open opens the file of the uppermost layer that has it, without what lies below.
func (o overlaid) Open(name string) (fs.File, error) {
	for _, y := range slices.Backward(o) {
		f, err := y.fsys.Open(name)
		if err == nil || !errors.Is(err, fs.ErrNotExist) {
			return f, err
		}
	}
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

// file is the name by which a person finds a file of the layer.
func (y layer) file(name string) string {
	if y.name == "" {
		return name
	}
	return y.name + "/" + name
}

// firms reports whether a place is in a file laid over ours.
func (p pos) firms() bool { return strings.Contains(p.file, "/") }

// culprit is the place to name for a fault of several rows: the later one, and of the firm's and ours the firm's.
func culprit(before, now pos) pos {
	if before.firms() && !now.firms() {
		return before
	}
	return now
}

// fileText is the text of one layer's file.
type fileText struct {
	name string
	text []byte
}

// texts reads a file from every layer that has it, the lowest first. The lowest must have it.
func (l *loader) texts(file string) []fileText {
	if l.known == nil {
		l.known = map[string]bool{}
	}
	l.known[file] = true
	var all []fileText
	for i, y := range l.layers {
		text, err := fs.ReadFile(y.fsys, file)
		switch {
		case err == nil:
			all = append(all, fileText{y.file(file), text})
		case i == 0 || !errors.Is(err, fs.ErrNotExist):
			l.fail(pos{y.file(file), 1}, "%v", err)
		}
	}
	return all
}

// strangers complains of files laid over ours that nothing reads, as a misspelt name would leave a firm's rows unread.
func (l *loader) strangers() {
	for _, y := range l.layers[1:] {
		entries, err := fs.ReadDir(y.fsys, ".")
		if err != nil {
			l.fail(pos{y.file("."), 1}, "%v", err)
		}
		for _, e := range entries {
			kind := path.Ext(e.Name())
			if !l.known[e.Name()] && (kind == ".csv" || kind == ".json") {
				l.fail(pos{y.file(e.Name()), 1}, "there is no file of this name to lay it over")
			}
		}
	}
}

// laid puts what is over in the place of what it stands for, and the rest after it.
func laid[T any](below, over []T, key func(T) string) []T {
	if len(below) == 0 {
		return over
	}
	at := make(map[string]int, len(below))
	for i, v := range slices.Backward(below) {
		at[key(v)] = i
	}
	for _, v := range over {
		if i, ok := at[key(v)]; ok {
			below[i] = v
			delete(at, key(v)) // a second one is added, and found to be one too many
			continue
		}
		below = append(below, v)
	}
	return below
}

// keyOf says which row of a table a row is.
func keyOf(file string, head []string) func(row) string {
	n, ok := keys[file]
	if !ok {
		n = len(head)
	}
	return func(r row) string {
		cells := make([]string, n)
		for i, h := range head[:n] {
			cells[i] = r.cells[h]
		}
		return strings.Join(cells, ",")
	}
}
