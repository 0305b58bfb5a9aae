package history

import (
	"math"
	"time"

	"swardbook/diagnose/agronomy/sampling"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// sure is how many standard errors 95 % of a normal distribution lie within.
const sure = 1.96

// Estimate is what one visit measured, with the bounds that hold the true value in 95 of 100 cases.
type Estimate struct {
	Day       string
	Mean      float64
	Err       float64 // standard error: measuring error and the spread of several readings
	Low, High float64
}

// ruler is how sure a check's numbers are and where its limits lie.
type ruler struct {
	abs, rel float64 // measuring error of one careful reading, as the knowledge has it
	share    bool    // a per cent of a whole: its bounds stay within 0 to 100
	floor    float64 // the least possible value
	bands    []knowledge.Band
	finding  knowledge.Finding
}

// rulerOf is the ruler of a measured check; a check that yields no number has no error and no limits.
func rulerOf(know *knowledge.Loaded, c checks.Check) ruler {
	r := ruler{floor: math.Inf(-1)}
	if c.Hard != nil {
		r.floor = c.Hard.Low
		r.share = len(c.Units) > 0 && c.Units[0].ID == "%" && c.Hard.Low == 0 && c.Hard.High == 100
	}
	for _, y := range c.Yields {
		if f, ok := know.Finding(y.Finding); ok && y.From == "mean" {
			r.abs, r.rel, r.bands, r.finding = f.ErrAbs, f.ErrRel, f.Bands, f
			return r
		}
	}
	return r
}

// limits are where one state ends and the next begins.
func (r ruler) limits() []Limit {
	var out []Limit
	for i := 1; i < len(r.bands); i++ {
		out = append(out, Limit{At: r.bands[i].Low, Below: r.says(r.bands[i-1].State), Above: r.says(r.bands[i].State), Source: r.finding.Source})
	}
	return out
}

func (r ruler) says(state string) checks.Text {
	for _, s := range r.finding.States {
		if s.ID == state {
			return s.Say
		}
	}
	return checks.Text{EN: state}
}

// estimate weighs the numbers of one visit. The error is the engine's: measuring error, and the spread of several readings over their number.
// The bounds of a share are Wilson's for as many points as have this error at one half, so that they never leave 0 to 100; any other number has
// mean ± 1.96 errors, not under what is possible.
func (r ruler) estimate(day string, numbers []float64) Estimate {
	m := mean(numbers)
	e := Estimate{Day: day, Mean: rounded(m), Err: math.Hypot(r.abs+r.rel*math.Abs(m), spread(numbers, m)/math.Sqrt(float64(len(numbers))))}
	if r.share && e.Err > 0 {
		points := 2500 / (e.Err * e.Err)
		_, low, high := sampling.Wilson(m/100*points, points, sure)
		e.Low, e.High = 100*low, 100*high
		return e
	}
	e.Low, e.High = math.Max(r.floor, m-sure*e.Err), m+sure*e.Err
	return e
}

// spread is the standard deviation of a sample; 0 of one number.
func spread(numbers []float64, m float64) float64 {
	if len(numbers) < 2 {
		return 0
	}
	sum := 0.0
	for _, x := range numbers {
		sum += (x - m) * (x - m)
	}
	return math.Sqrt(sum / float64(len(numbers)-1))
}

// Change is the last of some estimates less the first, with bounds made of theirs (Newcombe 1998, method 10).
type Change struct {
	First, Last     Estimate
	By, Low, High   float64
	Slope, SlopeErr float64 // in 30 days, by weighted least squares; 0 and 0 with fewer than three visits
	Visits          int
}

// Sure reports whether 0 lies outside the change's bounds: only then is it called one.
func (c Change) Sure() bool { return c.Low > 0 || c.High < 0 }

// changeOf compares the first with the last estimate; false when there are fewer than two, or no error is known for them.
func changeOf(list []Estimate) (Change, bool) {
	if len(list) < 2 {
		return Change{}, false
	}
	a, b := list[0], list[len(list)-1]
	if a.Err == 0 || b.Err == 0 {
		return Change{}, false
	}
	c := Change{First: a, Last: b, By: b.Mean - a.Mean, Visits: len(list)}
	c.Low = c.By - math.Hypot(b.Mean-b.Low, a.High-a.Mean)
	c.High = c.By + math.Hypot(b.High-b.Mean, a.Mean-a.Low)
	if len(list) > 2 {
		c.Slope, c.SlopeErr = slope(list)
	}
	return c, true
}

// slope is a line through the estimates, each weighed by its error, per 30 days. Points that lie further from the line than
// their errors allow widen the slope's error by as much (Birge 1932).
func slope(list []Estimate) (by, err float64) {
	var w, wx, wy float64
	xs := make([]float64, len(list))
	for i, e := range list {
		xs[i] = float64(dayNumber(e.Day)-dayNumber(list[0].Day)) / 30
		v := 1 / (e.Err * e.Err)
		w, wx, wy = w+v, wx+v*xs[i], wy+v*e.Mean
	}
	mx, my := wx/w, wy/w
	var sxx, sxy float64
	for i, e := range list {
		v := 1 / (e.Err * e.Err)
		sxx, sxy = sxx+v*(xs[i]-mx)*(xs[i]-mx), sxy+v*(xs[i]-mx)*(e.Mean-my)
	}
	if sxx == 0 {
		return 0, 0
	}
	by = sxy / sxx
	off := 0.0
	for i, e := range list {
		d := (e.Mean - my - by*(xs[i]-mx)) / e.Err
		off += d * d
	}
	return by, math.Sqrt(math.Max(1, off/float64(len(list)-2)) / sxx)
}

// dayNumber counts days; 0 for what is no day.
func dayNumber(day string) int64 {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return 0
	}
	return t.Unix() / 86400
}
