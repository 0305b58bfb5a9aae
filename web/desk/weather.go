package desk

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/weather"
	"swardbook/store"
	"swardbook/web/page"
)

// How far a station's file may go: as long as a busy desk waits for it, and gaps that a season's sums bear.
const (
	mostWeather = 4 << 20
	mostGap     = 7
	shownDays   = 14
)

// Weather shows what the firm's weather station said, and takes a file of it.
func (d *Desk) Weather(w http.ResponseWriter, r *http.Request) error {
	return d.drawWeather(w, r, http.StatusOK, page.WeatherView{})
}

func (d *Desk) drawWeather(w http.ResponseWriter, r *http.Request, status int, v page.WeatherView) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	days, err := d.db.Weather(r.Context(), "", "")
	if err != nil {
		return err
	}
	v.Held = heldSays(a, days)
	for _, day := range days[max(0, len(days)-shownDays):] {
		v.Days = append(v.Days, weatherRow(a, day))
	}
	f, err := d.frame(r, a, "materials", a.words.T("weather.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Weather(f, v))
}

func heldSays(a asking, days []store.WeatherDay) string {
	if len(days) == 0 {
		return a.words.T("weather.none")
	}
	return a.words.T("weather.held", "n", len(days), "first", shortDay(days[0].Day), "last", shortDay(days[len(days)-1].Day))
}

// LookAtWeather reads a file that was chosen and shows what it holds, or every row that can't be used. Nothing is kept yet.
func (d *Desk) LookAtWeather(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	text, err := readUpload(w, r)
	if err != nil {
		return err
	}
	if strings.TrimSpace(text) == "" {
		return d.drawWeather(w, r, http.StatusUnprocessableEntity, page.WeatherView{Text: text, Refused: a.words.T("weather.need")})
	}
	series, err := weather.Read(strings.NewReader(text), weather.Options{Gaps: mostGap, Probe: true})
	if err != nil {
		return d.refusedWeather(w, r, a, text, err)
	}
	days := daysOf(series)
	if r.FormValue("keep") == "" {
		return d.drawWeather(w, r, http.StatusOK, d.preview(a, series, days, text))
	}
	return done(w, r, d.db.SaveWeather(r.Context(), days), "/desk/weather", "weather")
}

// refusedWeather names every row that can't be used, and gives the text back so that it can be mended where it stands.
func (d *Desk) refusedWeather(w http.ResponseWriter, r *http.Request, a asking, text string, err error) error {
	var problems weather.Problems
	if !errors.As(err, &problems) {
		return err
	}
	v := page.WeatherView{Text: text, Refused: a.words.N("weather.refused", len(problems))}
	for _, p := range problems {
		v.Problems = append(v.Problems, a.words.T("weather.line", "line", p.Line, "say", p.Say))
	}
	return d.drawWeather(w, r, http.StatusUnprocessableEntity, v)
}

func (d *Desk) preview(a asking, series weather.Series, days []store.WeatherDay, text string) page.WeatherView {
	v := page.WeatherView{Text: text, Fine: a.words.T("weather.fine", "n", len(days), "first", shortDay(days[0].Day), "last", shortDay(days[len(days)-1].Day), "missing", series.Missing)}
	for _, c := range series.Columns {
		if c != weather.Date {
			v.Columns = append(v.Columns, string(c)+" ("+series.Units[c]+")")
		}
	}
	if !series.Has(weather.Soil) {
		v.NoSoil = a.words.T("weather.no_soil")
	}
	for _, day := range days[:min(shownDays, len(days))] {
		v.Preview = append(v.Preview, weatherRow(a, day))
	}
	return v
}

// readUpload is the file that was chosen, else the text that was typed or mended.
func readUpload(w http.ResponseWriter, r *http.Request) (string, error) {
	r.Body = http.MaxBytesReader(w, r.Body, mostWeather)
	if err := r.ParseMultipartForm(mostWeather); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return "", &store.Error{Kind: store.TooLarge, Say: "The file could not be read; it may be larger than 4 MB.", Err: err}
	}
	file, _, err := r.FormFile("file")
	if err != nil {
		return r.FormValue("text"), nil
	}
	raw, err := io.ReadAll(file)
	if err == nil {
		err = file.Close()
	}
	if len(raw) == 0 {
		return r.FormValue("text"), err
	}
	return string(raw), err
}

func daysOf(s weather.Series) []store.WeatherDay {
	out := make([]store.WeatherDay, len(s.Days))
	for i, d := range s.Days {
		out[i] = store.WeatherDay{
			Day: d.Date.Format(time.DateOnly), TMin: known(d.Tmin), TMax: known(d.Tmax), Rain: known(d.Rain), Wind: known(d.Wind), Humidity: known(d.Humidity),
			Sun: known(d.Sunshine), Solar: known(d.Radiation), Soil: known(d.Soil),
		}
	}
	return out
}

// known is nil for what a file did not say.
func known(x float64) *float64 {
	if !weather.Known(x) {
		return nil
	}
	return &x
}

// weatherRow is a day in the firm's units; what is not known stays empty.
func weatherRow(a asking, day store.WeatherDay) page.WeatherRow {
	us := a.firm.Units != "metric"
	value := func(x *float64, from, to string, decimals int) string {
		if x == nil {
			return ""
		}
		q := agronomy.Q(*x, from)
		if us {
			v, err := q.In(to)
			if err != nil {
				return ""
			}
			q = agronomy.Q(v, to)
		}
		return strconv.FormatFloat(q.Value, 'f', decimals, 64) + " " + strings.Replace(strings.Replace(q.Unit, "F", "°F", 1), "C", "°C", 1)
	}
	return page.WeatherRow{
		Day: shortDay(day.Day), TMin: value(day.TMin, "C", "F", 0), TMax: value(day.TMax, "C", "F", 0), Rain: value(day.Rain, "mm", "in", 2),
		Wind: value(day.Wind, "m/s", "mi/h", 0), Soil: value(day.Soil, "C", "F", 0),
	}
}

// station answers a plan's questions by the firm's weather.
type station struct {
	words page.Words
	days  map[string]store.WeatherDay
	last  string
	first string
}

// station is nil when the firm has no weather: then the month and the frost dates serve.
func (d *Desk) station(ctx context.Context, a asking) (*station, error) {
	days, err := d.db.Weather(ctx, "", "")
	if err != nil || len(days) == 0 {
		return nil, err
	}
	s := &station{words: a.words, days: make(map[string]store.WeatherDay, len(days)), first: days[0].Day}
	for _, day := range days {
		s.days[day.Day] = day
		if day.TMax != nil && day.TMin != nil {
			s.last = day.Day
		}
	}
	return s, nil
}

// Soil is the day's soil temperature in F, by the probe only: nothing published turns air into soil.
func (s *station) Soil(day string) (float64, bool) { return fahrenheit(s.days[day].Soil) }

// Air is the day's highest temperature in F.
func (s *station) Air(day string) (float64, bool) { return fahrenheit(s.days[day].TMax) }

func fahrenheit(c *float64) (float64, bool) {
	if c == nil {
		return 0, false
	}
	return *c*1.8 + 32, true
}

// DegreeDays sums (tmax + tmin) ÷ 2 − base where that is above 0, in F; false when a day is not known.
func (s *station) DegreeDays(base float64, from, to string) (float64, bool) {
	first, err := time.Parse(time.DateOnly, from)
	if err != nil {
		return 0, false
	}
	sum := 0.0
	for day := first; day.Format(time.DateOnly) <= to; day = day.AddDate(0, 0, 1) {
		at := s.days[day.Format(time.DateOnly)]
		high, ok := fahrenheit(at.TMax)
		low, also := fahrenheit(at.TMin)
		if !ok || !also {
			return 0, false
		}
		sum += max(0, (high+low)/2-base)
	}
	return sum, true
}

// Last is the last day with a temperature.
func (s *station) Last() string { return s.last }

// Name says what it is.
func (s *station) Name() string { return s.words.T("weather.name", "first", shortDay(s.first)) }
