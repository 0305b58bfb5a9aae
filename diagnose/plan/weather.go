package plan

// held is how many days the last soil temperature known stands for those that follow: soil changes slowly.
const held = 7

// soil is the soil's temperature on a day, F.
func (r *run) soil(day int) (float64, bool) {
	if r.in.Weather == nil {
		return 0, false
	}
	last, err := dayOf(r.in.Weather.Last())
	if err == nil && day > last && day <= last+held {
		day = last
	}
	return r.in.Weather.Soil(dayText(day))
}

// air is the day's highest temperature, F. Only what is known or forecast counts.
func (r *run) air(day int) (float64, bool) {
	if r.in.Weather == nil {
		return 0, false
	}
	return r.in.Weather.Air(dayText(day))
}
