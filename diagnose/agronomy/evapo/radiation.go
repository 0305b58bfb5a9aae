package evapo

import (
	"math"
	"time"

	"swardbook/diagnose/agronomy"
)

// Sky is what the place and the day of the year give.
type Sky struct {
	Dr, Declination, Sunset agronomy.Result // ratio, rad, rad
	Ra, RaDepth             agronomy.Result // MJ/m²/day and mm/day
	Hours                   agronomy.Result // longest sunshine, h
}

// DayOfYear reads a date as a day of the year.
func DayOfYear(date string) (agronomy.Quantity, error) {
	day, err := time.Parse("2006-01-02", date)
	if err != nil {
		return agronomy.Quantity{}, agronomy.Refuse("date", date, "a date like 2026-07-06")
	}
	return agronomy.Q(float64(day.YearDay()), "day"), nil
}

// MidMonth is the 15th of a month as a day of the year, which stands for the month's mean. The month is a name or a number.
func MidMonth(month string) (agronomy.Quantity, error) {
	m, err := monthOf(month)
	if err != nil {
		return agronomy.Quantity{}, err
	}
	return agronomy.Q(float64(time.Date(2001, m, 15, 0, 0, 0, 0, time.UTC).YearDay()), "day"), nil
}

// SkyOf works out the radiation above the air and the length of the day.
func SkyOf(dayOfYear, latitude agronomy.Quantity) (Sky, error) {
	s := agronomy.NewSheet("Ra = (1440 ÷ π) × 0.0820 dr [ω sin φ sin δ + cos φ cos δ sin ω]; dr = 1 + 0.033 cos(2πJ ÷ 365); δ = 0.409 sin(2πJ ÷ 365 − 1.39); ω = arccos(−tan φ tan δ); N = 24 ω ÷ π", fao56+", equations 21 to 25 and 34")
	k := takeSky(s, dayOfYear, latitude)
	return Sky{s.Number(k.dr, "ratio"), s.Number(k.declination, "rad"), s.Number(k.sunset, "rad"), s.Number(k.ra, "MJ/m2/day"), s.Number(perMJ*k.ra, "mm/day"), s.Number(k.hours, "h")}, s.Err()
}

func takeSky(s *agronomy.Sheet, dayOfYear, latitude agronomy.Quantity) sky {
	j, lat := s.Take(inDay, dayOfYear), s.Take(inLatitude, latitude)*math.Pi/180
	k := skyOf(math.Floor(j), lat)
	s.Step("dr", k.dr, "ratio", "distance of the sun")
	s.Step("δ", k.declination, "rad", "declination")
	s.Step("ω", k.sunset, "rad", "sunset angle")
	s.Step("Ra", k.ra, "MJ/m2/day", "")
	s.Step("N", k.hours, "h", "")
	if math.Abs(lat) > 55*math.Pi/180 {
		s.Remark("Beyond 55 degrees of latitude the daily forms of Ra and N are less sure.")
	}
	return k
}

// ClearSky is the radiation under a clear sky, MJ/m²/day.
func ClearSky(ra, elevation agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("Rso = (0.75 + 0.00002 z) Ra", fao56+", equation 37")
	return s.Number(clearSky(takeRa(s, ra), s.Take(inElevation, elevation)), "MJ/m2/day"), s.Err()
}

// takeRa reads radiation given as energy or as the depth of water it evaporates.
func takeRa(s *agronomy.Sheet, ra agronomy.Quantity) float64 { return energyOf(s, inRa, ra) }

func energyOf(s *agronomy.Sheet, in agronomy.Input, q agronomy.Quantity) float64 {
	v := s.Take(in, q)
	if in.WorkUnit(q.Unit) == "mm/day" {
		return s.Step(in.Name, v/perMJ, "MJ/m2/day", "mm/day ÷ 0.408")
	}
	return v
}

// RadiationFromSunshine is solar radiation by hours of sunshine. as and bs are 0.25 and 0.50 unless calibrated.
func RadiationFromSunshine(sunshine, hours, ra, as, bs agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("Rs = (as + bs n ÷ N) Ra", fao56+", equation 35")
	rs := fromSunshine(s, sunshine, s.Take(inHours, hours), takeRa(s, ra), as, bs)
	return s.Number(rs, "MJ/m2/day"), s.Err()
}

func fromSunshine(s *agronomy.Sheet, sunshine agronomy.Quantity, hours, ra float64, as, bs agronomy.Quantity) float64 {
	a, b := 0.25, 0.50
	if given(as) {
		a = s.Take(inAs, as)
	}
	if given(bs) {
		b = s.Take(inBs, bs)
	}
	n := s.Take(inSunshine, sunshine)
	if n > hours+0.3 {
		s.Refuse(agronomy.Refuse("sunshine", sunshine.String(), "no more than the day is long, "+agronomy.Q(hours, "h").String()))
	}
	share := 0.0
	if hours > 0 {
		share = math.Min(1, n/hours)
	}
	return s.Step("Rs", (a+b*share)*ra, "MJ/m2/day", "(as + bs n ÷ N) Ra")
}

// RadiationFromTemperature is solar radiation guessed from the range of the day's temperatures; it is kept at the
// clear-sky radiation when that is given.
func RadiationFromTemperature(tmax, tmin, ra, krs, rso agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("Rs = kRs √(Tmax − Tmin) Ra, no more than Rso", fao56+", equation 50")
	hi, lo := s.Take(inTmax, tmax), s.Take(inTmin, tmin)
	ordered(s, tmax, tmin, hi, lo)
	most := math.Inf(1)
	if given(rso) {
		most = s.Take(inRso, rso)
	}
	return s.Number(fromTemperature(s, hi, lo, takeRa(s, ra), most, krs), "MJ/m2/day"), s.Err()
}

func fromTemperature(s *agronomy.Sheet, tmax, tmin, ra, rso float64, krs agronomy.Quantity) float64 {
	k := 0.16
	if given(krs) {
		k = s.Take(inKrs, krs)
	}
	rs := k * math.Sqrt(math.Max(0, tmax-tmin)) * ra
	if rs > rso {
		s.Remark("The guess exceeded a clear sky's radiation and was kept at that.")
	}
	return s.Step("Rs", math.Min(rs, rso), "MJ/m2/day", "kRs √(Tmax − Tmin) Ra")
}

// KrsOf is the coefficient of a place: "inland" or "coast".
func KrsOf(place string) (agronomy.Quantity, error) {
	known, err := inPlace.Option(place)
	if known == "coast" {
		return agronomy.Q(0.19, "1/C^0.5"), err
	}
	return agronomy.Q(0.16, "1/C^0.5"), err
}

// NetShortwave is what stays of solar radiation; a lawn throws back 0.23 unless another albedo is given.
func NetShortwave(rs, albedo agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("Rns = (1 − albedo) Rs", fao56+", equation 38")
	return s.Number(shortwave(s, energyOf(s, inRs, rs), albedo), "MJ/m2/day"), s.Err()
}

func shortwave(s *agronomy.Sheet, rs float64, albedo agronomy.Quantity) float64 {
	back := 0.23
	if given(albedo) {
		back = s.Take(inAlbedo, albedo)
	}
	return s.Step("Rns", (1-back)*rs, "MJ/m2/day", "")
}

// NetLongwave is what the ground loses by heat radiation.
func NetLongwave(tmax, tmin, ea, rs, rso agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("Rnl = 4.903·10⁻⁹ × mean of T⁴ × (0.34 − 0.14 √ea) × (1.35 Rs ÷ Rso − 0.35)", fao56+", equation 39")
	hi, lo := s.Take(inTmax, tmax), s.Take(inTmin, tmin)
	ordered(s, tmax, tmin, hi, lo)
	v := longwave(hi, lo, s.Take(inEa, ea), energyOf(s, inRs, rs), s.Take(inRso, rso))
	return s.Number(v, "MJ/m2/day"), s.Err()
}

// NetRadiation is the difference of the two.
func NetRadiation(rns, rnl agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("Rn = Rns − Rnl", fao56+", equation 40")
	return s.Number(s.Take(inRns, rns)-s.Take(inRnl, rnl), "MJ/m2/day"), s.Err()
}
