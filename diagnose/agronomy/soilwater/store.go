// Package soilwater keeps the account of the water in a lawn's root zone: what the soil holds, how far it has dried, when
// and how much to water, and how deep a watering should have wetted.
package soilwater

import (
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
)

const (
	fao56     = "Allen, Pereira, Raes and Smith, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56 (1998)"
	uc        = "University of California drought pages, available water by texture"
	byBalance = "water balance of a uniform profile"
)

var (
	inAvailable = agronomy.Input{Name: "available_water", Also: []string{"awc", "available_water_capacity"}, Unit: "in/ft", Range: agronomy.AboveTo(0, 6), Says: "water the soil holds for plants, by depth of soil"}
	inCapacity  = agronomy.Input{Name: "field_capacity", Also: []string{"theta_fc"}, Unit: "fraction", Range: agronomy.AboveTo(0, 0.8), Says: "water content at field capacity, by volume"}
	inWilting   = agronomy.Input{Name: "wilting_point", Also: []string{"theta_wp"}, Unit: "fraction", Range: agronomy.Between(0, 0.6), Says: "water content at the wilting point, by volume"}
	inTexture   = agronomy.Input{Name: "texture", Also: []string{"soil", "soil_texture"}, Kind: agronomy.Text, OneOf: textures(), Says: "soil texture"}
	inRoots     = agronomy.Input{Name: "root_depth", Also: []string{"rooting_depth"}, Unit: "in", Range: agronomy.AboveTo(0, 80), Says: "depth of the roots"}
	inMAD       = agronomy.Input{Name: "mad", Also: []string{"p", "p_table", "allowed_fraction", "depletion_fraction"}, Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "share of the available water that may be used up"}
	inTurf      = agronomy.Input{Name: "turf", Kind: agronomy.Text, OneOf: []string{"cool-season", "warm-season"}, Says: "kind of grass"}
	inETc       = agronomy.Input{Name: "etc", Also: []string{"crop_et", "water_use"}, Unit: "in/day", Range: agronomy.AboveTo(0, 1), Says: "what the turf uses"}
	inETo       = agronomy.Input{Name: "eto", Unit: "in/day", Range: agronomy.AboveTo(0, 1), Says: "reference evapotranspiration"}
	inKc        = agronomy.Input{Name: "kc", Unit: "ratio", Range: agronomy.AboveTo(0, 1.5), Says: "turf coefficient"}
	inRAW       = agronomy.Input{Name: "allowed_depletion", Also: []string{"raw"}, Unit: "in", Range: agronomy.Above(0), Says: "water that may be used up before watering"}
	inDepletion = agronomy.Input{Name: "depletion", Unit: "mm", Range: agronomy.AtLeast(0), Says: "water used up so far"}
	inTAW       = agronomy.Input{Name: "taw", Also: []string{"total_available"}, Unit: "mm", Range: agronomy.Above(0), Says: "water the root zone holds for plants"}
)

// texture is one row: the range of available water, in a table's own unit.
type textureRow struct {
	name      string
	low, high float64
}

// byUC is in inches a foot, byFAO in cubic metres a cubic metre (FAO-56 table 19, from memory).
var (
	byUC = []textureRow{
		{"very coarse sand", 0.4, 0.75}, {"sand", 0.75, 1.25}, {"loamy sand", 0.75, 1.25}, {"sandy loam", 1.25, 1.75}, {"very fine sandy loam", 1.50, 2.30}, {"loam", 1.50, 2.30},
		{"silt loam", 1.50, 2.30}, {"clay loam", 1.75, 2.50}, {"clay", 1.60, 2.50},
	}
	byFAO = []textureRow{
		{"sand", 0.05, 0.11}, {"loamy sand", 0.06, 0.12}, {"sandy loam", 0.11, 0.15}, {"loam", 0.13, 0.18}, {"silt loam", 0.13, 0.19}, {"silt", 0.16, 0.20}, {"silty clay loam", 0.13, 0.18},
		{"silty clay", 0.13, 0.19}, {"clay", 0.12, 0.20},
	}
)

var inTable = agronomy.Input{Name: "table", Kind: agronomy.Text, OneOf: []string{"California", "FAO-56"}, Says: "table of available water; California's when the texture stands there"}

func textures() []string {
	var names []string
	seen := map[string]bool{}
	for _, row := range append(append([]textureRow{}, byUC...), byFAO...) {
		if !seen[row.name] {
			names, seen[row.name] = append(names, row.name), true
		}
	}
	return names
}

// Available is a range of available water by texture and its middle, in/ft (California) or m³/m³ (FAO-56).
type Available struct {
	Low, Middle, High agronomy.Result
}

// AvailableWater looks a texture up. table is "California", "FAO-56", or "" for California's where it has the texture.
func AvailableWater(texture, table string) (Available, error) {
	s := agronomy.NewSheet("available water by texture, from the table; the middle is half way", uc+"; "+fao56+", table 19 (from memory)")
	name := s.Choose(inTexture, texture)
	if table != "" {
		table = s.Choose(inTable, table)
	}
	if s.Err() != nil {
		return Available{}, s.Err()
	}
	if row, ok := rowOf(byUC, name); ok && table != "FAO-56" {
		return Available{s.Number(row.low, "in/ft"), s.Number((row.low+row.high)/2, "in/ft"), s.Number(row.high, "in/ft")}, nil
	}
	if row, ok := rowOf(byFAO, name); ok && table != "California" {
		return Available{s.Number(row.low, "m3/m3"), s.Number((row.low+row.high)/2, "m3/m3"), s.Number(row.high, "m3/m3")}, nil
	}
	return Available{}, agronomy.RefuseSay("texture", name, "a texture of that table", fmt.Sprintf("The table %s has no row for %s.", table, name))
}

func rowOf(rows []textureRow, name string) (textureRow, bool) {
	for _, row := range rows {
		if row.name == name {
			return row, true
		}
	}
	return textureRow{}, false
}

// DefaultAllowed is the share that may be used up, by kind of grass (FAO-56 table 22, from memory); 0.5 is common.
func DefaultAllowed(turf string) (agronomy.Result, error) {
	s := agronomy.NewSheet("allowed depletion by kind of grass, from the table", fao56+", table 22 (from memory)")
	p := map[string]float64{"cool-season": 0.40, "warm-season": 0.50}[s.Choose(inTurf, turf)]
	return s.Number(p, "fraction"), s.Err()
}

// AdjustedAllowed fits the allowed share to the day's use: less may be used up when the turf uses more.
func AdjustedAllowed(p, etc agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("p = p of the table + 0.04 (5 − ETc in mm/day), kept between 0.1 and 0.8", fao56+", below table 22")
	table, use := s.Take(inMAD, p), s.Take(inETc, etc)
	return s.Number(math.Max(0.1, math.Min(0.8, table+0.04*(5-use*25.4))), "fraction"), s.Err()
}

// WaterBetween is available water from the contents at field capacity and wilting point, m³/m³.
func WaterBetween(capacity, wilting agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("available water = content at field capacity − content at the wilting point", fao56+", equation 82")
	fc, wp := s.Take(inCapacity, capacity), s.Take(inWilting, wilting)
	if wp >= fc {
		s.Refuse(agronomy.Refuse("wilting_point", wilting.String(), "below field_capacity, "+capacity.String()))
	}
	return s.Number(fc-wp, "m3/m3"), s.Err()
}

// TotalAvailable is what the root zone holds for plants, in the unit of the root depth where that is inches or
// millimetres, else on its side.
func TotalAvailable(available, roots agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("total available water = available water × root depth", fao56+", equation 82")
	a, z := s.Take(inAvailable, available), s.Take(inRoots, roots)
	return onSide(s, a/12*z, "in", roots.Unit), s.Err()
}

// Allowed is the part of it that may be used up before watering.
func Allowed(total, mad agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("allowed depletion = p × total available water", fao56+", equation 83")
	t, p := s.Take(inTAW, total), s.Take(inMAD, mad)
	return onSide(s, t*p, "mm", total.Unit), s.Err()
}

// onSide gives a depth in inches or millimetres, whichever side the unit is on.
func onSide(s *agronomy.Sheet, v float64, unit, like string) agronomy.Result {
	want := "mm"
	if agronomy.Customary(like) {
		want = "in"
	}
	return s.Number(agronomy.MustConvert(v, unit, want), want)
}

// roots are usual depths of irrigated grass, in, and the allowed share of the kind of grass; from memory.
var roots = []struct {
	species   string
	low, high float64
	turf      string
}{
	{"Kentucky bluegrass", 6, 8, "cool-season"}, {"perennial ryegrass", 6, 8, "cool-season"}, {"fine fescue", 6, 8, "cool-season"}, {"tall fescue", 8, 12, "cool-season"},
	{"bermudagrass", 8, 12, "warm-season"}, {"zoysiagrass", 8, 12, "warm-season"},
}

var inSpecies = agronomy.Input{Name: "species", Kind: agronomy.Text, OneOf: rooted(), Says: "grass"}

func rooted() []string {
	names := make([]string, len(roots))
	for i, r := range roots {
		names[i] = r.species
	}
	return names
}

// Rooting is the usual range of a grass's roots and the share of water that may be used up.
type Rooting struct{ Low, High, Allowed agronomy.Result }

// RootsOf looks a grass up. Measure with a probe where it matters.
func RootsOf(species string) (Rooting, error) {
	s := agronomy.NewSheet("usual depth of roots, from the table", "usual depths of irrigated turf, from memory; measure with a probe")
	name := s.Choose(inSpecies, species)
	for _, r := range roots {
		if r.species == name && s.Err() == nil {
			p, err := DefaultAllowed(r.turf)
			return Rooting{s.Number(r.low, "in"), s.Number(r.high, "in"), p}, err
		}
	}
	return Rooting{}, s.Err()
}

// Stress is the coefficient Ks: 1 while no more is used up than allowed, then falling to 0 when all is.
func Stress(depletion, total, mad agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("Ks = 1 while Dr ≤ RAW, else (TAW − Dr) ÷ ((1 − p) TAW)", fao56+", equation 84")
	d, t, p := s.Take(inDepletion, depletion), s.Take(inTAW, total), s.Take(inMAD, mad)
	return s.Number(ks(d, t, p), "fraction"), s.Err()
}

func ks(depletion, taw, p float64) float64 {
	if depletion <= p*taw || p >= 1 {
		return 1
	}
	return math.Max(0, (taw-depletion)/((1-p)*taw))
}

// Interval is how long the allowed water lasts, in days, and in whole days, rounded down.
func Interval(allowed, etc agronomy.Quantity) (days, whole agronomy.Result, err error) {
	s := agronomy.NewSheet("interval = allowed depletion ÷ use of a day, rounded down", "an irrigation manufacturer's technical handbook, scheduling chapter")
	r, e := s.Take(inRAW, allowed), s.Take(inETc, etc)
	return s.Number(r/e, "day"), s.Number(math.Floor(r/e+1e-9), "day"), s.Err()
}
