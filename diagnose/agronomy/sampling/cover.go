package sampling

import (
	"fmt"
	"math"
	"strings"

	"swardbook/diagnose/agronomy"
)

const (
	newcombe = "Wilson's interval without continuity correction: Newcombe, Statistics in Medicine 17:857-872 (1998)"
	hybrid   = "hybrid interval of two proportions: Newcombe, Statistics in Medicine 17:873-890 (1998)"
	idaho    = "University of Idaho, points to estimate cover, after Elzinga and others (1998)"
	lines    = "line-intercept cover: Rangelands Gateway, Line sampling to determine cover"
)

func whole(name, says string, also ...string) agronomy.Input {
	return agronomy.Input{Name: name, Also: also, Unit: "count", Range: agronomy.Between(0, 1e9), Says: says}
}

func pins(name, says string, also ...string) agronomy.Input {
	return agronomy.Input{Name: name, Also: also, Kind: agronomy.Data, Unit: "y/n", Says: says}
}

var (
	inHits       = whole("hits", "points that hit; two values are two grids", "x")
	inPoints     = whole("points", "points in all; two values are two grids", "n")
	inHits1      = whole("hits_1", "points that hit on the first grid", "hits_a", "hits1", "x1", "hits_before")
	inPoints1    = whole("points_1", "points of the first grid", "points_a", "points1", "n1", "points_before")
	inHits2      = whole("hits_2", "points that hit on the second grid", "hits_b", "hits2", "x2", "hits_after")
	inPoints2    = whole("points_2", "points of the second grid", "points_b", "points2", "n2", "points_after")
	inConfidence = agronomy.Input{Name: "confidence", Unit: "fraction", Range: agronomy.Within(0, 1), Says: "how often such an interval holds the truth (0.95)"}
	inFoliar     = pins("pin_hits_foliar", "at each pin: did a leaf touch it")
	inCanopy     = pins("pin_hits_canopy", "at each pin: was it within a plant's outline")
	inBasal      = pins("pin_hits_basal", "at each pin: did it come down on a plant's foot")
	inPins       = pins("pin_hits", "at each pin: a hit or not")
	inIntercepts = agronomy.Input{Name: "intercepts", Kind: agronomy.Numbers, Unit: "ft", Range: agronomy.AtLeast(0), Says: "lengths of the line that lie on what is measured"}
	inLine       = agronomy.Input{Name: "line_length", Unit: "ft", Range: agronomy.Above(0), Says: "length of the line"}
	inUnits      = agronomy.Input{Name: "line_covers", Also: []string{"frame_covers", "unit_covers"}, Kind: agronomy.Numbers, Unit: "%", Range: agronomy.Between(0, 100), Says: "cover of each line or frame"}
)

// Interval is an estimate between two bounds.
type Interval struct{ Estimate, Lower, Upper agronomy.Result }

// Wilson is the share hit with its bounds for z standard errors (Wilson 1927). Hits and points need not be whole: a share of known error is worth so many points.
func Wilson(hits, points, z float64) (p, lower, upper float64) {
	p = hits / points
	z2 := z * z
	centre := (p + z2/(2*points)) / (1 + z2/points)
	half := z * math.Sqrt(p*(1-p)/points+z2/(4*points*points)) / (1 + z2/points)
	lower, upper = math.Max(0, centre-half), math.Min(1, centre+half)
	if hits == 0 {
		lower = 0
	}
	if hits == points {
		upper = 1
	}
	return p, lower, upper
}

// takeHits reads a count of hits and one of points.
func takeHits(s *agronomy.Sheet, inHits, inPoints agronomy.Input, hits, points agronomy.Quantity) (x, n float64) {
	x, n = s.Take(inHits, hits), s.Take(inPoints, points)
	switch {
	case s.Err() != nil:
	case n < 1 || n != math.Trunc(n):
		s.Refuse(agronomy.Refuse(inPoints.Name, points.String(), "a whole number of at least 1"))
	case x != math.Trunc(x) || x > n:
		s.Refuse(agronomy.Refuse(inHits.Name, hits.String(), "a whole number no more than "+inPoints.Name+", "+agronomy.Figure(n)))
	}
	return x, n
}

const wilsonFormula = "(p + z² ÷ 2n ± z √(p(1 − p) ÷ n + z² ÷ 4n²)) ÷ (1 + z² ÷ n)"

const apart = "Points count as independent only when they lie wider apart than the patches are; else take lines or frames as the samples."

// Cover is the share hit with Wilson's bounds, as fractions.
func Cover(hits, points, confidence agronomy.Quantity) (Interval, error) {
	s := agronomy.NewSheet(wilsonFormula, newcombe)
	x, n := takeHits(s, inHits, inPoints, hits, points)
	c := s.Take(inConfidence, confidence)
	if s.Err() != nil {
		return Interval{}, s.Err()
	}
	z := s.Step("z", normalQuantile((1+c)/2), "", "")
	p, lo, hi := Wilson(x, n, z)
	s.Remark(apart)
	return Interval{s.Number(p, "fraction"), s.Number(lo, "fraction"), s.Number(hi, "fraction")}, s.Err()
}

// Change is the difference of two independent grids, first less second, with Newcombe's bounds, as fractions.
func Change(hits1, points1, hits2, points2, confidence agronomy.Quantity) (Interval, error) {
	s := agronomy.NewSheet("d − √((p1 − l1)² + (u2 − p2)²) to d + √((u1 − p1)² + (p2 − l2)²), with Wilson's bounds l and u", hybrid)
	x1, n1 := takeHits(s, inHits1, inPoints1, hits1, points1)
	x2, n2 := takeHits(s, inHits2, inPoints2, hits2, points2)
	c := s.Take(inConfidence, confidence)
	if s.Err() != nil {
		return Interval{}, s.Err()
	}
	z := s.Step("z", normalQuantile((1+c)/2), "", "")
	p1, l1, u1 := Wilson(x1, n1, z)
	p2, l2, u2 := Wilson(x2, n2, z)
	d := p1 - p2
	return Interval{s.Number(d, "fraction"), s.Number(d-math.Hypot(p1-l1, u2-p2), "fraction"), s.Number(d+math.Hypot(u1-p1, p2-l2), "fraction")}, s.Err()
}

// PinCover is the percent of pins hit. Leaves, outlines and feet of plants are different covers of the same pins.
func PinCover(in string, pins []bool) (agronomy.Result, error) {
	s := agronomy.NewSheet("cover = hits ÷ pins", idaho)
	hits := 0
	for _, hit := range pins {
		if hit {
			hits++
		}
	}
	s.Note(in, fmt.Sprintf("%d of %d pins", hits, len(pins)))
	if len(pins) == 0 {
		s.Refuse(agronomy.Refuse(in, "", "a list of hits, y or n"))
		return agronomy.Result{}, s.Err()
	}
	return s.Number(100*float64(hits)/float64(len(pins)), "%"), s.Err()
}

// LineCover is the percent of a line that lies on what is measured.
func LineCover(intercepts agronomy.Quantities, length agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("cover = intercepted length ÷ length of the line", lines)
	sum := 0.0
	for _, v := range s.TakeAll(inIntercepts, intercepts) {
		sum += v
	}
	l := s.Take(inLine, length)
	s.Step("intercepted", sum, "ft", "")
	if sum > l*(1+1e-9) {
		s.Refuse(agronomy.Refuse("intercepts", agronomy.Q(sum, "ft").String()+" in all", "no more than the line, "+length.String()))
	}
	return s.Number(100*sum/l, "%"), s.Err()
}

// MeanOfUnits is the mean cover of lines or frames as the samples, with Student's bounds, in percent.
func MeanOfUnits(covers agronomy.Quantities, confidence agronomy.Quantity) (Interval, error) {
	s := agronomy.NewSheet("mean ± t × sd ÷ √n, t at n − 1 degrees of freedom", "textbook interval of a mean; lines or frames as sampling units")
	x := s.TakeAll(inUnits, covers)
	c := s.Take(inConfidence, confidence)
	if s.Err() == nil && len(x) < 2 {
		s.Refuse(agronomy.Refuse("line_covers", fmt.Sprintf("%d value", len(x)), "at least two lines or frames"))
	}
	if s.Err() != nil {
		return Interval{}, s.Err()
	}
	mean, sd := spread(x)
	n := float64(len(x))
	t := s.Step("t", tQuantile((1+c)/2, n-1), "", "")
	half := t * s.Step("sd", sd, "%", "") / math.Sqrt(n)
	return Interval{s.Number(mean, "%"), s.Number(math.Max(0, mean-half), "%"), s.Number(math.Min(100, mean+half), "%")}, s.Err()
}

// spread is the mean and the standard deviation of a sample.
func spread(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / math.Max(1, float64(len(x)-1)))
}

// ReadPins reads a list of y and n (also yes, no, true, false, 1, 0).
func ReadPins(name string, v agronomy.Value) ([]bool, error) {
	var out []bool
	add := func(word string) error {
		switch strings.ToLower(strings.TrimSpace(word)) {
		case "y", "yes", "true", "1", "hit":
			out = append(out, true)
		case "n", "no", "false", "0", "miss":
			out = append(out, false)
		default:
			return agronomy.Refuse(name, fmt.Sprintf("%.20q at place %d", word, len(out)+1), "y or n")
		}
		return nil
	}
	words := v.TextList()
	for _, yes := range v.Yeses {
		words = append(words, fmt.Sprint(yes))
	}
	for _, number := range v.Numbers {
		words = append(words, fmt.Sprint(number))
	}
	for _, word := range words {
		if err := add(word); err != nil {
			return nil, err
		}
	}
	return out, nil
}
