package sampling

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/irrigation"
)

const sizeSource = "n = (t CV ÷ E)², iterated on t: University of Missouri, Sample size determination; a soil-water probe manual, How many measurements are enough"

// anyUnit are the kinds of measure a spread may be of.
var anyUnit = []string{"mm", "mL", "mm/h", "g", "delta C", "C", "count", "kPa", "pH", "m2", "kg/m2", "count/m2", "kg/m3", "mm/day"}

func measure(name, says string, r agronomy.Range, also ...string) agronomy.Input {
	return agronomy.Input{Name: name, Also: also, Unit: "%", Or: anyUnit, Range: r, Says: says}
}

var (
	inT      = agronomy.Input{Name: "t", Unit: "ratio", Range: agronomy.AboveTo(0, 100), Says: "value of Student's t"}
	inSD     = measure("sd", "spread of single values (standard deviation)", agronomy.AtLeast(0), "standard_deviation", "s")
	inFull   = measure("full_width", "whole width of the interval wanted", agronomy.Above(0), "interval_width")
	inHalf   = measure("half_width", "error allowed on each side", agronomy.Above(0), "d", "margin")
	inCV     = agronomy.Input{Name: "cv", Unit: "%", Range: agronomy.AboveTo(0, 1000), Says: "spread as a share of the mean"}
	inError  = agronomy.Input{Name: "allowed_error", Also: []string{"relative_error"}, Unit: "%", Range: agronomy.AboveTo(0, 1000), Says: "error allowed as a share of the mean"}
	inAll    = agronomy.Input{Name: "population", Also: []string{"N"}, Unit: "count", Range: agronomy.AtLeast(1), Says: "how many there are in all"}
	inTaken  = agronomy.Input{Name: "samples", Also: []string{"n"}, Unit: "count", Range: agronomy.Between(2, 1e9), Says: "samples taken"}
	inDepths = agronomy.Input{Name: "core_depths", Also: []string{"depths", "cores"}, Kind: agronomy.Numbers, Unit: "in", Range: agronomy.AtLeast(0), Says: "depth of each core"}
)

// Size is how many samples to take.
type Size struct {
	N, Whole agronomy.Result
	T        agronomy.Result
}

// SizeByT is the number of samples for a given t: (t × spread ÷ error)². Both are in one unit.
func SizeByT(t, sd, half agronomy.Quantity) (Size, error) {
	s := agronomy.NewSheet("n = (t × sd ÷ half width)²", sizeSource)
	tv, sv, d := s.Take(inT, t), s.Take(inSD, sd), s.Take(inHalf, half)
	sameMeasure(s, sd, half)
	n := tv * sv / d * (tv * sv / d)
	return Size{N: s.Number(n, "count"), Whole: s.Number(roundUp(n), "count"), T: s.Number(tv, "ratio")}, s.Err()
}

// SizeRelative is SizeByT with spread and error as shares of the mean.
func SizeRelative(t, cv, allowed agronomy.Quantity) (Size, error) {
	s := agronomy.NewSheet("n = (t × CV ÷ E)²", sizeSource)
	tv, c, e := s.Take(inT, t), s.Take(inCV, cv), s.Take(inError, allowed)
	n := tv * c / e * (tv * c / e)
	return Size{N: s.Number(n, "count"), Whole: s.Number(roundUp(n), "count"), T: s.Number(tv, "ratio")}, s.Err()
}

func sameMeasure(s *agronomy.Sheet, sd, half agronomy.Quantity) {
	if s.Err() == nil && !agronomy.SameKind(sd.Unit, half.Unit) {
		s.Refuse(agronomy.Refuse("sd", sd.String(), "in a unit of the same kind as the width, "+half.Unit))
	}
}

func roundUp(n float64) float64 { return math.Max(1, math.Ceil(n-1e-9)) }

// SizeIterated is the smallest number of samples that satisfies its own t, for a spread and an error as shares of the mean.
func SizeIterated(cv, allowed, confidence agronomy.Quantity) (Size, error) {
	s := agronomy.NewSheet("smallest n with n ≥ (t CV ÷ E)², t at n − 1 degrees of freedom", sizeSource)
	c, e, conf := s.Take(inCV, cv), s.Take(inError, allowed), s.Take(inConfidence, confidence)
	return iterated(s, c/e, conf)
}

// SizeIteratedAbsolute is SizeIterated for a spread and a half width in one unit.
func SizeIteratedAbsolute(sd, half, confidence agronomy.Quantity) (Size, error) {
	s := agronomy.NewSheet("smallest n with n ≥ (t sd ÷ half width)², t at n − 1 degrees of freedom", sizeSource)
	v, d, conf := s.Take(inSD, sd), s.Take(inHalf, half), s.Take(inConfidence, confidence)
	sameMeasure(s, sd, half)
	return iterated(s, v/d, conf)
}

func iterated(s *agronomy.Sheet, ratio, confidence float64) (Size, error) {
	if s.Err() != nil {
		return Size{}, s.Err()
	}
	z := normalQuantile((1 + confidence) / 2)
	if least := z * ratio * (z * ratio); least > 1e7 {
		s.Refuse(agronomy.RefuseSay("allowed_error", agronomy.Figure(1/ratio), "larger", "So small an error needs more than ten million samples."))
		return Size{}, s.Err()
	}
	enough := func(n float64) bool {
		t := tQuantile((1+confidence)/2, n-1)
		return n >= t*ratio*(t*ratio)-1e-9
	}
	n := firstThat(math.Max(2, math.Ceil(z*ratio*(z*ratio))), enough)
	t := tQuantile((1+confidence)/2, n-1)
	s.Step("t", t, "", fmt.Sprintf("at %s degrees of freedom", agronomy.Figure(n-1)))
	s.Step("n with z instead of t", z*ratio*(z*ratio), "", "too small for few samples")
	return Size{N: s.Number(n, "count"), Whole: s.Number(n, "count"), T: s.Number(t, "ratio")}, s.Err()
}

// firstThat is the first whole number from n on that is enough, when all after it are: by doubling steps, then by halving,
// so that a confidence of nearly one doesn't count for minutes.
func firstThat(n float64, enough func(float64) bool) float64 {
	if enough(n) {
		return n
	}
	lacking, step := n, 1.0
	for !enough(lacking+step) && step < 1e12 {
		lacking, step = lacking+step, step*2
	}
	least := lacking + step
	for least-lacking > 1 {
		if mid := math.Floor((least + lacking) / 2); enough(mid) {
			least = mid
		} else {
			lacking = mid
		}
	}
	return least
}

// Finite fits a number of samples to a population that is not large.
func Finite(n, population agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("n' = n ÷ (1 + n ÷ N)", "textbook finite population correction")
	in := inTaken
	in.Name, in.Range = "n", agronomy.Above(0)
	k, all := s.Take(in, n), s.Take(inAll, population)
	return s.Number(roundUp(k/(1+k/all)), "count"), s.Err()
}

// AchievedByT is the error a number of samples leaves by a given t, in the unit of the spread.
func AchievedByT(t, sd, samples agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("error = t × sd ÷ √n", sizeSource)
	tv, v, n := s.Take(inT, t), s.Take(inSD, sd), s.Take(inTaken, samples)
	return backTo(s, tv*v/math.Sqrt(n), sd), s.Err()
}

// backTo gives a spread in the unit it was given in.
func backTo(s *agronomy.Sheet, v float64, like agronomy.Quantity) agronomy.Result {
	res, err := s.Number(v, inSD.WorkUnit(like.Unit)).As(like.Unit)
	s.Refuse(err)
	res.Working.Result = res.String()
	return res
}

// Achieved is the error a number of samples leaves, in the unit of the spread.
func Achieved(sd, samples, confidence agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("error = t × sd ÷ √n, t at n − 1 degrees of freedom", sizeSource)
	v, n, c := s.Take(inSD, sd), s.Take(inTaken, samples), s.Take(inConfidence, confidence)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	t := s.Step("t", tQuantile((1+c)/2, n-1), "", "")
	return backTo(s, t*v/math.Sqrt(n), sd), s.Err()
}

// Cores is how even cores are.
type Cores struct {
	Mean, LowMean, LowCount, DULQ, SD, CV agronomy.Result
}

// CoresOf measures depth of cores as catches are measured: the mean of the lowest quarter over the mean.
func CoresOf(depths agronomy.Quantities) (Cores, error) {
	s := agronomy.NewSheet("DU = mean of the lowest quarter ÷ mean of all", "low-quarter measure of catches (Irrigation Association, Recommended Audit Guidelines, 2009) applied to depth of cores")
	x := s.TakeAll(inDepths, depths)
	if s.Err() != nil {
		return Cores{}, s.Err()
	}
	mean, sd := spread(x)
	if mean <= 0 {
		return Cores{}, agronomy.RefuseSay("core_depths", "0 in every core", "above 0 on average", "core_depths is 0 in every core; nothing was pulled.")
	}
	low, n := irrigation.Low(x, 0.25)
	s.Step("low quarter", low, "in", fmt.Sprintf("the lowest %d of %d cores", n, len(x)))
	back := func(v float64) agronomy.Result {
		r, err := s.Number(v, "in").As(depths.Unit)
		s.Refuse(err)
		r.Working.Result = r.String()
		return r
	}
	return Cores{Mean: back(mean), LowMean: back(low), LowCount: s.Number(float64(n), "cores"), DULQ: s.Number(low/mean, "fraction"), SD: back(sd), CV: s.Number(100*sd/mean, "%")}, s.Err()
}
