package diagnose

import "math"

// steps is a difference in standard errors. Without an error a limit lies infinitely far above the value, or below it and at it.
func steps(difference, sigma float64) float64 {
	switch {
	case sigma > 0:
		return difference / sigma
	case difference > 0:
		return math.Inf(1)
	}
	return math.Inf(-1)
}

// between is the chance that a standard normal variable lies in [low, high). Each tail is taken on its own side of the mean,
// so that a band far away keeps its small chance.
func between(low, high float64) float64 {
	a, b := low/math.Sqrt2, high/math.Sqrt2
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
