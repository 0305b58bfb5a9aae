package irrigation

import (
	"swardbook/diagnose/agronomy"
)

const flowSource = "total-area method: 96.25 × gal/min ÷ ft², from 231 in³ a gallon, 60 minutes an hour, 144 in² a ft² (handbooks print 96.3)"

var (
	inNeed       = agronomy.Input{Name: "water_need", Also: []string{"need", "water", "net_need"}, Unit: "in", Range: agronomy.AtLeast(0), Says: "water to replace"}
	inRate       = agronomy.Input{Name: "precip_rate", Also: []string{"net_precip_rate", "rate"}, Unit: "in/h", Range: agronomy.Above(0), Says: "rate of the sprinklers"}
	inMultiplier = agronomy.Input{Name: "scheduling_multiplier", Unit: "ratio", Range: agronomy.AtLeast(1), Says: "scheduling multiplier"}
	inFlow       = agronomy.Input{Name: "flow", Unit: "gpm", Range: agronomy.Above(0), Says: "flow of the zone"}
	inHeadFlow   = agronomy.Input{Name: "flow_per_head", Also: []string{"head_flow"}, Unit: "gpm", Range: agronomy.Above(0), Says: "flow of one head"}
	inHeads      = agronomy.Input{Name: "heads", Unit: "count", Range: agronomy.AtLeast(1), Says: "heads of the zone"}
	inArea       = agronomy.Input{Name: "area", Unit: "ft2", Range: agronomy.Above(0), Says: "ground watered"}
	inHeadGap    = agronomy.Input{Name: "head_spacing", Unit: "ft", Range: agronomy.Above(0), Says: "distance of heads in a row"}
	inRowGap     = agronomy.Input{Name: "row_spacing", Unit: "ft", Range: agronomy.Above(0), Says: "distance of rows"}
	inVolume     = agronomy.Input{Name: "volume", Unit: "L", Range: agronomy.Above(0), Says: "what the bucket holds"}
	inFill       = agronomy.Input{Name: "fill_time", Also: []string{"time"}, Unit: "min", Range: agronomy.Above(0), Says: "how long it took to fill"}
	inMeanRate   = agronomy.Input{Name: "mean_rate", Unit: "mm/h", Range: agronomy.Above(0), Says: "mean rate"}
	inDriest     = agronomy.Input{Name: "driest_rate", Unit: "mm/h", Range: agronomy.Above(0), Says: "mean rate of the driest patch"}
	inDayNeed    = agronomy.Input{Name: "need", Also: []string{"water_need"}, Unit: "mm/day", Or: []string{"mm"}, Range: agronomy.AtLeast(0), Says: "water needed"}
	inETo        = agronomy.Input{Name: "eto", Unit: "in/yr", Or: []string{"in"}, Range: agronomy.Within(0, 200), Says: "reference evapotranspiration of the year"}
	inLandscape  = agronomy.Input{Name: "landscape_area", Also: []string{"area"}, Unit: "ft2", Range: agronomy.Above(0), Says: "landscape area"}
	inSpecial    = agronomy.Input{Name: "special_area", Unit: "ft2", Range: agronomy.AtLeast(0), Says: "part of it that is special landscape (edible, recycled water, play)"}
	inETAF       = agronomy.Input{Name: "et_adjustment", Also: []string{"etaf", "et_adjustment_factor"}, Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "adjustment factor"}
	inFactor     = agronomy.Input{Name: "conversion_factor", Unit: "ratio", Range: agronomy.Between(0.6, 0.65), Says: "gallons on a square foot for an inch, when not the ordinance's 0.62"}
)

// LowerRunTime is the minutes that put the water down at the mean rate.
func LowerRunTime(need, precip agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("lower run time = 60 × water ÷ net rate", auditSource)
	w, r := s.Take(inNeed, need), s.Take(inRate, precip)
	return s.Number(60*w/r, "min"), s.Err()
}

// UpperRunTime is the minutes that give the drier parts enough: the lower run time times the multiplier. Never correct
// for uniformity a second time.
func UpperRunTime(need, precip, multiplier agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("upper run time = 60 × water ÷ net rate × multiplier", auditSource)
	w, r, m := s.Take(inNeed, need), s.Take(inRate, precip), s.Take(inMultiplier, multiplier)
	s.Step("lower run time", 60*w/r, "min", "")
	s.Remark("Uniformity is in the multiplier; don't correct for it again by an efficiency.")
	return s.Number(60*w/r*m, "min"), s.Err()
}

// perFt2 turns gallons a minute on a square foot into inches an hour.
const perFt2 = 231.0 * 60 / 144

// rateUS gives inches an hour on the side of a unit.
func rateUS(s *agronomy.Sheet, inPerHour float64, like string) (agronomy.Result, error) {
	if agronomy.Metric(like) {
		return s.Number(agronomy.MustConvert(s.Step("rate", inPerHour, "in/h", ""), "in/h", "mm/h"), "mm/h"), s.Err()
	}
	return s.Number(inPerHour, "in/h"), s.Err()
}

// GrossRate is the rate that leaves the heads: flow over area. It exceeds the net rate from cans; never mix the two.
func GrossRate(flow, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gross rate = 96.25 × flow ÷ area (gal/min, ft², in/h)", flowSource)
	q, a := s.Take(inFlow, flow), s.Take(inArea, area)
	s.Remark("This is what leaves the heads; what the ground gets (by cans) is less.")
	return rateUS(s, perFt2*q/a, area.Unit)
}

// GrossRateBySpacing is the gross rate of full-circle heads on a grid.
func GrossRateBySpacing(headFlow, headGap, rowGap agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gross rate = 96.25 × flow of one full-circle head ÷ (distance of heads × distance of rows)", flowSource)
	q, a, b := s.Take(inHeadFlow, headFlow), s.Take(inHeadGap, headGap), s.Take(inRowGap, rowGap)
	return rateUS(s, perFt2*q/(a*b), headGap.Unit)
}

// BucketFlow is the flow that fills a bucket in a time, in gal/min or L/min by the bucket's unit.
func BucketFlow(volume, fill agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("flow = volume ÷ time", "University of Idaho, Calibrating your sprinkler")
	v, t := s.Take(inVolume, volume), s.Take(inFill, fill)
	if agronomy.Customary(volume.Unit) {
		return s.Number(agronomy.MustConvert(v/t, "L/min", "gpm"), "gpm"), s.Err()
	}
	return s.Number(v/t, "L/min"), s.Err()
}

const coefficientSource = "Irrigation design considerations, scheduling coefficient (landscape course notes)"

// SchedulingCoefficient is mean over driest patch; it is not the multiplier that follows from DU.
func SchedulingCoefficient(mean, driest agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("scheduling coefficient = mean rate ÷ rate of the driest patch", coefficientSource)
	m, d := s.Take(inMeanRate, mean), s.Take(inDriest, driest)
	if d > m {
		s.Refuse(agronomy.Refuse("driest_rate", driest.String(), "no more than the mean rate, "+mean.String()))
	}
	s.Remark("The scheduling coefficient is not the multiplier from DU.")
	return s.Number(m/d, "ratio"), s.Err()
}

// RunTimeForDriest is how long to water so that the driest patch gets its need: hours a day, or hours when the need is a
// depth.
func RunTimeForDriest(need, mean, driest agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("run time = need ÷ mean rate × scheduling coefficient", coefficientSource)
	n, m, d := s.Take(inDayNeed, need), s.Take(inMeanRate, mean), s.Take(inDriest, driest)
	if d > m {
		s.Refuse(agronomy.Refuse("driest_rate", driest.String(), "no more than the mean rate, "+mean.String()))
	}
	s.Step("scheduling coefficient", m/d, "ratio", "")
	unit := "h/day"
	if inDayNeed.WorkUnit(need.Unit) == "mm" {
		unit = "h"
	}
	return s.Number(n/m*(m/d), unit), s.Err()
}

const allowanceSource = "California Model Water Efficient Landscape Ordinance, 23 CCR chapter 2.7 (2009 and 2015 forms)"

// allowanceForms are the adjustment factors by the ordinance's form.
var allowanceForms = map[string]float64{"2009": 0.7, "2015 residential": 0.55, "2015 other": 0.45}

var inForm = agronomy.Input{Name: "form", Kind: agronomy.Text, OneOf: []string{"2009", "2015 residential", "2015 other"}, Says: "form of the ordinance"}

// AdjustmentFactor is the ordinance's factor by its form.
func AdjustmentFactor(form string) (agronomy.Quantity, error) {
	known, err := inForm.Option(form)
	return agronomy.Q(allowanceForms[known], "fraction"), err
}

// WaterAllowance is the year's greatest lawful water. factor is 0.62, the ordinance's own, unless another is given; physics
// says 0.6234.
func WaterAllowance(eto, landscape, special, etaf, factor agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("allowance = ETo × 0.62 × [factor × area + (1 − factor) × special area]", allowanceSource)
	e, a, sp, f, k := s.Take(inETo, eto), s.Take(inLandscape, landscape), s.Take(inSpecial, special), s.Take(inETAF, etaf), s.Take(inFactor, factor)
	if sp > a {
		s.Refuse(agronomy.Refuse("special_area", special.String(), "no more than landscape_area, "+landscape.String()))
	}
	gallons := e * k * (f*a + (1-f)*sp)
	if k == 0.62 {
		s.Remark("0.62 is the ordinance's factor; the exact one is 0.6234.")
	}
	if agronomy.Metric(landscape.Unit) {
		return s.Number(agronomy.MustConvert(s.Step("allowance", gallons, "gal/yr", ""), "gal/yr", "L/yr"), "L/yr"), s.Err()
	}
	return s.Number(gallons, "gal/yr"), s.Err()
}
