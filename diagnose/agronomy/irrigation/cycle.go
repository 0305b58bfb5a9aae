package irrigation

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"swardbook/diagnose/agronomy"
)

const cycleSource = "Irrigation Association, smart controller test protocol, climate-based, 8th draft (about 2008): intake and surface storage; least soak is derived from it"

// soil is one row of the intake table: in/h, and the storage on the surface by slope, in.
type soil struct {
	name    string
	intake  float64
	storage [4]float64
}

var soils = []soil{
	{"clay", 0.10, [4]float64{0.20, 0.15, 0.10, 0.10}},
	{"silty clay", 0.15, [4]float64{0.23, 0.19, 0.16, 0.13}},
	{"clay loam", 0.20, [4]float64{0.26, 0.22, 0.18, 0.15}},
	{"loam", 0.35, [4]float64{0.30, 0.25, 0.21, 0.17}},
	{"sandy loam", 0.40, [4]float64{0.33, 0.29, 0.24, 0.20}},
	{"loamy sand", 0.50, [4]float64{0.36, 0.30, 0.26, 0.22}},
	{"sand", 0.60, [4]float64{0.40, 0.35, 0.30, 0.25}},
}

// slopeClasses are the table's columns; steepest is the last percent of each.
var slopeClasses = []struct {
	name     string
	steepest float64
}{{"0-3 %", 3}, {"4-6 %", 6}, {"7-12 %", 12}, {"13 % +", math.Inf(1)}}

var (
	inSoil       = agronomy.Input{Name: "soil", Also: []string{"texture", "soil_texture"}, Kind: agronomy.Text, OneOf: soilNames(), Says: "soil texture"}
	inSlopeClass = agronomy.Input{Name: "slope_class", Kind: agronomy.Text, Says: "slope: 0-3 %, 4-6 %, 7-12 % or 13 % +"}
	inSlope      = agronomy.Input{Name: "slope", Unit: "%", Or: []string{"deg"}, Range: agronomy.Between(0, 100), Says: "slope, as a grade or an angle"}
	inTotal      = agronomy.Input{Name: "total_run_time", Also: []string{"run_time"}, Unit: "min", Range: agronomy.AtLeast(0), Says: "run time in all"}
	inIntake     = agronomy.Input{Name: "intake_rate", Unit: "in/h", Range: agronomy.Above(0), Says: "rate the soil takes in"}
	inStorage    = agronomy.Input{Name: "surface_storage", Unit: "in", Range: agronomy.AtLeast(0), Says: "water that may stand on the surface"}
	inCycleRate  = agronomy.Input{Name: "precip_rate", Also: []string{"rate"}, Unit: "in/h", Range: agronomy.Above(0), Says: "rate of the sprinklers"}
)

func soilNames() []string {
	names := make([]string, len(soils))
	for i, s := range soils {
		names[i] = s.name
	}
	return names
}

// Ground is what the soil takes in and what may stand on it.
type Ground struct {
	Intake, Storage agronomy.Result // in/h, in
}

// GroundOf looks up the table by texture and slope class; a class may be written with any dashes and blanks.
func GroundOf(texture, slopeClass string) (Ground, error) {
	s := agronomy.NewSheet("intake and surface storage by texture and slope, from the table", cycleSource)
	name := s.Choose(inSoil, texture)
	class, err := classOf(slopeClass)
	if s.Err() != nil || err != nil {
		s.Refuse(err)
		return Ground{}, s.Err()
	}
	s.Note("slope_class", slopeClasses[class].name)
	for _, row := range soils {
		if row.name == name {
			return Ground{s.Number(row.intake, "in/h"), s.Number(row.storage[class], "in")}, s.Err()
		}
	}
	return Ground{}, fmt.Errorf("no row for %s", name)
}

// SlopeClass is the table's column for a slope given as a grade or an angle.
func SlopeClass(slope agronomy.Quantity) (string, error) {
	v, err := inSlope.Number(slope)
	if err != nil {
		return "", err
	}
	if inSlope.WorkUnit(slope.Unit) == "deg" {
		v = 100 * math.Tan(v*math.Pi/180)
	}
	for _, c := range slopeClasses {
		if v <= c.steepest {
			return c.name, nil
		}
	}
	return "", agronomy.Refuse("slope", slope.String(), "a grade or an angle")
}

var (
	number = regexp.MustCompile(`\d+(\.\d+)?`)
	beyond = regexp.MustCompile(`(?i)^\s*(>[^=]|>$|over\b|above\b|more than\b|steeper than\b)`)
)

// classOf finds a class by its lower number, so that "0-3", "0–3 %", "13+ %" and "over 12 %" are all understood.
func classOf(text string) (int, error) {
	first, err := strconv.ParseFloat(number.FindString(text), 64)
	if beyond.MatchString(text) {
		first = math.Nextafter(first, math.Inf(1))
	}
	for i := len(slopeClasses) - 1; err == nil && i >= 0; i-- {
		if i == 0 || first > slopeClasses[i-1].steepest {
			return i, nil
		}
	}
	names := make([]string, len(slopeClasses))
	for i, c := range slopeClasses {
		names[i] = c.name
	}
	return 0, agronomy.Refuse("slope_class", fmt.Sprintf("%.40q", text), "one of: "+strings.Join(names, ", "))
}

// Cycles is how to water without run-off.
type Cycles struct {
	Limited  agronomy.Result // yes or no: does the rate exceed what the soil takes in
	Longest  agronomy.Result // longest run before run-off, min; without a value when not limited
	Count    agronomy.Result // cycles
	Each     agronomy.Result // min
	Soak     agronomy.Result // least pause between cycles, min
	HasTotal bool
}

// CycleAndSoak splits a run time into equal cycles none of which runs off. A zero-unit total leaves the split out.
func CycleAndSoak(rate, intake, storage, total agronomy.Quantity) (Cycles, error) {
	s := agronomy.NewSheet("longest run = 60 × storage ÷ (rate − intake); cycles = total ÷ longest, rounded up; least soak = 60 × storage ÷ intake; no limit when the rate does not exceed the intake", cycleSource)
	p, i, st := s.Take(inCycleRate, rate), s.Take(inIntake, intake), s.Take(inStorage, storage)
	c := Cycles{HasTotal: total.Unit != ""}
	t := 0.0
	if c.HasTotal {
		t = s.Take(inTotal, total)
	}
	limited := p > i*(1+1e-12)
	if limited && st == 0 {
		s.Refuse(agronomy.Refuse("surface_storage", storage.String(), "above 0 in when the rate exceeds the intake"))
	}
	if s.Err() != nil {
		return Cycles{}, s.Err()
	}
	c.Limited = s.Give(agronomy.OfFlag(limited))
	if !limited {
		c.Count, c.Each, c.Soak = s.Number(1, "count"), s.Number(t, "min"), s.Number(0, "min")
		return c, s.Err()
	}
	longest := s.Step("longest run", 60*st/(p-i), "min", "")
	n := math.Max(1, math.Ceil(t/longest-1e-9))
	c.Longest, c.Soak = s.Number(longest, "min"), s.Number(60*st/i, "min")
	c.Count, c.Each = s.Number(n, "count"), s.Number(t/n, "min")
	return c, s.Err()
}
