// Package degreedays sums warmth: by the average, the modified, the single-sine and the single-triangle method, and says
// which published windows a sum has reached. A window is valid only with its own method, base, start and sensor.
package degreedays

import "math"

// Method is a way to count a day.
type Method string

// The methods.
const (
	Average  Method = "average"
	Modified Method = "modified"
	Sine     Method = "single sine"
	Triangle Method = "single triangle"
)

// Methods are all of them.
var Methods = []Method{Average, Modified, Sine, Triangle}

// Threshold is where counting begins and, when HasUpper, where more warmth stops to count; in the unit of the temperatures.
type Threshold struct {
	Lower, Upper float64
	HasUpper     bool
}

// Day counts one day. tmin must not exceed tmax. Without an upper threshold the modified method only lifts the lower end.
func (m Method) Day(tmax, tmin float64, t Threshold) float64 {
	switch m {
	case Modified:
		return (clip(tmax, t)+clip(tmin, t))/2 - t.Lower
	case Sine:
		return cutOff(sine, tmax, tmin, t)
	case Triangle:
		return cutOff(triangle, tmax, tmin, t)
	}
	return math.Max(0, (tmax+tmin)/2-t.Lower)
}

func clip(v float64, t Threshold) float64 {
	v = math.Max(v, t.Lower)
	if t.HasUpper {
		v = math.Min(v, t.Upper)
	}
	return v
}

// cutOff is the horizontal cutoff: what lies above the upper threshold counts as if it lay on it.
func cutOff(above func(tmax, tmin, level float64) float64, tmax, tmin float64, t Threshold) float64 {
	v := above(tmax, tmin, t.Lower)
	if t.HasUpper {
		v -= above(tmax, tmin, t.Upper)
	}
	return math.Max(0, v)
}

// sine is the warmth above a level under a sine through both extremes (Allen 1976).
func sine(tmax, tmin, level float64) float64 {
	mean := (tmax + tmin) / 2
	switch {
	case tmin >= level:
		return mean - level
	case tmax <= level:
		return 0
	}
	a := (tmax - tmin) / 2
	q := math.Asin(math.Max(-1, math.Min(1, (level-mean)/a)))
	return ((mean-level)*(math.Pi/2-q) + a*math.Cos(q)) / math.Pi
}

// triangle is the warmth above a level under straight lines between the extremes.
func triangle(tmax, tmin, level float64) float64 {
	switch {
	case tmin >= level:
		return (tmax+tmin)/2 - level
	case tmax <= level:
		return 0
	}
	return (tmax - level) * (tmax - level) / (2 * (tmax - tmin))
}

// Fill puts values in the gaps (NaN) of a series by straight lines between the days beside them, and says how many it put
// in. Gaps at an end stay: nothing is known beyond them. The series is not changed.
func Fill(series []float64) (filled []float64, gaps int) {
	filled = append([]float64(nil), series...)
	before := -1
	for i, v := range series {
		if math.IsNaN(v) {
			continue
		}
		for k := before + 1; before >= 0 && k < i; k++ {
			share := float64(k-before) / float64(i-before)
			filled[k] = series[before] + share*(v-series[before])
			gaps++
		}
		before = i
	}
	return filled, gaps
}

// Running is the sums from the first day on.
func Running(days []float64, carried float64) []float64 {
	out := make([]float64, len(days))
	for i, v := range days {
		carried += v
		out[i] = carried
	}
	return out
}

// Total is the sum of a list.
func Total(days []float64) float64 {
	sum := 0.0
	for _, v := range days {
		sum += v
	}
	return sum
}
