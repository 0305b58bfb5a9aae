package compute_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"testing"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/area"
	"swardbook/diagnose/agronomy/irrigation"
	"swardbook/diagnose/agronomy/sampling"
	"swardbook/diagnose/agronomy/soilwater"
	"swardbook/diagnose/agronomy/sun"
)

var update = flag.Bool("update", false, "write testdata/vectors/agronomy.json anew")

const vectorsPath = "../../../testdata/vectors/agronomy.json"

// vectors are what the phone's own cans.js, sun.js and tape.js must come to as well. The questions are written here by
// hand, the answers by this package's formulas.
type vectors struct {
	Cans    []cansVector    `json:"cans"`
	Rates   []rateVector    `json:"rates"`
	Ground  []groundVector  `json:"ground"`
	Cycles  []cycleVector   `json:"cycles"`
	Sun     []sunVector     `json:"sun"`
	Angles  []angleVector   `json:"angles"`
	Tape    []tapeVector    `json:"tape"`
	Less    []lessVector    `json:"less"`
	Wetting []wettingVector `json:"wetting"`
	Offsets []offsetsVector `json:"offsets"`
	Walks   []walkVector    `json:"walks"`
	Points  []pointsVector  `json:"points"`
}

type offsetsVector struct {
	Interval float64   `json:"interval"`
	List     []float64 `json:"list"`
	Area     float64   `json:"area"`
}

type walkVector struct {
	Points [][2]float64 `json:"points"`
	Sigma  float64      `json:"sigma"`
	Area   float64      `json:"area"` // ft2
	SD     float64      `json:"sd"`
}

type pointsVector struct {
	Hits float64 `json:"hits"`
	All  float64 `json:"all"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

type cansVector struct {
	Catch        []float64 `json:"catch"`
	Mean         float64   `json:"mean"`
	LowCount     float64   `json:"low_count"`
	LowMean      float64   `json:"low_mean"`
	Quarter      float64   `json:"quarter"`
	Half         float64   `json:"half"`
	Christiansen float64   `json:"christiansen"`
	Multiplier   float64   `json:"multiplier"` // 0: none, the drier half caught nothing
	RunTime      float64   `json:"run_time"`   // of 0.5 in at 0.8 in/h; 0 without a multiplier
}

type rateVector struct {
	DepthMM, VolumeML, AcrossCM, Minutes float64
	ByDepth, ByVolume                    float64 // in/h
}

type groundVector struct {
	Soil, Slope     string
	Intake, Storage float64
}

type cycleVector struct {
	Rate    float64 `json:"rate"`
	Soil    string  `json:"soil"`
	Slope   int     `json:"slope"`
	Total   float64 `json:"total"`
	Limited bool    `json:"limited"`
	Count   float64 `json:"count"`
	Each    float64 `json:"each"`
	Soak    float64 `json:"soak"`
}

type sunVector struct {
	Date      string     `json:"date"`
	Latitude  float64    `json:"latitude"`
	Longitude float64    `json:"longitude"`
	Things    []sunThing `json:"things"`
	Direct    float64    `json:"direct"`
	Daylight  float64    `json:"daylight"`
	Morning   float64    `json:"morning"`
}

type sunThing struct {
	From      float64 `json:"from"`
	To        float64 `json:"to"`
	Elevation float64 `json:"elevation"`
	LeafFrom  int     `json:"leafFrom"`
	LeafTo    int     `json:"leafTo"`
}

type angleVector struct{ Height, Eye, Distance, Elevation float64 }

type tapeVector struct {
	Shape   string    `json:"shape"`
	Lengths []float64 `json:"lengths"`
	Area    float64   `json:"area"`
	Closes  bool      `json:"closes"`
}

type wettingVector struct {
	Soil                string
	Low, High           float64 // in/ft
	Water, Dried, Depth float64 // of soil that holds Low
}

type lessVector struct {
	Area  float64   `json:"area"`
	Minus []float64 `json:"minus"`
	Left  float64   `json:"left"`
	Fits  bool      `json:"fits"`
}

func TestVectorsOfThePhone(t *testing.T) {
	v := vectors{Cans: canVectors(t), Rates: rateVectors(t), Ground: groundVectors(t), Cycles: cycleVectors(t), Sun: sunVectors(t), Angles: angleVectors(), Tape: tapeVectors(t), Less: lessVectors(), Wetting: wettingVectors(t),
		Offsets: offsetsVectors(t), Walks: walkVectors(t), Points: pointsVectors(t)}
	made, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	made = append(made, '\n')
	if *update {
		if err := os.WriteFile(vectorsPath, made, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(vectorsPath)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(kept, made) {
		t.Error("testdata/vectors/agronomy.json is not what the formulas say; look at the difference, then write it with -update")
	}
}

// must takes the number of a result that has to be there.
func must(t *testing.T) func(agronomy.Result, error) float64 {
	return func(r agronomy.Result, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return r.Number
	}
}

func canVectors(t *testing.T) []cansVector {
	var out []cansVector
	for _, catch := range [][]float64{
		{21, 25, 31, 28, 19, 24, 30, 27, 15, 22, 26, 23, 18, 20, 29, 33},
		{10}, {10, 0}, {0, 0, 0, 12}, {5, 6, 7, 8, 9, 10}, {0.25, 0.5, 0.375, 0.5, 0.25},
		{7, 7, 7, 7}, {12, 3, 9, 14, 2, 8, 11, 5, 13, 4, 6, 10, 1, 15, 7, 16, 9, 8, 12, 3, 5, 11, 14, 2},
	} {
		a, err := irrigation.AuditCans(agronomy.Qs("mL", catch...))
		if err != nil {
			t.Fatal(err)
		}
		c := cansVector{catch, a.Mean.Number, a.LowCount.Number, a.LowMean.Number, a.DULQ.Number, a.DULH.Number, a.CU.Number, a.Multiplier.Number, 0}
		if c.Multiplier > 0 {
			c.RunTime = must(t)(irrigation.UpperRunTime(agronomy.Q(0.5, "in"), agronomy.Q(0.8, "in/h"), agronomy.Q(c.Multiplier, "ratio")))
		}
		out = append(out, c)
	}
	return out
}

func rateVectors(t *testing.T) []rateVector {
	var out []rateVector
	for _, r := range []rateVector{{DepthMM: 8, VolumeML: 25, AcrossCM: 7.5, Minutes: 15}, {DepthMM: 3.2, VolumeML: 140, AcrossCM: 10, Minutes: 20}, {DepthMM: 12.7, VolumeML: 55.5, AcrossCM: 8.4, Minutes: 30}} {
		time := agronomy.Q(r.Minutes, "min")
		throat, err := irrigation.MouthOf(agronomy.Q(r.AcrossCM, "cm"))
		if err != nil {
			t.Fatal(err)
		}
		inches := func(res agronomy.Result, err error) float64 {
			if err != nil {
				t.Fatal(err)
			}
			return agronomy.MustConvert(res.Number, res.Unit, "in/h")
		}
		r.ByDepth = inches(irrigation.NetRate(agronomy.Q(r.DepthMM, "mm"), agronomy.Quantity{}, time))
		r.ByVolume = inches(irrigation.NetRate(agronomy.Q(r.VolumeML, "mL"), throat, time))
		out = append(out, r)
	}
	return out
}

var (
	soils  = []string{"clay", "silty clay", "clay loam", "loam", "sandy loam", "loamy sand", "sand"}
	slopes = []string{"0-3 %", "4-6 %", "7-12 %", "13 % +"}
)

func groundVectors(t *testing.T) []groundVector {
	var out []groundVector
	for _, soil := range soils {
		for _, slope := range slopes {
			g, err := irrigation.GroundOf(soil, slope)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, groundVector{soil, slope, g.Intake.Number, g.Storage.Number})
		}
	}
	return out
}

func cycleVectors(t *testing.T) []cycleVector {
	var out []cycleVector
	for i, rate := range []float64{0.08, 0.35, 0.5, 1.4, 1.75, 2.2} {
		for _, c := range []cycleVector{{Soil: soils[i], Slope: i % 4, Total: 34}, {Soil: "clay", Slope: 3, Total: 60}, {Soil: "sand", Slope: 0, Total: 0}} {
			g, err := irrigation.GroundOf(c.Soil, slopes[c.Slope])
			if err != nil {
				t.Fatal(err)
			}
			r, err := irrigation.CycleAndSoak(agronomy.Q(rate, "in/h"), g.Intake.Quantity(), g.Storage.Quantity(), agronomy.Q(c.Total, "min"))
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, cycleVector{rate, c.Soil, c.Slope, c.Total, r.Limited.Yes, r.Count.Number, r.Each.Number, r.Soak.Number})
		}
	}
	return out
}

func sunVectors(t *testing.T) []sunVector {
	house := sunThing{From: 146.25, To: 213.75, Elevation: 35}
	east := sunThing{From: 56.25, To: 123.75, Elevation: 22}
	maple := sunThing{From: 213.75, To: 281.25, Elevation: 48, LeafFrom: 415, LeafTo: 1105}
	north := sunThing{From: 326.25, To: 33.75, Elevation: 60}
	var out []sunVector
	for _, date := range []string{"2026-01-15", "2026-03-20", "2026-06-21", "2026-08-27", "2026-11-04", "2026-12-21"} {
		for _, v := range []sunVector{
			{Latitude: 40.7, Longitude: -74, Things: []sunThing{}},
			{Latitude: 40.7, Longitude: -74, Things: []sunThing{house, east, maple}},
			{Latitude: 47.6, Longitude: -122.3, Things: []sunThing{house, maple, north}},
			{Latitude: 28.5, Longitude: -81.4, Things: []sunThing{{From: 0, To: 360, Elevation: 20}}},
			{Latitude: 69.6, Longitude: 18.9, Things: []sunThing{north}},
		} {
			day, err := time.Parse(time.DateOnly, date)
			if err != nil {
				t.Fatal(err)
			}
			var things []sun.Obstruction
			for _, o := range v.Things {
				things = append(things, sun.Obstruction{From: o.From, To: o.To, Elevation: o.Elevation, LeafFrom: o.LeafFrom, LeafTo: o.LeafTo})
			}
			s := sun.DirectSun(day.Year(), day.Month(), day.Day(), sun.Place{Latitude: v.Latitude, Longitude: v.Longitude}, things)
			v.Date, v.Direct, v.Daylight, v.Morning = date, round(s.Direct), round(s.Daylight), round(s.Morning)
			out = append(out, v)
		}
	}
	return out
}

// round drops what adding half minutes leaves behind the twelfth digit.
func round(v float64) float64 { return math.Round(v*1e9) / 1e9 }

func angleVectors() []angleVector {
	out := []angleVector{{Height: 20, Eye: 5, Distance: 30}, {Height: 60, Eye: 5.5, Distance: 25}, {Height: 4, Eye: 5, Distance: 10}}
	for i, a := range out {
		out[i].Elevation = sun.ElevationOf(a.Height, a.Eye, a.Distance)
	}
	return out
}

func tapeVectors(t *testing.T) []tapeVector {
	ft := func(v float64) agronomy.Quantity { return agronomy.Q(v, "ft") }
	var out []tapeVector
	add := func(shape string, lengths []float64, r agronomy.Result, err error) {
		out = append(out, tapeVector{shape, lengths, r.Number, err == nil})
	}
	for _, l := range [][]float64{{40, 25.5}, {0.5, 12}} {
		r, err := area.Rectangle(ft(l[0]), ft(l[1]))
		add("rectangle", l, r, err)
	}
	for _, l := range [][]float64{{30, 40, 50}, {12.5, 17, 9}, {10, 4, 5}, {10, 5, 5}} {
		r, err := area.Triangle(agronomy.Qs("ft", l...))
		add("triangle", l, r, err)
	}
	for _, l := range [][]float64{{30, 42, 18}, {0, 20, 10}} {
		r, err := area.Trapezoid(ft(l[0]), ft(l[1]), ft(l[2]))
		add("trapezoid", l, r, err)
	}
	for _, l := range [][]float64{{14}, {3.25}} {
		r, err := area.Circle(ft(l[0]))
		add("circle", l, r, err)
	}
	return out
}

func offsetsVectors(t *testing.T) []offsetsVector {
	out := []offsetsVector{{Interval: 10, List: []float64{0, 12, 15.5, 9, 0}}, {Interval: 5.5, List: []float64{8, 8}}}
	for i, o := range out {
		r, err := area.ByOffsets(agronomy.Qs("ft", o.List...), agronomy.Q(o.Interval, "ft"))
		if err != nil {
			t.Fatal(err)
		}
		out[i].Area = r.Number
	}
	return out
}

func walkVectors(t *testing.T) []walkVector {
	out := []walkVector{
		{Points: [][2]float64{{40.7, -74}, {40.7003, -74}, {40.7003, -73.9996}, {40.7, -73.9996}}, Sigma: 2},
		{Points: [][2]float64{{61.2, 24.5}, {61.2004, 24.5001}, {61.2003, 24.5009}, {61.20015, 24.5004}, {61.1999, 24.5007}}, Sigma: 1.5},
		{Points: [][2]float64{{-33.9, 151.2}, {-33.9001, 151.2}, {-33.90005, 151.2002}}, Sigma: 3},
	}
	for i, w := range out {
		var ring []area.Point
		for _, p := range w.Points {
			ring = append(ring, area.Point{Lat: p[0], Lon: p[1]})
		}
		sure, err := area.OfPhone(ring, agronomy.Q(w.Sigma, "m"))
		if err != nil {
			t.Fatal(err)
		}
		out[i].Area, out[i].SD = agronomy.MustConvert(sure.Area.Number, sure.Area.Unit, "ft2"), agronomy.MustConvert(sure.SD.Number, sure.SD.Unit, "ft2")
	}
	return out
}

func pointsVectors(t *testing.T) []pointsVector {
	out := []pointsVector{{Hits: 3, All: 4}, {Hits: 0, All: 50}, {Hits: 50, All: 50}, {Hits: 41, All: 120}}
	for i, p := range out {
		in, err := sampling.Cover(agronomy.Q(p.Hits, "count"), agronomy.Q(p.All, "count"), agronomy.Q(0.95, "fraction"))
		if err != nil {
			t.Fatal(err)
		}
		out[i].Low, out[i].High = in.Lower.Number, in.Upper.Number
	}
	return out
}

func lessVectors() []lessVector {
	out := []lessVector{{Area: 1200, Minus: []float64{80, 120.5}}, {Area: 100, Minus: []float64{60, 40}}, {Area: 100, Minus: []float64{60, 41}}}
	for i, l := range out {
		r, err := area.Less(agronomy.Q(l.Area, "ft2"), agronomy.Qs("ft2", l.Minus...))
		out[i].Left, out[i].Fits = r.Number, err == nil
	}
	return out
}

func wettingVectors(t *testing.T) []wettingVector {
	var out []wettingVector
	for i, soil := range []string{"sand", "loamy sand", "sandy loam", "loam", "silt loam", "clay loam", "clay"} {
		a, err := soilwater.AvailableWater(soil, "California")
		if err != nil {
			t.Fatal(err)
		}
		v := wettingVector{Soil: soil, Low: a.Low.Number, High: a.High.Number, Water: 0.25 + 0.3*float64(i), Dried: []float64{0.25, 0.5, 1}[i%3]}
		v.Depth = must(t)(soilwater.WettingDepth(agronomy.Q(v.Water, "in"), a.Low.Quantity(), agronomy.Q(v.Dried, "fraction")))
		out = append(out, v)
	}
	return out
}
