package degreedays

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
)

const (
	ipm      = "University of California IPM, degree-day methods (after Allen 1976)"
	practice = "extension practice: Iowa State University, Agronomy 541; Purdue, Use growing degree days to time applications"
	corn     = "county extension note, Wisconsin (2018): both temperatures kept within base and upper before averaging"
)

var sources = map[Method]string{Average: practice, Modified: corn, Sine: ipm, Triangle: ipm}

var sayings = map[Method]string{
	Average:  "max(0, (Tmax + Tmin) ÷ 2 − base)",
	Modified: "(Tmax + Tmin) ÷ 2 − base, each kept within base and upper first",
	Sine:     "warmth above the base under a sine through both temperatures, less that above the upper",
	Triangle: "warmth above the base under straight lines between both temperatures, less that above the upper",
}

var (
	inTmax       = agronomy.Input{Name: "tmax", Kind: agronomy.Numbers, Unit: "F", Range: agronomy.Between(-80, 150), Gaps: true, Says: "highest temperature of each day"}
	inTmin       = agronomy.Input{Name: "tmin", Kind: agronomy.Numbers, Unit: "F", Range: agronomy.Between(-80, 150), Gaps: true, Says: "lowest temperature of each day"}
	inMean       = agronomy.Input{Name: "soil_temperature", Also: []string{"soil_temperature_2.5cm_daily_mean", "daily_mean", "soil_temperature_daily_mean", "tmean"}, Kind: agronomy.Numbers, Unit: "F", Range: agronomy.Between(-80, 150), Gaps: true, Says: "mean temperature of each day, as of the soil"}
	inBase       = agronomy.Input{Name: "base", Also: []string{"lower", "lower_threshold", "threshold"}, Unit: "F", Range: agronomy.Between(-40, 120), Says: "temperature from which warmth counts"}
	inUpper      = agronomy.Input{Name: "upper", Also: []string{"upper_threshold"}, Unit: "F", Range: agronomy.Between(-40, 150), Says: "temperature above which more warmth doesn't count"}
	inCarried    = agronomy.Input{Name: "carried", Unit: "F day", Range: agronomy.AtLeast(0), Says: "sum before the first day"}
	inWindow     = agronomy.Input{Name: "window", Kind: agronomy.Numbers, Unit: "F day", Range: agronomy.AtLeast(0), Says: "beginning and end of a window"}
	inCumulative = agronomy.Input{Name: "cumulative", Kind: agronomy.Numbers, Unit: "F day", Range: agronomy.AtLeast(0), Says: "sums of degree days"}
	inGDD        = agronomy.Input{Name: "gdd", Also: []string{"gdd_f", "gdd_c"}, Unit: "F day", Range: agronomy.AtLeast(0), Says: "degree days"}
	inMethod     = agronomy.Input{Name: "method", Kind: agronomy.Text, OneOf: []string{string(Average), string(Modified), string(Sine), string(Triangle)}, Says: "method of the sum"}
)

// in degrees of the side a thermometer is on, so that a working shows the numbers a person knows.
func onSide(in agronomy.Input, metric bool) agronomy.Input {
	if !metric {
		return in
	}
	to := map[string]string{"F": "C", "F day": "C day"}[in.Unit]
	if in.Range.HasMin {
		in.Range.Min = agronomy.MustConvert(in.Range.Min, in.Unit, to)
	}
	if in.Range.HasMax {
		in.Range.Max = agronomy.MustConvert(in.Range.Max, in.Unit, to)
	}
	in.Unit = to
	return in
}

func dayUnit(metric bool) string {
	if metric {
		return "C day"
	}
	return "F day"
}

// Sums are the degree days of a run of days.
type Sums struct {
	Days       agronomy.Result // one value a day
	Total      agronomy.Result
	Cumulative agronomy.Result // sums from the first day on, carried included
	Filled     int             // days whose temperature was missing and put in between its neighbours
}

// Count sums days by a method. An upper threshold without a unit is none, nothing carried likewise. Missing temperatures
// (NaN) are put in between their neighbours and the sum says so; a gap is never counted as zero.
func Count(m Method, tmax, tmin agronomy.Quantities, base, upper, carried agronomy.Quantity) (Sums, error) {
	metric := agronomy.Metric(tmax.Unit)
	s := agronomy.NewSheet("degree days ("+string(m)+") = "+sayings[m], sources[m])
	hi, lo := s.TakeAll(onSide(inTmax, metric), tmax), s.TakeAll(onSide(inTmin, metric), tmin)
	t := thresholds(s, metric, base, upper)
	from := 0.0
	if carried.Unit != "" {
		from = s.Take(onSide(inCarried, metric), carried)
	}
	hi, lo, filled := repaired(s, hi, lo)
	if s.Err() != nil {
		return Sums{}, s.Err()
	}
	days := make([]float64, len(hi))
	for i := range hi {
		days[i] = m.Day(hi[i], lo[i], t)
	}
	return sums(s, days, from, metric, filled), s.Err()
}

// CountMeans sums days of which the mean is known, as of a probe in the soil.
func CountMeans(mean agronomy.Quantities, base, carried agronomy.Quantity) (Sums, error) {
	metric := agronomy.Metric(mean.Unit)
	s := agronomy.NewSheet("degree days = max(0, mean − base)", fidanza)
	t := s.TakeAll(onSide(inMean, metric), mean)
	b := s.Take(onSide(inBase, metric), base)
	from := 0.0
	if carried.Unit != "" {
		from = s.Take(onSide(inCarried, metric), carried)
	}
	full, filled := Fill(t)
	noGapAtEnds(s, "soil_temperature", full)
	if s.Err() != nil {
		return Sums{}, s.Err()
	}
	days := make([]float64, len(full))
	for i, v := range full {
		days[i] = math.Max(0, v-b)
	}
	return sums(s, days, from, metric, filled), s.Err()
}

func thresholds(s *agronomy.Sheet, metric bool, base, upper agronomy.Quantity) Threshold {
	t := Threshold{Lower: s.Take(onSide(inBase, metric), base)}
	if upper.Unit != "" {
		t.Upper, t.HasUpper = s.Take(onSide(inUpper, metric), upper), true
		if t.Upper <= t.Lower {
			s.Refuse(agronomy.Refuse("upper", upper.String(), "above base, "+base.String()))
		}
	}
	return t
}

// repaired holds both series to the same length and order, and fills their gaps.
func repaired(s *agronomy.Sheet, hi, lo []float64) (a, b []float64, filled int) {
	if s.Err() == nil && len(hi) != len(lo) {
		s.Refuse(agronomy.Refuse("tmin", fmt.Sprintf("%d values", len(lo)), fmt.Sprintf("%d values, one for each of tmax", len(hi))))
	}
	if s.Err() != nil {
		return nil, nil, 0
	}
	a, n := Fill(hi)
	b, k := Fill(lo)
	noGapAtEnds(s, "tmax", a)
	noGapAtEnds(s, "tmin", b)
	for i := range a {
		if b[i] > a[i] {
			s.Refuse(agronomy.Refuse("tmin", agronomy.Figure(b[i]), fmt.Sprintf("no more than tmax, %s, on day %d", agronomy.Figure(a[i]), i+1)))
		}
	}
	return a, b, max(n, k)
}

func noGapAtEnds(s *agronomy.Sheet, name string, list []float64) {
	for i, v := range list {
		if math.IsNaN(v) && s.Err() == nil {
			s.Refuse(agronomy.RefuseSay(name, "missing", "given on the first and the last day", fmt.Sprintf("%s is missing on day %d with no day beyond it to put it between.", name, i+1)))
		}
	}
}

func sums(s *agronomy.Sheet, days []float64, from float64, metric bool, filled int) Sums {
	unit := dayUnit(metric)
	if filled > 0 {
		s.Remark(fmt.Sprintf("%d missing days were put in between their neighbours; the sum is estimated.", filled))
	}
	return Sums{Days: s.Give(agronomy.OfList(days, unit)), Total: s.Number(Total(days), unit), Cumulative: s.Give(agronomy.OfList(Running(days, from), unit)), Filled: filled}
}

// InWindow says whether a sum lies in a window, both ends included.
func InWindow(sum agronomy.Quantity, window agronomy.Quantities) (agronomy.Result, error) {
	metric := agronomy.Metric(sum.Unit)
	s := agronomy.NewSheet("beginning ≤ sum ≤ end", "the window's own source")
	in := onSide(inCumulative, metric)
	v, w := s.Take(in, sum), s.TakeAll(onSide(inWindow, metric), window)
	if s.Err() == nil && (len(w) != 2 || w[0] > w[1]) {
		s.Refuse(agronomy.Refuse("window", fmt.Sprintf("%d values", len(w)), "two values, the beginning no more than the end"))
	}
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.Give(agronomy.OfFlag(v >= w[0] && v <= w[1])), s.Err()
}

// FirstDayIn is the first day, counted from 1, whose sum has reached the window's beginning; 0 when none has.
func FirstDayIn(cumulative, window agronomy.Quantities) (agronomy.Result, error) {
	metric := agronomy.Metric(cumulative.Unit)
	s := agronomy.NewSheet("first day whose sum has reached the window's beginning, counted from 1; 0 is none yet", "the window's own source")
	sums, w := s.TakeAll(onSide(inCumulative, metric), cumulative), s.TakeAll(onSide(inWindow, metric), window)
	for i, v := range sums {
		if s.Err() == nil && v >= w[0] {
			return s.Number(float64(i+1), "day"), nil
		}
	}
	return s.Number(0, "day"), s.Err()
}
