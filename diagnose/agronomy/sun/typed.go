package sun

import (
	"fmt"
	"math"
	"time"

	"swardbook/diagnose/agronomy"
)

var (
	inUTC       = agronomy.Input{Name: "utc", Also: []string{"time", "instant", "local_time"}, Kind: agronomy.Text, Says: "instant as 2026-06-21T18:30:00Z"}
	inDate      = agronomy.Input{Name: "date", Kind: agronomy.Text, Says: "local date as 2026-06-21"}
	inOffset    = agronomy.Input{Name: "utc_offset", Also: []string{"offset", "timezone_offset"}, Unit: "h", Range: agronomy.Between(-14, 14), Says: "local clock less UTC"}
	inLatitude  = agronomy.Input{Name: "latitude", Also: []string{"lat"}, Unit: "deg N", Range: agronomy.Between(-90, 90), Says: "latitude, north positive"}
	inLongitude = agronomy.Input{Name: "longitude", Also: []string{"lon", "lng"}, Unit: "deg E", Range: agronomy.Between(-180, 180), Says: "longitude, east positive"}
	inHeight    = agronomy.Input{Name: "elevation", Also: []string{"altitude"}, Unit: "m", Range: agronomy.Between(-450, 9000), Says: "height above the sea"}
	inPressure  = agronomy.Input{Name: "pressure", Unit: "mbar", Range: agronomy.Between(300, 1100), Says: "air pressure at the place"}
	inTemp      = agronomy.Input{Name: "temperature", Unit: "C", Range: agronomy.Between(-60, 60), Says: "temperature of the air"}
	inDeltaT    = agronomy.Input{Name: "delta_t", Unit: "s", Range: agronomy.Between(-100, 500), Says: "terrestrial less universal time"}
	inLevel     = agronomy.Input{Name: "level", Also: []string{"horizon"}, Unit: "deg", Range: agronomy.Between(-18, 60), Says: "elevation of the sun's centre that counts as rising and setting (-0.833)"}
	inThings    = agronomy.Input{Name: "obstructions", Kind: agronomy.Data, Unit: "deg", Says: "list of {azimuth_from, azimuth_to, elevation} in degrees; instead of elevation height, distance and eye_height in one unit; for a crown that sheds leaf_from and leaf_to as 04-15"}
	inTall      = agronomy.Input{Name: "obstacle_height", Also: []string{"roof_height", "tree_height", "height"}, Unit: "m", Range: agronomy.Above(0), Says: "height of what stands before the sun"}
	inEye       = agronomy.Input{Name: "eye_height", Unit: "m", Range: agronomy.AtLeast(0), Says: "height of the eye that sights it"}
	inDistance  = agronomy.Input{Name: "distance", Unit: "m", Range: agronomy.Above(0), Says: "how far it stands"}
	inFlux      = agronomy.Input{Name: "par_flux", Also: []string{"ppfd"}, Unit: "umol/m2/s", Range: agronomy.Between(0, 3000), Says: "mean flux of light plants use"}
	inHours     = agronomy.Input{Name: "hours", Unit: "h", Or: []string{"h/day"}, Range: agronomy.Between(0, 24), Says: "how long"}
	inRs        = agronomy.Input{Name: "rs", Also: []string{"solar_radiation"}, Unit: "MJ/m2/day", Range: agronomy.Between(0, 50), Says: "solar radiation of the day"}
	inPAR       = agronomy.Input{Name: "par_fraction", Unit: "fraction", Range: agronomy.AboveTo(0, 1), Says: "share of it plants use (0.45)"}
	inMol       = agronomy.Input{Name: "mol_per_MJ", Unit: "mol/MJ", Range: agronomy.AboveTo(0, 10), Says: "light in a megajoule of it (4.57)"}
)

// PlaceOf reads a place down on a sheet.
func placeOf(s *agronomy.Sheet, latitude, longitude agronomy.Quantity) Place {
	return Place{s.Take(inLatitude, latitude), s.Take(inLongitude, longitude)}
}

func instant(s *agronomy.Sheet, text string) time.Time {
	for _, form := range []string{time.RFC3339Nano, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02"} {
		if t, err := time.Parse(form, text); err == nil && t.Year() > 1000 && t.Year() < 3000 {
			s.Note("utc", t.UTC().Format(time.RFC3339))
			return t.UTC()
		}
	}
	s.Refuse(agronomy.Refuse("utc", fmt.Sprintf("%.40q", text), "an instant like 2026-06-21T18:30:00Z, between the years 1000 and 3000"))
	return time.Time{}
}

func date(s *agronomy.Sheet, text string) time.Time {
	t, err := time.Parse("2006-01-02", text)
	if err != nil || t.Year() < 1000 || t.Year() > 3000 {
		s.Refuse(agronomy.Refuse("date", fmt.Sprintf("%.40q", text), "a date like 2026-06-21, between the years 1000 and 3000"))
	}
	s.Note("date", text)
	return t
}

// Standing is a position with its working, in degrees and minutes.
type Standing struct {
	Elevation, ElevationSeen, Zenith, ZenithSeen, Azimuth, HourAngle agronomy.Result // Seen: with the air's bending
	Declination, Equation, JulianDay                                 agronomy.Result
}

const positionFormula = "declination and right ascension from the sun's apparent longitude; sin(elevation) = sin φ sin δ + cos φ cos δ cos h; azimuth from north, clockwise"

// SkyOf is what holds for every place at an instant: declination, equation of time and Julian day.
func SkyOf(utc string, deltaT agronomy.Quantity) (Standing, error) {
	s := agronomy.NewSheet(positionFormula, meeus)
	t := instant(s, utc)
	dt := DefaultDeltaT
	if deltaT.Unit != "" {
		dt = s.Take(inDeltaT, deltaT)
	}
	k := skyAt(JulianDay(t) + dt/86400)
	return Standing{Declination: s.Number(k.declination, "deg"), Equation: s.Number(k.equation, "min"), JulianDay: s.Number(JulianDay(t), "day")}, s.Err()
}

// PositionOf is where the sun stands. pressure and temperature, 1010 mbar and 10 °C when not given, bend its light; the
// pressure follows from a height when only that is given.
func PositionOf(utc string, latitude, longitude, deltaT, pressure, temperature, height agronomy.Quantity) (Standing, error) {
	out, err := SkyOf(utc, deltaT)
	if err != nil {
		return out, err
	}
	s := agronomy.NewSheet(positionFormula, meeus)
	t, p := instant(s, utc), placeOf(s, latitude, longitude)
	dt, hPa, warm := DefaultDeltaT, 1010.0, 10.0
	if deltaT.Unit != "" {
		dt = s.Take(inDeltaT, deltaT)
	}
	if height.Unit != "" {
		hPa = 1010 * math.Pow(1-0.0065*s.Take(inHeight, height)/288.15, 5.255)
	}
	if pressure.Unit != "" {
		hPa = s.Take(inPressure, pressure)
	}
	if temperature.Unit != "" {
		warm = s.Take(inTemp, temperature)
	}
	pos := at(JulianDay(t), dt, p)
	bend := s.Step("refraction", Refraction(pos.Elevation, hPa, warm), "deg", "")
	s.Step("hour angle", pos.HourAngle, "deg", "")
	out.Elevation, out.ElevationSeen = s.Number(pos.Elevation, "deg"), s.Number(pos.Elevation+bend, "deg")
	out.Zenith, out.ZenithSeen = s.Number(90-pos.Elevation, "deg"), s.Number(90-pos.Elevation-bend, "deg")
	out.Azimuth, out.HourAngle = s.Number(pos.Azimuth, "deg"), s.Number(pos.HourAngle, "deg")
	return out, s.Err()
}

// DayTimes are a day's events with their working, in hours after local midnight; Rise and Set are without a unit when the
// sun doesn't cross the level.
type DayTimes struct {
	Rise, Noon, Set, Length agronomy.Result
	State                   agronomy.Result // rises and sets, up all day, down all day
	Times                   Times
}

// TimesOf are the events of a local date whose clock is offset from UTC. level without a unit is -0.833 degrees: the sun's
// upper edge, seen through the air.
func TimesOf(day string, latitude, longitude, offset, level agronomy.Quantity) (DayTimes, error) {
	s := agronomy.NewSheet("cos h0 = (sin(level) − sin φ sin δ) ÷ (cos φ cos δ), with δ and the equation of time at the event", meeus)
	d, p, off := date(s, day), placeOf(s, latitude, longitude), s.Take(inOffset, offset)
	at := Rising
	if level.Unit != "" {
		at = s.Take(inLevel, level)
	}
	if s.Err() != nil {
		return DayTimes{}, s.Err()
	}
	s.Step("level", at, "deg", "of the sun's centre")
	t := On(d.Year(), d.Month(), d.Day(), hours(off), p, at)
	clock := func(at time.Time) agronomy.Result {
		return s.Number(at.Add(hours(off)).Sub(d).Hours(), "h local")
	}
	out := DayTimes{Times: t, Noon: clock(t.Noon), State: s.Give(agronomy.OfText(t.state(), "class"))}
	if !t.Rise.IsZero() {
		out.Rise = clock(t.Rise)
	}
	if !t.Set.IsZero() {
		out.Set = clock(t.Set)
	}
	out.Length = s.Number(t.length(), "h")
	return out, s.Err()
}

func (t Times) state() string {
	switch {
	case t.Up:
		return "up all day"
	case t.Down:
		return "down all day"
	}
	return "rises and sets"
}

// length is how long the sun is above the level, in hours.
func (t Times) length() float64 {
	switch {
	case t.Up:
		return 24
	case t.Rise.IsZero() || t.Set.IsZero():
		return 0
	}
	return t.Set.Sub(t.Rise).Hours()
}

// Light is a day's direct sun with its working, in hours.
type Light struct {
	Direct, Daylight, Morning, Afternoon agronomy.Result
	Shine                                Shine
}

// LightOf sums the direct sun behind obstructions.
func LightOf(day string, latitude, longitude agronomy.Quantity, obstructions []Obstruction) (Light, error) {
	s := agronomy.NewSheet("time the sun's centre is above 0° and at or above every obstruction in its azimuth, in steps of half a minute over the solar day", meeus+"; summed over the day")
	d, p := date(s, day), placeOf(s, latitude, longitude)
	for _, o := range obstructions {
		s.Note("obstruction", fmt.Sprintf("%s° to %s°, up to %s°", agronomy.Figure(o.From), agronomy.Figure(o.To), agronomy.Figure(o.Elevation)))
		if !agronomy.Between(0, 360).Holds(o.From) || !agronomy.Between(0, 360).Holds(o.To) || !agronomy.Between(0, 90).Holds(o.Elevation) {
			s.Refuse(agronomy.Refuse("obstructions", fmt.Sprintf("%v° to %v° at %v°", o.From, o.To, o.Elevation), "azimuths from 0 to 360 degrees and elevations from 0 to 90"))
		}
	}
	if s.Err() != nil {
		return Light{}, s.Err()
	}
	sh := DirectSun(d.Year(), d.Month(), d.Day(), p, obstructions)
	for _, span := range sh.Spans {
		s.Note("sun", span.From.Format("15:04")+" to "+span.To.Format("15:04")+" UTC")
	}
	s.Remark("Show it to 0.1 h; the slope of the ground is not taken into account.")
	return Light{s.Number(sh.Direct, "h"), s.Number(sh.Daylight, "h"), s.Number(sh.Morning, "h"), s.Number(sh.Direct-sh.Morning, "h"), sh}, s.Err()
}

// ElevationAngle is how high a roof or a crown stands before the eye.
func ElevationAngle(height, eye, distance agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("elevation = arctan((height − eye height) ÷ distance)", "plane geometry")
	h, e, d := s.Take(inTall, height), 0.0, s.Take(inDistance, distance)
	if eye.Unit != "" {
		e = s.Take(inEye, eye)
	}
	return s.Number(ElevationOf(h, e, d), "deg"), s.Err()
}
