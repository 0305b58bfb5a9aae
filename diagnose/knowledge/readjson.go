package knowledge

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
)

// located is an entry of a JSON list with its place and its id.
type located[T any] struct {
	at pos
	id string
	v  T
}

// list reads a JSON file that holds one list of objects, with what a firm lays over it by id.
func list[T any](l *loader, file string) []located[T] {
	var all []located[T]
	for _, t := range l.texts(file) {
		all = laid(all, entries[T](l, t), func(e located[T]) string { return e.id })
	}
	return all
}

// entries reads one file's list.
func entries[T any](l *loader, t fileText) []located[T] {
	dec := json.NewDecoder(bytes.NewReader(t.text))
	if first, err := dec.Token(); err != nil || first != json.Delim('[') {
		l.fail(pos{t.name, 1}, "a list is wanted")
		return nil
	}
	var all []located[T]
	for dec.More() {
		start := entryStart(t.text, dec.InputOffset())
		at := pos{t.name, lineOf(t.text, start)}
		var raw json.RawMessage
		if err := dec.Decode(&raw); err != nil {
			l.fail(faultAt(at, t.text, 0, err), "%v", err)
			return all
		}
		if e, ok := entry[T](l, at, t.text, start, raw); ok {
			all = append(all, e)
		}
	}
	l.end(dec, t)
	return all
}

func entry[T any](l *loader, at pos, text []byte, start int64, raw []byte) (located[T], bool) {
	e := located[T]{at: at}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e.v); err != nil {
		l.fail(faultAt(at, text, start, err), "%v", err)
		return e, false
	}
	var id struct{ ID string }
	if err := json.Unmarshal(raw, &id); err != nil {
		l.fail(faultAt(at, text, start, err), "%v", err)
		return e, false
	}
	e.id = id.ID
	return e, true
}

// end wants the closing bracket and nothing after it.
func (l *loader) end(dec *json.Decoder, t fileText) {
	if _, err := dec.Token(); err != nil {
		l.fail(pos{t.name, lineOf(t.text, dec.InputOffset())}, "%v", err)
		return
	}
	if _, err := dec.Token(); err != io.EOF {
		l.fail(pos{t.name, lineOf(t.text, dec.InputOffset())}, "text after the end of the list")
	}
}

// object reads a JSON file that holds one object, with what a firm lays over it field by field, and gives the place of
// each of its keys.
func object[T any](l *loader, file string) (v T, at func(key string) pos) {
	texts := l.texts(file)
	at = func(key string) pos {
		for _, t := range slices.Backward(texts) {
			if i := bytes.Index(t.text, []byte(strconv.Quote(key))); i >= 0 {
				return pos{t.name, lineOf(t.text, int64(i))}
			}
		}
		return pos{file, 1}
	}
	for _, t := range texts {
		dec := json.NewDecoder(bytes.NewReader(t.text))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&v); err != nil {
			l.fail(faultAt(pos{t.name, 1}, t.text, 0, err), "%v", err)
		}
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

// faultAt is the place of a JSON fault in the value that begins at start: the line it names, that of the unknown field, or
// the value's first.
func faultAt(at pos, text []byte, start int64, err error) pos {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		at.line = lineOf(text, start+syntax.Offset)
	case errors.As(err, &kind):
		at.line = lineOf(text, start+kind.Offset)
	default:
		if _, field, ok := strings.Cut(err.Error(), "unknown field "); ok {
			if i := bytes.Index(text[start:], []byte(field)); i >= 0 {
				at.line = lineOf(text, start+int64(i))
			}
		}
	}
	return at
}
