package diagnose

import (
	"slices"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// Places counts in how many of the places where a measurement was repeated it shows the state by itself: short cores in four
// of five places. of is 0 where the finding is not the mean of a check that was repeated.
func Places(b *knowledge.Bundle, values []CheckValue, finding, state string) (in, of int) {
	f := slices.IndexFunc(b.Findings, func(f knowledge.Finding) bool { return f.ID == finding })
	if f < 0 {
		return 0, 0
	}
	at := slices.IndexFunc(b.Findings[f].Bands, func(x knowledge.Band) bool { return x.State == state })
	if at < 0 {
		return 0, 0
	}
	for _, v := range values {
		c := slices.IndexFunc(b.Checks, func(c checks.Check) bool { return c.ID == v.Check })
		mean := func(y checks.Yield) bool { return y.Finding == finding && y.From == fromMean }
		if c < 0 || len(v.Value.Numbers) < 2 || !slices.ContainsFunc(b.Checks[c].Yields, mean) {
			continue
		}
		in, of = 0, len(v.Value.Numbers)
		for _, x := range v.Value.Numbers {
			if bandOf(b.Findings[f].Bands, x) == at {
				in++
			}
		}
	}
	return in, of
}

// bandOf is the place of the band that x lies in; the outer bands are open.
func bandOf(bands []knowledge.Band, x float64) int {
	for i := range bands {
		if x < bands[i].High {
			return i
		}
	}
	return len(bands) - 1
}
