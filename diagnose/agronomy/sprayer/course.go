// Package sprayer holds the arithmetic of spraying: calibration courses, output, tanks, product from active ingredient,
// speed, nozzles, and what a label's yearly maximum leaves.
package sprayer

import (
	"math"

	"swardbook/diagnose/agronomy"
)

const (
	courseSource = "Ohio State University Extension Bulletin 817-00, Calibrating turfgrass chemical application equipment (2000); LSU AgCenter, Ounces equal gallons"
	gunSource    = "national pesticide stewardship site, spray gun calibration"
	flowSource   = "Mesa County, Colorado, stationary calibration method for boom sprayers: 5940 × gal/min ÷ (mi/h × in)"
	speedSource  = "NC State Extension, calibration of turfgrass boom sprayers and spreaders; 1 mi/h = 88 ft/min"
	unitSource   = "exact units: 231 in³ and 128 fl oz a gallon, 0.3048 m a foot, 43,560 ft² an acre"
)

// share is the part of an acre on which fluid ounces read as gallons on an acre, ft2: there are 128 ounces in a gallon.
const share = 43560.0 / 128

var (
	inSpacing  = agronomy.Input{Name: "nozzle_spacing", Also: []string{"spacing"}, Unit: "in", Range: agronomy.Above(0), Says: "distance of nozzles on the boom"}
	inWidth    = agronomy.Input{Name: "row_width", Also: []string{"width", "spray_width", "boom_width", "band_width"}, Unit: "ft", Range: agronomy.Above(0), Says: "width that the caught nozzles spray together"}
	inSwath    = agronomy.Input{Name: "swath", Also: []string{"swath_width"}, Unit: "ft", Range: agronomy.Above(0), Says: "width of the hand gun's swath"}
	inDistance = agronomy.Input{Name: "distance", Also: []string{"length", "course"}, Unit: "ft", Range: agronomy.Above(0), Says: "length of the course"}
	inTime     = agronomy.Input{Name: "time", Also: []string{"mean_time"}, Unit: "s", Range: agronomy.Above(0), Says: "time for the course"}
	inTimes    = agronomy.Input{Name: "times", Kind: agronomy.Numbers, Unit: "s", Range: agronomy.Above(0), Says: "times for the course"}
	inSpeed    = agronomy.Input{Name: "speed", Also: []string{"ground_speed"}, Unit: "mi/h", Range: agronomy.Above(0), Says: "speed over ground"}
)

// CourseLength is how far to go so that the fluid ounces caught read as gallons on an acre. width is the nozzle spacing
// for broadcast, the swath of a hand nozzle, the row width when several nozzles serve one row.
func CourseLength(width agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("distance = 340.31 ft² (1/128 acre) ÷ width", courseSource)
	w := s.Take(inWidth, width)
	s.Remark("A square of " + agronomy.Figure(math.Sqrt(share)) + " ft a side is 1/128 acre too.")
	return s.In(share/w, "ft", agronomy.LengthLike(width.Unit)), s.Err()
}

// GunCourse is how far to go with a hand gun so that the gallons caught read as gallons on 1000 ft2.
func GunCourse(swath agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("course = 1000 ft² ÷ swath", gunSource)
	w := s.Take(inSwath, swath)
	return s.In(1000/w, "ft", agronomy.LengthLike(swath.Unit)), s.Err()
}

// MeanTime is the mean of timed runs.
func MeanTime(times agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("mean time = sum ÷ count", gunSource)
	list := s.TakeAll(inTimes, times)
	if len(list) > 0 && len(list) < 3 {
		s.Remark("Fewer than three timings: time it once more.")
	}
	return s.Number(mean(list), "s"), s.Err()
}

func mean(list []float64) float64 {
	sum := 0.0
	for _, v := range list {
		sum += v
	}
	return sum / float64(len(list))
}

// Speed is how fast a course was gone.
func Speed(distance, time agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("mi/h = ft × 60 ÷ (s × 88)", speedSource)
	d, t := s.Take(inDistance, distance), s.Take(inTime, time)
	return s.In(d*60/(t*88), "mi/h", agronomy.SpeedLike(distance.Unit)), s.Err()
}

// TimeFor is how long a course takes at a speed.
func TimeFor(distance, speed agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("s = ft × 60 ÷ (mi/h × 88)", speedSource)
	d, v := s.Take(inDistance, distance), s.Take(inSpeed, speed)
	return s.Number(d*60/(v*88), "s"), s.Err()
}
