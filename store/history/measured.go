package history

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// Measured is what the numbers of one reading say, in the check's own unit, with how it came about.
type Measured struct {
	N         int
	Mean      float64 // of a mix the sum of its shares
	Spread    float64 // standard deviation of the sample; 0 of one number
	Err       float64 // standard error of the mean; 0 where no measuring error is known
	Low, High float64 // hold the true value in 95 of 100 cases; both 0 where no error is known
	Working   agronomy.Working
}

const (
	meanFormula  = "mean = sum ÷ n; spread = √(Σ(x − mean)² ÷ (n − 1)); error = √(measuring error² + (spread ÷ √n)²); 95 of 100 times the true value lies within mean ± 1.96 × error"
	shareFormula = "mean = sum ÷ n; spread = √(Σ(x − mean)² ÷ (n − 1)); error = √(measuring error² + (spread ÷ √n)²); 95 of 100 times the true value lies between Wilson's bounds for as many points as have this error at one half, 2500 ÷ error²"
	plainFormula = "mean = sum ÷ n; spread = √(Σ(x − mean)² ÷ (n − 1))"
	mixFormula   = "total = sum of the shares"
	wilsonSource = "interval: Wilson's without continuity correction, Newcombe, Statistics in Medicine 17:857-872 (1998)"
)

// Measure weighs the numbers that were read from what was typed, with the bounds that a property's history draws. false: there is no number.
func Measure(know *knowledge.Loaded, c checks.Check, v checks.Value, typed string) (Measured, bool) {
	n := len(v.Numbers)
	if n == 0 || len(c.Units) == 0 {
		return Measured{}, false
	}
	unit := c.Units[0].Label.EN
	m := Measured{N: n, Mean: mean(v.Numbers)}
	in := agronomy.Used{Name: "as typed", Given: strings.TrimSpace(typed)}
	if v.Unit != "" && v.Unit != c.Units[0].ID {
		in.Is = list(v.Numbers, "; ") + " " + unit
	}
	m.Working.Inputs = []agronomy.Used{in}
	sum := m.Mean * float64(n)
	if c.Kind == checks.Mix {
		m.Mean = sum
		m.Working.Formula, m.Working.Result, m.Working.Source = mixFormula, list(v.Numbers, " + ")+" = "+agronomy.Figure(sum)+" "+unit, "arithmetic"
		return m, true
	}
	m.Spread = spread(v.Numbers, m.Mean)
	step := func(name string, x float64, how string) {
		m.Working.Steps = append(m.Working.Steps, agronomy.Step{Name: name, Value: x, Unit: unit, How: how})
	}
	if n > 1 {
		step("sum of "+fmt.Sprint(n), sum, list(v.Numbers, " + "))
		step("mean", m.Mean, fmt.Sprintf("%s ÷ %d", agronomy.Figure(sum), n))
		step("spread", m.Spread, "")
		step("from the least to the most", slices.Max(v.Numbers)-slices.Min(v.Numbers), fmt.Sprintf("%s − %s", agronomy.Figure(slices.Max(v.Numbers)), agronomy.Figure(slices.Min(v.Numbers))))
	}
	r := rulerOf(know, c)
	m.Working.Result = agronomy.Figure(m.Mean) + " " + unit
	if r.abs+r.rel == 0 {
		m.Working.Formula, m.Working.Source = plainFormula, "arithmetic"
		return m, true
	}
	e := r.estimate("", v.Numbers)
	m.Err, m.Low, m.High = e.Err, e.Low, e.High
	own := r.abs + r.rel*math.Abs(m.Mean)
	step("measuring error", own, fmt.Sprintf("%s + %s × %s", agronomy.Figure(r.abs), agronomy.Figure(r.rel), agronomy.Figure(m.Mean)))
	if n > 1 {
		step("error", m.Err, fmt.Sprintf("√(%s² + (%s ÷ √%d)²)", agronomy.Figure(own), agronomy.Figure(m.Spread), n))
	}
	m.Working.Formula, m.Working.Source = meanFormula, "arithmetic"
	if r.share {
		m.Working.Formula, m.Working.Source = shareFormula, wilsonSource
		m.Working.Steps = append(m.Working.Steps, agronomy.Step{Name: "points of that error", Value: 2500 / (m.Err * m.Err), How: "2500 ÷ " + agronomy.Figure(m.Err) + "²"})
	}
	m.Working.Result = fmt.Sprintf("%s %s, between %s and %s", agronomy.Figure(m.Mean), unit, agronomy.Figure(m.Low), agronomy.Figure(m.High))
	if from := know.ErrSource[r.finding.ID]; from != "" {
		m.Working.Source += "; measuring error: " + titles(know, from)
	}
	return m, true
}

// list writes numbers one after the other.
func list(numbers []float64, between string) string {
	out := make([]string, len(numbers))
	for i, x := range numbers {
		out[i] = agronomy.Figure(x)
	}
	return strings.Join(out, between)
}

// titles names the sources of keys.
func titles(know *knowledge.Loaded, keys string) string {
	var out []string
	for _, key := range knowledge.SourceKeys(keys) {
		if s, ok := know.Source(key); ok {
			key = s.Title
		}
		out = append(out, key)
	}
	return strings.Join(out, "; ")
}
