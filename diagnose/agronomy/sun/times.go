package sun

import (
	"math"
	"time"
)

// Rising is the elevation of the sun's centre when its upper edge is seen to rise or set.
const Rising = -0.833

// Times are a day's events. Rise and Set are zero when the sun doesn't cross the level that day; Up says which side it
// stays on then.
type Times struct {
	Rise, Noon, Set time.Time
	Up              bool // above the level all day
	Down            bool // below it all day
}

// On gives the events of a local date at a level of elevation. offset is the local clock's distance from UTC; of the noons
// near that date it is the one within the local day.
func On(year int, month time.Month, day int, offset time.Duration, p Place, level float64) Times {
	noon := noonOf(year, month, day, offset, p)
	t := Times{Noon: noon}
	before, upB, downB := cross(noon, p, level, -1)
	after, upA, downA := cross(noon, p, level, +1)
	t.Up, t.Down = upB && upA, downB && downA
	if !upB && !downB {
		t.Rise = before
	}
	if !upA && !downA {
		t.Set = after
	}
	return t
}

func noonOf(year int, month time.Month, day int, offset time.Duration, p Place) time.Time {
	midday := time.Date(year, month, day, 12, 0, 0, 0, time.UTC)
	lag := hours(p.Longitude/15) - offset
	days := math.Round(lag.Hours() / 24) // places whose clock is on the other side of the date line
	noon := midday.Add(-hours(p.Longitude / 15)).Add(time.Duration(days) * 24 * time.Hour)
	base := noon
	for range 3 {
		noon = base.Add(-minutes(skyAt(JulianDay(noon) + DefaultDeltaT/86400).equation))
	}
	return noon
}

// cross looks for the moment before or after noon when the sun crosses the level.
func cross(noon time.Time, p Place, level float64, side float64) (at time.Time, up, down bool) {
	at = noon
	for range 6 {
		s := skyAt(JulianDay(at) + DefaultDeltaT/86400)
		d, lat := rad(s.declination), rad(p.Latitude)
		x := (math.Sin(rad(level)) - math.Sin(lat)*math.Sin(d)) / (math.Cos(lat) * math.Cos(d))
		if x <= -1 || x >= 1 || math.IsNaN(x) {
			return time.Time{}, x <= -1, !(x <= -1)
		}
		noonThen := noon.Add(minutes(skyAt(JulianDay(noon)+DefaultDeltaT/86400).equation - s.equation))
		at = noonThen.Add(hours(side * deg(math.Acos(x)) / 15))
	}
	return at, false, false
}

func hours(h float64) time.Duration   { return time.Duration(h * float64(time.Hour)) }
func minutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }
