package knowledge

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
)

// pos is a place in a knowledge file.
type pos struct {
	file string
	line int
}

// loader reads the files and collects every fault with its place.
type loader struct {
	fsys fs.FS
	errs []error

	words   map[string]float64
	sources map[string]bool
	checks  map[string]bool
	causes  map[string]*Cause
	states  map[string]*Finding // by finding id
	numeric map[string]bool     // findings that a number speaks to
	seasons []string
}

func (l *loader) fail(at pos, format string, args ...any) {
	l.errs = append(l.errs, fmt.Errorf("%s:%d: %s", at.file, at.line, fmt.Sprintf(format, args...)))
}

// row is one line of a CSV file, its cells by column name.
type row struct {
	at    pos
	cells map[string]string
}

// table reads a CSV file whose columns are exactly head, and then the rows that a file beside it adds: links.add.csv adds
// to links.csv. Lines that begin with # are remarks.
func (l *loader) table(file string, head ...string) []row {
	text, err := fs.ReadFile(l.fsys, file)
	if err != nil {
		l.fail(pos{file, 1}, "%v", err)
		return nil
	}
	rows := l.rows(file, text, head)
	more := strings.TrimSuffix(file, ".csv") + ".add.csv"
	if text, err := fs.ReadFile(l.fsys, more); err == nil {
		rows = append(rows, l.rows(more, text, head)...)
	} else if !errors.Is(err, fs.ErrNotExist) {
		l.fail(pos{more, 1}, "%v", err)
	}
	return rows
}

func (l *loader) rows(file string, text []byte, head []string) []row {
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	r.FieldsPerRecord = -1
	first, err := r.Read()
	if err != nil || !slices.Equal(first, head) {
		l.fail(pos{file, max(1, csvLine(r, err))}, "the columns must be %s", strings.Join(head, ","))
		return nil
	}
	var rows []row
	for {
		cells, err := r.Read()
		if err == io.EOF {
			return rows
		}
		at := pos{file, csvLine(r, err)}
		switch {
		case err != nil:
			l.fail(at, "%v", errors.Unwrap(err))
			return rows
		case len(cells) != len(head):
			l.fail(at, "%d columns, want %d", len(cells), len(head))
		default:
			rows = append(rows, named(at, head, cells))
		}
	}
}

func named(at pos, head, cells []string) row {
	r := row{at: at, cells: make(map[string]string, len(head))}
	for i, h := range head {
		r.cells[h] = cells[i]
	}
	return r
}

func csvLine(r *csv.Reader, err error) int {
	var bad *csv.ParseError
	if errors.As(err, &bad) {
		return bad.Line
	}
	if err != nil {
		return 1
	}
	line, _ := r.FieldPos(0)
	return line
}

// number reads a cell as a finite number of at least low and at most high.
func (l *loader) number(r row, column string, low, high float64) float64 {
	v, err := strconv.ParseFloat(r.cells[column], 64)
	switch {
	case err != nil || math.IsNaN(v):
		l.fail(r.at, "%s: %q is not a number", column, r.cells[column])
	case v < low || v > high:
		l.fail(r.at, "%s: %v is outside %v to %v", column, v, low, high)
	default:
		return v
	}
	return low
}

// word reads a cell as one of the words for a chance.
func (l *loader) word(r row) float64 {
	p, ok := l.words[r.cells["word"]]
	if !ok {
		l.fail(r.at, "%q is not a word for a chance", r.cells["word"])
	}
	return p
}

// source checks that a row rests on known sources and returns them as written.
func (l *loader) source(at pos, named string) string {
	if named == "" {
		l.fail(at, "no source")
		return ""
	}
	for _, key := range SourceKeys(named) {
		if !l.sources[key] {
			l.fail(at, "unknown source %q", key)
		}
	}
	return named
}

// once complains when a key comes a second time.
func (l *loader) once(seen map[string]pos, key string, at pos) bool {
	if first, ok := seen[key]; ok {
		l.fail(at, "%q is already in %s:%d", key, first.file, first.line)
		return false
	}
	seen[key] = at
	return true
}

// located is an entry of a JSON list with its place.
type located[T any] struct {
	at pos
	v  T
}

// list reads a JSON file that holds one list.
func list[T any](l *loader, file string) []located[T] {
	text, err := fs.ReadFile(l.fsys, file)
	if err != nil {
		l.fail(pos{file, 1}, "%v", err)
		return nil
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if t, err := dec.Token(); err != nil || t != json.Delim('[') {
		l.fail(pos{file, 1}, "a list is wanted")
		return nil
	}
	var all []located[T]
	for dec.More() {
		start := dec.InputOffset()
		at := pos{file, lineOf(text, entryStart(text, start))}
		var v T
		if err := dec.Decode(&v); err != nil {
			l.fail(faultAt(at, text, start, err), "%v", err)
			return all
		}
		all = append(all, located[T]{at, v})
	}
	l.end(dec, file, text)
	return all
}

// end wants the closing bracket and nothing after it.
func (l *loader) end(dec *json.Decoder, file string, text []byte) {
	if _, err := dec.Token(); err != nil {
		l.fail(pos{file, lineOf(text, dec.InputOffset())}, "%v", err)
		return
	}
	if _, err := dec.Token(); err != io.EOF {
		l.fail(pos{file, lineOf(text, dec.InputOffset())}, "text after the end of the list")
	}
}

// object reads a JSON file that holds one object, and gives the place of each of its keys.
func object[T any](l *loader, file string) (v T, at func(key string) pos) {
	text, err := fs.ReadFile(l.fsys, file)
	at = func(key string) pos {
		i := bytes.Index(text, []byte(strconv.Quote(key)))
		return pos{file, lineOf(text, int64(max(i, 0)))}
	}
	if err != nil {
		l.fail(at(""), "%v", err)
		return v, at
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&v); err != nil {
		l.fail(faultAt(pos{file, 1}, text, 0, err), "%v", err)
	}
	return v, at
}

func entryStart(text []byte, from int64) int64 {
	for from < int64(len(text)) && bytes.IndexByte([]byte(", \t\r\n"), text[from]) >= 0 {
		from++
	}
	return from
}

func lineOf(text []byte, offset int64) int {
	return 1 + bytes.Count(text[:min(offset, int64(len(text)))], []byte("\n"))
}

// faultAt is the place of a JSON fault: the line it names, that of the unknown field, or the entry's first.
func faultAt(at pos, text []byte, start int64, err error) pos {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		at.line = lineOf(text, syntax.Offset)
	case errors.As(err, &kind):
		at.line = lineOf(text, kind.Offset)
	default:
		if _, field, ok := strings.Cut(err.Error(), "unknown field "); ok {
			if i := bytes.Index(text[start:], []byte(field)); i >= 0 {
				at.line = lineOf(text, start+int64(i))
			}
		}
	}
	return at
}
