package knowledge

import (
	"regexp"
	"testing"
)

func TestFaultsOfTheCourseAreRefusedByLine(t *testing.T) {
	for _, c := range []struct{ name, file, old, new, want string }{
		{"a cause that lasts no time", "persistence.csv", "rust,30", "rust,0", `persistence.csv:\d+: days: 0 is outside`},
		{"an unknown cause", "persistence.csv", "rust,30", "crust,30", `persistence.csv:\d+: unknown cause "crust"`},
		{"nothing that zones share", "shared.csv", "dull_blades,mower", "dull_blades,luck", `shared.csv:\d+: "luck" is nothing that zones share`},
		{"an unknown action", "effects.csv", "dull_blades.sharpen,", "dull_blades.shave,", `effects.csv:\d+: unknown action "dull_blades.shave"`},
		{"a step that leaves more than there was", "effects.csv", "dull_blades.sharpen,dull_blades,0.05", "dull_blades.sharpen,dull_blades,1.05", `effects.csv:\d+: left: 1.05 is outside`},
		{"an effect twice", "effects.csv", "", "dull_blades.sharpen,dull_blades,0.1,7,EJ\n", `effects.csv:\d+: "dull_blades.sharpen,dull_blades" is already in`},
		{"an effect without a source", "effects.csv", "", "dull_blades.sharpen,rust,0.1,7,\n", `effects.csv:\d+: no source`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := LoadFS(altered(t, c.file, c.old, c.new))
			if err == nil || !regexp.MustCompile(c.want).MatchString(err.Error()) {
				t.Errorf("got %v, want %s", err, c.want)
			}
		})
	}
}

func TestEveryCauseLasts(t *testing.T) {
	l, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range l.Bundle.Causes {
		if !(c.Lasts >= 1) {
			t.Errorf("%s lasts %v days", c.ID, c.Lasts)
		}
	}
}
