package diagnose

import (
	"slices"

	"swardbook/diagnose/knowledge"
)

// ZoneAnswer is the answer for one zone of a property.
type ZoneAnswer struct {
	Zone   string
	Area   float64 // square feet; 0 when not known: then it weighs as much as the mean of the others
	Answer Answer
}

// PropertyCause is a cause as seen from the whole property.
type PropertyCause struct {
	ID         string   `json:"id"`
	Likelihood float64  `json:"likelihood"` // mean over the zones looked at, by area: the share of the lawn it is expected in
	Zones      []string `json:"zones"`      // where it is likely, in the order given
	Shared     string   `json:"shared"`     // what the zones have in common that brings it: "water", "mower" …; "" when nothing does
	Once       bool     `json:"once"`       // it is likely in two zones or more that share what brings it: said once, for the property
}

// Property looks at the zones of one property together: every cause that is likely in one of them, those that are said once
// first, then by likelihood × severity. Zones without a single finding that counts are left out of the means.
func Property(b *knowledge.Bundle, zones []ZoneAnswer) []PropertyCause {
	looked := slices.DeleteFunc(slices.Clone(zones), func(z ZoneAnswer) bool { return len(z.Answer.Causes) == 0 || z.Answer.Counted == 0 })
	areas := areasOf(looked)
	out := []PropertyCause{}
	severity := map[string]float64{}
	for i := range b.Causes {
		c := &b.Causes[i]
		severity[c.ID] = c.Severity
		p := PropertyCause{ID: c.ID, Shared: c.Shared, Zones: []string{}}
		for k, z := range looked {
			at := slices.IndexFunc(z.Answer.Causes, func(l Likelihood) bool { return l.ID == c.ID })
			if at < 0 {
				continue
			}
			p.Likelihood += areas[k] * z.Answer.Causes[at].Likelihood
			if z.Answer.Causes[at].Role != "" {
				p.Zones = append(p.Zones, z.Zone)
			}
		}
		p.Once = c.Shared != "" && len(p.Zones) > 1
		if len(p.Zones) > 0 {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b PropertyCause) int {
		if a.Once != b.Once {
			return map[bool]int{true: -1, false: 1}[a.Once]
		}
		return falling(a.Likelihood*severity[a.ID], b.Likelihood*severity[b.ID])
	})
	return out
}

// areasOf are the zones' shares of the area, adding up to 1.
func areasOf(zones []ZoneAnswer) []float64 {
	var known, n float64
	for _, z := range zones {
		if z.Area > 0 {
			known += z.Area
			n++
		}
	}
	usual := 1.0
	if n > 0 {
		usual = known / n
	}
	out := make([]float64, len(zones))
	for i, z := range zones {
		if out[i] = z.Area; !(z.Area > 0) {
			out[i] = usual
		}
	}
	sum := total(out)
	return scaled(out, 1/sum)
}
