package degreedays

import (
	"fmt"

	"swardbook/diagnose/agronomy"
)

// Event is something that happens in a window of degree days. The window is valid with this method, base, start and sensor
// only.
type Event struct {
	Name   string
	Says   string
	From   float64 // degree days, in Unit
	To     float64 // 0: there is no end
	Unit   string  // "F day" or "C day"
	Method Method
	Base   float64 // in the degree of Unit
	Upper  float64 // 0: none
	Start  string  // month and day the sum starts, "01-01"
	Sensor string  // "air", or where in the soil
	Source string
}

const (
	calhoun = "Calhoun, Michigan State University (2004), as listed by the University of Wisconsin"
	fidanza = "Fidanza, Dernoeden and Zhang, Crop Science 36:990-996 (1996)"
	beetle  = "Magarey and others, Plant Disease 91:336-345 (2007)"
)

// Events are the published windows.
func Events() []Event {
	return []Event{
		{"crabgrass_preemergence", "put crabgrass pre-emergence down", 250, 500, "F day", Average, 32, 0, "02-15", "air", calhoun},
		{"crabgrass_emergence", "crabgrass begins to emerge", 70, 140, "F day", Average, 50, 0, "", "air", "Virginia Tech and Kentucky extension newsletters (2007-2008)"},
		{"smooth_crabgrass_first_emergence", "first smooth crabgrass emerges", 42, 78, "C day", Average, 12, 0, "04-01", "soil at 2.5 cm", fidanza},
		{"smooth_crabgrass_main_flush", "main flush of smooth crabgrass", 140, 230, "C day", Average, 12, 0, "04-01", "soil at 2.5 cm", fidanza},
		{"japanese_beetle_traps_out", "put beetle traps out", 921, 0, "F day", Sine, 50, 100, "01-01", "air", beetle},
		{"japanese_beetle_first_adults", "first adult Japanese beetles", 971, 0, "F day", Sine, 50, 100, "01-01", "air", beetle},
		{"masked_chafer_first_adults", "first adult masked chafers", 900, 0, "F day", Average, 50, 0, "01-01", "air", "about 900, from memory; extension newsletters give 2 to 5 July in central Illinois"},
	}
}

// EventNamed finds an event.
func EventNamed(name string) (Event, bool) {
	for _, e := range Events() {
		if e.Name == name {
			return e, true
		}
	}
	return Event{}, false
}

// Reached says whether a sum made by the event's own rules has come to the event's beginning.
func (e Event) Reached(sum agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet(fmt.Sprintf("reached from %s on (%s, base %s, %s%s)", agronomy.Q(e.From, e.Unit), e.Method, agronomy.Q(e.Base, e.Unit[:1]), e.Sensor, started(e.Start)), e.Source)
	in := inCumulative
	in.Unit = e.Unit
	v := s.Take(in, sum)
	return s.Give(agronomy.OfText(map[bool]string{true: "yes", false: "no"}[v >= e.From], "per value")), s.Err()
}

func started(start string) string {
	if start == "" {
		return ""
	}
	return ", from " + start
}
