package sprayer

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
)

var (
	inCaught   = agronomy.Input{Name: "caught", Also: []string{"caught_both", "collected", "caught_all", "volume_caught", "catch", "used"}, Unit: "fl oz", Range: agronomy.Above(0), Says: "spray caught or used, of all nozzles together"}
	inNozzles  = agronomy.Input{Name: "nozzles_caught", Also: []string{"nozzles"}, Unit: "count", Range: agronomy.AtLeast(1), Says: "nozzles caught"}
	inPlot     = agronomy.Input{Name: "plot", Also: []string{"plot_sides"}, Kind: agronomy.Numbers, Unit: "ft", Range: agronomy.Above(0), Says: "the two sides of the plot"}
	inTestArea = agronomy.Input{Name: "test_area", Also: []string{"plot_area"}, Unit: "ft2", Range: agronomy.Above(0), Says: "ground sprayed on the test"}
	inOutput   = agronomy.Input{Name: "output", Also: []string{"spray_rate", "application_rate", "gpa", "carrier"}, Unit: "gal/1000 ft2", Range: agronomy.Above(0), Says: "spray on an area"}
	inFlow     = agronomy.Input{Name: "nozzle_flow", Also: []string{"flow", "gpm"}, Unit: "gal/min", Range: agronomy.Above(0), Says: "flow of one nozzle"}
	inOutput1  = agronomy.Input{Name: "output_1", Also: []string{"flow_1"}, Unit: "gal/1000 ft2", Or: []string{"gal/min"}, Range: agronomy.Above(0), Says: "output, or flow, before"}
	inOutput2  = agronomy.Input{Name: "output_2", Also: []string{"flow_2"}, Unit: "gal/1000 ft2", Or: []string{"gal/min"}, Range: agronomy.Above(0), Says: "output, or flow, wanted"}
	inSpeed1   = agronomy.Input{Name: "speed_1", Unit: "mi/h", Range: agronomy.Above(0), Says: "speed before"}
	inSpeed2   = agronomy.Input{Name: "speed_2", Unit: "mi/h", Range: agronomy.Above(0), Says: "speed after"}
	inPress1   = agronomy.Input{Name: "pressure_1", Unit: "psi", Range: agronomy.Above(0), Says: "pressure before"}
	inPress2   = agronomy.Input{Name: "pressure_2", Unit: "psi", Range: agronomy.Above(0), Says: "pressure after"}
	inSpacing1 = agronomy.Input{Name: "spacing_1", Unit: "in", Range: agronomy.Above(0), Says: "nozzle spacing before"}
	inSpacing2 = agronomy.Input{Name: "spacing_2", Unit: "in", Range: agronomy.Above(0), Says: "nozzle spacing after"}
	inIntended = agronomy.Input{Name: "intended", Also: []string{"target", "intended_output"}, Unit: "gal/1000 ft2", Range: agronomy.Above(0), Says: "output that is intended"}
)

// outputUnit is the unit for an output that was measured in one unit: gal/acre, or L/ha.
func outputUnit(like string) string {
	if agronomy.Metric(like) {
		return "L/ha"
	}
	return "gal/acre"
}

// Plot is the ground of a plot with two sides.
func Plot(sides agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("plot = side × side", courseSource)
	list := s.TakeAll(inPlot, sides)
	if s.Err() == nil && len(list) != 2 {
		s.Refuse(agronomy.Refuse("plot", fmt.Sprint(len(list), " sides"), "two sides"))
	}
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.In(list[0]*list[1], "ft2", agronomy.GroundLike(sides.Unit)), s.Err()
}

// OffShare is how far a plot is off 1/128 acre, percent: a square of 18.5 ft is 0.6 % large.
func OffShare(plot agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("error = (plot ÷ 340.31 ft² − 1) × 100", courseSource)
	a := s.Take(inTestArea, plot)
	return s.Number((a/share-1)*100, "%"), s.Err()
}

// RunArea is the ground of a run.
func RunArea(width, distance agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ground = width × distance", courseSource)
	w, d := s.Take(inWidth, width), s.Take(inDistance, distance)
	return s.In(w*d, "ft2", agronomy.GroundLike(width.Unit)), s.Err()
}

// WidthOf is the width that several nozzles cover together on a boom: nozzles × spacing.
func WidthOf(spacing, nozzles agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("width = nozzles × spacing", courseSource)
	d, n := s.Take(inSpacing, spacing), s.Take(inNozzles, nozzles)
	return s.In(d*n, "in", agronomy.Bare(spacing.Unit)), s.Err()
}

// Output is the spray on an acre (on a hectare, when the ground is metric) from what was caught on known ground.
func Output(caught, ground agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("output = caught ÷ ground", courseSource)
	c, a := s.Take(inCaught, caught), s.Take(inTestArea, ground)
	if math.Abs(a/share-1) < 0.01 {
		s.Remark(fmt.Sprintf("The ground is %s ft², about 1/128 acre (340.31): the ounces caught read as gallons on an acre.", agronomy.Figure(a)))
	}
	return s.In(c/128/(a/43560), "gal/acre", outputUnit(ground.Unit)), s.Err()
}

// Reading is what the 1/128-acre method reads from what was caught on such ground: fluid ounces are gallons on an acre.
// On other ground it is Output.
func Reading(caught, ground agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("fluid ounces caught on 1/128 acre = gallons on an acre", courseSource)
	c, a := s.Take(inCaught, caught), s.Take(inTestArea, ground)
	if s.Err() == nil && math.Abs(a/share-1) >= 0.01 {
		return Output(caught, ground)
	}
	return s.Number(c, "gal/acre"), s.Err()
}

// CourseReading is the reading when the course had the length of CourseLength.
func CourseReading(caught agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("fluid ounces caught on 1/128 acre = gallons on an acre", courseSource)
	c := s.Take(inCaught, caught)
	s.Remark("This takes it that the course was 340.31 ft² ÷ width long.")
	return s.In(c, "gal/acre", outputUnit(caught.Unit)), s.Err()
}

// GunOutput is the spray on 1000 ft2 from what a hand gun gave in the time for the course of GunCourse.
func GunOutput(collected agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gallons caught in the time for 1000 ft² = gallons on 1000 ft²", gunSource)
	c := s.Take(inCaught, collected)
	if agronomy.Metric(collected.Unit) {
		return s.In(c/128, "gal/1000 ft2", "L/100 m2"), s.Err()
	}
	return s.Number(c/128, "gal/1000 ft2"), s.Err()
}

// OutputByFlow is the spray on an acre (or hectare) from one nozzle's flow, speed and spacing.
func OutputByFlow(flow, speed, spacing agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gal/acre = 5940 × gal/min ÷ (mi/h × in)", flowSource)
	q, v, w := s.Take(inFlow, flow), s.Take(inSpeed, speed), s.Take(inSpacing, spacing)
	return s.In(5940*q/(v*w), "gal/acre", outputUnit(flow.Unit)), s.Err()
}

// FlowFor is the flow each nozzle must give for an output.
func FlowFor(output, speed, spacing agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gal/min = gal/acre × mi/h × in ÷ 5940", flowSource)
	o, v, w := s.Take(inOutput, output), s.Take(inSpeed, speed), s.Take(inSpacing, spacing)
	unit := "gal/min"
	if agronomy.Metric(output.Unit) {
		unit = "L/min"
	}
	return s.In(o*43.56*v*w/5940, "gal/min", unit), s.Err()
}

// SpeedFor is the speed at which nozzles give an output.
func SpeedFor(output, flow, spacing agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("mi/h = 5940 × gal/min ÷ (gal/acre × in)", flowSource)
	o, q, w := s.Take(inOutput, output), s.Take(inFlow, flow), s.Take(inSpacing, spacing)
	return s.In(5940*q/(o*43.56*w), "mi/h", agronomy.SpeedLike(output.Unit)), s.Err()
}

// CaughtFlow is one nozzle's flow from what was caught in a time.
func CaughtFlow(caught, time, nozzles agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("flow = caught ÷ time ÷ nozzles", flowSource)
	c, t, n := s.Take(inCaught, caught), s.Take(inTime, time), s.Take(inNozzles, nozzles)
	unit := "gal/min"
	if agronomy.Metric(caught.Unit) {
		unit = "L/min"
	}
	return s.In(c/128/(t/60)/n, "gal/min", unit), s.Err()
}

// Change is what stays or changes between two settings of one sprayer; a quantity without unit stays as it is.
type Change struct{ Speed1, Speed2, Pressure1, Pressure2, Spacing1, Spacing2 agronomy.Quantity }

// factor is output after over output before: inverse to speed and spacing, by the square root of pressure.
func (c Change) factor(s *agronomy.Sheet) float64 {
	f := 1.0
	if c.Speed1.Unit != "" {
		f *= s.Take(inSpeed1, c.Speed1) / s.Take(inSpeed2, c.Speed2)
	}
	if c.Pressure1.Unit != "" {
		f *= math.Sqrt(s.Take(inPress2, c.Pressure2) / s.Take(inPress1, c.Pressure1))
	}
	if c.Spacing1.Unit != "" {
		f *= s.Take(inSpacing1, c.Spacing1) / s.Take(inSpacing2, c.Spacing2)
	}
	return f
}

const changeWords = "output is inverse to speed and to spacing, and grows with the square root of pressure"

// OutputAfter is the output, or flow, after a change, in the unit it had before.
func OutputAfter(before agronomy.Quantity, c Change) (agronomy.Result, error) {
	s := agronomy.NewSheet(changeWords, speedSource)
	s.Take(inOutput1, before)
	f := c.factor(s)
	return s.Number(before.Value*f, before.Unit), s.Err()
}

// ratio is output wanted over output before, both as outputs or both as flows.
func ratio(s *agronomy.Sheet, before, wanted agronomy.Quantity) float64 {
	a, b := s.Take(inOutput1, before), s.Take(inOutput2, wanted)
	if s.Err() == nil && inOutput1.WorkUnit(before.Unit) != inOutput2.WorkUnit(wanted.Unit) {
		s.Refuse(agronomy.Refuse("output_2", wanted.String(), "of the same kind as output_1, "+before.String()))
	}
	return b / a
}

// PressureFor is the pressure that gives another output at the same speed: twice the output takes four times the
// pressure.
func PressureFor(before, wanted, pressure agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("pressure after = pressure before × (output wanted ÷ output before)²", speedSource)
	r := ratio(s, before, wanted)
	s.Take(inPress1, pressure)
	if r > 1.5 || r < 0.67 {
		s.Remark("So large a change is better made with other nozzles or speed: pressure also changes the drops.")
	}
	return s.Number(pressure.Value*r*r, pressure.Unit), s.Err()
}

// SpeedAfter is the speed that gives another output at the same pressure.
func SpeedAfter(before, wanted, speed agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("speed after = speed before × output before ÷ output wanted", speedSource)
	r := ratio(s, before, wanted)
	s.Take(inSpeed1, speed)
	return s.Number(speed.Value/r, speed.Unit), s.Err()
}

// OffIntended is how far an output is off the one intended, percent; it should be within 5.
func OffIntended(output, intended agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("error = (output ÷ intended − 1) × 100; within 5 % is good", gunSource)
	o, i := s.Take(inOutput, output), s.Take(inIntended, intended)
	e := (o/i - 1) * 100
	if math.Abs(e) > 5 {
		s.Remark("More than 5 % off: change speed, pressure or nozzles and measure again.")
	}
	return s.Number(e, "%"), s.Err()
}

// In1000 is an output on 1000 ft2, or 100 m2.
func In1000(output agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gal/1000 ft² = gal/acre ÷ 43.56", unitSource)
	o := s.Take(inOutput, output)
	if agronomy.Metric(output.Unit) {
		return s.In(o, "gal/1000 ft2", "L/100 m2"), s.Err()
	}
	return s.Number(o, "gal/1000 ft2"), s.Err()
}

// InAcre is an output on an acre, or hectare.
func InAcre(output agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gal/acre = gal/1000 ft² × 43.56", unitSource)
	o := s.Take(inOutput, output)
	return s.In(o, "gal/1000 ft2", outputUnit(output.Unit)), s.Err()
}
