package degreedays

import (
	"fmt"

	"swardbook/diagnose/agronomy"
)

// SoilWindow is something that goes by the soil's temperature as a probe shows it, °F.
type SoilWindow struct {
	Name, Says string
	Low, High  float64 // °F; High 0: there is no end
	Depth      string
	Source     string
}

// SoilWindows are the published ones and those of practice.
func SoilWindows() []SoilWindow {
	return []SoilWindow{
		{"soil_crabgrass_preemergence", "put crabgrass pre-emergence down, while it rises", 50, 55, "0-2 in", calhoun},
		{"soil_crabgrass_germination", "most crabgrass germinates", 60, 70, "0-2 in", calhoun},
		{"soil_smooth_crabgrass_many", "smooth crabgrass emerges in large numbers", 22.8*1.8 + 32, 0, "2.5 cm", fidanza},
		{"soil_grubs_move_up", "grubs move up to the roots", 50, 0, "root zone", "extension newsletters"},
		{"soil_seed_cool_season", "seed cool-season grass", 50, 65, "2-4 in", "common field rule"},
		{"soil_seed_warm_season", "seed warm-season grass, while it rises", 65, 70, "2-4 in", "common field rule"},
	}
}

// At says where a temperature of the soil lies: below, within or above the window.
func (w SoilWindow) At(t agronomy.Quantity) (agronomy.Result, error) {
	end := "on"
	if w.High > 0 {
		end = "to " + agronomy.Q(w.High, "F").String()
	}
	s := agronomy.NewSheet(fmt.Sprintf("%s: from %s %s, measured in the soil at %s", w.Says, agronomy.Q(w.Low, "F"), end, w.Depth), w.Source)
	in := agronomy.Input{Name: "soil_temperature", Unit: "F", Range: inMean.Range}
	v := s.Take(in, t)
	word := "within"
	switch {
	case v < w.Low-1e-9:
		word = "below"
	case w.High > 0 && v > w.High+1e-9:
		word = "above"
	}
	return s.Give(agronomy.OfText(word, "per value")), s.Err()
}

// soilFormula offers the windows that go by the soil's temperature.
func soilFormula() agronomy.Formula {
	f := agronomy.Formula{Name: "soil_temperature_windows", Does: "What goes by the soil's temperature now.", Source: calhoun + "; " + fidanza + "; extension newsletters",
		Inputs: []agronomy.Input{inProbe}}
	for _, w := range SoilWindows() {
		f.Outputs = append(f.Outputs, agronomy.Output{Name: w.Name, Unit: "per value", Says: w.Says})
	}
	f.Ways = []agronomy.Way{{Needs: []string{"soil_temperature"}, Run: runSoil}}
	return f
}

var inProbe = agronomy.Input{Name: "soil_temperature", Kind: agronomy.Numbers, Unit: "F", Range: agronomy.Between(-80, 150), Says: "temperature of the soil as a probe shows it"}

func runSoil(v values) (results, error) {
	out := results{}
	list := v.List("soil_temperature")
	for _, w := range SoilWindows() {
		words := make([]string, len(list.Values))
		var r agronomy.Result
		for i, t := range list.Values {
			var err error
			if r, err = w.At(agronomy.Q(t, list.Unit)); err != nil {
				return nil, err
			}
			words[i] = r.Text
		}
		if v["soil_temperature"].Kind == agronomy.Numbers {
			r.Value = agronomy.OfTexts(words, "per value")
			r.Working.Result = r.String()
		}
		out[w.Name] = r
	}
	return out, nil
}
