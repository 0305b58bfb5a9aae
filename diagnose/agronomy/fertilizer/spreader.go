package fertilizer

import (
	"math"

	"swardbook/diagnose/agronomy"
)

const spreaderSource = "How to calibrate a drop spreader (consumer magazine, 2006); spreader calibration by swath and distance, extension pages; Rutgers, fertilizer spreader, Snyder Farm"

var (
	inCollected = agronomy.Input{Name: "collected", Also: []string{"caught", "applied", "used"}, Unit: "lb", Range: agronomy.AtLeast(0), Says: "product caught or used on the test run"}
	inTestArea  = agronomy.Input{Name: "test_area", Also: []string{"area"}, Unit: "ft2", Range: agronomy.Above(0), Says: "ground of the test run"}
	inWidth     = agronomy.Input{Name: "width", Also: []string{"effective_width", "swath", "spreader_width"}, Unit: "ft", Range: agronomy.Above(0), Says: "width of the pattern; of a rotary spreader the effective width, where overlap makes it even, not what it throws"}
	inLength    = agronomy.Input{Name: "length", Also: []string{"distance", "course"}, Unit: "ft", Range: agronomy.Above(0), Says: "length of the test run"}
	inAim       = agronomy.Input{Name: "target", Also: []string{"target_rate", "label_rate", "product_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "product rate that is wanted"}
	inPasses    = agronomy.Input{Name: "passes", Unit: "count", Range: agronomy.Between(1, 10), Says: "crossing passes"}
	inAimN      = agronomy.Input{Name: "target_n_total", Also: []string{"target_n", "n_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "nitrogen wanted of all passes together"}
	inRun       = agronomy.Input{Name: "rate", Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "product rate of the test run"}
)

// TestArea is the ground of a test run.
func TestArea(width, length agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("test area = effective width × length", spreaderSource)
	w, l := s.Take(inWidth, width), s.Take(inLength, length)
	return s.In(w*l, "ft2", agronomy.GroundLike(width.Unit)), s.Err()
}

// SpreaderRate is what a spreader puts down.
func SpreaderRate(collected, testArea agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("rate = collected ÷ (width × length) × 1000", spreaderSource)
	c, a := s.Take(inCollected, collected), s.Take(inTestArea, testArea)
	return s.In(c/a*1000, "lb/1000 ft2", agronomy.MassOn(testArea.Unit)), s.Err()
}

// RateError is how far a rate is off its target, percent; below zero is too little.
func RateError(rate, target agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("error = (rate ÷ target − 1) × 100", spreaderSource)
	r, t := s.Take(inRun, rate), s.Take(inAim, target)
	e := (r/t - 1) * 100
	if math.Abs(e) > 5 {
		s.Remark("More than 5 % off: change the setting and measure again.")
	}
	return s.Number(e, "%"), s.Err()
}

// perPass is the share of one of several crossing passes: calibrate each at that rate. in is the input that the rate is.
func perPass(in agronomy.Input, total, passes agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("rate of one pass = rate ÷ passes", spreaderSource)
	t, p := s.Take(in, total), s.Take(inPasses, passes)
	if p != math.Trunc(p) {
		s.Refuse(agronomy.Refuse("passes", passes.String(), "a whole number, "+inPasses.Range.Say("")))
	}
	return s.In(t/p, "lb/1000 ft2", agronomy.MassOn(total.Unit)), s.Err()
}

// NPerPass is the nitrogen of one pass.
func NPerPass(targetN, passes agronomy.Quantity) (agronomy.Result, error) {
	return perPass(inAimN, targetN, passes)
}

// ProductPerPass is the product of one pass, the rate to calibrate at.
func ProductPerPass(target, passes agronomy.Quantity) (agronomy.Result, error) {
	return perPass(inAim, target, passes)
}

// ToCollect is what a test run should catch at a rate.
func ToCollect(target, testArea agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("to collect = rate × test area", spreaderSource)
	t, a := s.Take(inAim, target), s.Take(inTestArea, testArea)
	return s.In(t*a/1000, "lb", agronomy.MassLike(testArea.Unit)), s.Err()
}
