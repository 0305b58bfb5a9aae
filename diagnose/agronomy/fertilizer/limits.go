package fertilizer

import (
	_ "embed"
	"fmt"
	"math"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/rows"
)

//go:embed data/caps.csv
var capsText string

// Cap is what a place allows, in lb N/1000 ft2 and shares; a limit that it doesn't have is +Inf (SlowMin: 0).
type Cap struct {
	Place                                string
	TotalMax, SolubleMax                 float64 // lb N/1000 ft2 in one application
	SlowMin                              float64 // least share of slow release
	EEFYearMax, EEFShareMax, EEFMonthMax float64 // enhanced-efficiency products: lb/1000 ft2 a year, share of the annual rate at once, lb released a month
	ClosedFrom, ClosedFromPro, ClosedTo  string  // "11-15": no nitrogen from and to; "" is never
	Source                               string
}

var caps = func() []Cap {
	var out []Cap
	for _, r := range rows.Must(capsText, "place", "total_max", "soluble_max", "slow_min", "eef_year_max", "eef_share_max", "eef_month_max", "closed_from", "closed_from_professional", "closed_to", "source") {
		out = append(out, Cap{
			r["place"], r.Or("total_max", math.Inf(1)), r.Or("soluble_max", math.Inf(1)), r.Or("slow_min", 0),
			r.Or("eef_year_max", math.Inf(1)), r.Or("eef_share_max", math.Inf(1)), r.Or("eef_month_max", math.Inf(1)),
			r["closed_from"], r["closed_from_professional"], r["closed_to"], r["source"],
		})
	}
	return out
}()

// Caps are the limits the program knows, by place. A firm's own come first with the planner; the statute itself wins.
func Caps() []Cap { return append([]Cap(nil), caps...) }

var inPlace = agronomy.Input{Name: "place", Also: []string{"state", "rule"}, Kind: agronomy.Text, OneOf: places(), Says: "whose limits hold"}

func places() []string {
	var out []string
	for _, c := range caps {
		out = append(out, c.Place)
	}
	return out
}

// CapOf is the limits of a place; "" is the first place of the table, the strictest one.
func CapOf(place string) (Cap, error) {
	if place == "" {
		return caps[0], nil
	}
	known, err := inPlace.Option(place)
	for _, c := range caps {
		if c.Place == known {
			return c, err
		}
	}
	return Cap{}, err
}

// Closed says whether nitrogen may not be put down on a date; professionals may have longer in autumn.
func (c Cap) Closed(date time.Time, professional bool) bool {
	from := c.ClosedFrom
	if professional && c.ClosedFromPro != "" {
		from = c.ClosedFromPro
	}
	if from == "" {
		return false
	}
	day := date.Format("01-02")
	return day >= from || day < c.ClosedTo
}

const slowSource = "slow fraction = slowly available N ÷ total N, both percent of the product; classes of Cornell Cooperative Extension, Suffolk"

var (
	inSlowShare = agronomy.Input{Name: "slow_release_fraction_of_n", Also: []string{"slow_fraction", "slow_release_fraction", "slow_share"}, Unit: "fraction", Range: agronomy.Between(0, 1), Says: "share of the nitrogen that is slowly available"}
	inTotalN    = agronomy.Input{Name: "total_n", Also: []string{"grade_n"}, Unit: "%", Range: agronomy.AboveTo(0, greatestN), Says: "nitrogen in the product"}
	inSlowN     = agronomy.Input{Name: "slow_n", Also: []string{"slowly_available_n", "win", "water_insoluble_n"}, Unit: "%", Range: agronomy.Between(0, greatestN), Says: "slowly available (water-insoluble) nitrogen in the product, percent of the product"}
	inNRate     = agronomy.Input{Name: "n_rate", Also: []string{"target_n", "rate_n"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "nitrogen put down on an area"}
)

// SlowFraction is the share of the nitrogen that is slowly available, from two percents of the product.
func SlowFraction(slowN, totalN agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("slow fraction = slowly available N % ÷ total N %", slowSource)
	slow, total := s.Take(inSlowN, slowN), s.Take(inTotalN, totalN)
	if slow > total {
		s.Refuse(agronomy.Refuse("slow_n", slowN.String(), "no more than the total nitrogen, "+totalN.String()))
	}
	return s.Number(slow/total, "fraction"), s.Err()
}

// SlowClass is how a slow fraction is called: quick up to 0.15, moderate below 0.29, slow from there.
func SlowClass(slow agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("quick up to 0.15, moderate above, slow from 0.29", slowSource)
	f := s.Take(inSlowShare, slow)
	class := "moderate"
	switch {
	case f >= 0.29-1e-12:
		class = "slow"
	case f <= 0.15+1e-12:
		class = "quick"
	}
	return s.Give(agronomy.OfText(class, "class")), s.Err()
}

// SolubleN is the nitrogen that works at once.
func SolubleN(nRate, slow agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("soluble N = N rate × (1 − slow fraction)", slowSource)
	n, f := s.Take(inNRate, nRate), s.Take(inSlowShare, slow)
	return s.In(n*(1-f), "lb/1000 ft2", agronomy.MassOn(nRate.Unit)), s.Err()
}

// Allowed says whether one application keeps a place's limits: total, soluble, and the share of slow release. A limit
// reached exactly is kept. The working says which one is broken.
func Allowed(nRate, slow agronomy.Quantity, c Cap) (agronomy.Result, error) {
	s := agronomy.NewSheet("total, soluble and slow share within the limits of "+c.Place, c.Source)
	n, f := s.Take(inNRate, nRate), s.Take(inSlowShare, slow)
	soluble := s.Step("soluble N", n*(1-f), "lb/1000 ft2", "N rate × (1 − slow fraction)")
	broken := []string{}
	within := func(ok bool, say string, limit float64) {
		if !ok {
			broken = append(broken, fmt.Sprintf(say, agronomy.Figure(limit)))
		}
	}
	within(agronomy.NoMore(n, c.TotalMax), "total above %s lb/1000 ft²", c.TotalMax)
	within(agronomy.NoMore(soluble, c.SolubleMax), "soluble above %s lb/1000 ft²", c.SolubleMax)
	within(agronomy.NoMore(c.SlowMin, f), "less slow release than a share of %s", c.SlowMin)
	if len(broken) > 0 {
		s.Remark("Not allowed: " + strings.Join(broken, ", ") + ".")
	}
	return s.Give(agronomy.OfFlag(len(broken) == 0)), s.Err()
}

const seasonSource = "Virginia Department of Conservation and Recreation, lawn nitrogen table; a season's total is the sum for one zone and calendar year"

var (
	inApplications = agronomy.Input{Name: "applications", Also: []string{"n_applications", "n_rates"}, Kind: agronomy.Numbers, Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "nitrogen of each application on one zone this year"}
	inCap          = agronomy.Input{Name: "season_cap", Also: []string{"cap", "annual_cap"}, Unit: "lb/1000 ft2", Or: []string{"lb/1000 ft2/yr"}, Range: agronomy.AtLeast(0), Says: "most nitrogen in the year"}
	inNext         = agronomy.Input{Name: "next", Also: []string{"next_rate", "planned"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "nitrogen of the next application"}
	inOnce         = agronomy.Input{Name: "per_application_cap", Also: []string{"max_per_application", "application_cap"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "most nitrogen in one application"}
	inCredits      = agronomy.Input{Name: "credits", Also: []string{"credit"}, Kind: agronomy.Numbers, Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "nitrogen of clippings and irrigation water, when it is to be counted"}
)

// SeasonTotal is the sum of a year's applications on one zone, with credits for clippings and water only when given.
func SeasonTotal(applications, credits agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("season total = sum of the applications", seasonSource)
	total := sum(s.TakeAll(inApplications, applications))
	if len(credits.Values) > 0 {
		total += s.Step("credits", sum(s.TakeAll(inCredits, credits)), "lb/1000 ft2", "counted since they were given")
	}
	return s.In(total, "lb/1000 ft2", agronomy.MassOn(applications.Unit)), s.Err()
}

// Remaining is what a season's cap leaves; below zero it says by how much the cap is exceeded.
func Remaining(total, limit agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("remaining = cap − season total", seasonSource)
	used, most := s.Take(inTotalOf, total), s.Take(inCap, limit)
	if used > most {
		s.Remark("Below zero: the cap is exceeded by so much.")
	}
	return s.In(most-used, "lb/1000 ft2", agronomy.MassOn(total.Unit)), s.Err()
}

var inTotalOf = agronomy.Input{Name: "season_total", Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "nitrogen of the year so far"}

// OverCap says whether a season's total exceeds its cap; reaching it exactly does not.
func OverCap(total, limit agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("season total > cap", seasonSource)
	used, most := s.Take(inTotalOf, total), s.Take(inCap, limit)
	return s.Give(agronomy.OfFlag(!agronomy.NoMore(used, most))), s.Err()
}

// NextAllowed says whether the season's total with one more application stays within the cap.
func NextAllowed(total, next, limit agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("season total + next ≤ cap", seasonSource)
	used, n, most := s.Take(inTotalOf, total), s.Take(inNext, next), s.Take(inCap, limit)
	s.Step("with the next", used+n, "lb/1000 ft2", "")
	return s.Give(agronomy.OfFlag(agronomy.NoMore(used+n, most))), s.Err()
}

// EachWithin says of each application whether it keeps the cap for one application.
func EachWithin(applications agronomy.Quantities, limit agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("each application ≤ cap for one application", seasonSource)
	list, most := s.TakeAll(inApplications, applications), s.Take(inOnce, limit)
	ok := true
	for _, n := range list {
		ok = ok && agronomy.NoMore(n, most)
	}
	return s.Give(agronomy.OfFlag(ok)), s.Err()
}

func sum(list []float64) float64 {
	total := 0.0
	for _, v := range list {
		total += v
	}
	return total
}
