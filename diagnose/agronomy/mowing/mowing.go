// Package mowing holds the one-third rule and the heights that states publish for each grass.
package mowing

import (
	_ "embed"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/rows"
)

const ruleSource = "Sorochan, University of Tennessee, mowing heights (2014): never cut more than one third, so mow at 1.5 × the setting"

//go:embed data/heights.csv
var heightsText string

var heights = rows.Must(heightsText, "state", "species", "low", "high", "source")

var (
	inHeight  = agronomy.Input{Name: "mowing_height", Also: []string{"height", "setting", "cutting_height"}, Unit: "in", Range: agronomy.AboveTo(0, 12), Says: "height the mower is set to"}
	inGrass   = agronomy.Input{Name: "grass_height", Also: []string{"current_height", "standing_height", "height_before"}, Unit: "in", Range: agronomy.AboveTo(0, 60), Says: "height the grass stands at"}
	inGrowth  = agronomy.Input{Name: "growth", Also: []string{"growth_rate"}, Unit: "in/day", Range: agronomy.Above(0), Says: "growth in a day"}
	inDays    = agronomy.Input{Name: "days_since", Unit: "day", Range: agronomy.AtLeast(0), Says: "days since the last mowing"}
	inSpecies = agronomy.Input{Name: "species", Also: []string{"grass"}, Kind: agronomy.Text, OneOf: rows.Distinct(heights, "species"), Says: "species"}
	inState   = agronomy.Input{Name: "state", Also: []string{"source_state"}, Kind: agronomy.Text, OneOf: rows.Distinct(heights, "state"), Says: "whose heights hold"}
)

// Heights is a state's published range for a species, in inches.
type Heights struct {
	State, Species string
	Low, High      float64
	Source         string
}

// Published are the ranges for a species in the table's order; state "" gives all.
func Published(species, state string) []Heights {
	var out []Heights
	for _, r := range heights {
		if strings.EqualFold(r["species"], species) && (state == "" || strings.EqualFold(r["state"], state)) {
			out = append(out, Heights{r["state"], r["species"], r.Number("low"), r.Number("high"), r["source"]})
		}
	}
	return out
}

// MowAt is the height at which to mow so that no more than a third comes off, in the setting's unit.
func MowAt(setting agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("mow at = setting ÷ (1 − 1/3) = 1.5 × setting", ruleSource)
	s.Take(inHeight, setting)
	return s.Number(setting.Value*1.5, setting.Unit), s.Err()
}

// DaysBetween is the days that the grass takes from the setting to the height to mow at.
func DaysBetween(setting, growth agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("days = (1.5 × setting − setting) ÷ growth in a day", ruleSource)
	h, g := s.Take(inHeight, setting), s.Take(inGrowth, growth)
	return s.Number(0.5*h/g, "day"), s.Err()
}

// WholeDays is DaysBetween rounded down: later would cut more than a third.
func WholeDays(setting, growth agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("days, rounded down", ruleSource)
	h, g := s.Take(inHeight, setting), s.Take(inGrowth, growth)
	return s.Number(agronomy.Down(0.5*h/g), "day"), s.Err()
}

// Removed is the share of the leaf that a cut takes off, and whether it keeps to a third.
func Removed(grass, setting agronomy.Quantity) (share, within agronomy.Result, err error) {
	s := agronomy.NewSheet("removed = (grass − setting) ÷ grass; at most one third", ruleSource)
	g, h := s.Take(inGrass, grass), s.Take(inHeight, setting)
	off := max(0, (g-h)/g)
	return s.Number(off, "fraction"), s.Give(agronomy.OfFlag(agronomy.NoMore(off, 1.0/3))), s.Err()
}

// LowestCut is how low grass of a height may be cut, in its unit.
func LowestCut(grass agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("lowest cut = grass × 2/3", ruleSource)
	s.Take(inGrass, grass)
	return s.Number(grass.Value*2/3, grass.Unit), s.Err()
}

// Growth is the growth in a day since the last mowing.
func Growth(grass, setting, days agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("growth = (grass − setting) ÷ days", ruleSource)
	g, h, d := s.Take(inGrass, grass), s.Take(inHeight, setting), s.Take(inDays, days)
	if s.Err() == nil && d <= 0 {
		s.Refuse(agronomy.Refuse("days_since", days.String(), "above 0 day"))
	}
	if s.Err() == nil && g < h {
		s.Refuse(agronomy.Refuse("grass_height", grass.String(), "no less than the setting, "+setting.String()))
	}
	if agronomy.Metric(grass.Unit) {
		return s.In((g-h)/d, "in/day", "mm/day"), s.Err()
	}
	return s.Number((g-h)/d, "in/day"), s.Err()
}

// InRange says whether a setting is "below", "within" or "above" what a state publishes for a species; state "" is the
// first that the table has for it. Ranges differ by state.
func InRange(species, state string, setting agronomy.Quantity) (agronomy.Result, error) {
	h, err := one(species, state)
	if err != nil {
		return agronomy.Result{}, err
	}
	s := agronomy.NewSheet("setting against "+h.State+"'s range for "+h.Species, h.Source)
	v := s.Take(inHeight, setting)
	s.Step("from", h.Low, "in", "")
	s.Step("to", h.High, "in", "")
	word := "within"
	switch {
	case v < h.Low-1e-9:
		word = "below"
	case v > h.High+1e-9:
		word = "above"
	}
	return s.Give(agronomy.OfText(word, "class")), s.Err()
}

// one is the range of a species in a state, or the first the table has.
func one(species, state string) (Heights, error) {
	known, err := inSpecies.Option(species)
	if err != nil {
		return Heights{}, err
	}
	list := Published(known, state)
	if len(list) == 0 {
		var states []string
		for _, h := range Published(known, "") {
			states = append(states, h.State)
		}
		return Heights{}, agronomy.Refuse("state", state, "one that publishes heights for "+known+": "+strings.Join(states, ", "))
	}
	return list[0], nil
}

// Formulas are this subject's entries of the registry.
func Formulas() []agronomy.Formula {
	q := func(name string, f func(setting agronomy.Quantity) (agronomy.Result, error), input string) agronomy.Way {
		return agronomy.Way{Needs: []string{input}, Run: agronomy.Gives(name, func(v agronomy.Values) (agronomy.Result, error) { return f(v.Q(input)) })}
	}
	paced := []string{"mowing_height", "growth"}
	return []agronomy.Formula{{
		Name: "mowing", Does: "When to mow by the one-third rule, and whether a setting is in a state's range.", Source: ruleSource,
		Inputs: []agronomy.Input{inHeight, inGrass, inGrowth, inDays, inSpecies, inState},
		Outputs: []agronomy.Output{
			{Name: "mow_when_at", Unit: "in", Says: "height at which to mow"}, {Name: "days_between", Unit: "day", Says: "days from cut to cut"}, {Name: "days_between_whole", Unit: "day", Says: "rounded down"},
			{Name: "removed", Unit: "fraction", Says: "share of the leaf cut off"}, {Name: "one_third_ok", Unit: "boolean", Says: "whether that is a third or less"}, {Name: "lowest_cut", Unit: "in", Says: "how low it may be cut now"},
			{Name: "growth", Unit: "in/day", Says: "growth in a day"}, {Name: "range", Unit: "class", Says: "setting against the state's range"}, {Name: "low", Unit: "in", Says: "the range from"}, {Name: "high", Unit: "in", Says: "the range to"},
		},
		Ways: []agronomy.Way{
			q("mow_when_at", MowAt, "mowing_height"), q("lowest_cut", LowestCut, "grass_height"),
			{Needs: paced, Run: agronomy.Gives("days_between", func(v agronomy.Values) (agronomy.Result, error) {
				return DaysBetween(v.Q("mowing_height"), v.Q("growth"))
			})},
			{Needs: paced, Run: agronomy.Gives("days_between_whole", func(v agronomy.Values) (agronomy.Result, error) {
				return WholeDays(v.Q("mowing_height"), v.Q("growth"))
			})},
			{Needs: []string{"grass_height", "mowing_height"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				off, ok, err := Removed(v.Q("grass_height"), v.Q("mowing_height"))
				return agronomy.Results{"removed": off, "one_third_ok": ok}, err
			}},
			{Needs: []string{"grass_height", "mowing_height", "days_since"}, Run: agronomy.Gives("growth", func(v agronomy.Values) (agronomy.Result, error) {
				return Growth(v.Q("grass_height"), v.Q("mowing_height"), v.Q("days_since"))
			})},
			{Needs: []string{"species", "mowing_height"}, May: []string{"state"}, Run: agronomy.Gives("range", func(v agronomy.Values) (agronomy.Result, error) {
				return InRange(v.Text("species"), v.Text("state"), v.Q("mowing_height"))
			})},
			{Needs: []string{"species"}, May: []string{"state"}, Run: ends},
		},
	}}
}

// ends are the ends of a state's range.
func ends(v agronomy.Values) (agronomy.Results, error) {
	h, err := one(v.Text("species"), v.Text("state"))
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("published range", h.Source)
	s.Note("species", h.Species)
	s.Note("state", h.State)
	return agronomy.Results{"low": s.Number(h.Low, "in"), "high": s.Number(h.High, "in")}, s.Err()
}
