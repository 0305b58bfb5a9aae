package seeding

import (
	_ "embed"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/rows"
)

var (
	//go:embed data/rates.csv
	ratesText string
	//go:embed data/counts.csv
	countsText string
	//go:embed data/emergence.csv
	emergenceText string
	//go:embed data/windows.csv
	windowsText string

	rates     = rows.Must(ratesText, "species", "use", "low", "high", "pls", "source")
	counts    = rows.Must(countsText, "species", "low", "high", "source")
	emergence = rows.Must(emergenceText, "species", "low", "high", "source")
	windows   = rows.Must(windowsText, "species", "turf", "low", "high", "source")
)

// Span is a range out of a table with its source.
type Span struct {
	Species, Use string
	Low, High    float64
	Unit         string
	Source       string
}

func spans(table []rows.Row, species, use, unit string) []Span {
	var out []Span
	for _, r := range table {
		if strings.EqualFold(r["species"], species) && (use == "" || r["use"] == use) {
			u := unit
			if r["pls"] == "yes" {
				u = strings.Replace(unit, "lb/", "lb PLS/", 1)
			}
			out = append(out, Span{r["species"], r["use"], r.Number("low"), r.Number("high"), u, r["source"]})
		}
	}
	return out
}

// Rates are the published seeding rates of a species, first the one that serves when none is chosen; use is "new",
// "overseed", "overseed warm-season" or "" for all.
func Rates(species, use string) []Span { return spans(rates, species, use, "lb/1000 ft2") }

// Counts are the published seeds in a pound.
func Counts(species string) []Span { return spans(counts, species, "", "seeds/lb") }

// Emergence is the days to emerge in warm moist soil.
func Emergence(species string) []Span { return spans(emergence, species, "", "day") }

var inSpecies = agronomy.Input{Name: "species", Also: []string{"grass"}, Kind: agronomy.Text, OneOf: knownSpecies(), Says: "species, or cool-season or warm-season"}

func knownSpecies() []string {
	var names []string
	for _, table := range [][]rows.Row{windows, rates} {
		for _, name := range rows.Distinct(table, "species") {
			if !contains(names, name) {
				names = append(names, name)
			}
		}
	}
	return append(names, "cool-season", "warm-season")
}

func contains(list []string, x string) bool {
	for _, v := range list {
		if v == x {
			return true
		}
	}
	return false
}

// warm are the warm-season species of the tables; they have no window of their own.
var warm = []string{"bermudagrass", "zoysiagrass", "centipedegrass", "bahiagrass"}

// Window is the soil temperature at which a species germinates best, or the field rule of its class.
func Window(species string) (Span, error) {
	known, err := inSpecies.Option(species)
	if err != nil {
		return Span{}, err
	}
	class := "cool-season"
	if contains(warm, known) || known == "warm-season" {
		class = "warm-season"
	}
	for _, name := range []string{known, ""} {
		for _, r := range windows {
			if r["species"] == name && (name != "" || r["turf"] == class) {
				return Span{known, r["turf"], r.Number("low"), r.Number("high"), "F", r["source"]}, nil
			}
		}
	}
	return Span{}, agronomy.Refuse("species", known, "one with a window in the table")
}

var inSoil = agronomy.Input{Name: "soil_surface_temperature", Also: []string{"soil_temperature", "temperature", "temperatures", "soil_temperatures"}, Kind: agronomy.Numbers, Unit: "F", Range: agronomy.Between(-60, 160), Says: "soil temperature"}

// InWindow says of each temperature whether it is in a species' window, "yes" or "no"; both ends are in.
func InWindow(species string, temperatures agronomy.Quantities) (agronomy.Result, error) {
	w, err := Window(species)
	if err != nil {
		return agronomy.Result{}, err
	}
	s := agronomy.NewSheet("within the soil temperatures at which it germinates best", w.Source)
	s.Note("species", w.Species)
	list := s.TakeAll(inSoil, temperatures)
	s.Step("from", w.Low, "F", "")
	s.Step("to", w.High, "F", "")
	s.Remark("The published pair is an alternation (16 h and 8 h) of the laboratory, used as a window.")
	words := make([]string, len(list))
	for i, t := range list {
		words[i] = "no"
		if t >= w.Low-1e-9 && t <= w.High+1e-9 {
			words[i] = "yes"
		}
	}
	return s.Give(agronomy.OfTexts(words, "per temperature")), s.Err()
}
