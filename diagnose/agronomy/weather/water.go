package weather

import (
	"fmt"
	"math"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/evapo"
	"swardbook/diagnose/agronomy/soilwater"
)

// Station is where the file comes from.
type Station struct {
	Latitude   agronomy.Quantity // north positive
	Elevation  agronomy.Quantity
	WindHeight agronomy.Quantity // 2 m when without a unit; airports measure at 10 m
	Coast      bool              // radiation guessed from temperatures takes the coast's coefficient
}

// Method is how a day's reference evapotranspiration was found.
type Method string

// The methods, best first.
const (
	PenmanMonteith Method = "Penman–Monteith"
	PenmanFromTmin Method = "Penman–Monteith, dew point taken as the lowest temperature"
	Hargreaves     Method = "Hargreaves"
)

// ETo is a day's reference evapotranspiration, mm.
type ETo struct {
	Date      time.Time
	MM        float64
	Method    Method
	Estimated bool // a temperature was missing and put in between its neighbours
	Working   agronomy.Working
}

// ReferenceET gives every day's reference evapotranspiration by the best method its own values allow: Penman–Monteith with
// wind and humidity, with the dew point taken as Tmin when only wind is known, else Hargreaves. Radiation is the measured
// one, else from sunshine, else guessed from the temperatures.
func (s Series) ReferenceET(st Station) ([]ETo, error) {
	out := make([]ETo, len(s.Days))
	for i, d := range s.Filled().Days {
		estimated := !Known(s.Days[i].Tmax) || !Known(s.Days[i].Tmin)
		one, err := eto(d, st)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", d.Date.Format("2006-01-02"), err)
		}
		one.Estimated = estimated
		out[i] = one
	}
	return out, nil
}

// known is a quantity when the value is known, else one without a unit.
func known(v float64, unit string) agronomy.Quantity {
	if !Known(v) {
		return agronomy.Quantity{}
	}
	return agronomy.Q(v, unit)
}

// eto is one day by the best method; values that Penman–Monteith can't use (a dew point above saturation, more sunshine than
// the day is long) leave it to Hargreaves.
func eto(d Day, st Station) (ETo, error) {
	if Known(d.Wind) {
		if out, err := penman(d, st); err == nil {
			return out, nil
		}
	}
	out := ETo{Date: d.Date, Method: Hargreaves}
	sky, err := evapo.SkyOf(dayOfYear(d), st.Latitude)
	if err != nil {
		return out, err
	}
	r, err := evapo.Hargreaves(sky.Ra.Quantity(), agronomy.Q(d.Tmax, "C"), agronomy.Q(d.Tmin, "C"), agronomy.Quantity{})
	out.MM, out.Working = r.Number, r.Working
	return out, err
}

func dayOfYear(d Day) agronomy.Quantity { return agronomy.Q(float64(d.Date.YearDay()), "day") }

func penman(d Day, st Station) (ETo, error) {
	out := ETo{Date: d.Date, Method: PenmanFromTmin}
	h := evapo.Humidity{Tdew: known(d.Dew, "C"), RHmax: known(d.RHmax, "%"), RHmin: known(d.RHmin, "%"), RHmean: known(d.Humidity, "%")}
	if Known(d.Dew) || Known(d.RHmax) || Known(d.Humidity) {
		out.Method = PenmanMonteith
	}
	krs := agronomy.Q(0.16, "1/C^0.5")
	if st.Coast {
		krs = agronomy.Q(0.19, "1/C^0.5")
	}
	r, err := evapo.PenmanMonteith(evapo.Day{Latitude: st.Latitude, DayOfYear: dayOfYear(d), Elevation: st.Elevation, Tmax: agronomy.Q(d.Tmax, "C"), Tmin: agronomy.Q(d.Tmin, "C"), Humidity: h,
		Wind: agronomy.Q(d.Wind, "m/s"), WindHeight: st.WindHeight, Rs: known(d.Radiation, "MJ/m2/day"), Sunshine: known(d.Sunshine, "h"), Krs: krs})
	out.MM, out.Working = math.Max(0, r.ETo.Number), r.ETo.Working
	return out, err
}

// Ground is a lawn's root zone as the account needs it.
type Ground struct {
	Bucket    soilwater.Bucket
	Available agronomy.Quantity // available water by depth of soil, for the wetted depth expected
}

// Water is one day of the account.
type Water struct {
	Date time.Time
	ETo
	soilwater.Balance
}

// Balance keeps the soil's account over the series. watered is what was put down, mm, by date ("2006-01-02"). A day whose
// rain is missing counts as dry and is marked estimated.
func (s Series) Balance(st Station, soil Ground, watered map[string]float64) ([]Water, error) {
	days, et, err := s.account(st, watered)
	if err != nil {
		return nil, err
	}
	acc, err := soilwater.Run(days, soil.Bucket)
	if err != nil {
		return nil, err
	}
	out := make([]Water, len(days))
	for i, b := range acc.Days {
		et[i].Estimated = et[i].Estimated || !Known(s.Days[i].Rain)
		out[i] = Water{Date: s.Days[i].Date, ETo: et[i], Balance: b}
	}
	return out, nil
}

func (s Series) account(st Station, watered map[string]float64) ([]soilwater.Day, []ETo, error) {
	et, err := s.ReferenceET(st)
	if err != nil {
		return nil, nil, err
	}
	days := make([]soilwater.Day, len(s.Days))
	for i, d := range s.Days {
		rain := d.Rain
		if !Known(rain) {
			rain = 0
		}
		days[i] = soilwater.Day{ETo: et[i].MM, Rain: rain, Irrigation: watered[d.Date.Format("2006-01-02")]}
	}
	return days, et, nil
}

// ExpectedWetting is how deep the last rain or watering of the series should have wetted.
func (s Series) ExpectedWetting(st Station, soil Ground, watered map[string]float64) (soilwater.Expected, error) {
	days, _, err := s.account(st, watered)
	if err != nil {
		return soilwater.Expected{}, err
	}
	return soilwater.ExpectedWetting(days, soil.Bucket, soil.Available)
}
