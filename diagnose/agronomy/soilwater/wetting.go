package soilwater

import (
	"fmt"

	"swardbook/diagnose/agronomy"
)

var (
	inApplied  = agronomy.Input{Name: "applied", Also: []string{"water", "depth_applied"}, Unit: "in", Range: agronomy.AtLeast(0), Says: "water put down, rain and watering"}
	inDried    = agronomy.Input{Name: "depletion_before", Also: []string{"depletion_fraction_before", "fraction_depleted"}, Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "share of the available water used up before"}
	inWetTo    = agronomy.Input{Name: "depth_to_wet", Also: []string{"target_depth"}, Unit: "in", Range: agronomy.Above(0), Says: "depth to be wetted"}
	inArea     = agronomy.Input{Name: "area", Unit: "ft2", Range: agronomy.Above(0), Says: "ground"}
	inDepth    = agronomy.Input{Name: "depth", Unit: "in", Range: agronomy.AtLeast(0), Says: "depth of water"}
	inVolume   = agronomy.Input{Name: "volume", Unit: "gal", Range: agronomy.AtLeast(0), Says: "water"}
	inMultiple = agronomy.Input{Name: "scheduling_multiplier", Unit: "ratio", Range: agronomy.AtLeast(1), Says: "scheduling multiplier of the zone"}
	inEffect   = agronomy.Input{Name: "efficiency", Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "share of the water that gets to the roots"}
)

const wettingRemark = "The usual figures (an inch wets 12 inches of sand, 7 of loam, 4 to 5 of clay) assume nearly dry soil."

// WettingDepth is how deep water should have wetted soil of which a share of the available water had been used up.
func WettingDepth(applied, available, dried agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("wetted depth = water ÷ (available water × share used up)", byBalance)
	w, a, f := s.Take(inApplied, applied), s.Take(inAvailable, available), s.Take(inDried, dried)
	s.Remark(wettingRemark)
	return onSide(s, w/(a/12*f), "in", applied.Unit), s.Err()
}

// WaterToWet is how much water wets soil to a depth.
func WaterToWet(depth, available, dried agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("water = depth × available water × share used up", byBalance)
	d, a, f := s.Take(inWetTo, depth), s.Take(inAvailable, available), s.Take(inDried, dried)
	return onSide(s, d*a/12*f, "in", depth.Unit), s.Err()
}

// WaterVolume is a depth of water on ground as a volume, in gallons or litres by the ground's unit.
func WaterVolume(area, depth agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("volume = area × depth (an inch on 1000 ft² is 623.4 gal; 1 mm on 1 m² is 1 L)", "definitions of the units")
	a, d := s.Take(inArea, area), s.Take(inDepth, depth)
	gal := agronomy.MustConvert(a*d/12, "ft3", "gal")
	if agronomy.Metric(area.Unit) {
		return s.Number(agronomy.MustConvert(s.Step("volume", gal, "gal", ""), "gal", "L"), "L"), s.Err()
	}
	return s.Number(gal, "gal"), s.Err()
}

// DepthOf is a volume spread on ground as a depth, in inches or millimetres by the ground's unit.
func DepthOf(volume, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("depth = volume ÷ area", "definitions of the units")
	v, a := s.Take(inVolume, volume), s.Take(inArea, area)
	return onSide(s, agronomy.MustConvert(v, "gal", "ft3")/a*12, "in", area.Unit), s.Err()
}

// GrossByMultiplier is what to put down for a net need, by the scheduling multiplier. Use it or an efficiency, not both.
func GrossByMultiplier(net, multiplier agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gross = net need × scheduling multiplier", fao56)
	v := s.Take(inDepletion, net) * s.Take(inMultiple, multiplier)
	return onSide(s, v, "mm", net.Unit), s.Err()
}

// GrossByEfficiency is what to put down for a net need, by an efficiency. Use it or a multiplier, not both.
func GrossByEfficiency(net, efficiency agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("gross = net need ÷ efficiency", fao56)
	v := s.Take(inDepletion, net) / s.Take(inEffect, efficiency)
	return onSide(s, v, "mm", net.Unit), s.Err()
}

// Expected is what a core should show after the last rain or watering.
type Expected struct {
	Depth    agronomy.Result // wetted depth, mm
	Applied  agronomy.Result // water of the last wet day, mm
	Before   agronomy.Result // share used up before it, fraction
	DaysAgo  agronomy.Result // days from it to the last day of the series
	WentThru bool            // more water came than the root zone lacked
}

// ExpectedWetting walks the account to the last day with rain or watering and says how deep that water should have wetted,
// so that a measured core is judged against what it should be. available is the soil's, bucket its account.
func ExpectedWetting(days []Day, bucket Bucket, available agronomy.Quantity) (Expected, error) {
	ran, err := Run(days, bucket)
	if err != nil {
		return Expected{}, err
	}
	last := -1
	for i, d := range days {
		if d.Rain-d.RunOff+d.Irrigation > 0 {
			last = i
		}
	}
	if last < 0 {
		return Expected{}, agronomy.RefuseSay("days_rain", "no rain and no watering", "a day with water", "There was no rain and no watering in these days, so that no wetted depth is expected.")
	}
	before := bucket.Start
	if last > 0 {
		before = ran.Days[last-1].Depletion
	}
	share := before / bucket.TAW
	applied := days[last].Rain - days[last].RunOff + days[last].Irrigation
	s := agronomy.NewSheet("wetted depth = water ÷ (available water × share used up before it)", byBalance+", with the share from the account")
	a := s.Take(inAvailable, available)
	s.Note("day", fmt.Sprintf("day %d of %d", last+1, len(days)))
	s.Step("water", applied, "mm", "rain less run-off, and watering")
	s.Step("share used up before", share, "fraction", "from the account")
	if share <= 0.01 {
		s.Refuse(agronomy.RefuseSay("depletion_before", agronomy.Figure(share), "above 0.01", "The soil was already full before the last water; it should be moist all the way down."))
	}
	if s.Err() != nil {
		return Expected{}, s.Err()
	}
	s.Remark(wettingRemark)
	depth := applied / (a / 12 * share)
	e := Expected{Depth: s.Number(depth, "mm"), Applied: s.Number(applied, "mm"), Before: s.Number(share, "fraction"), DaysAgo: s.Number(float64(len(days)-1-last), "day"), WentThru: applied > before}
	return e, s.Err()
}
