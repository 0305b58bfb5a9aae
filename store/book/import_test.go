package book

import (
	"bytes"
	"encoding/json"
	"slices"
	"testing"
)

// FuzzReadRow: any bytes are a row or none; a row is written as it was read.
func FuzzReadRow(f *testing.F) {
	for _, raw := range []string{`{"id":"a","n":3,"x":0.5,"none":null}`, `{"raw":{"text":"word"},"old":{"text64":"/w=="},"sum":{"base64":"AAE="},"answer":{"packed":"{}"}}`, `{"a":{}}`, `[1]`, `{"a":1e999}`, `{"a":`} {
		f.Add([]byte(raw))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		names, values, err := readRow(raw)
		if err != nil {
			return
		}
		if len(names) != len(values) {
			t.Fatalf("%d names, %d values", len(names), len(values))
		}
		again, err := json.Marshal(line{names, values})
		if err != nil {
			t.Fatal(err)
		}
		names2, values2, err := readRow(again) // a whole number of a column of fractions comes as a whole number
		if err != nil || !slices.Equal(names, names2) {
			t.Fatalf("%s\nwritten %s\nread again %q: %v", raw, again, names2, err)
		}
		if twice, err := json.Marshal(line{names2, values2}); err != nil || !bytes.Equal(twice, again) {
			t.Fatalf("%s\nwritten %s\nthen %s: %v", raw, again, twice, err)
		}
	})
}
