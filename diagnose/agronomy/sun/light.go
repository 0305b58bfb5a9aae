package sun

import (
	"fmt"
	"strings"

	"swardbook/diagnose/agronomy"
)

const (
	needsSource = "turfgrass information centre, Daily light integral note (2008): more than 10 for cool-season, more than 20 for warm-season turf"
	hoursSource = "University of Georgia extension columnist: no grass does well under 4 h of direct sun, 6 h for vigour"
	lightSource = "definition of the daily light integral; PAR fraction 0.45 and 4.57 mol/MJ are textbook factors, from memory"
)

// LightFromFlux is the daily light integral of a mean flux over some hours.
func LightFromFlux(flux, time agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("light = flux × seconds ÷ 1 000 000", lightSource)
	f, h := s.Take(inFlux, flux), s.Take(inHours, time)
	return s.Number(f*h*3600/1e6, "mol/m2/day"), s.Err()
}

// LightFromRadiation is the daily light integral of a day's solar radiation.
func LightFromRadiation(rs, fraction, perMJ agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("light = Rs × share plants use × mol in a MJ (0.45 × 4.57 = 2.06)", lightSource)
	r, f, m := s.Take(inRs, rs), s.Take(inPAR, fraction), s.Take(inMol, perMJ)
	return s.Number(r*f*m, "mol/m2/day"), s.Err()
}

var (
	inDLI      = agronomy.Input{Name: "dli", Kind: agronomy.Numbers, Unit: "mol/m2/day", Range: agronomy.Between(0, 80), Says: "daily light integrals"}
	inTurf     = agronomy.Input{Name: "turf", Kind: agronomy.Text, Says: "kind of grass, cool-season or warm-season"}
	inSpecies  = agronomy.Input{Name: "species", Kind: agronomy.Text, OneOf: []string{"zoysiagrass", "hybrid bermudagrass", "common bermudagrass"}, Says: "grass of the field study"}
	inDirect   = agronomy.Input{Name: "direct_sun", Kind: agronomy.Numbers, Unit: "h", Or: []string{"h/day"}, Range: agronomy.Between(0, 24), Says: "hours of direct sun"}
	inMinimum  = agronomy.Input{Name: "minimum", Unit: "h", Range: agronomy.Between(0, 24), Says: "hours below which no grass does well (4)"}
	inVigorous = agronomy.Input{Name: "vigorous", Unit: "h", Range: agronomy.Between(0, 24), Says: "hours for vigour (6)"}
)

// needs is the light a kind of turf needs more of than, mol/m²/day.
var needs = map[string]float64{"cool-season": 10, "warm-season": 20}

// field is what two years in the field found a grass to need, mol/m²/day.
var field = map[string][2]float64{"zoysiagrass": {15.0, 21.1}, "hybrid bermudagrass": {20.4, 20.4}, "common bermudagrass": {25.9, 25.9}}

// NeedOf is the light a kind of turf needs more of than; remarks after the kind are passed over.
func NeedOf(turf string) (agronomy.Quantity, error) {
	given := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(turf), " season", "-season"))
	for kind, need := range needs {
		if strings.HasPrefix(given, kind) {
			return agronomy.Q(need, "mol/m2/day"), nil
		}
	}
	return agronomy.Quantity{}, agronomy.Refuse("turf", fmt.Sprintf("%.40q", turf), "cool-season or warm-season")
}

// Adequate says of each light integral whether a kind of turf gets more than it needs.
func Adequate(dli agronomy.Quantities, turf string) (agronomy.Result, error) {
	s := agronomy.NewSheet("enough when more than the need", needsSource)
	list := s.TakeAll(inDLI, dli)
	need, err := NeedOf(turf)
	s.Refuse(err)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	s.Step("need", need.Value, need.Unit, turf)
	words := make([]string, len(list))
	for i, v := range list {
		words[i] = map[bool]string{true: "yes", false: "no"}[v > need.Value]
	}
	return s.Give(agronomy.OfTexts(words, "per value")), s.Err()
}

// AgainstField says of each light integral how it compares with what a grass needed in two years in the field.
func AgainstField(dli agronomy.Quantities, species string) (agronomy.Result, error) {
	s := agronomy.NewSheet("too little below the lesser need, enough from the greater, marginal between", "light-integral needs of fairway warm-season grasses, two years in the field (journal abstract, about 2021)")
	list, name := s.TakeAll(inDLI, dli), s.Choose(inSpecies, species)
	need := field[name]
	s.Step("lesser need", need[0], "mol/m2/day", "")
	s.Step("greater need", need[1], "mol/m2/day", "")
	words := make([]string, len(list))
	for i, v := range list {
		words[i] = between(v, need[0], need[1], "too little", "marginal", "enough")
	}
	return s.Give(agronomy.OfTexts(words, "per value")), s.Err()
}

// ClassOf says of hours of direct sun: too little, thin or vigorous.
func ClassOf(direct agronomy.Quantities, minimum, vigorous agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("too little below the minimum, thin below the hours for vigour, else vigorous", hoursSource)
	list, lo, hi := s.TakeAll(inDirect, direct), s.Take(inMinimum, minimum), s.Take(inVigorous, vigorous)
	if lo > hi {
		s.Refuse(agronomy.Refuse("minimum", minimum.String(), "no more than vigorous, "+vigorous.String()))
	}
	s.Remark("Hours are a stand-in for light: four at noon carry far more than four at the day's ends.")
	words := make([]string, len(list))
	for i, v := range list {
		words[i] = between(v, lo, hi, "too little", "thin", "vigorous")
	}
	return s.Give(agronomy.OfTexts(words, "per value")), s.Err()
}

func between(v, lo, hi float64, below, inside, above string) string {
	switch {
	case v < lo:
		return below
	case v < hi:
		return inside
	}
	return above
}
