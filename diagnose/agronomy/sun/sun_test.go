package sun

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Made with suncalc 2.0.2, a JavaScript library of its own origin: elevation with refraction, azimuth from north clockwise,
// rise and set of the local day.
func TestAgainstSecondLibrary(t *testing.T) {
	for _, c := range []struct {
		at                 string
		lat, lon           float64
		elevation, azimuth float64
		rise, set          string
		offset             time.Duration
	}{
		{"2026-03-20T12:00:00Z", 51.5, 0, 38.4541, 177.6166, "2026-03-20T06:02:54Z", "2026-03-20T18:13:03Z", 0},
		{"2026-06-21T18:30:00Z", 40, -83, 69.6515, 219.7366, "2026-06-21T10:03:22Z", "2026-06-22T01:04:23Z", -5 * time.Hour},
		{"2026-12-21T02:00:00Z", -33.9, 151.2, 79.4294, 351.3105, "2026-12-20T18:40:36Z", "2026-12-21T09:05:33Z", 10 * time.Hour},
		{"2026-10-01T15:45:00Z", 64.1, -21.9, 17.2529, 218.9110, "2026-10-01T07:36:22Z", "2026-10-01T18:56:37Z", 0},
	} {
		at := when(t, c.at)
		p := Place{c.lat, c.lon}
		pos := At(at, p)
		seen := pos.Elevation + Refraction(pos.Elevation, 1010, 10)
		if math.Abs(seen-c.elevation) > 0.01 || math.Abs(pos.Azimuth-c.azimuth)*math.Cos(rad(pos.Elevation)) > 0.01 { // on the sky, not along the horizon
			t.Errorf("%s: elevation %.4f azimuth %.4f, want %.4f %.4f", c.at, seen, pos.Azimuth, c.elevation, c.azimuth)
		}
		local := at.Add(c.offset)
		got := On(local.Year(), local.Month(), local.Day(), c.offset, p, Rising)
		near(t, "rise", got.Rise, c.rise)
		near(t, "set", got.Set, c.set)
	}
}

func near(t *testing.T, what string, got time.Time, want string) {
	t.Helper()
	if d := got.Sub(when(t, want)).Abs(); d > 5*time.Second {
		t.Errorf("%s %s, want %s", what, got.Format(time.RFC3339), want)
	}
}

func when(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// Beyond the polar circles there are days without an event.
func TestNoEvent(t *testing.T) {
	tromso := Place{69.65, 18.96}
	if got := On(2026, time.June, 21, 2*time.Hour, tromso, Rising); !got.Up || got.Down || !got.Rise.IsZero() || !got.Set.IsZero() {
		t.Errorf("midsummer: %+v", got)
	}
	if got := On(2026, time.December, 21, time.Hour, tromso, Rising); !got.Down || got.Up || !got.Rise.IsZero() {
		t.Errorf("midwinter: %+v", got)
	}
	for _, lat := range []float64{90, -90} {
		if got := On(2026, time.June, 21, 0, Place{lat, 0}, Rising); !got.Up && !got.Down {
			t.Errorf("at %g: %+v", lat, got)
		}
	}
}

// The local day is the one the clock means, also where the clock is on the other side of the date line.
func TestLocalDay(t *testing.T) {
	for _, c := range []struct {
		lon    float64
		offset time.Duration
	}{{-157.4, 14 * time.Hour}, {-171.8, 13 * time.Hour}, {179.9, 12 * time.Hour}, {-176.6, -10 * time.Hour}, {0, 0}, {-105, -7 * time.Hour}} {
		noon := On(2026, time.May, 4, c.offset, Place{2, c.lon}, Rising).Noon.Add(c.offset)
		if noon.Day() != 4 {
			t.Errorf("longitude %g, UTC%v: noon at %s", c.lon, c.offset, noon)
		}
	}
}

// More before the sun never gives more sun; what stands below the horizon changes nothing; hours are never more than the day.
func TestLawsOfShade(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Place{rapid.Float64Range(-60, 60).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")}
		month, day := time.Month(rapid.IntRange(1, 12).Draw(t, "month")), rapid.IntRange(1, 28).Draw(t, "day")
		angle := rapid.Float64Range(0, 360)
		o := Obstruction{From: angle.Draw(t, "from"), To: angle.Draw(t, "to"), Elevation: rapid.Float64Range(0, 90).Draw(t, "elevation")}
		open := DirectSun(2026, month, day, p, nil)
		shaded := DirectSun(2026, month, day, p, []Obstruction{o})
		o.Elevation = math.Min(90, o.Elevation+10)
		darker := DirectSun(2026, month, day, p, []Obstruction{o})
		if open.Direct != open.Daylight || shaded.Direct > open.Direct || darker.Direct > shaded.Direct || shaded.Daylight != open.Daylight || open.Daylight > 24 {
			t.Fatalf("open %v, shaded %v, darker %v", open.Direct, shaded.Direct, darker.Direct)
		}
		if low := DirectSun(2026, month, day, p, []Obstruction{{From: 0, To: 360, Elevation: 0}}); low.Direct != open.Direct {
			t.Fatal("a horizon of 0 degrees hides the sun")
		}
		total := 0.0
		for _, s := range shaded.Spans {
			total += s.To.Sub(s.From).Hours()
		}
		if math.Abs(total-shaded.Direct) > 1e-6 {
			t.Fatalf("spans hold %v h, the sum is %v h", total, shaded.Direct)
		}
	})
}

// A crown hides the sun while it is in leaf.
func TestCrown(t *testing.T) {
	crown := []Obstruction{{From: 90, To: 270, Elevation: 60, LeafFrom: 415, LeafTo: 1031}}
	p := Place{40, -83}
	if got := DirectSun(2026, time.January, 15, p, crown); got.Direct != got.Daylight {
		t.Error("a bare crown hides the sun")
	}
	if got := DirectSun(2026, time.September, 15, p, crown); got.Direct > got.Daylight-5 {
		t.Error("a crown in leaf lets the sun through")
	}
}

func BenchmarkDirectSun(b *testing.B) {
	o := []Obstruction{{From: 135, To: 225, Elevation: 30}}
	for b.Loop() {
		DirectSun(2026, time.June, 21, Place{40, -83}, o)
	}
}
