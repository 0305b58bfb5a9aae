package field

import (
	"context"
	"time"
)

// Rain is what fell on one day, in mm, by the weather that the office took in.
type Rain struct {
	Day string  `json:"day"`
	MM  float64 `json:"mm"`
}

// How far back rain goes along, in days, and the least that makes a wet day, in mm. The days are common practice, no source: what fell earlier has
// dried again. 1 mm is what climatology calls a wet day (from memory).
const (
	rainDays = 10
	wetDay   = 1.0
)

// rain lists the wet days up to a day, oldest first; none when nobody took weather in.
func rain(ctx context.Context, db DB, today string) ([]Rain, error) {
	day, err := time.Parse(dayForm, today)
	if err != nil {
		return nil, err
	}
	days, err := db.Weather(ctx, day.AddDate(0, 0, -rainDays).Format(dayForm), today)
	list := []Rain{}
	for _, d := range days {
		if d.Rain != nil && *d.Rain >= wetDay {
			list = append(list, Rain{d.Day, *d.Rain})
		}
	}
	return list, err
}
