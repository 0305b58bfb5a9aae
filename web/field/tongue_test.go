package field

import (
	"path"
	"strings"
	"testing"

	"swardbook/diagnose/knowledge"
	"swardbook/static"
	"swardbook/web/page"
)

func tongues(t *testing.T) []page.Words {
	t.Helper()
	var all []page.Words
	for _, lang := range []string{"en", "es"} {
		w, err := page.LoadWords(lang)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, w)
	}
	return all
}

func TestEveryShellStandsInBothLanguages(t *testing.T) {
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	rel, err := newRelease(static.FS, know.Bundle, tongues(t))
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]bool{}
	for _, f := range rel.Files {
		listed[f.URL] = true
	}
	found := 0
	for url := range rel.bodies {
		name, ok := strings.CutPrefix(url, "/field/")
		if !ok || strings.HasPrefix(name, "es/") || path.Ext(name) != "" {
			continue
		}
		found++
		own := rel.bodies["/field/es/"+name]
		if !listed["/field/es/"+name] || !strings.Contains(string(own), `<html lang="es"`) {
			t.Errorf("%s has no Spanish shell that phones keep", url)
		}
	}
	if found < 7 || !listed[static.At("text/es.field.json")] || !listed[static.At("text/es.common.json")] {
		t.Errorf("%d shells and %v", found, listed)
	}
	zone := string(rel.bodies["/field/es/zone"])
	for _, c := range know.Bundle.Checks {
		if !c.Retired && !strings.Contains(zone, c.Label.ES) {
			t.Errorf("%s is not asked in Spanish", c.ID)
		}
	}
	if strings.Contains(zone, "Not looked at") {
		t.Error("English is left in the Spanish zone form")
	}
}
