package knowledge

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"swardbook/diagnose/checks"
)

//go:embed data
var embedded embed.FS

// Loaded is a bundle that has passed every rule, with its canonical bytes and their edition.
type Loaded struct {
	Bundle     Bundle
	JSON       []byte
	Edition    string
	Weights    Weights           // what learning needs besides; phones don't get it, and it is not part of the edition
	RateSource map[string]string // by cause: what its rates rest on; a decoded bundle has none
	ErrSource  map[string]string // by finding: what its measuring error rests on; a decoded bundle has none
	Rests      []Rest            // every row with what it rests on, as read from files; a decoded bundle has none

	checks, causes, findings, sources map[string]int
}

// Rest is what one row or entry of a file rests on: one or more keys of sources, see SourceKeys.
type Rest struct {
	File   string
	Line   int
	Source string
}

// Files returns the built-in knowledge: the CSV and JSON files that LoadFS reads, at the root.
func Files() fs.FS {
	sub, err := fs.Sub(embedded, "data")
	if err != nil {
		panic(err) // the directory is embedded above
	}
	return sub
}

var builtIn = sync.OnceValues(func() (*Loaded, error) { return LoadFS(Files()) })

// Load returns the built-in knowledge. It is read once; callers share the result and do not change it.
func Load() (*Loaded, error) { return builtIn() }

// LoadFS reads knowledge from the files at the root of fsys. Every fault it finds is named as "file:line: reason", one
// on a line of the error.
func LoadFS(fsys fs.FS) (*Loaded, error) {
	l := &loader{layers: layersOf(fsys)}
	b := l.bundle()
	l.strangers()
	if len(l.errs) > 0 {
		slices.SortStableFunc(l.errs, func(a, b error) int { return strings.Compare(a.Error(), b.Error()) })
		return nil, fmt.Errorf("knowledge: %w", errors.Join(l.errs...))
	}
	text, err := canonical(b)
	if err != nil {
		return nil, fmt.Errorf("knowledge: %w", err)
	}
	k := newLoaded(*b, text)
	k.Rests, k.Weights, k.RateSource, k.ErrSource = l.rests, l.weights, l.rateSource, l.errSource
	return k, nil
}

// Decode reads a bundle back from its canonical bytes. Bytes that are not canonical are refused, because the edition
// is a promise about bytes.
func Decode(text []byte) (*Loaded, error) {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	var b Bundle
	if err := dec.Decode(&b); err != nil {
		return nil, fmt.Errorf("knowledge: %w", err)
	}
	again, err := canonical(&b)
	if err != nil {
		return nil, fmt.Errorf("knowledge: %w", err)
	}
	if !bytes.Equal(again, text) {
		return nil, errors.New("knowledge: the bytes are not in canonical form")
	}
	return newLoaded(b, again), nil
}

// canonical writes b in one way only: struct order, sorted map keys, no HTML escaping, no trailing newline.
func canonical(b *Bundle) ([]byte, error) {
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(b); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
}

func newLoaded(b Bundle, text []byte) *Loaded {
	sum := sha256.Sum256(text)
	k := &Loaded{Bundle: b, JSON: text, Edition: hex.EncodeToString(sum[:])[:16]}
	k.checks = index(b.Checks, func(c checks.Check) string { return c.ID })
	k.causes = index(b.Causes, func(c Cause) string { return c.ID })
	k.findings = index(b.Findings, func(f Finding) string { return f.ID })
	k.sources = index(b.Sources, func(s Source) string { return s.Key })
	return k
}

func index[T any](list []T, id func(T) string) map[string]int {
	at := make(map[string]int, len(list))
	for i, v := range list {
		at[id(v)] = i
	}
	return at
}

func lookUp[T any](list []T, at map[string]int, id string) (T, bool) {
	i, ok := at[id]
	if !ok {
		var none T
		return none, false
	}
	return list[i], true
}

// Check returns the check with this id, retired or not.
func (k *Loaded) Check(id string) (checks.Check, bool) { return lookUp(k.Bundle.Checks, k.checks, id) }

// Cause returns the cause with this id.
func (k *Loaded) Cause(id string) (Cause, bool) { return lookUp(k.Bundle.Causes, k.causes, id) }

// Finding returns the finding with this id.
func (k *Loaded) Finding(id string) (Finding, bool) {
	return lookUp(k.Bundle.Findings, k.findings, id)
}

// Source returns the source with this key. A row that rests on several names them as "A; B": see SourceKeys.
func (k *Loaded) Source(key string) (Source, bool) { return lookUp(k.Bundle.Sources, k.sources, key) }

// SourceKeys splits what a row names as its source into keys.
func SourceKeys(named string) []string { return strings.Split(named, "; ") }
