package sun

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"swardbook/diagnose/agronomy"
)

type values = agronomy.Values
type results = agronomy.Results

// Formulas are what this package adds to the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{positionEntry(), timesEntry(), directEntry(), dailyEntry(), classEntry()}
}

func one(name string, r agronomy.Result, err error) (results, error) { return results{name: r}, err }

func positionEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "sun_position", Does: "Where the sun stands.", Source: meeus,
		Inputs: []agronomy.Input{inUTC, inLatitude, inLongitude, inHeight, inPressure, inTemp, inDeltaT},
		Outputs: []agronomy.Output{{Name: "elevation_geometric", Also: []string{"elevation"}, Unit: "deg"}, {Name: "elevation_refracted", Also: []string{"elevation_apparent"}, Unit: "deg"}, {Name: "zenith_geometric", Also: []string{"zenith"}, Unit: "deg"}, {Name: "zenith_refracted", Unit: "deg"},
			{Name: "azimuth", Unit: "deg", Says: "from north, clockwise"}, {Name: "hour_angle", Unit: "deg"}, {Name: "declination", Unit: "deg"}, {Name: "equation_of_time", Unit: "min"}, {Name: "julian_day", Unit: "day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"utc"}, May: []string{"delta_t"}, Run: func(v values) (results, error) {
				p, err := SkyOf(v.Text("utc"), v.Q("delta_t"))
				return results{"declination": p.Declination, "equation_of_time": p.Equation, "julian_day": p.JulianDay}, err
			}},
			{Needs: []string{"utc", "latitude", "longitude"}, May: []string{"delta_t", "pressure", "temperature", "elevation"}, Run: func(v values) (results, error) {
				p, err := PositionOf(v.Text("utc"), v.Q("latitude"), v.Q("longitude"), v.Q("delta_t"), v.Q("pressure"), v.Q("temperature"), v.Q("elevation"))
				return results{"elevation_geometric": p.Elevation, "elevation_refracted": p.ElevationSeen, "zenith_geometric": p.Zenith, "zenith_refracted": p.ZenithSeen, "azimuth": p.Azimuth, "hour_angle": p.HourAngle}, err
			}},
		},
	}
}

var clockRemark = regexp.MustCompile(`UTC ?([+\-−]\d{1,2})(?::(\d{2}))?`)

// offsetOf is the local clock's distance from UTC: as given, or as a remark in the date's unit ("local date, UTC-7").
func offsetOf(v values) agronomy.Quantity {
	if v.Has("utc_offset") {
		return v.Q("utc_offset")
	}
	found := clockRemark.FindStringSubmatch(v["date"].Unit)
	if found == nil {
		return agronomy.Q(0, "h")
	}
	sign := 1.0
	if found[1][0] != '+' {
		sign = -1
	}
	h, _ := strconv.ParseFloat(regexp.MustCompile(`\d+`).FindString(found[1]), 64)
	m, _ := strconv.ParseFloat(found[2], 64)
	return agronomy.Q(sign*(h+m/60), "h")
}

func timesEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "sun_times", Does: "When the sun rises and sets on a local date; nothing when it doesn't.", Source: meeus,
		Inputs: []agronomy.Input{inDate, inOffset, inLatitude, inLongitude, inLevel},
		Outputs: []agronomy.Output{{Name: "sunrise", Unit: "h local"}, {Name: "solar_noon", Unit: "h local"}, {Name: "sunset", Unit: "h local"}, {Name: "day_length", Unit: "h"},
			{Name: "state", Unit: "class"}, {Name: "sunrise_utc", Unit: "ISO 8601"}, {Name: "sunset_utc", Unit: "ISO 8601"}},
		Ways: []agronomy.Way{{Needs: []string{"date", "latitude", "longitude"}, May: []string{"utc_offset", "level"}, Run: runTimes}},
	}
}

func runTimes(v values) (results, error) {
	t, err := TimesOf(v.Text("date"), v.Q("latitude"), v.Q("longitude"), offsetOf(v), v.Q("level"))
	if err != nil {
		return nil, err
	}
	out := results{"solar_noon": t.Noon, "day_length": t.Length, "state": t.State}
	for name, event := range map[string]struct {
		clock agronomy.Result
		at    time.Time
	}{"sunrise": {t.Rise, t.Times.Rise}, "sunset": {t.Set, t.Times.Set}} {
		if event.clock.Unit == "" {
			continue
		}
		out[name] = event.clock
		iso := event.clock
		iso.Value = agronomy.OfText(event.at.Round(time.Second).Format(time.RFC3339), "ISO 8601")
		iso.Working.Result = iso.Text
		out[name+"_utc"] = iso
	}
	return out, nil
}

func directEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "direct_sun", Does: "Hours of direct sun on a spot behind houses and trees.", Source: meeus,
		Inputs: []agronomy.Input{inDate, inLatitude, inLongitude, inThings, inTall, inEye, inDistance},
		Outputs: []agronomy.Output{{Name: "direct_sun", Unit: "h"}, {Name: "daylight_geometric", Unit: "h", Says: "over a flat horizon"}, {Name: "blocked", Unit: "h"}, {Name: "morning_sun", Unit: "h"},
			{Name: "afternoon_sun", Unit: "h"}, {Name: "elevation_angle", Unit: "deg"}},
		Ways: []agronomy.Way{
			{Needs: []string{"date", "latitude", "longitude"}, May: []string{"obstructions"}, Run: runDirect},
			{Needs: []string{"obstacle_height", "distance"}, May: []string{"eye_height"}, Run: func(v values) (results, error) {
				a, err := ElevationAngle(v.Q("obstacle_height"), v.Q("eye_height"), v.Q("distance"))
				return one("elevation_angle", a, err)
			}},
		},
	}
}

func runDirect(v values) (results, error) {
	things, err := ReadObstructions(v["obstructions"].Any())
	if err != nil {
		return nil, err
	}
	l, err := LightOf(v.Text("date"), v.Q("latitude"), v.Q("longitude"), things)
	if err != nil {
		return nil, err
	}
	blocked := l.Direct
	blocked.Value = agronomy.Of(l.Shine.Daylight-l.Shine.Direct, "h")
	blocked.Working.Result = blocked.String()
	return results{"direct_sun": l.Direct, "daylight_geometric": l.Daylight, "blocked": blocked, "morning_sun": l.Morning, "afternoon_sun": l.Afternoon}, nil
}

// ReadObstructions reads decoded JSON: a list of objects as the input describes them. Nothing given is no obstruction.
func ReadObstructions(data any) ([]Obstruction, error) {
	if data == nil {
		return nil, nil
	}
	if numbers, ok := data.([]float64); ok && len(numbers) == 0 {
		return nil, nil
	}
	if one, ok := data.(map[string]any); ok {
		data = []any{one}
	}
	list, ok := data.([]any)
	if !ok || len(list) > 1000 {
		return nil, agronomy.Refuse("obstructions", "something else", "a list of at most 1000 objects with azimuth_from, azimuth_to and elevation")
	}
	out := make([]Obstruction, len(list))
	for i, item := range list {
		o, err := readObstruction(item)
		if err != nil {
			return nil, agronomy.RefuseSay("obstructions", fmt.Sprint(item), "objects with azimuth_from, azimuth_to and elevation", fmt.Sprintf("Obstruction %d %v.", i+1, err))
		}
		out[i] = o
	}
	return out, nil
}

func readObstruction(item any) (o Obstruction, err error) {
	fields, ok := item.(map[string]any)
	if !ok {
		return o, fmt.Errorf("must be an object with azimuth_from, azimuth_to and elevation")
	}
	number := func(name string) (float64, bool) { v, ok := fields[name].(float64); return v, ok }
	from, okFrom := number("azimuth_from")
	to, okTo := number("azimuth_to")
	if !okFrom || !okTo {
		return o, fmt.Errorf("needs azimuth_from and azimuth_to, from 0 to 360 degrees")
	}
	o.From, o.To = from, to
	high, okHigh := number("elevation")
	tall, okTall := number("height")
	away, okAway := number("distance")
	switch {
	case okHigh:
		o.Elevation = high
	case okTall && okAway && away > 0:
		eye, _ := number("eye_height")
		o.Elevation = max(0, ElevationOf(tall, eye, away))
	default:
		return o, fmt.Errorf("needs elevation, from 0 to 90 degrees, or height and distance above 0")
	}
	if o.LeafFrom, err = monthDay(fields["leaf_from"]); err == nil {
		o.LeafTo, err = monthDay(fields["leaf_to"])
	}
	return o, err
}

// monthDay reads "04-15" as 415; nothing is 0.
func monthDay(v any) (int, error) {
	if v == nil {
		return 0, nil
	}
	text, _ := v.(string)
	t, err := time.Parse("01-02", text)
	if err != nil {
		return 0, fmt.Errorf("has leaf_from or leaf_to %q, which must be a month and day like 04-15", text)
	}
	return int(t.Month())*100 + t.Day(), nil
}

func dailyEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "daily_light", Does: "Light of a day that plants can use.", Source: lightSource, Inputs: []agronomy.Input{inFlux, inHours, inRs, inPAR, inMol},
		Outputs: []agronomy.Output{{Name: "dli", Unit: "mol/m2/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"par_flux", "hours"}, Run: func(v values) (results, error) {
				d, err := LightFromFlux(v.Q("par_flux"), v.Q("hours"))
				return one("dli", d, err)
			}},
			{Needs: []string{"rs"}, May: []string{"par_fraction", "mol_per_MJ"}, Run: func(v values) (results, error) {
				d, err := LightFromRadiation(v.Q("rs"), v.Q("par_fraction", agronomy.Q(0.45, "fraction")), v.Q("mol_per_MJ", agronomy.Q(4.57, "mol/MJ")))
				return one("dli", d, err)
			}},
		},
	}
}

func classEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "light_class", Does: "Whether light is enough for grass.", Source: needsSource + "; " + hoursSource,
		Inputs:  []agronomy.Input{inDLI, inTurf, inSpecies, inDirect, inMinimum, inVigorous},
		Outputs: []agronomy.Output{{Name: "adequate", Unit: "per value"}, {Name: "needed", Unit: "mol/m2/day"}, {Name: "species_class", Unit: "per value"}, {Name: "class", Unit: "per value"}},
		Ways: []agronomy.Way{
			{Needs: []string{"dli", "turf"}, Run: func(v values) (results, error) {
				r, err := Adequate(v.List("dli"), v.Text("turf"))
				return one("adequate", bare(r, v["dli"]), err)
			}},
			{Needs: []string{"turf"}, Run: func(v values) (results, error) {
				need, err := NeedOf(v.Text("turf"))
				s := agronomy.NewSheet("need of a kind of turf, from the table", needsSource)
				s.Note("turf", v.Text("turf"))
				return one("needed", s.Number(need.Value, "mol/m2/day"), err)
			}},
			{Needs: []string{"dli", "species"}, Run: func(v values) (results, error) {
				r, err := AgainstField(v.List("dli"), v.Text("species"))
				return one("species_class", bare(r, v["dli"]), err)
			}},
			{Needs: []string{"direct_sun"}, May: []string{"minimum", "vigorous"}, Run: func(v values) (results, error) {
				r, err := ClassOf(v.List("direct_sun"), v.Q("minimum", agronomy.Q(4, "h")), v.Q("vigorous", agronomy.Q(6, "h")))
				return one("class", bare(r, v["direct_sun"]), err)
			}},
		},
	}
}

// bare gives a single word when a single number was asked about.
func bare(r agronomy.Result, asked agronomy.Value) agronomy.Result {
	if asked.Kind == agronomy.Number && len(r.Texts) == 1 {
		r.Value = agronomy.OfText(r.Texts[0], r.Unit)
	}
	return r
}
