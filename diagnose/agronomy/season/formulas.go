package season

import (
	"fmt"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/fertilizer"
)

type (
	values  = agronomy.Values
	results = agronomy.Results
	way     = agronomy.Way
)

// Formulas are this subject's entries of the registry.
func Formulas() []agronomy.Formula {
	judged := func(needs []string, name string, f func(values, fertilizer.Cap) (agronomy.Result, error)) way {
		return way{Needs: needs, May: []string{"place"}, Run: agronomy.Gives(name, func(v values) (agronomy.Result, error) {
			c, err := fertilizer.CapOf(v.Text("place"))
			if err != nil {
				return agronomy.Result{}, err
			}
			return f(v, c)
		})}
	}
	return []agronomy.Formula{{
		Name: "season_programme", Does: "A year's nitrogen by grass and state, its applications, and the law on enhanced-efficiency products and dates.", Source: "Virginia Department of Conservation and Recreation; University of Illinois (1995); Maryland Code, Agriculture 6-224",
		Inputs: []agronomy.Input{inSpecies, inState, inTotal, inYear, inOnce, inTurf, inEEF, inUnivers, inRelease, inSingle, inPlace, inDate, inPro},
		Outputs: []agronomy.Output{
			{Name: "range", Unit: "class", Says: "season total against the state's range"}, {Name: "low", Unit: "lb/1000 ft2", Says: "the range from"}, {Name: "high", Unit: "lb/1000 ft2", Says: "the range to"},
			{Name: "turf", Unit: "class", Says: "class of the species"}, {Name: "applications", Unit: "list", Says: "when to feed"}, {Name: "application_count", Unit: "count", Says: "how often"},
			{Name: "rate_each", Unit: "lb/1000 ft2", Says: "nitrogen of each"}, {Name: "annual_ok", Unit: "boolean", Says: "the year's limit is kept"}, {Name: "share_ok", Unit: "boolean", Says: "the share at once is kept"},
			{Name: "release_ok", Unit: "boolean", Says: "the month's release is kept"}, {Name: "date_allowed", Unit: "boolean", Says: "nitrogen may go down on the day"},
		},
		Ways: []way{
			{Needs: []string{"species"}, May: []string{"state"}, Run: ends},
			{Needs: []string{"species", "season_total"}, May: []string{"state"}, Run: agronomy.Gives("range", func(v values) (agronomy.Result, error) {
				return InRange(v.Text("species"), v.Text("state"), v.Q("season_total"))
			})},
			{Needs: []string{"year_total", "turf"}, May: []string{"per_application", "state"}, Run: func(v values) (results, error) { return programme(v, v.Text("turf")) }},
			{Needs: []string{"year_total", "species"}, May: []string{"per_application", "state"}, Run: func(v values) (results, error) {
				y, err := YearlyFor(v.Text("species"), "")
				if err != nil || v.Has("turf") {
					return nil, err
				}
				return programme(v, y.Turf)
			}},
			judged([]string{"eef_n_year"}, "annual_ok", func(v values, c fertilizer.Cap) (agronomy.Result, error) { return EEFYear(v.Q("eef_n_year"), c) }),
			judged([]string{"single_application", "university_annual"}, "share_ok", func(v values, c fertilizer.Cap) (agronomy.Result, error) {
				return EEFShare(v.Q("single_application"), v.Q("university_annual"), c)
			}),
			judged([]string{"monthly_release"}, "release_ok", func(v values, c fertilizer.Cap) (agronomy.Result, error) {
				return EEFRelease(v.Q("monthly_release"), c)
			}),
			{Needs: []string{"application_date", "place"}, May: []string{"professional"}, Run: agronomy.Gives("date_allowed", func(v values) (agronomy.Result, error) {
				day, err := time.Parse(dateForm, strings.TrimSpace(v.Text("application_date")))
				if err != nil {
					return agronomy.Result{}, agronomy.Refuse("application_date", fmt.Sprintf("%.40q", v.Text("application_date")), "a date like 2026-11-20")
				}
				return DateAllowed(v.Text("place"), day, v["professional"].Yes)
			})},
		},
	}}
}

func ends(v values) (results, error) {
	y, err := YearlyFor(v.Text("species"), v.Text("state"))
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("published range for a year", y.Source)
	s.Note("species", y.Species)
	s.Note("state", y.State)
	return results{"low": s.Number(y.Low, "lb N/1000 ft2"), "high": s.Number(y.High, "lb N/1000 ft2"), "turf": s.Give(agronomy.OfText(y.Turf, "class"))}, s.Err()
}

func programme(v values, turf string) (results, error) {
	once := v.Q("per_application", agronomy.Q(1, "lb/1000 ft2"))
	list, err := Programme(turf, v.Text("state"), v.Q("year_total"), once)
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("applications = year's total ÷ most at once, rounded up; months by the table", list[0].Source)
	s.Take(inYear, v.Q("year_total"))
	s.Take(inOnce, once)
	s.Note("turf", turf)
	when := make([]string, len(list))
	for i, f := range list {
		when[i] = f.When
		if f.Note != "" {
			when[i] += " (" + f.Note + ")"
		}
	}
	return results{
		"applications": s.Give(agronomy.OfTexts(when, "list")), "application_count": s.Number(float64(len(list)), "count"),
		"rate_each": s.In(list[0].Rate, "lb/1000 ft2", agronomy.MassOn(v.Q("year_total").Unit)),
	}, s.Err()
}
