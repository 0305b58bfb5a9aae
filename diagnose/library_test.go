package diagnose_test

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// answered is a network with the answer of a general-purpose library; testdata/bayes/README.md says which, and how it is made.
type answered struct {
	Bundle      knowledge.Bundle
	Case        diagnose.Case
	Likelihoods []float64
	Nothing     float64
}

func answeredNetworks(t *testing.T) []answered {
	t.Helper()
	text, err := os.ReadFile("../testdata/bayes/networks.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Networks []answered }
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	return file.Networks
}

// On networks that a library for any Bayesian network can hold, ours is the same answer.
func TestEngineAgreesWithAGeneralLibrary(t *testing.T) {
	worst := 0.0
	all := answeredNetworks(t)
	kinds := map[string]int{}
	for _, w := range all {
		e, err := diagnose.New(&w.Bundle)
		if err != nil {
			t.Fatalf("%s: %v", w.Case.ID, err)
		}
		like, nothing, err := e.Likelihoods(w.Case)
		if err != nil {
			t.Fatalf("%s: %v", w.Case.ID, err)
		}
		d := max(apart(like, w.Likelihoods), math.Abs(nothing-w.Nothing))
		if !(d < 1e-9) {
			t.Errorf("%s: %g apart: %v, the library says %v", w.Case.ID, d, like, w.Likelihoods)
		}
		worst = max(worst, d)
		for _, o := range w.Case.Observed {
			f := w.Bundle.Findings[slices.IndexFunc(w.Bundle.Findings, func(f knowledge.Finding) bool { return f.ID == o.Finding })]
			for kind, is := range map[string]bool{"site": f.Kind == "site", "signs": f.Multi, "number": o.Number != nil, "absent": len(o.Absent) > 0} {
				if is {
					kinds[kind]++
				}
			}
		}
	}
	t.Logf("%d networks, at most %.2g apart", len(all), worst)
	for _, kind := range []string{"site", "signs", "number", "absent"} {
		if kinds[kind] < 3 {
			t.Errorf("only %d pieces of evidence of the kind %s are compared", kinds[kind], kind)
		}
	}
}
