// Package static embeds what browsers are given as it stands (styles, pictures, plain ES modules, the worker) and the
// catalogue of every string a person reads. It imports nothing of ours.
package static

import (
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"
)

// FS holds css/, img/, js/, text/, sw.js and manifest.webmanifest.
//
//go:embed css img js text
var FS embed.FS

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
