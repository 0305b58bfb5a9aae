package record

import (
	"time"

	"swardbook/store"
)

// Reentry is what keeps people off a zone.
type Reentry struct {
	Zones []string
	Name  string    // of the material
	Until time.Time // zero when the label gives no hours
	Say   string    // the label's words, such as "until the spray has dried"
}

// wordy is how long words without hours are shown after the end: until the morning after, since nobody sees dew dry from a desk.
const wordy = 24 * time.Hour

// Running lists what keeps people off at a moment, from the records that stand.
func Running(current []store.Application, material func(id string, version int64) (store.Material, bool), now time.Time) []Reentry {
	var out []Reentry
	for _, a := range current {
		m, _ := material(a.Material, a.Version)
		if m.Limits.ReentryHours <= 0 && m.Limits.ReentrySay == "" {
			continue
		}
		ended, ok := endOf(a)
		if !ok {
			continue
		}
		r := Reentry{Name: a.Name, Say: m.Limits.ReentrySay}
		until := ended.Add(wordy)
		if m.Limits.ReentryHours > 0 {
			r.Until = ended.Add(time.Duration(m.Limits.ReentryHours * float64(time.Hour)))
			until = r.Until
		}
		if !now.Before(until) {
			continue
		}
		for _, z := range a.Zones {
			r.Zones = append(r.Zones, z.Zone)
		}
		out = append(out, r)
	}
	return out
}

// endOf is when an application ended: as recorded, else its start, else when it was recorded.
func endOf(a store.Application) (time.Time, bool) {
	for _, text := range []string{a.End, a.Start, a.At} {
		if t, err := time.Parse(time.RFC3339, text); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}
