package plan_test

import (
	"encoding/json"
	"testing"

	"swardbook/diagnose/plan"
)

// Whatever an input holds, planning it ends in a plan or an error, and what it plans can be checked and changed.
func FuzzMake(f *testing.F) {
	pl, _ := planner(f)
	for _, file := range caseFiles(f) {
		raw, err := json.Marshal(load(f, file).Input)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(raw), 1.0, "lb N/1000 ft2")
	}
	f.Fuzz(func(t *testing.T, text string, amount float64, unit string) {
		var in plan.Input
		if json.Unmarshal([]byte(text), &in) != nil || len(in.Zones) > 4 || len(in.Materials) > 20 {
			return
		}
		p, err := pl.Make(in)
		if err != nil {
			return
		}
		if _, err := pl.Verify(in, p); err != nil {
			t.Errorf("a fresh plan does not fit its own input: %v", err)
		}
		for _, s := range p.Steps {
			q, err := pl.Adjust(in, p, []plan.Edit{{Step: s.ID, Target: q(amount, unit)}})
			if err == nil && len(q.Steps) != len(p.Steps) {
				t.Error("an amount took a step away")
			}
		}
	})
}
