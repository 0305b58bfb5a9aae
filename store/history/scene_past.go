package history

import (
	"math"
	"slices"
	"strconv"
)

// sizes of a property's picture, in millimetres
const (
	pastW               = 236
	pastLeft, pastRight = 46, 168
	pastHead            = 12
	zoneHead, axisHigh  = 6.5, 5
	causeHigh, lineHigh = 17, 13
	nameApart           = 3.6
)

// Treatment is one mark on the axis of time: what went onto which zones on a day.
type Treatment struct {
	N     int // as the picture numbers it
	Day   string
	Name  string
	Zones []string // ids
}

// Treatments numbers what was put down, each material of a day once.
func (p Past) Treatments() []Treatment {
	var out []Treatment
	for _, a := range p.Applied {
		at := slices.IndexFunc(out, func(t Treatment) bool { return t.Day == a.Day && t.Name == a.Name })
		if at < 0 {
			at = len(out)
			out = append(out, Treatment{N: at + 1, Day: a.Day, Name: a.Name})
		}
		for _, z := range a.Zones {
			out[at].Zones = append(out[at].Zones, z.AppliedZone.Zone)
		}
	}
	return out
}

// pastScene is the picture in the making.
type pastScene struct {
	Scene
	past        Past
	first, last int64 // days
	y           float64
}

// Scene draws the property's past in one picture: zones down, time across. In each zone the likelihood of its main causes, the checks that
// are named in shown, and marks where something was put down. likely is the least likelihood of a likely cause.
func (p Past) Scene(title string, likely float64, shown []string) Scene {
	s := &pastScene{Scene: Scene{Title: title, W: pastW}, past: p, y: pastHead}
	s.span()
	for _, z := range p.Zones {
		s.zone(z, likely, shown)
	}
	s.H = s.y + 2
	s.visits()
	return s.Scene
}

// span is the time from the first to the last day that is drawn.
func (s *pastScene) span() {
	var days []int64
	for _, v := range s.past.Visits {
		days = append(days, dayNumber(v.Day))
	}
	for _, a := range s.past.Applied {
		days = append(days, dayNumber(a.Day))
	}
	if len(days) > 0 {
		s.first, s.last = slices.Min(days), slices.Max(days)
	}
}

func (s *pastScene) x(day string) float64 {
	if s.last <= s.first {
		return (pastLeft + pastRight) / 2
	}
	return pastLeft + 3 + float64(dayNumber(day)-s.first)/float64(s.last-s.first)*(pastRight-pastLeft-6)
}

// visits draws a line down for each visit, and names its day at the head where there is room.
func (s *pastScene) visits() {
	free := math.Inf(-1)
	for _, v := range s.past.Visits {
		x := s.x(v.Day)
		s.Marks = append(s.Marks, Mark{Class: "visit", Points: [][2]float64{{x, pastHead - 4}, {x, s.H - 2}}})
		if x-free >= 20 {
			s.Labels = append(s.Labels, SceneText{X: x - 8, Y: pastHead - 5.5, Text: v.Day})
			free = x
		}
	}
}

func (s *pastScene) zone(z ZonePast, likely float64, shown []string) {
	s.Marks = append(s.Marks, Mark{Class: "edge", Points: [][2]float64{{0, s.y}, {pastW, s.y}}})
	s.Labels = append(s.Labels, SceneText{X: 1, Y: s.y + 4.6, Class: "name", Text: z.Zone.Name})
	s.y += zoneHead
	if len(z.Causes) > 0 {
		s.causes(z.Causes[:min(3, len(z.Causes))], likely)
	}
	for _, l := range z.Lines {
		if slices.Contains(shown, l.Check) {
			s.line(l)
		}
	}
	s.treatments(z.Zone.ID)
}

// causes draws how likely up to three causes were, each in a dash of its own with its name at the end.
func (s *pastScene) causes(list []CauseLine, likely float64) {
	top, foot := s.y+1, s.y+causeHigh-2
	y := func(p float64) float64 { return foot - p*(foot-top) }
	s.frame(top, foot, "100 %", "0 %")
	s.Marks = append(s.Marks, Mark{Class: "limit", Points: [][2]float64{{pastLeft, y(likely)}, {pastRight, y(likely)}}})
	ends := make([]float64, 0, len(list))
	for i, c := range list {
		points := s.course(c.Values, y)
		s.draw("cause"+strconv.Itoa(i+1), points)
		if n := len(points); n > 0 {
			end := freeOf(ends, points[n-1][1]+1)
			ends = append(ends, end)
			s.Labels = append(s.Labels, SceneText{X: pastRight + 1.5, Y: end, Class: "c" + strconv.Itoa(i+1), Text: c.Label})
		}
	}
	s.y += causeHigh
}

// freeOf moves a text up or down until it stands clear of the others.
func freeOf(taken []float64, y float64) float64 {
	for step := 0.0; ; step += nameApart / 2 {
		for _, at := range []float64{y + step, y - step} {
			if !slices.ContainsFunc(taken, func(t float64) bool { return math.Abs(t-at) < nameApart-0.1 }) {
				return at
			}
		}
	}
}

// line draws a check: each number with its bounds, the limits that lie between them, the name before and the last value behind.
func (s *pastScene) line(l CheckLine) {
	top, foot := s.y+1.5, s.y+lineHigh-1.5
	low, high := l.spans()
	y := func(v float64) float64 { return foot - (v-low)/(high-low)*(foot-top) }
	s.frame(top, foot, shortNumber(high), shortNumber(low))
	s.Labels = append(s.Labels, SceneText{X: 3, Y: (top + foot) / 2, Text: l.Label}, SceneText{X: 3, Y: (top+foot)/2 + 3.6, Class: "unit", Text: l.Unit})
	for _, limit := range l.Limits {
		if limit.At > low && limit.At < high {
			s.Marks = append(s.Marks, Mark{Class: "limit", Points: [][2]float64{{pastLeft, y(limit.At)}, {pastRight, y(limit.At)}}})
		}
	}
	for _, e := range l.Estimates {
		if e != nil && e.High > e.Low {
			x := s.x(e.Day)
			s.Marks = append(s.Marks, Mark{Class: "bounds", Points: [][2]float64{{x, y(math.Max(low, e.Low))}, {x, y(math.Min(high, e.High))}}})
		}
	}
	s.draw("value", s.course(l.Values, y))
	for _, e := range slices.Backward(l.Estimates) {
		if e != nil {
			s.Labels = append(s.Labels, SceneText{X: pastRight + 1.5, Y: y(e.Mean) + 1, Class: "end", Text: l.Says(*e)})
			break
		}
	}
	s.y += lineHigh
}

// spans is the room a line needs: its numbers with their bounds, and the limit next to them.
func (l CheckLine) spans() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, e := range l.Estimates {
		if e != nil {
			low, high = min(low, e.Low), max(high, e.High)
		}
	}
	near := math.Inf(1)
	for _, limit := range l.Limits {
		if away := math.Max(low-limit.At, limit.At-high); away > 0 && away < near && away < (high-low)*2 {
			near = away
		}
	}
	for _, limit := range l.Limits {
		if math.Max(low-limit.At, limit.At-high) == near {
			low, high = min(low, limit.At), max(high, limit.At)
		}
	}
	if high <= low {
		high = low + 1
	}
	room := (high - low) * 0.06
	if low >= 0 {
		return math.Max(0, low-room), math.Min(l.Top, high+room)
	}
	return low - room, math.Min(l.Top, high+room)
}

// Says is an estimate as a person reads it: the number, its unit and its bounds.
func (l CheckLine) Says(e Estimate) string {
	text := shortNumber(e.Mean)
	if l.Unit != "" {
		text += " " + l.Unit
	}
	if e.High > e.Low {
		text += " (" + shortNumber(e.Low) + "–" + shortNumber(e.High) + ")"
	}
	return text
}

// shortNumber keeps as many decimals as measuring is worth.
func shortNumber(x float64) string {
	scale := 100.0
	switch {
	case math.Abs(x) >= 10:
		scale = 1
	case math.Abs(x) >= 1:
		scale = 10
	}
	return strconv.FormatFloat(math.Round(x*scale)/scale+0, 'f', -1, 64)
}

func (s *pastScene) frame(top, foot float64, high, low string) {
	s.Marks = append(s.Marks, Mark{Class: "axis", Points: [][2]float64{{pastLeft, top}, {pastLeft, foot}, {pastRight, foot}}})
	s.Labels = append(s.Labels, SceneText{X: pastLeft - 1, Y: top + 2, Right: true, Text: high}, SceneText{X: pastLeft - 1, Y: foot, Right: true, Text: low})
}

// course are the points of what is known; a visit without a number has none.
func (s *pastScene) course(values []*float64, y func(float64) float64) [][2]float64 {
	var out [][2]float64
	for i, v := range values {
		if v != nil {
			out = append(out, [2]float64{s.x(s.past.Visits[i].Day), y(*v)})
		}
	}
	return out
}

func (s *pastScene) draw(class string, points [][2]float64) {
	for _, p := range points {
		s.Marks = append(s.Marks, Mark{Class: class, Points: [][2]float64{p}})
	}
	if len(points) > 1 {
		s.Marks = append(s.Marks, Mark{Class: class, Points: points})
	}
}

// treatments marks on a zone's axis of time what it got, by number.
func (s *pastScene) treatments(zone string) {
	y := s.y + 1
	s.Marks = append(s.Marks, Mark{Class: "axis", Points: [][2]float64{{pastLeft, y}, {pastRight, y}}})
	free := math.Inf(-1)
	for _, t := range s.past.Treatments() {
		if !slices.Contains(t.Zones, zone) {
			continue
		}
		x := s.x(t.Day)
		s.Marks = append(s.Marks, Mark{Class: "done", Points: [][2]float64{{x, y}, {x + 1.1, y + 1.6}, {x - 1.1, y + 1.6}, {x, y}}})
		at := math.Max(x-0.8, free)
		s.Labels = append(s.Labels, SceneText{X: at, Y: y + 4.8, Class: "done", Text: strconv.Itoa(t.N)})
		free = at + 3.4
	}
	s.y += axisHigh + 2
}
