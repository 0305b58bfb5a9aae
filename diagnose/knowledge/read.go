package knowledge

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
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
	layers []layer
	errs   []error
	rests  []Rest
	known  map[string]bool // names of the files that knowledge is made of

	words      map[string]float64
	sources    map[string]bool
	checks     map[string]bool
	checkAt    map[string]pos
	causes     map[string]*Cause
	causeAt    map[string]pos
	states     map[string]*Finding // by finding id
	findingAt  map[string]pos
	numeric    map[string]bool // findings that a number speaks to
	rateSource map[string]string
	errSource  map[string]string
	weights    Weights
	seasons    []string
}

func (l *loader) fail(at pos, format string, args ...any) {
	l.errs = append(l.errs, fmt.Errorf("%s:%d: %s", at.file, at.line, fmt.Sprintf(format, args...)))
}

// row is one line of a CSV file, its cells by column name.
type row struct {
	at    pos
	cells map[string]string
}

// table reads a CSV file whose columns are exactly head, with what a firm lays over it. Lines that begin with # are remarks.
func (l *loader) table(file string, head ...string) []row {
	var rows []row
	for _, t := range l.texts(file) {
		rows = laid(rows, l.rows(t.name, t.text, head), keyOf(file, head))
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

// word reads a cell as one of the words for a chance. A number stands where a chance was counted rather than judged; it has no word.
func (l *loader) word(r row) (p float64, word string) {
	word = r.cells["word"]
	if p, ok := l.words[word]; ok {
		return p, word
	}
	if p, err := strconv.ParseFloat(word, 64); err == nil && p >= lowChance && p <= highChance {
		return p, ""
	}
	l.fail(r.at, "%q is not a word for a chance, nor a number from %v to %v", word, lowChance, highChance)
	return 0, ""
}

// No link is certain: evidence must be able to speak against it.
const lowChance, highChance = 0.001, 0.999

// source checks that a row rests on known sources and returns them as written.
func (l *loader) source(at pos, named string) string {
	if named == "" {
		l.fail(at, "no source")
		return ""
	}
	l.rests = append(l.rests, Rest{at.file, at.line, named})
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
