package sun

import (
	"math"
	"time"
)

// Obstruction is a house, a fence or a crown as seen from the spot: between two azimuths (from north, clockwise; from above
// to runs through north) it hides the sun below an elevation, all in degrees.
type Obstruction struct {
	From, To, Elevation float64
	// A crown that loses its leaves hides the sun from LeafFrom to LeafTo only; as month × 100 + day, both 0 for all year.
	LeafFrom, LeafTo int
}

// Hides says whether the obstruction stands before the sun on a day (month × 100 + day).
func (o Obstruction) Hides(p Position, day int) bool {
	if p.Elevation >= o.Elevation || !o.inLeaf(day) {
		return false
	}
	if o.From <= o.To {
		return p.Azimuth >= o.From && p.Azimuth <= o.To
	}
	return p.Azimuth >= o.From || p.Azimuth <= o.To
}

func (o Obstruction) inLeaf(day int) bool {
	switch {
	case o.LeafFrom == 0 || o.LeafTo == 0:
		return true
	case o.LeafFrom <= o.LeafTo:
		return day >= o.LeafFrom && day <= o.LeafTo
	}
	return day >= o.LeafFrom || day <= o.LeafTo
}

// Span is a stretch of direct sun.
type Span struct{ From, To time.Time }

// Shine is a day's direct sun on a spot.
type Shine struct {
	Direct, Daylight float64 // hours the sun's centre is unhidden, and above a flat horizon
	Morning          float64 // hours of direct sun before noon
	Spans            []Span  // in UTC
}

// step is the width of the sum.
const step = 30 * time.Second

// DirectSun sums, in steps of half a minute over the solar day, the time the sun's centre is above 0 degrees and not
// hidden. The ground is taken as level.
func DirectSun(year int, month time.Month, day int, p Place, obstructions []Obstruction) Shine {
	offset := hours(math.Round(p.Longitude / 15))
	noon := noonOf(year, month, day, offset, p)
	n := int(24 * time.Hour / step)
	start := noon.Add(-12 * time.Hour)
	var s Shine
	shone := false
	code := int(month)*100 + day
	jd := JulianDay(start)
	first, last := skyAt(jd+DefaultDeltaT/86400), skyAt(jd+1+DefaultDeltaT/86400)
	for i := range n {
		from := start.Add(time.Duration(i) * step)
		share := (float64(i) + 0.5) / float64(n)
		pos := first.between(last, share).from(math.Mod(jd-0.5+share, 1)*1440, p)
		up := pos.Elevation > 0
		lit := up && !hidden(pos, obstructions, code)
		if up {
			s.Daylight += step.Hours()
		}
		if lit {
			s.Direct += step.Hours()
			if i < n/2 {
				s.Morning += step.Hours()
			}
			if !shone {
				s.Spans = append(s.Spans, Span{From: from})
			}
			s.Spans[len(s.Spans)-1].To = from.Add(step)
		}
		shone = lit
	}
	return s
}

func hidden(p Position, obstructions []Obstruction, day int) bool {
	for _, o := range obstructions {
		if o.Hides(p, day) {
			return true
		}
	}
	return false
}

// ElevationOf is how high something stands before the eye, in degrees, from heights and distance in one unit.
func ElevationOf(height, eye, distance float64) float64 { return deg(math.Atan2(height-eye, distance)) }
