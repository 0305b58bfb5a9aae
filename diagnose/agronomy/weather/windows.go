package weather

import (
	"fmt"
	"math"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/degreedays"
)

// DegreeDays sums the series by a method; missing temperatures are put in between their neighbours and counted in Filled.
func (s Series) DegreeDays(m degreedays.Method, base, upper agronomy.Quantity) (degreedays.Sums, error) {
	unit := "C"
	hi, lo := s.list(Tmax), s.list(Tmin)
	if agronomy.Customary(base.Unit) {
		unit, hi, lo = "F", fahrenheit(hi), fahrenheit(lo)
	}
	return degreedays.Count(m, agronomy.Qs(unit, hi...), agronomy.Qs(unit, lo...), base, upper, agronomy.Quantity{})
}

func fahrenheit(c []float64) []float64 {
	out := make([]float64, len(c))
	for i, v := range c {
		out[i] = v*1.8 + 32
	}
	return out
}

// Window is when an event's window opens and closes in a year. From is zero when the sum has not reached it, To when the
// window hasn't closed, or has no end.
type Window struct {
	Event    degreedays.Event
	From, To time.Time
	Sum      agronomy.Quantity // at the end of the series, or of the year
	Filled   int               // days put in
}

// EventWindow sums a year by the event's own rules. It refuses an event of another sensor than the air unless the file has
// the soil's temperature, one without a published start, and a series that begins after the start.
func (s Series) EventWindow(e degreedays.Event, year int) (Window, error) {
	w := Window{Event: e}
	start, err := time.Parse("2006-01-02", fmt.Sprintf("%04d-%s", year, e.Start))
	if err != nil {
		return w, agronomy.RefuseSay("event", e.Name, "an event with a published start", "The source of "+e.Name+" names no day to start the sum from.")
	}
	if len(s.Days) == 0 || s.First().After(start) || s.Last().Before(start) {
		return w, agronomy.RefuseSay("series", "", "days from "+start.Format("2006-01-02")+" on", "The weather must begin by "+start.Format("2006-01-02")+", where the sum of "+e.Name+" starts.")
	}
	end := time.Date(year, 12, 31, 0, 0, 0, 0, time.UTC)
	for _, d := range s.Between(start, end).Days {
		if !Known(d.Tmax) || !Known(d.Tmin) {
			w.Filled++
		}
	}
	part := s.Filled().Between(start, end)
	sums, err := part.sumsOf(e)
	if err != nil {
		return w, err
	}
	running := sums.Cumulative.Numbers
	w.Sum = agronomy.Q(running[len(running)-1], e.Unit)
	for i, v := range running {
		if v >= e.From && w.From.IsZero() {
			w.From = part.Days[i].Date
		}
		if e.To > 0 && v > e.To && w.To.IsZero() {
			w.To = part.Days[max(0, i-1)].Date
		}
	}
	return w, nil
}

func (s Series) sumsOf(e degreedays.Event) (degreedays.Sums, error) {
	degree := e.Unit[:1]
	base, upper := agronomy.Q(e.Base, degree), agronomy.Quantity{}
	if e.Upper > 0 {
		upper = agronomy.Q(e.Upper, degree)
	}
	if e.Sensor == "air" {
		return s.DegreeDays(e.Method, base, upper)
	}
	if !s.Has(Soil) {
		return degreedays.Sums{}, agronomy.RefuseSay("soil temperature", "", "a column of the weather file", "The window of "+e.Name+" rests on temperature in the "+e.Sensor+", which this file doesn't hold; air can't stand in for it.")
	}
	soil := s.list(Soil)
	if degree == "F" {
		soil = fahrenheit(soil)
	}
	return degreedays.CountMeans(agronomy.Qs(degree, soil...), base, agronomy.Quantity{})
}

// Frosts are the last day of spring and the first of autumn with a lowest temperature at or below freezing, split at 1 July.
// Zero when there was none.
type Frosts struct {
	LastSpring, FirstAutumn time.Time
	Days                    int // with frost, in the year
}

// FrostsOf finds a calendar year's frosts north of the equator.
func (s Series) FrostsOf(year int) Frosts {
	var f Frosts
	half := time.Date(year, 7, 1, 0, 0, 0, 0, time.UTC)
	part := s.Between(time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(year, 12, 31, 0, 0, 0, 0, time.UTC))
	for _, d := range part.Days {
		if !(d.Tmin <= 0) {
			continue
		}
		f.Days++
		if d.Date.Before(half) {
			f.LastSpring = d.Date
		} else if f.FirstAutumn.IsZero() {
			f.FirstAutumn = d.Date
		}
	}
	return f
}

// Totals are the sums and means of a stretch, of the days that are known.
type Totals struct {
	Days, Known      int
	Rain             float64 // mm
	Mean, Tmax, Tmin float64 // °C: mean of the days' means, highest and lowest
	HotDays, WetDays int     // Tmax at or above 30 °C; rain of 1 mm or more
	LongestDry       int     // days in a row with less than 1 mm
}

// TotalsOf sums a stretch up for a person.
func (s Series) TotalsOf(from, to time.Time) Totals {
	t := Totals{Tmax: math.Inf(-1), Tmin: math.Inf(1)}
	dry := 0
	for _, d := range s.Between(from, to).Days {
		t.Days++
		if Known(d.Rain) {
			t.Rain += d.Rain
		}
		if dry++; d.Rain >= 1 {
			t.WetDays++
			dry = 0
		}
		t.LongestDry = max(t.LongestDry, dry)
		if !Known(d.Tmax) || !Known(d.Tmin) {
			continue
		}
		t.Known++
		t.Mean += (d.Tmax + d.Tmin) / 2
		t.Tmax, t.Tmin = math.Max(t.Tmax, d.Tmax), math.Min(t.Tmin, d.Tmin)
		if d.Tmax >= 30 {
			t.HotDays++
		}
	}
	if t.Known == 0 {
		t.Mean, t.Tmax, t.Tmin = math.NaN(), math.NaN(), math.NaN()
		return t
	}
	t.Mean /= float64(t.Known)
	return t
}
