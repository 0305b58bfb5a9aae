package diagnose

import "math"

// within is the chance that a normal variable lies in [low, high). Each tail is taken on its own side of the mean, so
// that a band far away keeps its small chance.
func within(mean, sigma, low, high float64) float64 {
	if sigma <= 0 {
		if low <= mean && mean < high {
			return 1
		}
		return 0
	}
	a, b := (low-mean)/(sigma*math.Sqrt2), (high-mean)/(sigma*math.Sqrt2)
	switch {
	case a > 0:
		return (math.Erfc(a) - math.Erfc(b)) / 2
	case b < 0:
		return (math.Erfc(-b) - math.Erfc(-a)) / 2
	}
	return (math.Erf(b) - math.Erf(a)) / 2
}

// grid puts a value on steps of a billionth. Orders compare grid values, so that the last bits of a sum, which differ
// between machines and languages, never decide which of two equal things comes first.
func grid(x float64) float64 { return math.Floor(x*1e9 + 0.5) }
