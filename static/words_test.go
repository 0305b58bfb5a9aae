package static

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// cognates are the texts of the phone that say the same in both languages.
var cognates = []string{
	"app.name", "span.minutes", "span.hours", "zone.before", "sofar.percent", "next.minutes.one", "next.minutes.many", "check.minutes",
	"apply.material", "item.name", "load.total", "cans.ml",
}

var holes = regexp.MustCompile(`\{\w+\}`)

func wordsOf(t *testing.T, name string) map[string]string {
	t.Helper()
	raw, err := FS.ReadFile("text/" + name)
	if err != nil {
		t.Fatal(err)
	}
	var words map[string]string
	if err := json.Unmarshal(raw, &words); err != nil {
		t.Fatal(err)
	}
	return words
}

func filled(text string) []string {
	found := holes.FindAllString(text, -1)
	slices.Sort(found)
	return found
}

func TestThePhoneSpeaksBothLanguages(t *testing.T) {
	for _, part := range []string{"common", "field"} {
		en, es := wordsOf(t, "en."+part+".json"), wordsOf(t, "es."+part+".json")
		for key, text := range en {
			own, ok := es[key]
			switch {
			case !ok || strings.TrimSpace(own) == "":
				t.Errorf("%s: %q has no Spanish: %s", part, key, text)
			case !slices.Equal(filled(text), filled(own)):
				t.Errorf("%s: %q fills %v in English and %v in Spanish", part, key, filled(text), filled(own))
			case own == text && !slices.Contains(cognates, key):
				t.Errorf("%s: %q is still English: %s", part, key, text)
			}
		}
		for key := range es {
			if _, ok := en[key]; !ok {
				t.Errorf("%s: %q has Spanish and no English", part, key)
			}
		}
	}
}
