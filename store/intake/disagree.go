package intake

import (
	"math"
	"slices"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// beyond is how many standard deviations of one measurement two measurements may lie apart: twice that of their difference.
const beyond = 2 * math.Sqrt2

// Disagree reports whether two answers to one check differ by more than measuring error explains: numbers by more than
// two standard deviations of their difference, choices at all, signs when one has what the other looked for and did not
// find. Notes, places and photos stand side by side and never disagree.
func Disagree(know *knowledge.Loaded, checkID, typedA, typedB string) bool {
	check, ok := know.Check(checkID)
	if !ok {
		return typedA != typedB
	}
	a, goodA := readable(check, typedA)
	b, goodB := readable(check, typedB)
	switch {
	case check.Kind == checks.Note || check.Kind == checks.Photo || check.Kind == checks.Place:
		return false
	case !goodA || !goodB:
		return typedA != typedB
	case a.Blank || b.Blank:
		return a.Blank != b.Blank
	case check.Kind == checks.Choice:
		return a.State != b.State
	case check.Kind == checks.Signs:
		return meet(a.Present, b.Absent) || meet(a.Absent, b.Present)
	}
	if check.Kind == checks.Mix {
		return apart(know, check, sum(a.Numbers), sum(b.Numbers))
	}
	return apart(know, check, mean(a.Numbers), mean(b.Numbers))
}

// apart compares with the smallest error of the findings that the check's mean speaks to.
func apart(know *knowledge.Loaded, check checks.Check, a, b float64) bool {
	limit := math.Inf(1)
	size := (math.Abs(a) + math.Abs(b)) / 2
	for _, y := range check.Yields {
		if f, ok := know.Finding(y.Finding); ok && (y.From == "mean" || y.From == "sum") {
			limit = min(limit, f.ErrAbs+f.ErrRel*size)
		}
	}
	if math.IsInf(limit, 1) {
		limit = 0
	}
	return math.Abs(a-b) > beyond*limit+1e-9
}

func meet(a, b []string) bool {
	return slices.ContainsFunc(a, func(id string) bool { return slices.Contains(b, id) })
}

func mean(numbers []float64) float64 { return sum(numbers) / float64(max(len(numbers), 1)) }

func sum(numbers []float64) float64 {
	total := 0.0
	for _, x := range numbers {
		total += x
	}
	return total
}
