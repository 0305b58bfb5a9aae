package sprayer

import (
	"math"

	"swardbook/diagnose/agronomy"
)

const labelSource = "annual-maximum arithmetic in the label's own units (standard label arithmetic, memory): reaching the maximum is allowed, exceeding it is not"

var (
	inRates     = agronomy.Input{Name: "product_rates", Also: []string{"applications", "rates"}, Kind: agronomy.Numbers, Unit: "fl oz/1000 ft2", Or: []string{"lb/1000 ft2"}, Range: agronomy.AtLeast(0), Says: "rates put down on one zone in the label's period, of all products with this active ingredient in the same strength"}
	inLabelMax  = agronomy.Input{Name: "label_max", Also: []string{"annual_maximum", "label_maximum"}, Unit: "lb/acre/yr", Or: []string{"lb/acre", "gal/acre/yr", "gal/acre"}, Range: agronomy.Above(0), Says: "the label's maximum in its period, of active ingredient or of product"}
	inNextRate  = agronomy.Input{Name: "next_rate", Also: []string{"next"}, Unit: "fl oz/1000 ft2", Or: []string{"lb/1000 ft2"}, Range: agronomy.Above(0), Says: "rate of the next application"}
	inSince     = agronomy.Input{Name: "days_since_last", Unit: "day", Range: agronomy.AtLeast(0), Says: "days since the last application"}
	inInterval  = agronomy.Input{Name: "minimum_interval", Also: []string{"min_interval", "interval"}, Unit: "day", Range: agronomy.AtLeast(0), Says: "the label's least days between applications"}
	inMostTimes = agronomy.Input{Name: "max_applications", Unit: "count", Range: agronomy.AtLeast(1), Says: "the label's greatest number of applications in its period"}
)

// Label is what a label allows in its period for one zone: of active ingredient, when the product's strength is known,
// else of product.
type Label struct {
	Max      agronomy.Quantity // in lb ai/acre/yr, fl oz/1000 ft2/yr …
	Strength agronomy.Quantity // without unit: Max is of product
}

// counts turns a product rate into what the label counts, in lb/acre or gal/acre, and names that unit.
func (l Label) counts(s *agronomy.Sheet, rate agronomy.Quantity) (float64, string) {
	volume := agronomy.SameKind(l.Max.Unit, "gal/acre/yr") || agronomy.SameKind(l.Max.Unit, "gal/acre")
	if l.Strength.Unit != "" && volume {
		s.Refuse(agronomy.Refuse("label_max", l.Max.String(), "a weight of active ingredient, since the product's strength is given"))
	}
	if l.Strength.Unit != "" {
		return active(s, rate, l.Strength) * 43.56, "lb/acre"
	}
	r := s.Take(inRate, rate)
	liquid := inRate.WorkUnit(rate.Unit) == "fl oz/1000 ft2"
	if s.Err() == nil && liquid != volume {
		s.Refuse(agronomy.Refuse("label_max", l.Max.String(), "of product in the measure of the rates, or of active ingredient with the product's concentration given"))
	}
	if liquid {
		return r / 128 * 43.56, "gal/acre"
	}
	return r * 43.56, "lb/acre"
}

// unit is the unit that results are given in: the label's own, without its period.
func (l Label) unit(work string) string {
	of := counted(l.Max.Unit)
	if of != "" {
		of = " " + of
	}
	if work == "gal/acre" {
		if agronomy.Metric(l.Max.Unit) {
			return "L/ha"
		}
		return top(l.Max.Unit) + map[string]string{"gal/1000 ft2": "/1000 ft2", "gal/acre": "/acre"}[agronomy.VolumeOn(l.Max.Unit)]
	}
	if agronomy.Metric(l.Max.Unit) {
		return "kg" + of + "/ha"
	}
	return "lb" + of + map[string]string{"lb/1000 ft2": "/1000 ft2", "lb/acre": "/acre"}[agronomy.MassOn(l.Max.Unit)]
}

// Status is where a zone stands against a label's maximum.
type Status struct {
	Applied   agronomy.Result // in the label's unit
	Remaining agronomy.Result // below zero: exceeded by so much
	Exceeded  agronomy.Result // yes or no
	Next      agronomy.Result // yes or no: one more at the next rate stays within the maximum
	Largest   agronomy.Result // greatest next product rate, rounded down; 0 when nothing is left
}

// Against sums the applications of a period and judges one more at the next rate.
func (l Label) Against(rates agronomy.Quantities, next agronomy.Quantity) (Status, error) {
	s := agronomy.NewSheet("applied = Σ rate × strength; allowed when applied + next ≤ maximum", labelSource)
	list := s.TakeAll(inRates, rates)
	most := s.Take(inLabelMax, l.Max)
	s.Refuse(oneSubstance("concentration", l.Strength, l.Max.Unit))
	if s.Err() != nil {
		return Status{}, s.Err()
	}
	if len(list) > 1000 {
		return Status{}, agronomy.Refuse("product_rates", "more than 1000 applications", "the applications of one period")
	}
	one, work := l.counts(s, agronomy.Q(1, rates.Unit))
	more, _ := l.counts(s, next)
	if s.Err() != nil {
		return Status{}, s.Err()
	}
	applied := 0.0
	for _, v := range rates.Values {
		applied += v * one
	}
	if math.IsInf(applied+more, 0) {
		return Status{}, agronomy.Refuse("product_rates", agronomy.Figure(applied+more)+" "+work+" together", "rates that add up to a number")
	}
	s.Step("applied", applied, work, "")
	s.Step("with the next", applied+more, work, "")
	unit := l.unit(work)
	largest := math.Max(0, RoundSafe((most-applied)/one, rates.Unit))
	st := Status{
		Applied: s.In(applied, work, unit), Remaining: s.In(most-applied, work, unit),
		Exceeded: s.Give(agronomy.OfFlag(!agronomy.NoMore(applied, most))), Next: s.Give(agronomy.OfFlag(agronomy.NoMore(applied+more, most))),
		Largest: s.Number(largest, agronomy.Bare(rates.Unit)),
	}
	return st, s.Err()
}

// RoundSafe rounds product down to what can be measured: 0.1 fl oz or oz, 1 mL or g, otherwise to four digits. It never
// rounds up, so that a maximum isn't passed by rounding.
func RoundSafe(v float64, unit string) float64 {
	per := math.Pow(10, 3-math.Floor(math.Log10(math.Abs(v)))) // steps in one unit
	switch top(unit) {
	case "fl oz", "oz":
		per = 10
	case "mL", "g":
		per = 1
	}
	if v == 0 || math.IsNaN(v) || math.Abs(v*per) > 1e12 {
		return v // nothing to round, or too large to be a dose
	}
	n := math.Floor(v*per + 1e-9)
	for n/per > v {
		n--
	}
	return n / per
}

// IntervalKept says whether enough days have gone by since the last application.
func IntervalKept(since, least agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("days since the last ≥ least interval", labelSource)
	d, l := s.Take(inSince, since), s.Take(inInterval, least)
	return s.Give(agronomy.OfFlag(agronomy.NoMore(l, d))), s.Err()
}

// CountKept says whether one more application stays within the label's number.
func CountKept(made int, most agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("applications made + 1 ≤ greatest number", labelSource)
	m := s.Take(inMostTimes, most)
	s.Step("made", float64(made), "count", "")
	return s.Give(agronomy.OfFlag(float64(made)+1 <= m)), s.Err()
}

var inAnyRate = agronomy.Input{Name: "rate", Also: []string{"product_rate"}, Unit: "fl oz/1000 ft2", Or: []string{"lb/1000 ft2"}, Range: agronomy.AtLeast(0), Says: "product or spray on an area"}

// Units gives a rate in the units in use.
func Units(rate agronomy.Quantity) (agronomy.Results, error) {
	s := agronomy.NewSheet("1 acre = 43.56 × 1000 ft²; 1 fl oz/1000 ft² = 31.83 mL/100 m²", unitSource)
	v := s.Take(inAnyRate, rate)
	if s.Err() != nil {
		return nil, s.Err()
	}
	work := inAnyRate.WorkUnit(rate.Unit)
	units := map[string]string{
		"per_1000": "oz/1000 ft2", "lb_per_1000": "lb/1000 ft2", "oz_per_acre": "oz/acre", "lb_per_acre": "lb/acre", "per_acre": "lb/acre", "g_per_100m2": "g/100 m2", "kg_per_ha": "kg/ha", "g_per_m2": "g/m2",
	}
	if work == "fl oz/1000 ft2" {
		units = map[string]string{
			"per_1000": "fl oz/1000 ft2", "per_acre": "fl oz/acre", "ml_per_100m2": "mL/100 m2", "l_per_ha": "L/ha", "ml_per_m2": "mL/m2", "ml_per_1000": "mL/1000 ft2",
			"fl_oz_per_acre": "fl oz/acre", "pt_per_acre": "pt/acre", "qt_per_acre": "qt/acre", "gal_per_acre": "gal/acre", "gal_per_1000": "gal/1000 ft2",
		}
	}
	out := agronomy.Results{}
	for name, unit := range units {
		out[name] = s.Number(agronomy.MustConvert(v, work, unit), unit)
	}
	return out, s.Err()
}

var (
	inOutputs = agronomy.Input{Name: "outputs", Also: []string{"flows", "nozzle_outputs", "catches"}, Kind: agronomy.Numbers, Unit: "gal/min", Or: []string{"fl oz"}, Range: agronomy.AtLeast(0), Says: "flow, or catch in one time, of each nozzle"}
	inMostOff = agronomy.Input{Name: "limit", Also: []string{"tolerance", "max_deviation"}, Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "how far a nozzle may be off"}
	inRated   = agronomy.Input{Name: "rated", Also: []string{"rated_flow", "rated_output", "new_output"}, Unit: "gal/min", Or: []string{"fl oz"}, Range: agronomy.Above(0), Says: "what the nozzle is made to give, when they are to be judged by that and not by their mean"}
)

// Nozzles is what a check of all nozzles says.
type Nozzles struct {
	Mean       agronomy.Result
	Deviations agronomy.Result // percent, one for each
	Worst      agronomy.Result // percent, without sign
	Replace    agronomy.Result // yes or no for each
	Count      agronomy.Result // how many to replace
}

// CheckNozzles judges nozzles by their mean, or by what they are made to give when rated has a unit. One more than limit
// percent off is to be replaced.
func CheckNozzles(outputs agronomy.Quantities, limit, rated agronomy.Quantity) (Nozzles, error) {
	s := agronomy.NewSheet("deviation = (output ÷ mean − 1) × 100; replace what is more than the limit off", "LSU AgCenter, Sprayer calibration: replace nozzles off by more than 10 %")
	list, most := s.TakeAll(inOutputs, outputs), s.Take(inMostOff, limit)
	if s.Err() != nil {
		return Nozzles{}, s.Err()
	}
	m := mean(list)
	from := m
	if rated.Unit != "" {
		from = s.Take(inRated, rated)
		if s.Err() == nil && inRated.WorkUnit(rated.Unit) != inOutputs.WorkUnit(outputs.Unit) {
			s.Refuse(agronomy.Refuse("rated", rated.String(), "of the same kind as outputs"))
		}
	}
	if s.Err() == nil && from <= 0 {
		s.Refuse(agronomy.Refuse("outputs", "0 at every nozzle", "above 0 on average"))
	}
	if s.Err() != nil {
		return Nozzles{}, s.Err()
	}
	off, replace, worst, bad := make([]float64, len(list)), make([]string, len(list)), 0.0, 0.0
	for i, v := range list {
		off[i] = (v/from - 1) * 100
		worst = math.Max(worst, math.Abs(off[i]))
		replace[i] = "no"
		if !agronomy.NoMore(math.Abs(off[i]), most) {
			replace[i] = "yes"
			bad++
		}
	}
	return Nozzles{
		Mean: s.In(m, inOutputs.WorkUnit(outputs.Unit), agronomy.Bare(outputs.Unit)), Deviations: s.Give(agronomy.OfList(off, "%")),
		Worst: s.Number(worst, "%"), Replace: s.Give(agronomy.OfTexts(replace, "per nozzle")), Count: s.Number(bad, "count"),
	}, s.Err()
}
