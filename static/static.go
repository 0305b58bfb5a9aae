// Package static embeds what browsers are given as it stands (styles, pictures, plain ES modules, the worker) and the
// catalogue of every string a person reads. It imports nothing of ours.
package static

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"
	"sync"
)

// FS holds css/, img/, js/, text/, sw.js and manifest.webmanifest.
//
//go:embed css img js text
var FS embed.FS

// Version is 16 hexadecimal digits that stand for the bytes of all files.
var Version = sync.OnceValue(func() string {
	sum := sha256.New()
	err := fs.WalkDir(FS, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := FS.ReadFile(name)
		fmt.Fprintf(sum, "%s %d\n%s", name, len(body), body)
		return err
	})
	if err != nil {
		panic(err) // embedded files can be read
	}
	return hex.EncodeToString(sum.Sum(nil)[:8])
})

// At is the address of a file that must never be of another version than the page that asks for it: modules, which name
// each other by relative addresses, and the texts they read. A page that outlives its release finds nothing there.
func At(name string) string { return "/static/" + Version() + "/" + name }

// Words reads the catalogue of one language: every text/<lang>.*.json merged. A key that stands in two files is an error.
func Words(lang string) (map[string]string, error) {
	names, err := fs.Glob(FS, "text/"+lang+".*.json")
	if err != nil || len(names) == 0 {
		return nil, fmt.Errorf("static: no words for language %q", lang)
	}
	all := map[string]string{}
	for _, name := range names {
		raw, err := FS.ReadFile(name)
		if err != nil {
			return nil, err
		}
		var part map[string]string
		if err := json.Unmarshal(raw, &part); err != nil {
			return nil, fmt.Errorf("static: %s: %w", name, err)
		}
		for key, text := range part {
			if _, twice := all[key]; twice {
				return nil, fmt.Errorf("static: %s: key %q stands twice", strings.TrimPrefix(name, "text/"), key)
			}
			all[key] = text
		}
	}
	return all, nil
}
