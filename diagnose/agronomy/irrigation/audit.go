// Package irrigation audits sprinklers by catch cans and says how long to run them: rate, uniformity, run time, cycles
// that don't run off, and the year's water allowance.
package irrigation

import (
	"fmt"
	"math"
	"slices"

	"swardbook/diagnose/agronomy"
)

const auditSource = "Irrigation Association, Recommended Audit Guidelines (September 2009); formulas as landscape auditors use them"

var (
	inCatch    = agronomy.Input{Name: "catch", Also: []string{"catches", "catch_volumes", "catch_depths", "depths", "volumes"}, Kind: agronomy.Numbers, Unit: "mL", Or: []string{"mm"}, Range: agronomy.AtLeast(0), Says: "what each can caught, as volume or depth"}
	inMean     = agronomy.Input{Name: "mean_catch", Also: []string{"mean_depth", "depth", "mean_volume"}, Unit: "mL", Or: []string{"mm"}, Range: agronomy.Above(0), Says: "mean of what the cans caught, as volume or depth"}
	inThroat   = agronomy.Input{Name: "throat_area", Also: []string{"can_area", "mouth_area", "can_mouth"}, Unit: "cm2", Range: agronomy.Above(0), Says: "opening of a can"}
	inDiameter = agronomy.Input{Name: "throat_diameter", Also: []string{"can_diameter", "mouth_diameter"}, Unit: "cm", Range: agronomy.Above(0), Says: "width of a round can's opening"}
	inTime     = agronomy.Input{Name: "test_time", Also: []string{"time", "run_time"}, Unit: "min", Range: agronomy.Above(0), Says: "how long the cans stood"}
	inDULQ     = agronomy.Input{Name: "du_lq", Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "low-quarter uniformity"}
	inDULH     = agronomy.Input{Name: "du_lh", Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "low-half uniformity as measured"}
)

// Audit is what the cans of one test say about uniformity.
type Audit struct {
	Mean       agronomy.Result // in the unit of the catches
	Count      agronomy.Result // cans
	LowCount   agronomy.Result // cans in the low quarter
	LowMean    agronomy.Result
	DULQ       agronomy.Result // fraction
	HalfCount  agronomy.Result
	HalfMean   agronomy.Result
	DULH       agronomy.Result // fraction
	CU         agronomy.Result // fraction, Christiansen
	Multiplier agronomy.Result // scheduling multiplier, 1 ÷ DULH since the low half is measured
}

// Low is the mean of the lowest share (0.25, 0.5) of a list and how many values that is: the share of the count rounded
// half up, at least one. The list is not changed.
func Low(list []float64, share float64) (mean float64, n int) {
	sorted := slices.Sorted(slices.Values(list))
	n = max(1, int(math.Floor(float64(len(list))*share+0.5)))
	return Mean(sorted[:n]), n
}

// Mean is the mean of a list; NaN of an empty one.
func Mean(list []float64) float64 {
	sum := 0.0
	for _, v := range list {
		sum += v
	}
	return sum / float64(len(list))
}

// AuditCans works out uniformity from catches of any volume or depth; all cans must have the same mouth.
func AuditCans(catch agronomy.Quantities) (Audit, error) {
	s := agronomy.NewSheet("DU = mean of the lowest quarter (half) ÷ mean of all; CU = 1 − Σ|x − mean| ÷ (n × mean)", auditSource)
	x := s.TakeAll(inCatch, catch)
	if s.Err() != nil {
		return Audit{}, s.Err()
	}
	unit := inCatch.WorkUnit(catch.Unit)
	mean := s.Step("mean", Mean(x), unit, fmt.Sprintf("of %d cans", len(x)))
	if mean <= 0 {
		return Audit{}, agronomy.RefuseSay("catch", "0 in every can", "above 0 on average", "catch is 0 in every can; without water there is no uniformity.")
	}
	low, n := Low(x, 0.25)
	half, h := Low(x, 0.5)
	s.Step("low quarter", low, unit, fmt.Sprintf("the lowest %d of %d cans", n, len(x)))
	s.Step("low half", half, unit, fmt.Sprintf("the lowest %d of %d cans", h, len(x)))
	if len(x)%4 != 0 {
		s.Remark(fmt.Sprintf("%d cans can't be quartered evenly; the lowest %d were taken.", len(x), n))
	}
	if len(x) < 24 {
		s.Remark("Fewer than 24 cans give the mean rate, but the uniformity only roughly.")
	}
	if low/mean < 0.4 {
		s.Remark("A low-quarter uniformity below 0.4 means: repair before making a schedule.")
	}
	back := func(v float64) agronomy.Result {
		res, err := s.Number(v, unit).As(catch.Unit)
		s.Refuse(err)
		res.Working.Result = res.String()
		return res
	}
	a := Audit{Mean: back(mean), Count: s.Number(float64(len(x)), "cans"), LowCount: s.Number(float64(n), "cans"), LowMean: back(low), HalfCount: s.Number(float64(h), "cans"), HalfMean: back(half)}
	a.DULQ, a.DULH, a.CU = s.Number(low/mean, "fraction"), s.Number(half/mean, "fraction"), s.Number(christiansen(x, mean), "fraction")
	if half > 0 {
		a.Multiplier = s.Number(mean/half, "ratio")
	}
	return a, s.Err()
}

func christiansen(x []float64, mean float64) float64 {
	off := 0.0
	for _, v := range x {
		off += math.Abs(v - mean)
	}
	return 1 - off/(float64(len(x))*mean)
}

// NetRate is the rate the ground really gets, from the mean catch. A volume needs the can's mouth (an area); a depth
// doesn't, and the mouth is left zero. It is in/h when the mouth, or the depth, is in US customary units, else mm/h.
func NetRate(mean, throat, time agronomy.Quantity) (agronomy.Result, error) {
	if inMean.WorkUnit(mean.Unit) == "mm" {
		s := agronomy.NewSheet("net rate = 60 × mean depth ÷ minutes", auditSource)
		d, t := s.Take(inMean, mean), s.Take(inTime, time)
		return rate(s, 60*d/t, mean.Unit)
	}
	s := agronomy.NewSheet("net rate = 600 × mean mL ÷ (mouth in cm² × minutes), mm/h; with the mouth in in², 3.6614 × mL ÷ (in² × minutes), in/h", auditSource)
	v, a, t := s.Take(inMean, mean), s.Take(inThroat, throat), s.Take(inTime, time)
	return rate(s, 600*v/(a*t), throat.Unit)
}

// rate gives millimetres an hour on the side of a unit.
func rate(s *agronomy.Sheet, mmPerHour float64, like string) (agronomy.Result, error) {
	if agronomy.Customary(like) {
		return s.Number(agronomy.MustConvert(s.Step("rate", mmPerHour, "mm/h", ""), "mm/h", "in/h"), "in/h"), s.Err()
	}
	return s.Number(mmPerHour, "mm/h"), s.Err()
}

// MouthOf is the opening of a round can.
func MouthOf(diameter agronomy.Quantity) (agronomy.Quantity, error) {
	s := agronomy.NewSheet("mouth = π × diameter² ÷ 4", "plane geometry")
	d := s.Take(inDiameter, diameter)
	area := s.Number(math.Pi*d*d/4, "cm2")
	if agronomy.Customary(diameter.Unit) && s.Err() == nil {
		area, _ = area.As("in2")
	}
	return area.Quantity(), s.Err()
}

const ratingSource = "typical ratings of low-quarter uniformity by kind of head, as landscape auditors use them; from memory"

// ratings are the least uniformity for each rating, best first.
var ratings = map[string][]struct {
	least float64
	name  string
}{
	"fixed spray": {{0.75, "excellent"}, {0.65, "very good"}, {0.55, "good"}, {0.50, "fair"}, {0.40, "poor"}},
	"rotor":       {{0.80, "excellent"}, {0.70, "very good"}, {0.65, "good"}, {0.60, "fair"}, {0.50, "poor"}},
}

var (
	inHead = agronomy.Input{Name: "head_type", Also: []string{"head"}, Kind: agronomy.Text, OneOf: []string{"fixed spray", "rotor"}, Says: "kind of heads"}
	inWind = agronomy.Input{Name: "wind", Unit: "mi/h", Range: agronomy.Between(0, 100), Says: "strongest wind during the test"}
)

// Rating says in a word how good a low-quarter uniformity is for a kind of head.
func Rating(dulq agronomy.Quantity, head string) (agronomy.Result, error) {
	s := agronomy.NewSheet("rating by the least uniformity for each, from the table", ratingSource)
	du, kind := s.Take(inDULQ, dulq), s.Choose(inHead, head)
	for _, r := range ratings[kind] {
		if du >= r.least {
			return s.Give(agronomy.OfText(r.name, "class")), s.Err()
		}
	}
	s.Remark("Repair before making a schedule.")
	return s.Give(agronomy.OfText("repair first", "class")), s.Err()
}

// CalmEnough says whether a test of an installed zone counts: at most 5 mi/h of wind.
func CalmEnough(wind agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("wind at most 5 mi/h, written down every five minutes", auditSource)
	w := s.Take(inWind, wind)
	if w > 5 {
		s.Remark("The wind was above 5 mi/h; the uniformity is the wind's as much as the sprinklers'. Test again on a calm day.")
	}
	return s.Give(agronomy.OfFlag(w <= 5+1e-9)), s.Err()
}

const multiplierSource = "von Bernuth and Mecham, Defining the Run Time Multiplier (Irrigation Association technical paper, about 2005); table values from memory"

// MultiplierFromQuarter is the scheduling multiplier from the low quarter.
func MultiplierFromQuarter(dulq agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("multiplier = 1 ÷ (0.4 + 0.6 × DU of the low quarter)", multiplierSource)
	du := s.Take(inDULQ, dulq)
	if du < 0.4 {
		s.Remark("A low-quarter uniformity below 0.4 means: repair before making a schedule.")
	}
	return s.Number(1/(0.4+0.6*du), "ratio"), s.Err()
}

// MultiplierFromHalf is the scheduling multiplier from a low half that was measured.
func MultiplierFromHalf(dulh agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("multiplier = 1 ÷ DU of the low half", multiplierSource)
	return s.Number(1/s.Take(inDULH, dulh), "ratio"), s.Err()
}

// HalfFromQuarter estimates the low half's uniformity when only the quarter's is known.
func HalfFromQuarter(dulq agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("DU of the low half ≈ 0.386 + 0.614 × DU of the low quarter", multiplierSource)
	return s.Number(0.386+0.614*s.Take(inDULQ, dulq), "fraction"), s.Err()
}
