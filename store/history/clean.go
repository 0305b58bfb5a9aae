package history

import (
	"strings"
	"sync"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// drawable is a text that the paper's font can draw. What joins or varies other signs is left out, narrow blanks are blanks, a
// tick is written out, and a sign that the font lacks is a point, so that its place is seen. Without this a sign beyond the first 65,536 ends the
// writer in a panic.
func drawable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\t', r == '\u2009', r == '\u202F', r == '\u00A0':
			return ' '
		case r < ' ', r == '\u200C', r == '\u200D', r == '\u200B', r == '\uFEFF', r == '\u00AD', r >= '\uFE00' && r <= '\uFE0F':
			return -1
		case r == '✓', r == '✔':
			return '√'
		case !hasGlyph(r):
			return '·'
		}
		return r
	}, strings.ToValidUTF8(s, "·"))
}

// glyphs are the signs of both faces; the bold one has the same.
var glyphs = sync.OnceValue(func() map[rune]bool {
	font, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic(err) // the font is part of the program
	}
	var buf sfnt.Buffer
	out := map[rune]bool{}
	for r := ' '; r <= 0xFFFF; r++ {
		if i, err := font.GlyphIndex(&buf, r); err == nil && i != 0 {
			out[r] = true
		}
	}
	return out
})

func hasGlyph(r rune) bool { return glyphs()[r] }
