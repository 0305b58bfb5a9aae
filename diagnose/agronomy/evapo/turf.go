package evapo

import (
	"fmt"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
)

const turfSource = "University of California, Center for Landscape and Urban Horticulture, Turfgrass crop coefficients (after Meyer and others 1985); California values"

// months are a turf's coefficients from January to December, and year the printed annual plant factor.
type turfTable struct {
	months [12]float64
	year   float64
	fao    [3]float64 // initial, middle, late season; FAO-56 table 12, from memory
}

var turfs = map[string]turfTable{
	"cool-season": {[12]float64{0.61, 0.64, 0.75, 1.04, 0.95, 0.88, 0.94, 0.86, 0.74, 0.75, 0.69, 0.60}, 0.8, [3]float64{0.90, 0.95, 0.95}},
	"warm-season": {[12]float64{0.61, 0.54, 0.76, 0.72, 0.79, 0.68, 0.71, 0.71, 0.62, 0.54, 0.58, 0.55}, 0.6, [3]float64{0.80, 0.85, 0.85}},
}

var (
	inTurf    = agronomy.Input{Name: "turf", Also: []string{"turf_class", "grass"}, Kind: agronomy.Text, OneOf: []string{"cool-season", "warm-season"}, Says: "kind of grass"}
	inMonth   = agronomy.Input{Name: "month", Kind: agronomy.Data, Says: "month, as July, Jul or 7"}
	inStage   = agronomy.Input{Name: "stage", Kind: agronomy.Text, OneOf: []string{"initial", "middle", "late"}, Says: "stage of the season in FAO-56 table 12"}
	inETo     = agronomy.Input{Name: "eto", Also: []string{"reference_et"}, Unit: "mm/day", Or: []string{"mm"}, Range: agronomy.Between(0, 5000), Says: "reference evapotranspiration"}
	inKc      = agronomy.Input{Name: "kc", Also: []string{"crop_coefficient"}, Unit: "ratio", Range: agronomy.AboveTo(0, 1.5), Says: "turf coefficient"}
	inSpecies = agronomy.Input{Name: "species", Kind: agronomy.Text, OneOf: speciesNames(), Says: "grass"}
	inCool    = agronomy.Input{Name: "cool_monthly", Kind: agronomy.Numbers, Unit: "ratio", Range: agronomy.AboveTo(0, 1.5), Says: "twelve coefficients of cool-season turf"}
	inWarm    = agronomy.Input{Name: "warm_monthly", Kind: agronomy.Numbers, Unit: "ratio", Range: agronomy.AboveTo(0, 1.5), Says: "twelve coefficients of warm-season turf"}
)

// monthOf reads a month by its name, the first three letters of it, or its number.
func monthOf(text string) (time.Month, error) {
	word := strings.ToLower(strings.TrimSpace(text))
	for m := time.January; m <= time.December; m++ {
		name := strings.ToLower(m.String())
		if word == name || word == name[:3] || word == fmt.Sprint(int(m)) {
			return m, nil
		}
	}
	return 0, agronomy.Refuse("month", fmt.Sprintf("%.20q", text), "a month, as July, Jul or 7")
}

// TurfCoefficient is the coefficient of a month.
func TurfCoefficient(turf, month string) (agronomy.Result, error) {
	s := agronomy.NewSheet("Kc by month, from the table", turfSource)
	kind := s.Choose(inTurf, turf)
	m, err := monthOf(month)
	s.Refuse(err)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	s.Note("month", m.String())
	return s.Number(turfs[kind].months[m-1], "ratio"), s.Err()
}

// AnnualCoefficient is the year's plant factor, 0.8 or 0.6 as printed. The plain mean of the months differs a little.
func AnnualCoefficient(turf string) (agronomy.Result, error) {
	s := agronomy.NewSheet("annual plant factor, from the table", turfSource)
	return s.Number(turfs[s.Choose(inTurf, turf)].year, "ratio"), s.Err()
}

// StageCoefficient is the coefficient of FAO-56 table 12.
func StageCoefficient(turf, stage string) (agronomy.Result, error) {
	s := agronomy.NewSheet("Kc by stage, from the table", fao56+", table 12 (from memory)")
	kind, name := s.Choose(inTurf, turf), s.Choose(inStage, stage)
	for i, known := range inStage.OneOf {
		if known == name && s.Err() == nil {
			return s.Number(turfs[kind].fao[i], "ratio"), s.Err()
		}
	}
	return agronomy.Result{}, s.Err()
}

// TurfUse is what a turf uses: ETc, in the unit of ETo.
func TurfUse(eto, kc agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ETc = Kc × ETo", fao56+", equation 58")
	e, k := s.Take(inETo, eto), s.Take(inKc, kc)
	res, err := s.Number(e*k, inETo.WorkUnit(eto.Unit)).As(eto.Unit)
	s.Refuse(err)
	res.Working.Result = res.String()
	return res, s.Err()
}

// MeanOfMonths is the plain mean of twelve coefficients.
func MeanOfMonths(in agronomy.Input, months agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("mean of the twelve months", turfSource)
	sum := 0.0
	list := s.TakeAll(in, months)
	for _, v := range list {
		sum += v
	}
	if s.Err() == nil && len(list) != 12 {
		s.Refuse(agronomy.Refuse(in.Name, fmt.Sprintf("%d values", len(list)), "twelve values, one a month"))
	}
	s.Remark("The source prints 0.8 and 0.6 as the year's plant factors; the means of its own months are 0.79 and 0.65.")
	return s.Number(sum/12, "ratio"), s.Err()
}

// maxUse is the greatest water use without shortage, mm/day, after Beard.
var maxUse = []struct {
	species  string
	low, top float64
}{
	{"tall fescue", 7, 13}, {"perennial ryegrass", 7, 11}, {"St. Augustinegrass", 6, 11}, {"creeping bentgrass", 6, 10}, {"centipedegrass", 5, 9},
	{"zoysiagrass", 5, 8}, {"bermudagrass", 4, 9}, {"Kentucky bluegrass", 4, 7}, {"buffalograss", 3, 6},
}

func speciesNames() []string {
	names := make([]string, len(maxUse))
	for i, m := range maxUse {
		names[i] = m.species
	}
	return names
}

// GreatestUse is the range of a grass's greatest water use, mm/day.
func GreatestUse(species string) (low, high agronomy.Result, err error) {
	s := agronomy.NewSheet("greatest water use without shortage, from the table", "Turfgrass ET classes after Beard, Turfgrass: Science and Culture (1973), as reprinted")
	name := s.Choose(inSpecies, species)
	for _, m := range maxUse {
		if strings.EqualFold(m.species, name) {
			low, high = s.Number(m.low, "mm/day"), s.Number(m.top, "mm/day")
		}
	}
	return low, high, s.Err()
}
