// Package page draws pages: components and the view models they take. It asks no database and computes nothing; whoever
// calls it has already made every text and number ready.
package page

import (
	"fmt"
	"strings"

	"swardbook/static"
)

// Words are the texts of one language.
type Words struct {
	Lang string
	text map[string]string
}

// LoadWords reads the catalogue of lang, with English under every text it lacks.
func LoadWords(lang string) (Words, error) {
	text, err := static.Words("en")
	if err != nil {
		return Words{}, err
	}
	if lang == "en" {
		return Words{Lang: "en", text: text}, nil
	}
	own, err := static.Words(lang)
	if err != nil {
		return Words{}, err
	}
	for key, say := range own {
		text[key] = say
	}
	return Words{Lang: lang, text: text}, nil
}

// T returns the text under key with its {name} places filled from name, value, name, value … A key without a text comes
// back as it is, so that a gap is seen and nothing breaks.
func (w Words) T(key string, args ...any) string {
	say, ok := w.text[key]
	if !ok {
		return key
	}
	for i := 0; i+1 < len(args); i += 2 {
		say = strings.ReplaceAll(say, "{"+fmt.Sprint(args[i])+"}", fmt.Sprint(args[i+1]))
	}
	return say
}

// N is T for a counted thing: key+".one" when n is 1, else key+".many", with {n} filled.
func (w Words) N(key string, n int, args ...any) string {
	form := ".many"
	if n == 1 {
		form = ".one"
	}
	return w.T(key+form, append([]any{"n", n}, args...)...)
}

// Has reports whether the catalogue holds key.
func (w Words) Has(key string) bool {
	_, ok := w.text[key]
	return ok
}
