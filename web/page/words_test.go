package page

import (
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"swardbook/static"
)

var (
	asked    = regexp.MustCompile(`\b(T|N)\("([^"]+)"(\s*\+)?`)
	asString = regexp.MustCompile(`"([a-z]+\.[^"]*)"`)
)

// sources are the hand-written pages and handlers.
func sources(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		written := strings.HasSuffix(path, ".templ") || strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_templ.go") && !strings.HasSuffix(path, "_test.go")
		if err != nil || d.IsDir() || !written {
			return err
		}
		raw, err := os.ReadFile(path)
		out[path] = string(raw)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestEveryWordAskedForIsInTheCatalogue(t *testing.T) {
	words, err := LoadWords("en")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for path, text := range sources(t) {
		for _, m := range asked.FindAllStringSubmatch(text, -1) {
			n++
			key, open := m[2], m[3] != ""
			switch {
			case open && !anyWith(words, key):
				t.Errorf("%s: no word begins with %q", path, key)
			case !open && m[1] == "T" && !words.Has(key):
				t.Errorf("%s: no word %q", path, key)
			case !open && m[1] == "N" && (!words.Has(key+".one") || !words.Has(key+".many")):
				t.Errorf("%s: %q lacks .one or .many", path, key)
			}
		}
	}
	if n < 100 {
		t.Fatalf("only %d words are asked for: the search is broken", n)
	}
}

func anyWith(w Words, prefix string) bool {
	for key := range w.text {
		if strings.HasPrefix(key, prefix) {
			return true
		}
	}
	return false
}

func TestEveryWordOfTheDeskIsUsed(t *testing.T) {
	raw, err := static.FS.ReadFile("text/en.desk.json")
	if err != nil {
		t.Fatal(err)
	}
	var keys map[string]string
	if err := json.Unmarshal(raw, &keys); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	for _, text := range sources(t) {
		for _, m := range asString.FindAllStringSubmatch(text, -1) {
			used[m[1]] = true
		}
	}
	for key := range keys {
		if !isUsed(used, key) && key != "leave" && key != "percent" && key != "minutes" {
			t.Errorf("the word %q is never used", key)
		}
	}
}

// isUsed finds the key itself, its counted form, or a beginning that something is put behind.
func isUsed(used map[string]bool, key string) bool {
	if used[key] || used[strings.TrimSuffix(key, ".one")] || used[strings.TrimSuffix(key, ".many")] {
		return true
	}
	for at := strings.LastIndex(key, "."); at > 0; at = strings.LastIndex(key[:at], ".") {
		if used[key[:at+1]] {
			return true
		}
	}
	return false
}

func TestWordsFillTheirPlaces(t *testing.T) {
	w := Words{Lang: "en", text: map[string]string{"a": "{n} of {m}", "b.one": "{n} lawn", "b.many": "{n} lawns"}}
	for _, c := range []struct{ got, want string }{
		{w.T("a", "n", 2, "m", "5"), "2 of 5"},
		{w.T("a", "n", 2), "2 of {m}"},
		{w.T("missing"), "missing"},
		{w.N("b", 1), "1 lawn"},
		{w.N("b", 0), "0 lawns"},
		{w.N("b", 7), "7 lawns"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
