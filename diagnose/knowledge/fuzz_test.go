package knowledge

import (
	"io/fs"
	"regexp"
	"slices"
	"testing"
	"testing/fstest"
)

// FuzzLoad lays any text over any file: it is read, or refused by file and line, and never breaks the program. What is read
// can be written and read back.
func FuzzLoad(f *testing.F) {
	names, err := fs.Glob(Files(), "*")
	if err != nil {
		f.Fatal(err)
	}
	for i, name := range names {
		text, err := fs.ReadFile(Files(), name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(uint8(i), text[:min(len(text), 600)])
		f.Add(uint8(i), []byte("[]"))
	}
	at := func(name string) uint8 { return uint8(slices.Index(names, name)) }
	f.Add(at("links.csv"), []byte("finding,state,cause,word,source\npattern,none,shade,often,EJ\n"))
	f.Add(at("links.csv"), []byte("finding,state,cause,word,source\n\"pattern\nnone\",,\x00,often\n"))
	f.Add(at("adjust.csv"), []byte("cause,when,except,factor,at_most,set,source\n*,\"month=1,2; finding:=\",,1e999,,,EJ\n"))
	f.Add(at("bands.csv"), []byte("finding,state,low,high,source\npattern,none,-Inf,NaN,EJ\n"))
	f.Add(at("settings.json"), []byte(`{"season_of": ["winter"], "settings": {"max_set": -1, "other": "ghosts"}}`))
	f.Add(at("causes.json"), []byte(`[null, 3, {"id": "rust"}, {"id": "rust"}]`))
	place := regexp.MustCompile(`[a-z]+\.(csv|json):\d+: `)
	f.Fuzz(func(t *testing.T, which uint8, text []byte) {
		over := fstest.MapFS{names[int(which)%len(names)]: {Data: text}}
		k, err := LoadFS(Overlay(Files(), over, "firm"))
		if err != nil {
			if !place.MatchString(err.Error()) {
				t.Errorf("no file and line in %q", err)
			}
			return
		}
		if again, err := Decode(k.JSON); err != nil || again.Edition != k.Edition {
			t.Error(err)
		}
	})
}

// FuzzDecode reads what a phone or an office might have kept.
func FuzzDecode(f *testing.F) {
	k, err := Load()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(k.JSON)
	f.Add([]byte(`{"format":1}`))
	f.Add([]byte(`null`))
	f.Fuzz(func(t *testing.T, text []byte) {
		again, err := Decode(text)
		if err == nil && !slices.Equal(again.JSON, text) {
			t.Error("other bytes than were read")
		}
	})
}
