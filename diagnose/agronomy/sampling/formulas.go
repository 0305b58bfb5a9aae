package sampling

import (
	"fmt"
	"strings"

	"swardbook/diagnose/agronomy"
)

type values = agronomy.Values
type results = agronomy.Results

// Formulas are what this package adds to the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{coverEntry(), sizeEntry(), coresEntry()}
}

func one(name string, r agronomy.Result, err error) (results, error) { return results{name: r}, err }

// listed is an input that may be several numbers.
func listed(in agronomy.Input) agronomy.Input {
	in.Kind = agronomy.Numbers
	return in
}

// sure is the confidence asked for, 0.95 when none is.
func sure(v values) agronomy.Quantity { return v.Q("confidence", agronomy.Q(0.95, "fraction")) }

func three(i Interval, name string, err error) (results, error) {
	return results{name: i.Estimate, "lower": i.Lower, "upper": i.Upper}, err
}

func coverEntry() agronomy.Formula {
	ways := []agronomy.Way{
		{Needs: []string{"hits", "points"}, May: []string{"confidence"}, Run: runHits},
		{Needs: []string{"hits_1", "points_1", "hits_2", "points_2"}, May: []string{"confidence"}, Run: func(v values) (results, error) {
			i, err := Change(v.Q("hits_1"), v.Q("points_1"), v.Q("hits_2"), v.Q("points_2"), sure(v))
			return three(i, "difference", err)
		}},
		{Needs: []string{"intercepts", "line_length"}, Run: func(v values) (results, error) {
			c, err := LineCover(v.List("intercepts"), v.Q("line_length"))
			return one("cover", c, err)
		}},
		{Needs: []string{"line_covers"}, May: []string{"confidence"}, Run: func(v values) (results, error) {
			i, err := MeanOfUnits(v.List("line_covers"), sure(v))
			return three(i, "cover", err)
		}},
	}
	for _, in := range []agronomy.Input{inPins, inFoliar, inCanopy, inBasal} {
		ways = append(ways, pinWay(in.Name))
	}
	return agronomy.Formula{
		Name: "cover_interval", Does: "Cover by points, pins or lines, and how sure it is.", Source: newcombe + "; " + hybrid + "; " + idaho + "; " + lines,
		Inputs: []agronomy.Input{listed(inHits), listed(inPoints), inHits1, inPoints1, inHits2, inPoints2, inConfidence, inPins, inFoliar, inCanopy, inBasal, inIntercepts, inLine, inUnits},
		Outputs: []agronomy.Output{{Name: "cover", Also: []string{"proportion", "p"}, Unit: "fraction"}, {Name: "difference", Unit: "fraction"}, {Name: "lower", Unit: "fraction"}, {Name: "upper", Unit: "fraction"},
			{Name: "foliar_cover", Unit: "%"}, {Name: "canopy_cover", Unit: "%"}, {Name: "basal_cover", Unit: "%"}},
		Ways: ways,
	}
}

// runHits is one grid, or the difference of two.
func runHits(v values) (results, error) {
	hits, points := v.List("hits"), v.List("points")
	if len(hits.Values) != len(points.Values) || len(hits.Values) > 2 {
		return nil, agronomy.Refuse("hits", fmt.Sprintf("%d values for %d of points", len(hits.Values), len(points.Values)), "one value, or two for two grids, as many as points")
	}
	at := func(list agronomy.Quantities, i int) agronomy.Quantity { return agronomy.Q(list.Values[i], list.Unit) }
	if len(hits.Values) == 2 {
		i, err := Change(at(hits, 0), at(points, 0), at(hits, 1), at(points, 1), sure(v))
		return three(i, "difference", err)
	}
	i, err := Cover(at(hits, 0), at(points, 0), sure(v))
	return three(i, "cover", err)
}

// pinWay is the cover of one kind of pin hits.
func pinWay(name string) agronomy.Way {
	return agronomy.Way{Needs: []string{name}, Run: func(v values) (results, error) {
		hits, err := ReadPins(name, v[name])
		if err != nil {
			return nil, err
		}
		c, err := PinCover(name, hits)
		out := strings.TrimPrefix(strings.TrimPrefix(name, "pin_hits"), "_") + "_cover"
		return one(strings.TrimPrefix(out, "_"), c, err)
	}}
}

func sizeEntry() agronomy.Formula {
	size := func(v values, z Size, err error) (results, error) {
		if err != nil {
			return nil, err
		}
		out := results{"n": z.N, "n_whole": z.Whole, "t": z.T}
		if v.Has("population") {
			out["n_finite"], err = Finite(z.N.Quantity(), v.Q("population"))
		}
		return out, err
	}
	half := func(v values) agronomy.Quantity {
		if v.Has("half_width") {
			return v.Q("half_width")
		}
		full := v.Q("full_width")
		return agronomy.Q(full.Value/2, full.Unit)
	}
	may := []string{"population"}
	byT := func(v values) (results, error) {
		z, err := SizeByT(v.Q("t"), v.Q("sd"), half(v))
		return size(v, z, err)
	}
	absolute := func(v values) (results, error) {
		z, err := SizeIteratedAbsolute(v.Q("sd"), half(v), sure(v))
		return size(v, z, err)
	}
	return agronomy.Formula{
		Name: "sample_size", Does: "How many samples to take, and what error a number of them leaves.", Source: sizeSource,
		Inputs:  []agronomy.Input{inT, inSD, inFull, inHalf, inCV, inError, inConfidence, inAll, inTaken},
		Outputs: []agronomy.Output{{Name: "n", Unit: "count"}, {Name: "n_whole", Unit: "count"}, {Name: "n_finite", Unit: "count"}, {Name: "t", Unit: "ratio"}, {Name: "achieved_error", Also: []string{"error", "half_width"}, Unit: "%"}},
		Ways: []agronomy.Way{
			{Needs: []string{"t", "sd", "full_width"}, May: may, Run: byT},
			{Needs: []string{"t", "sd", "half_width"}, May: may, Run: byT},
			{Needs: []string{"t", "cv", "allowed_error"}, May: may, Run: func(v values) (results, error) {
				z, err := SizeRelative(v.Q("t"), v.Q("cv"), v.Q("allowed_error"))
				return size(v, z, err)
			}},
			{Needs: []string{"cv", "allowed_error"}, May: append(may, "confidence"), Run: func(v values) (results, error) {
				z, err := SizeIterated(v.Q("cv"), v.Q("allowed_error"), sure(v))
				return size(v, z, err)
			}},
			{Needs: []string{"sd", "half_width"}, May: append(may, "confidence"), Run: absolute},
			{Needs: []string{"sd", "full_width"}, May: append(may, "confidence"), Run: absolute},
			{Needs: []string{"samples", "population"}, Run: func(v values) (results, error) {
				n, err := Finite(v.Q("samples"), v.Q("population"))
				return one("n_finite", n, err)
			}},
			{Needs: []string{"t", "sd", "samples"}, Run: func(v values) (results, error) {
				e, err := AchievedByT(v.Q("t"), v.Q("sd"), v.Q("samples"))
				return one("achieved_error", e, err)
			}},
			{Needs: []string{"t", "cv", "samples"}, Run: func(v values) (results, error) {
				e, err := AchievedByT(v.Q("t"), v.Q("cv"), v.Q("samples"))
				return one("achieved_error", e, err)
			}},
			{Needs: []string{"sd", "samples"}, May: []string{"confidence"}, Run: func(v values) (results, error) {
				e, err := Achieved(v.Q("sd"), v.Q("samples"), sure(v))
				return one("achieved_error", e, err)
			}},
			{Needs: []string{"cv", "samples"}, May: []string{"confidence"}, Run: func(v values) (results, error) {
				e, err := Achieved(v.Q("cv"), v.Q("samples"), sure(v))
				return one("achieved_error", e, err)
			}},
		},
	}
}

func coresEntry() agronomy.Formula {
	return agronomy.Formula{
		Name: "core_uniformity", Does: "How even the depth of aeration cores is.", Source: "low-quarter measure of catches applied to depth of cores", Inputs: []agronomy.Input{inDepths},
		Outputs: []agronomy.Output{{Name: "mean", Unit: "in"}, {Name: "low_quarter_mean", Unit: "in"}, {Name: "low_quarter_count", Unit: "cores"}, {Name: "du_lq", Unit: "fraction"}, {Name: "sd", Unit: "in"}, {Name: "cv", Unit: "%"}},
		Ways: []agronomy.Way{{Needs: []string{"core_depths"}, Run: func(v values) (results, error) {
			c, err := CoresOf(v.List("core_depths"))
			return results{"mean": c.Mean, "low_quarter_mean": c.LowMean, "low_quarter_count": c.LowCount, "du_lq": c.DULQ, "sd": c.SD, "cv": c.CV}, err
		}}},
	}
}
