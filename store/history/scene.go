package history

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Scene is a drawing in millimetres from its upper left corner, drawn alike on a page and on paper. Marks have no colours
// of their own: a class says what a mark is, the style sheet and the paper how that looks.
type Scene struct {
	Title  string // read out where the drawing can't be seen
	W, H   float64
	Marks  []Mark
	Labels []SceneText
}

// Mark is a line through points. A line of one point is a dot.
type Mark struct {
	Class  string // such as "axis", "limit" or "course"
	Points [][2]float64
}

// SceneText stands with its left end on X, with its base on Y; Right means that X is its right end.
type SceneText struct {
	X, Y  float64
	Right bool
	Class string // how it looks; "" plain
	Text  string
}

// sizes of a course's drawing, in millimetres
const (
	sceneW, sceneH       = 90, 30
	plotLeft, plotRight  = 14, 86
	plotTop, plotBottom  = 3, 23
	dotRadius, textBelow = 0.9, 4.5
)

// Scene draws how likely the cause was on each visit, between nothing and certain, with the limit from which it counts as likely.
func (o OutcomeRecord) Scene(likely float64) Scene {
	s := Scene{Title: o.Label, W: sceneW, H: sceneH}
	y := func(p float64) float64 { return plotBottom - p*(plotBottom-plotTop) }
	s.Marks = append(s.Marks,
		Mark{"axis", [][2]float64{{plotLeft, plotTop}, {plotLeft, plotBottom}, {plotRight, plotBottom}}},
		Mark{"limit", [][2]float64{{plotLeft, y(likely)}, {plotRight, y(likely)}}})
	s.Labels = append(s.Labels, SceneText{X: plotLeft - 1, Y: y(1) + 2, Right: true, Text: "100 %"}, SceneText{X: plotLeft - 1, Y: y(0), Right: true, Text: "0 %"})
	course := Mark{Class: "course"}
	for i, c := range o.Course {
		x := o.across(i)
		course.Points = append(course.Points, [2]float64{x, y(c.Likelihood)})
		s.Marks = append(s.Marks, Mark{"course", [][2]float64{{x, y(c.Likelihood)}}})
		if i == 0 || i == len(o.Course)-1 {
			s.Labels = append(s.Labels, SceneText{X: x, Y: plotBottom + textBelow, Right: i > 0, Text: c.Day})
		}
	}
	if len(course.Points) > 1 {
		s.Marks = append(s.Marks, course)
	}
	return s
}

// across is where a visit stands on the axis of time.
func (o OutcomeRecord) across(i int) float64 {
	day := func(i int) float64 {
		t, err := time.Parse(time.DateOnly, o.Course[i].Day)
		if err != nil {
			return float64(i)
		}
		return float64(t.Unix()) / 86400
	}
	first, last := day(0), day(len(o.Course)-1)
	if last <= first {
		return plotLeft + 2
	}
	return plotLeft + 2 + (day(i)-first)/(last-first)*(plotRight-plotLeft-4)
}

// WriteSVG draws the scene for a page: classes and attributes, no style, with its title.
func (s Scene) WriteSVG(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="scene" viewBox="0 0 %g %g" role="img"><title>%s</title>`, s.W, s.H, escaped(s.Title))
	for _, m := range s.Marks {
		if len(m.Points) == 1 {
			fmt.Fprintf(&b, `<circle class="%s" cx="%.2f" cy="%.2f" r="%g"/>`, escaped(m.Class), m.Points[0][0], m.Points[0][1], dotRadius)
			continue
		}
		fmt.Fprintf(&b, `<polyline class="%s" fill="none" points="`, escaped(m.Class))
		for i, p := range m.Points {
			fmt.Fprintf(&b, "%s%.2f,%.2f", map[bool]string{true: " "}[i > 0], p[0], p[1])
		}
		b.WriteString(`"/>`)
	}
	for _, t := range s.Labels {
		fmt.Fprintf(&b, `<text class="%s" x="%.2f" y="%.2f" text-anchor="%s" font-size="3">%s</text>`, escaped(cmp.Or(t.Class, "plain")), t.X, t.Y, map[bool]string{true: "end", false: "start"}[t.Right], escaped(t.Text))
	}
	b.WriteString(`</svg>`)
	_, err := io.WriteString(w, b.String())
	return err
}

func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a strings.Builder takes everything
	return b.String()
}

// draw puts the scene on paper with its upper left corner at x, y.
func (s Scene) draw(f *fpdf.Fpdf, x, y float64) {
	for _, m := range s.Marks {
		f.SetLineWidth(map[string]float64{"axis": 0.2, "limit": 0.15, "course": 0.5}[m.Class])
		f.SetDashPattern(nil, 0)
		if m.Class == "limit" {
			f.SetDashPattern([]float64{1, 1}, 0)
		}
		if len(m.Points) == 1 {
			f.Circle(x+m.Points[0][0], y+m.Points[0][1], dotRadius, "F")
			continue
		}
		for i := 1; i < len(m.Points); i++ {
			a, b := m.Points[i-1], m.Points[i]
			f.Line(x+a[0], y+a[1], x+b[0], y+b[1])
		}
	}
	f.SetDashPattern(nil, 0)
	f.SetFont(face, "", 7)
	for _, t := range s.Labels {
		text := drawable(t.Text)
		left := x + t.X
		if t.Right {
			left -= f.GetStringWidth(text)
		}
		f.Text(left, y+t.Y, text)
	}
}
