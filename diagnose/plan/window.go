package plan

import (
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// How a window was found open.
const (
	byCalendar = "calendar"
	bySoil     = "soil"
	byDegrees  = "degree days"
)

// slack is how far measured soil or degree days may move a window from its calendar, in days.
const slack = 21

// span is a window in one year.
type span struct {
	w        *knowledge.Window
	from, to int
	basis    string
}

// openOn finds the window that is open on a day. ok is true without windows: any time.
func (r *run) openOn(t *task, day int) (sp span, ok bool) {
	list := r.windows[t.action.ID]
	if len(list) == 0 {
		return span{from: never, to: never}, true
	}
	for _, w := range list {
		for _, year := range []int{yearOf(day), yearOf(day) - 1} {
			sp := r.span(w, year)
			if r.isOpen(&sp, day, year) {
				return sp, true
			}
		}
	}
	return span{}, false
}

// span is the calendar days of a window that begins in a year, shortened by the frost.
func (r *run) span(w *knowledge.Window, year int) span {
	sp := span{w, inYear(year, w.From), inYear(year, w.To), byCalendar}
	if sp.to < sp.from {
		sp.to = inYear(year+1, w.To)
	}
	if w.BeforeFrost > 0 && r.in.Place.FirstFrost != "" {
		if frost := inYear(yearOf(sp.to), r.in.Place.FirstFrost); frost != never {
			sp.to = min(sp.to, frost-w.BeforeFrost)
		}
	}
	return sp
}

// isOpen asks the calendar, or what was measured where the window speaks of it: degree days first, then the soil.
func (r *run) isOpen(sp *span, day, year int) bool {
	near := day >= sp.from-slack && day <= sp.to+slack
	if sum, ok := r.degrees(sp.w, day, year); ok {
		sp.basis = byDegrees
		return near && sum >= sp.w.DegreesLow && sum <= sp.w.DegreesHigh
	}
	if sp.w.SoilLow > 0 || sp.w.SoilHigh > 0 {
		if f, ok := r.soil(day); ok {
			sp.basis = bySoil
			return near && f >= sp.w.SoilLow && (sp.w.SoilHigh == 0 || f <= sp.w.SoilHigh)
		}
	}
	return day >= sp.from && day <= sp.to && !r.passed(sp.w, day, year)
}

func (r *run) degrees(w *knowledge.Window, day, year int) (float64, bool) {
	if r.in.Weather == nil || w.DegreesHigh == 0 {
		return 0, false
	}
	return r.in.Weather.DegreeDays(w.Base, dayText(inYear(year, w.CountFrom)), dayText(day))
}

// passed says that the degree days known so far are beyond the window already, for a day that the weather doesn't reach.
func (r *run) passed(w *knowledge.Window, day, year int) bool {
	if r.in.Weather == nil || w.DegreesHigh == 0 {
		return false
	}
	last, err := dayOf(r.in.Weather.Last())
	if err != nil || last >= day || yearOf(last) != year {
		return false
	}
	sum, ok := r.degrees(w, last, year)
	return ok && sum > w.DegreesHigh
}

// view is a window as the plan shows it.
func (r *run) view(t *task, sp span) Window {
	v := Window{Say: t.action.Window}
	if sp.w == nil {
		return v
	}
	v.From, v.To, v.Rank, v.Basis = dayText(sp.from), dayText(sp.to), sp.w.Rank, sp.basis
	if sp.basis == byCalendar {
		v.Note = r.lookFirst(sp.w)
	}
	return v
}

// lookFirst says what to measure before a window that only the calendar opened.
func (r *run) lookFirst(w *knowledge.Window) checks.Text {
	switch {
	case w.DegreesHigh > 0:
		return r.say("degrees_note", "low", agronomy.Figure(w.DegreesLow), "high", agronomy.Figure(w.DegreesHigh), "base", agronomy.Figure(w.Base), "from", w.CountFrom)
	case w.SoilHigh > 0:
		return r.say("soil_note", "low", agronomy.Figure(w.SoilLow), "high", agronomy.Figure(w.SoilHigh))
	case w.SoilLow > 0:
		return r.say("soil_note_over", "low", agronomy.Figure(w.SoilLow))
	}
	return checks.Text{}
}
