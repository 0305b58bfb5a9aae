package desk

import "time"

// day writes "2026-08-27" as a person reads it; a text that is no day stays as it is.
func day(text string) string {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return text
	}
	return t.Format("Mon 2 Jan 2006")
}

// shortDay leaves the weekday and, within one page about one year, nothing else out.
func shortDay(text string) string {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return text
	}
	return t.Format("2 Jan 2006")
}

// moment writes a time of ours in the firm's zone.
func moment(t time.Time, place *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(place).Format("2 Jan, 15:04")
}

// clock writes the time that a phone showed when something was recorded, in the phone's own zone.
func clock(at string) string {
	t, err := time.Parse(time.RFC3339Nano, at)
	if err != nil {
		return at
	}
	return t.Format("15:04")
}

// stamp writes a phone's day and time.
func stamp(at string) string {
	t, err := time.Parse(time.RFC3339Nano, at)
	if err != nil {
		return at
	}
	return t.Format("2 Jan, 15:04")
}
