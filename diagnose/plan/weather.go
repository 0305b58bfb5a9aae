package plan

import (
	"math"
	"slices"
	"strconv"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// held is how many days the last soil temperature known stands for those that follow: soil changes slowly.
const held = 7

// soil is the soil's temperature on a day, F: that day's, or the last one known before it.
func (r *run) soil(day int) (float64, bool) {
	if r.in.Weather == nil {
		return 0, false
	}
	for back := range held + 1 {
		if f, ok := r.in.Weather.Soil(dayText(day - back)); ok {
			return f, true
		}
	}
	return 0, false
}

// soilBasis says what a window by the soil's temperature rests on; empty where the plan has none.
func (r *run) soilBasis() []checks.Text {
	speaks := func(t *task) bool {
		return slices.ContainsFunc(r.windows[t.action.ID], func(w *knowledge.Window) bool { return w.SoilLow > 0 || w.SoilHigh > 0 })
	}
	if !slices.ContainsFunc(r.sites, func(s *site) bool { return slices.ContainsFunc(s.tasks, speaks) }) {
		return nil
	}
	if r.in.Weather != nil {
		for back := range held + 1 {
			if f, ok := r.in.Weather.Soil(dayText(r.day - back)); ok {
				return []checks.Text{r.say("soil_basis", "last", dayText(r.day-back), "is", agronomy.Figure(math.Round(f*10)/10), "days", strconv.Itoa(held))}
			}
		}
	}
	return []checks.Text{r.notes["soil_unknown"]}
}

// air is the day's highest temperature, F. Only what is known or forecast counts.
func (r *run) air(day int) (float64, bool) {
	if r.in.Weather == nil {
		return 0, false
	}
	return r.in.Weather.Air(dayText(day))
}
