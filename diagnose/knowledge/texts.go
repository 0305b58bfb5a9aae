package knowledge

import (
	"io"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"time"
)

// Texts is a folder of knowledge files in memory, by name: what a firm learned is kept as one and laid over the rest.
type Texts map[string]string

// Open opens one of the files.
func (t Texts) Open(name string) (fs.File, error) {
	text, ok := t[name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &textFile{textInfo{name, int64(len(text))}, strings.NewReader(text)}, nil
}

// ReadDir lists the files; there is only the one folder.
func (t Texts) ReadDir(name string) ([]fs.DirEntry, error) {
	if name != "." {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: fs.ErrNotExist}
	}
	var list []fs.DirEntry
	for _, file := range slices.Sorted(maps.Keys(t)) {
		list = append(list, fs.FileInfoToDirEntry(textInfo{file, int64(len(t[file]))}))
	}
	return list, nil
}

type textFile struct {
	textInfo
	io.Reader
}

func (f *textFile) Stat() (fs.FileInfo, error) { return f.textInfo, nil }
func (f *textFile) Close() error               { return nil }

type textInfo struct {
	name string
	size int64
}

func (i textInfo) Name() string       { return i.name }
func (i textInfo) Size() int64        { return i.size }
func (i textInfo) Mode() fs.FileMode  { return 0o444 }
func (i textInfo) ModTime() time.Time { return time.Time{} }
func (i textInfo) IsDir() bool        { return false }
func (i textInfo) Sys() any           { return nil }
