// Package agronomy holds what all calculations about a lawn share: quantities that keep the unit they were given in, units
// and their exact factors, the working that every result carries, inputs with their limits, and the shape of a formula.
// Everything below it is pure: no clock, no files, no network. The subjects are packages of their own (irrigation, water,
// degreedays, sun, area, sampling …); package compute gathers them under their names.
//
// # A typed function
//
// A subject package declares each input once, with its limits, and takes it on a Sheet, which converts the unit, refuses
// what is outside the limits and writes everything down:
//
//	var inNeed = agronomy.Input{Name: "water_need", Unit: "in", Range: agronomy.AtLeast(0), Says: "water to replace"}
//	var inRate = agronomy.Input{Name: "precip_rate", Unit: "in/h", Range: agronomy.Above(0), Says: "rate of the sprinklers"}
//
//	// LowerRunTime is the minutes that put the water down at the mean rate.
//	func LowerRunTime(need, rate agronomy.Quantity) (agronomy.Result, error) {
//		s := agronomy.NewSheet("run time = 60 × water ÷ rate", "…the published source…")
//		w, r := s.Take(inNeed, need), s.Take(inRate, rate)
//		return s.Number(60*w/r, "min"), s.Err()
//	}
//
// After something was refused every number is NaN and the error stays, so one question (Err) at the end is enough; ask
// before a loop or a table look-up. Choose reads a text out of a list, TakeAll a list of numbers, Step writes down a value
// on the way (and gives it back), Remark a sentence the reader must know.
//
// # A formula
//
// The package exports Formulas, and compute's list names the package:
//
//	func Formulas() []agronomy.Formula {
//		return []agronomy.Formula{{
//			Name: "run_time", Does: "How long to water.", Source: source,
//			Inputs:  []agronomy.Input{inNeed, inRate},
//			Outputs: []agronomy.Output{{Name: "run_time_lower", Unit: "min", Says: "at the mean rate"}},
//			Ways: []agronomy.Way{{
//				Needs: []string{"water_need", "precip_rate"},
//				Run: func(v agronomy.Values) (agronomy.Results, error) {
//					lower, err := LowerRunTime(v.Q("water_need"), v.Q("precip_rate"))
//					return agronomy.Results{"run_time_lower": lower}, err
//				},
//			}},
//		}}
//	}
//
// Every way whose needs are given runs, in order; an output that an earlier way gave stays. A way that only some inputs
// allow is therefore a way of its own, not an if. compute refuses unknown names, missing inputs, wrong kinds and units and
// numbers that are not finite before a way runs, and holds a number to its Input's Range; the typed function does so too,
// since plans and pages call it without the registry. Give results on the side (US customary or metric) that the inputs
// are on: Customary and Metric tell.
package agronomy
