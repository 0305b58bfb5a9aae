package intake

import (
	"encoding/json"
	"os"
	"testing"
)

// TestEveryReasonStandsInBothLanguagesOnThePhone: why a thing is set aside is read by whoever recorded it.
func TestEveryReasonStandsInBothLanguagesOnThePhone(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		raw, err := os.ReadFile("../../static/text/" + lang + ".field.json")
		if err != nil {
			t.Fatal(err)
		}
		var texts map[string]string
		if err := json.Unmarshal(raw, &texts); err != nil {
			t.Fatal(err)
		}
		for code := range asideSentences {
			if texts["aside."+code] == "" {
				t.Errorf("%s has no sentence for %s", lang, code)
			}
		}
	}
}
