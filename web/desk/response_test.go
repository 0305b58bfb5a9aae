package desk

import (
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

func TestOnlyAStepThatHadItsTimeIsWithoutResponse(t *testing.T) {
	effects := []knowledge.Effect{{Action: "water", Cause: "drought", Days: 14}, {Action: "water", Cause: "rings", Days: 60}, {Action: "core", Cause: "drought", Days: 30}}
	for _, c := range []struct {
		name string
		done []diagnose.Done
		want string
	}{
		{"nothing was done", nil, ""},
		{"it is too soon", []diagnose.Done{{Action: "water", Days: 13}}, ""},
		{"it was due today", []diagnose.Done{{Action: "water", Days: 14}}, "water"},
		{"a step against something else", []diagnose.Done{{Action: "mow", Days: 90}}, ""},
		{"the one that is longest due", []diagnose.Done{{Action: "core", Days: 31}, {Action: "water", Days: 40}}, "water"},
	} {
		got := unmoved(effects, "drought", c.done)
		if (got == nil) != (c.want == "") || got != nil && got.action != c.want {
			t.Errorf("%s: %+v, want %q", c.name, got, c.want)
		}
	}
}
