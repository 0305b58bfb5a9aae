package sun

import (
	"encoding/json"
	"math"
	"os"
	"testing"
	"time"
)

// Random positions, rises and sets against two libraries of their own origin.
func TestRandomSkiesAgainstLibraries(t *testing.T) {
	raw, err := os.ReadFile("../../../testdata/agronomy/sun.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Positions []struct {
			UTC                                                  time.Time
			Latitude, Longitude, Elevation, Azimuth, Declination float64
			SeenElevation                                        float64 `json:"suncalc_elevation_seen"`
			SeenAzimuth                                          float64 `json:"suncalc_azimuth"`
		}
		Days []struct {
			Date                string
			Offset              float64 `json:"offset_h"`
			Latitude, Longitude float64
			Rise, Set           time.Time
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil || len(file.Positions) < 60 || len(file.Days) < 35 {
		t.Fatalf("%d positions, %d days, %v", len(file.Positions), len(file.Days), err)
	}
	for _, c := range file.Positions {
		p := At(c.UTC, Place{c.Latitude, c.Longitude})
		wide := math.Cos(rad(p.Elevation))
		if math.Abs(p.Elevation-c.Elevation) > 0.012 || math.Abs(math.Remainder(p.Azimuth-c.Azimuth, 360))*wide > 0.012 || math.Abs(p.Declination-c.Declination) > 0.012 {
			t.Errorf("%s at %v, %v: %.4f %.4f %.4f, astronomy-engine %.4f %.4f %.4f", c.UTC, c.Latitude, c.Longitude, p.Elevation, p.Azimuth, p.Declination, c.Elevation, c.Azimuth, c.Declination)
		}
		if c.SeenElevation < 5 {
			continue
		}
		seen := p.Elevation + Refraction(p.Elevation, 1010, 10)
		if math.Abs(seen-c.SeenElevation) > 0.012 || math.Abs(math.Remainder(p.Azimuth-c.SeenAzimuth, 360))*wide > 0.012 {
			t.Errorf("%s at %v, %v: %.4f %.4f, suncalc %.4f %.4f", c.UTC, c.Latitude, c.Longitude, seen, p.Azimuth, c.SeenElevation, c.SeenAzimuth)
		}
	}
	for _, c := range file.Days {
		day, err := time.Parse("2006-01-02", c.Date)
		if err != nil {
			t.Fatal(err)
		}
		got := On(day.Year(), day.Month(), day.Day(), time.Duration(c.Offset)*time.Hour, Place{c.Latitude, c.Longitude}, Rising)
		if got.Rise.Sub(c.Rise).Abs() > 20*time.Second || got.Set.Sub(c.Set).Abs() > 20*time.Second {
			t.Errorf("%s at %v, %v: %s to %s, astronomy-engine %s to %s", c.Date, c.Latitude, c.Longitude, got.Rise.Format(time.RFC3339), got.Set.Format(time.RFC3339), c.Rise.Format(time.RFC3339), c.Set.Format(time.RFC3339))
		}
	}
}
