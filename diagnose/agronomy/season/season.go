// Package season holds a year's programme of nitrogen: how much each grass is given in each state, in which
// applications, and whether enhanced-efficiency products and dates keep the law.
package season

import (
	_ "embed"
	"fmt"
	"math"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/fertilizer"
	"swardbook/diagnose/agronomy/rows"
)

var (
	//go:embed data/nitrogen.csv
	nitrogenText string
	//go:embed data/months.csv
	monthsText string

	nitrogen = rows.Must(nitrogenText, "state", "species", "turf", "low", "high", "source")
	months   = rows.Must(monthsText, "state", "turf", "total", "when", "low", "high", "optional", "note", "source")
)

var (
	inSpecies = agronomy.Input{Name: "species", Also: []string{"grass"}, Kind: agronomy.Text, OneOf: rows.Distinct(nitrogen, "species"), Says: "species"}
	inState   = agronomy.Input{Name: "state", Kind: agronomy.Text, OneOf: rows.Distinct(nitrogen, "state"), Says: "whose table holds"}
	inTotal   = agronomy.Input{Name: "season_total", Also: []string{"annual_n", "n_total"}, Unit: "lb/1000 ft2", Or: []string{"lb/1000 ft2/yr"}, Range: agronomy.AtLeast(0), Says: "nitrogen of the year"}
	inYear    = agronomy.Input{Name: "year_total", Also: []string{"annual_total"}, Unit: "lb/1000 ft2", Or: []string{"lb/1000 ft2/yr"}, Range: agronomy.AboveTo(0, 10), Says: "nitrogen planned for the year"}
	inOnce    = agronomy.Input{Name: "per_application", Also: []string{"rate_per_application"}, Unit: "lb/1000 ft2", Range: agronomy.AboveTo(0, 1), Says: "nitrogen of one application; at most 1 lb/1000 ft²"}
	inTurf    = agronomy.Input{Name: "turf", Also: []string{"turf_class"}, Kind: agronomy.Text, OneOf: []string{"cool-season", "warm-season"}, Says: "cool-season or warm-season"}
	inEEF     = agronomy.Input{Name: "eef_n_year", Also: []string{"eef_n_annual"}, Unit: "lb/1000 ft2", Or: []string{"lb/1000 ft2/yr"}, Range: agronomy.AtLeast(0), Says: "nitrogen of enhanced-efficiency products in the year"}
	inUnivers = agronomy.Input{Name: "university_annual", Also: []string{"annual_recommendation"}, Unit: "lb/1000 ft2", Or: []string{"lb/1000 ft2/yr"}, Range: agronomy.Above(0), Says: "the university's rate for the year"}
	inRelease = agronomy.Input{Name: "monthly_release", Also: []string{"release_per_month"}, Unit: "lb/1000 ft2/month", Or: []string{"lb/1000 ft2"}, Range: agronomy.AtLeast(0), Says: "nitrogen released in a month"}
	inSingle  = agronomy.Input{Name: "single_application", Also: []string{"largest_application"}, Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "nitrogen of the largest application"}
	inPlace   = agronomy.Input{Name: "place", Kind: agronomy.Text, Says: "whose law holds"}
	inDate    = agronomy.Input{Name: "application_date", Also: []string{"date"}, Kind: agronomy.Text, Says: "day of an application, like 2026-11-20"}
	inPro     = agronomy.Input{Name: "professional", Kind: agronomy.Flag, Says: "whether a professional applies"}
)

// Yearly is a state's range of nitrogen for a species, lb N/1000 ft2 a year.
type Yearly struct {
	State, Species, Turf string
	Low, High            float64
	Source               string
}

// Published are the ranges for a species in the table's order; state "" gives all.
func Published(species, state string) []Yearly {
	var out []Yearly
	for _, r := range nitrogen {
		if strings.EqualFold(r["species"], species) && (state == "" || strings.EqualFold(r["state"], state)) {
			out = append(out, Yearly{r["state"], r["species"], r["turf"], r.Number("low"), r.Number("high"), r["source"]})
		}
	}
	return out
}

// YearlyFor is the range of a species in a state; state "" is the first the table has for it.
func YearlyFor(species, state string) (Yearly, error) {
	known, err := inSpecies.Option(species)
	if err != nil {
		return Yearly{}, err
	}
	list := Published(known, state)
	if len(list) == 0 {
		var states []string
		for _, y := range Published(known, "") {
			states = append(states, y.State)
		}
		return Yearly{}, agronomy.Refuse("state", state, "one that publishes nitrogen for "+known+": "+strings.Join(states, ", "))
	}
	return list[0], nil
}

// InRange says whether a year's nitrogen is "below", "within" or "above" a state's range for a species.
func InRange(species, state string, total agronomy.Quantity) (agronomy.Result, error) {
	y, err := YearlyFor(species, state)
	if err != nil {
		return agronomy.Result{}, err
	}
	s := agronomy.NewSheet("season total against "+y.State+"'s range for "+y.Species, y.Source)
	v := s.Take(inTotal, total)
	s.Step("from", y.Low, "lb/1000 ft2", "")
	s.Step("to", y.High, "lb/1000 ft2", "")
	word := "within"
	switch {
	case v < y.Low-1e-9:
		word = "below"
	case v > y.High+1e-9:
		word = "above"
	}
	return s.Give(agronomy.OfText(word, "class")), s.Err()
}

// Feeding is one application of a programme.
type Feeding struct {
	When   string
	Rate   float64 // lb N/1000 ft2
	Note   string
	Source string
}

// Programme is the year's applications of a total in equal parts of at most perApplication, by the class of turf and the
// state's table (state "": the first that has one for the class). The count is rounded up, so that no part exceeds it.
func Programme(turf, state string, total, perApplication agronomy.Quantity) ([]Feeding, error) {
	s := agronomy.NewSheet("", "")
	class := s.Choose(inTurf, turf)
	t, most := s.Take(inYear, total), s.Take(inOnce, perApplication)
	if s.Err() != nil {
		return nil, s.Err()
	}
	n := agronomy.Up(t / most)
	var out []Feeding
	from := state
	for _, r := range months {
		if r["turf"] != class || r.Number("total") != n || from != "" && !strings.EqualFold(from, r["state"]) {
			continue
		}
		from = r["state"]
		out = append(out, Feeding{r["when"], t / n, r["note"], r["source"]})
	}
	if len(out) == 0 {
		return nil, agronomy.RefuseSay("year_total", total.String(), "of 1 to 4 applications",
			fmt.Sprintf("%s in applications of %s would take %s; the table of %s turf has 1 to 4.", total, perApplication, agronomy.Figure(n), class))
	}
	return out, nil
}

// Windows are the months that a state's table has for a class of turf whatever the total, with the least and most of each.
func Windows(turf, state string) []rows.Row {
	var out []rows.Row
	for _, r := range months {
		if r["turf"] == turf && r["total"] == "0" && (state == "" || r["state"] == state) {
			out = append(out, r)
		}
	}
	return out
}

// EEFYear says whether the year's nitrogen of enhanced-efficiency products keeps a place's limit.
func EEFYear(year agronomy.Quantity, c fertilizer.Cap) (agronomy.Result, error) {
	s := agronomy.NewSheet("enhanced-efficiency nitrogen of the year ≤ "+limit(c.EEFYearMax), c.Source)
	return s.Give(agronomy.OfFlag(agronomy.NoMore(s.Take(inEEF, year), c.EEFYearMax))), s.Err()
}

// EEFShare says whether one application keeps to the place's share of the university's annual rate.
func EEFShare(single, annual agronomy.Quantity, c fertilizer.Cap) (agronomy.Result, error) {
	s := agronomy.NewSheet("one application ≤ share of the university's annual rate", c.Source)
	one, year := s.Take(inSingle, single), s.Take(inUnivers, annual)
	most := math.Inf(1)
	if !math.IsInf(c.EEFShareMax, 1) {
		most = s.Step("most", c.EEFShareMax*year, "lb/1000 ft2", agronomy.Figure(c.EEFShareMax)+" × annual rate")
	}
	return s.Give(agronomy.OfFlag(agronomy.NoMore(one, most))), s.Err()
}

// EEFRelease says whether a month's release keeps a place's limit.
func EEFRelease(month agronomy.Quantity, c fertilizer.Cap) (agronomy.Result, error) {
	s := agronomy.NewSheet("release in a month ≤ "+limit(c.EEFMonthMax), c.Source)
	return s.Give(agronomy.OfFlag(agronomy.NoMore(s.Take(inRelease, month), c.EEFMonthMax))), s.Err()
}

func limit(v float64) string {
	if math.IsInf(v, 1) {
		return "no limit"
	}
	return agronomy.Figure(v) + " lb/1000 ft²"
}

// dateForm is how dates are written.
const dateForm = "2006-01-02"

// DateAllowed says whether nitrogen may go down on a date at a place.
func DateAllowed(place string, date time.Time, professional bool) (agronomy.Result, error) {
	c, err := fertilizer.CapOf(place)
	if err != nil {
		return agronomy.Result{}, err
	}
	s := agronomy.NewSheet("not between the closing and the opening day of "+c.Place, c.Source)
	s.Note("application_date", date.Format(dateForm))
	return s.Give(agronomy.OfFlag(!c.Closed(date, professional))), s.Err()
}
