// Package weather reads a station's daily file and works out what a season's calculations need of it: degree days, reference
// evapotranspiration by the best method its columns allow, the account of the soil's water, frosts and windows. There is no
// published rule here that turns air into soil temperature, so none is guessed: a window on soil temperature needs a probe.
package weather

import (
	"math"
	"slices"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/degreedays"
)

// Column is what a file may hold for each day.
type Column string

// The columns. Date, Tmax, Tmin and Rain must be there; in a probe's own file Date and Soil.
const (
	Date      Column = "date"
	Tmax      Column = "tmax"
	Tmin      Column = "tmin"
	Rain      Column = "rain"
	Wind      Column = "wind"
	Humidity  Column = "humidity" // mean
	RHmax     Column = "rhmax"
	RHmin     Column = "rhmin"
	Dew       Column = "dew point"
	Sunshine  Column = "sunshine"
	Radiation Column = "radiation"
	Soil      Column = "soil temperature" // measured by a probe
)

// columns is what each column is worked in, what is allowed there, and what else it may be called.
var columns = map[Column]struct {
	unit  string
	or    []string
	limit agronomy.Range
	also  []string
}{
	Tmax:      {"C", nil, agronomy.Between(-60, 60), []string{"tempmax", "maxtemp", "maximumtemperature", "maxtemperature", "high", "temperaturemax", "tx", "maximum"}},
	Tmin:      {"C", nil, agronomy.Between(-60, 60), []string{"tempmin", "mintemp", "minimumtemperature", "mintemperature", "low", "temperaturemin", "tn", "minimum"}},
	Rain:      {"mm", nil, agronomy.Between(0, 2000), []string{"precipitation", "precip", "prcp", "rainfall", "rr"}},
	Wind:      {"m/s", nil, agronomy.Between(0, 60), []string{"windspeed", "awnd", "meanwind", "windmean", "wspd"}},
	Humidity:  {"%", nil, agronomy.Between(0, 100), []string{"rh", "rhmean", "relativehumidity", "meanhumidity", "humiditymean"}},
	RHmax:     {"%", nil, agronomy.Between(0, 100), []string{"humiditymax", "maxhumidity"}},
	RHmin:     {"%", nil, agronomy.Between(0, 100), []string{"humiditymin", "minhumidity"}},
	Dew:       {"C", nil, agronomy.Between(-60, 60), []string{"tdew", "dewpoint", "dewp"}},
	Sunshine:  {"h", nil, agronomy.Between(0, 24), []string{"sun", "sunhours", "sunshinehours", "sunshineduration"}},
	Radiation: {"MJ/m2/day", []string{"MJ/m2"}, agronomy.Between(0, 50), []string{"solarradiation", "rs", "globalradiation", "srad"}},
	Soil:      {"C", nil, agronomy.Between(-40, 60), []string{"soiltemperature", "soiltemp", "tsoil"}},
}

// Day is one day, in °C, mm, m/s, %, h and MJ/m². What is not known is NaN.
type Day struct {
	Date                           time.Time // midnight UTC of the day
	Tmax, Tmin, Rain               float64
	Wind, Humidity, RHmax, RHmin   float64
	Dew, Sunshine, Radiation, Soil float64
}

// unknown is a day of which nothing is known but its date.
func unknown(date time.Time) Day {
	n := math.NaN()
	return Day{date, n, n, n, n, n, n, n, n, n, n, n}
}

// Known says whether a value is known.
func Known(v float64) bool { return !math.IsNaN(v) }

// at is the place of a column in a day.
func (d *Day) at(c Column) *float64 {
	switch c {
	case Tmax:
		return &d.Tmax
	case Tmin:
		return &d.Tmin
	case Rain:
		return &d.Rain
	case Wind:
		return &d.Wind
	case Humidity:
		return &d.Humidity
	case RHmax:
		return &d.RHmax
	case RHmin:
		return &d.RHmin
	case Dew:
		return &d.Dew
	case Sunshine:
		return &d.Sunshine
	case Radiation:
		return &d.Radiation
	}
	return &d.Soil
}

// Series is a run of days without a break, oldest first. Days that the file left out within what the reader was told to
// allow are there, with nothing known of them.
type Series struct {
	Days    []Day
	Columns []Column          // those of the file, in its order
	Units   map[Column]string // as the file names them
	Missing int               // values of the columns that must be there that the file lacks
}

// First and Last are the ends of the series; zero for an empty one.
func (s Series) First() time.Time {
	if len(s.Days) == 0 {
		return time.Time{}
	}
	return s.Days[0].Date
}

// Last is the last day.
func (s Series) Last() time.Time {
	if len(s.Days) == 0 {
		return time.Time{}
	}
	return s.Days[len(s.Days)-1].Date
}

// index is the place of a date in the days, which have no breaks; it may lie outside.
func (s Series) index(date time.Time) int {
	return int(math.Round(date.Sub(s.First()).Hours() / 24))
}

// Between is the part of a series from one day to another, both included, as far as the series reaches.
func (s Series) Between(from, to time.Time) Series {
	part := s
	part.Days = nil
	if len(s.Days) == 0 {
		return part
	}
	lo, hi := max(0, s.index(from)), min(len(s.Days), s.index(to)+1)
	if lo < hi {
		part.Days = s.Days[lo:hi]
	}
	part.Missing = 0
	for _, d := range part.Days {
		for _, v := range []float64{d.Tmax, d.Tmin, d.Rain} {
			if !Known(v) {
				part.Missing++
			}
		}
	}
	return part
}

// Filled is the series with missing temperatures put in between their neighbours.
func (s Series) Filled() Series {
	full := s
	full.Days = slices.Clone(s.Days)
	for _, col := range []Column{Tmax, Tmin, Soil} {
		list, _ := degreedays.Fill(s.list(col))
		for i, v := range list {
			*full.Days[i].at(col) = v
		}
	}
	return full
}

// Has says whether the file had a column.
func (s Series) Has(c Column) bool {
	_, ok := s.Units[c]
	return ok
}

// list is one column as a list, in the unit it is worked in.
func (s Series) list(c Column) []float64 {
	out := make([]float64, len(s.Days))
	for i := range s.Days {
		out[i] = *s.Days[i].at(c)
	}
	return out
}
