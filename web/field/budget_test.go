package field

import (
	"bytes"
	"compress/gzip"
	"context"
	"io/fs"
	"path"
	"regexp"
	"testing"

	"swardbook/diagnose/knowledge"
	"swardbook/static"
	"swardbook/web/page"
)

const budget = 120 << 10 // bytes of HTML, CSS and JavaScript, compressed, that a cheap phone loads before it shows a page

func weight(t *testing.T, body []byte) int {
	t.Helper()
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.DefaultCompression)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(body); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Len()
}

// TestFirstLoadFitsItsBudget adds up what each page of the phone loads before it shows something, and the whole release.
func TestFirstLoadFitsItsBudget(t *testing.T) {
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	words, err := page.LoadWords("en")
	if err != nil {
		t.Fatal(err)
	}
	read := func(name string) []byte {
		body, err := fs.ReadFile(static.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		return body
	}
	css := weight(t, read("css/look.css")) + weight(t, read("css/field.css"))
	var everything int
	modules := map[string]bool{}
	for url, shell := range shells(know.Bundle, []page.Words{words}, "0123456789abcdef", nil) {
		var html bytes.Buffer
		if err := shell.Render(context.Background(), &html); err != nil {
			t.Fatal(err)
		}
		name := path.Base(url)
		if url == "/field/" {
			name = "day"
		}
		sum := weight(t, html.Bytes()) + css
		everything += weight(t, html.Bytes())
		list, err := imported(static.FS, []string{name + ".js"}, atOnce)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range list {
			sum += weight(t, read(m))
			modules[m] = true
		}
		t.Logf("%-16s %6.1f KB compressed: page, styles and %d modules", url, float64(sum)/1024, len(list))
		if sum > budget {
			t.Errorf("%s loads %d bytes, more than %d", url, sum, budget)
		}
	}
	all, err := imported(static.FS, entries, imports)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range all {
		everything += weight(t, read(m))
		if !modules[m] {
			t.Logf("later: %s", m)
		}
	}
	t.Logf("the whole release in one language: %.1f KB of HTML, CSS and JavaScript", float64(everything+css)/1024)
	if everything+css > 2*budget {
		t.Errorf("the release is %d bytes", everything+css)
	}
}

// TestEveryCheckShowsHowItIsDone: its own drawing, two lines and minutes, in every language of the crew.
func TestEveryCheckShowsHowItIsDone(t *testing.T) {
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	sprite, err := fs.ReadFile(static.FS, "img/draw.svg")
	if err != nil {
		t.Fatal(err)
	}
	drawn := map[string]string{}
	for _, m := range regexp.MustCompile(`(?s)<symbol id="([^"]+)"[^>]*>(.*?)</symbol>`).FindAllStringSubmatch(string(sprite), -1) {
		drawn[m[1]] = m[2]
	}
	shownBy := map[string]string{}
	for _, c := range know.Bundle.Checks {
		drawing := drawn[c.Drawing]
		if drawing == "" {
			t.Errorf("%s: no drawing %q", c.ID, c.Drawing)
		}
		if other := shownBy[drawing]; other != "" {
			t.Errorf("%s and %s show the same drawing", c.ID, other)
		}
		shownBy[drawing] = c.ID
		for lang, say := range map[string]string{"en": c.HowTo.EN, "es": c.HowTo.ES} {
			if n := len([]rune(say)); n < 20 || n > 190 {
				t.Errorf("%s: the how-to in %s has %d characters; two lines are wanted", c.ID, lang, n)
			}
		}
		if c.Minutes <= 0 || (c.Tool.EN == "") != (c.Tool.ES == "") {
			t.Errorf("%s: minutes and tool are wanted in both languages", c.ID)
		}
	}
}
