package evapo

import (
	"errors"
	"math"
	"testing"

	"swardbook/diagnose/agronomy"
)

func close(t *testing.T, what string, got agronomy.Result, err error, want, within float64) {
	t.Helper()
	if err != nil || math.Abs(got.Number-want) > within {
		t.Errorf("%s: %v (%v), want %g", what, got.Value, err, want)
	}
}

// Further worked examples of FAO-56, by their numbers in the paper (from memory where the checks don't hold them).
func TestPaperExamples(t *testing.T) {
	q := agronomy.Q
	ea, err := ActualPressure(Humidity{Twet: q(19.5, "C"), Tdry: q(25.6, "C"), Pressure: q(87.9, "kPa")}, agronomy.Quantity{}, agronomy.Quantity{})
	close(t, "example 4, psychrometer", ea, err, 1.91, 0.005)
	sky, err := SkyOf(q(246, "day"), q(-20, "deg"))
	close(t, "example 8", sky.Ra, err, 32.2, 0.06)
	rs, err := RadiationFromSunshine(q(7.1, "h"), q(10.9, "h"), q(25.1, "MJ/m2/day"), agronomy.Quantity{}, agronomy.Quantity{})
	close(t, "example 10", rs, err, 14.5, 0.06)
	rns, err := NetShortwave(q(14.5, "MJ/m2/day"), agronomy.Quantity{})
	close(t, "example 12, shortwave", rns, err, 11.1, 0.07)
	rn, err := NetRadiation(q(11.1, "MJ/m2/day"), q(3.5, "MJ/m2/day"))
	close(t, "example 12", rn, err, 7.6, 0.01)
	g, err := SoilHeatFlux(q(29.2, "C"), q(30.2, "C"), agronomy.Quantity{})
	close(t, "example 17, soil heat", g, err, 0.14, 1e-9)
}

// Example 17: the mean day of April at Bangkok, monthly data, 5.72 mm a day.
func TestMonthlyExample(t *testing.T) {
	q := agronomy.Q
	d := Day{Latitude: q(13.73, "deg"), Elevation: q(2, "m"), DayOfYear: q(105, "day"), Tmax: q(34.8, "C"), Tmin: q(25.6, "C"), Humidity: Humidity{Ea: q(2.85, "kPa")}, Wind: q(2, "m/s"), Sunshine: q(8.5, "h"), G: q(0.14, "MJ/m2/day")}
	r, err := PenmanMonteith(d)
	close(t, "ETo", r.ETo, err, 5.72, 0.02)
	close(t, "Ra", r.Ra, err, 38.06, 0.05)
	close(t, "Rn", r.Rn, err, 14.33, 0.03)
	if len(r.ETo.Working.Steps) < 8 || len(r.ETo.Working.Inputs) < 8 {
		t.Errorf("a thin working: %v", r.ETo.Working)
	}
}

// Example 18 from its printed parts: 3.88 mm on 6 July at Uccle. More vapour than the air can hold is refused.
func TestPartsOfAnExample(t *testing.T) {
	q := agronomy.Q
	parts := func(ea float64) (agronomy.Result, error) {
		return Parts(q(16.9, "C"), q(13.28, "MJ/m2/day"), agronomy.Quantity{}, q(2.078, "m/s"), q(1.997, "kPa"), q(ea, "kPa"), q(0.122, "kPa/C"), q(0.0666, "kPa/C"))
	}
	eto, err := parts(1.409)
	close(t, "ETo", eto, err, 3.88, 0.005)
	if _, err := parts(2.1); err == nil {
		t.Error("air above saturation is taken")
	}
}

// The same day in US customary units.
func TestUSUnits(t *testing.T) {
	q := agronomy.Q
	metric := Day{Latitude: q(40, "deg"), Elevation: q(300, "m"), DayOfYear: q(200, "day"), Tmax: q(30, "C"), Tmin: q(18, "C"), Humidity: Humidity{Tdew: q(15, "C")}, Wind: q(3, "m/s"), WindHeight: q(10, "m"), Rs: q(25, "MJ/m2/day")}
	us := Day{Latitude: q(40, "deg N"), Elevation: q(300/0.3048, "ft"), DayOfYear: q(200, "day"), Tmax: q(86, "F"), Tmin: q(64.4, "F"), Humidity: Humidity{Tdew: q(59, "F")}, Wind: q(3/0.44704, "mi/h"), WindHeight: q(10/0.3048, "ft"), Rs: q(25/0.041868, "langley/day")}
	a, err := PenmanMonteith(metric)
	b, err2 := PenmanMonteith(us)
	if err != nil || err2 != nil || math.Abs(a.ETo.Number-b.ETo.Number) > 1e-9 {
		t.Errorf("%v and %v (%v %v)", a.ETo, b.ETo, err, err2)
	}
}

// Near the poles the day has 24 or no hours, never NaN; at the equator always 12.
func TestLengthOfDay(t *testing.T) {
	for lat := -90.0; lat <= 90; lat += 5 {
		for day := 1.0; day <= 366; day += 5 {
			sky, err := SkyOf(agronomy.Q(day, "day"), agronomy.Q(lat, "deg"))
			if err != nil || !(sky.Hours.Number >= 0 && sky.Hours.Number <= 24) || !(sky.Ra.Number >= 0 && sky.Ra.Number < 50) {
				t.Fatalf("%g on day %g: %v h, %v (%v)", lat, day, sky.Hours, sky.Ra, err)
			}
			if lat == 0 && math.Abs(sky.Hours.Number-12) > 1e-9 {
				t.Fatalf("at the equator %v", sky.Hours)
			}
		}
	}
}

// Every month of both turfs stands in the table, and a wrong month is refused.
func TestTurfCoefficients(t *testing.T) {
	for turf, sum := range map[string]float64{"cool-season": 9.45, "warm-season": 7.81} {
		total := 0.0
		for _, month := range []string{"January", "feb", "March", "4", "may", "Jun", "7", "August", "sep", "10", "November", "Dec"} {
			k, err := TurfCoefficient(turf, month)
			if err != nil {
				t.Fatal(err)
			}
			total += k.Number
		}
		if math.Abs(total-sum) > 1e-9 {
			t.Errorf("%s: %v in all", turf, total)
		}
	}
	if k, err := StageCoefficient("Warm Season", "late"); err != nil || k.Number != 0.85 {
		t.Errorf("%v %v", k, err)
	}
	if lo, hi, err := GreatestUse("Tall Fescue"); err != nil || lo.Number != 7 || hi.Number != 13 {
		t.Errorf("%v %v %v", lo, hi, err)
	}
	if _, err := TurfCoefficient("cool-season", "Brumaire"); err == nil {
		t.Error("a month that isn't one is taken")
	}
}

func TestRefusals(t *testing.T) {
	q := agronomy.Q
	good := Day{Latitude: q(40, "deg"), Elevation: q(300, "m"), DayOfYear: q(200, "day"), Tmax: q(30, "C"), Tmin: q(18, "C"), Humidity: Humidity{Tdew: q(15, "C")}, Wind: q(3, "m/s")}
	for name, c := range map[string]struct {
		spoil func(*Day)
		input string
	}{
		"turned round": {func(d *Day) { d.Tmin = q(31, "C") }, "tmin"},
		"wet air":      {func(d *Day) { d.Humidity.Tdew = q(35, "C") }, "ea"},
		"no latitude":  {func(d *Day) { d.Latitude = agronomy.Quantity{} }, "latitude"},
		"latitude":     {func(d *Day) { d.Latitude = q(91, "deg") }, "latitude"},
		"day":          {func(d *Day) { d.DayOfYear = q(400, "day") }, "day_of_year"},
		"wind":         {func(d *Day) { d.Wind = q(-1, "m/s") }, "wind"},
		"wind in C":    {func(d *Day) { d.Wind = q(3, "C") }, "wind"},
		"sunshine":     {func(d *Day) { d.Sunshine = q(20, "h") }, "sunshine"},
		"kelvin as C":  {func(d *Day) { d.Tmax = q(303, "C") }, "tmax"},
		"humidity":     {func(d *Day) { d.Humidity = Humidity{RHmax: q(50, "%"), RHmin: q(80, "%")} }, "rhmin"},
		"no elevation": {func(d *Day) { d.Elevation = agronomy.Quantity{} }, "elevation"},
		"psychrometer": {func(d *Day) { d.Humidity = Humidity{Twet: q(25, "C"), Tdry: q(20, "C")} }, "twet"},
	} {
		d := good
		c.spoil(&d)
		_, err := PenmanMonteith(d)
		var refused *agronomy.InputError
		if !errors.As(err, &refused) || refused.Input != c.input {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := PenmanMonteith(good); err != nil {
		t.Error(err)
	}
}
