package agronomy

import (
	"fmt"
	"strconv"
)

// Quantity is a number with the unit it was given in.
type Quantity struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

// Q is short for a Quantity.
func Q(value float64, unit string) Quantity { return Quantity{value, unit} }

// Quantities is a list of numbers that share one unit.
type Quantities struct {
	Values []float64 `json:"values"`
	Unit   string    `json:"unit"`
}

// Qs is short for Quantities.
func Qs(unit string, values ...float64) Quantities { return Quantities{values, unit} }

// In gives the number in another unit of the same dimension.
func (q Quantity) In(unit string) (float64, error) { return convert(q.Value, q.Unit, unit) }

// Convert gives a quantity in another unit. Units of different dimensions, of different substances (pounds of pure live
// seed, pounds of active ingredient) and unknown units are refused with a sentence.
func Convert(q Quantity, unit string) (Quantity, error) {
	v, err := q.In(unit)
	return Quantity{v, unit}, err
}

// MustConvert is Convert for units written in the program, where a failure is a fault of the program.
func MustConvert(value float64, from, to string) float64 {
	v, err := convert(value, from, to)
	if err != nil {
		panic(err)
	}
	return v
}

// String is the number with its unit, as a person reads it.
func (q Quantity) String() string { return Figure(q.Value) + spaced(q.Unit) }

// Figure writes a number for a person: seven significant digits at most, no exponent where it can be helped.
func Figure(v float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 7, 64), 64)
	if err != nil {
		return fmt.Sprint(v)
	}
	if a := rounded; a != 0 && (a < 1e-6 && a > -1e-6 || a > 1e15 || a < -1e15) {
		return strconv.FormatFloat(rounded, 'g', -1, 64)
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// spaced is a unit as it follows a number: "%" joins it, words of quality are left out.
func spaced(unit string) string {
	switch unit {
	case "", "ratio", "fraction", "count":
		return ""
	case "%":
		return " %"
	}
	return " " + unit
}

func convert(v float64, from, to string) (float64, error) {
	if from == to {
		if _, err := parseUnit(from); err != nil {
			return 0, err
		}
		return v, nil
	}
	a, err := parseUnit(from)
	if err != nil {
		return 0, err
	}
	b, err := parseUnit(to)
	if err != nil {
		return 0, err
	}
	if a.dim != b.dim || a.absolute != b.absolute {
		return 0, fmt.Errorf("%s (%s) can't be given as %s (%s)", from, a.dim, to, b.dim)
	}
	if a.of != "" && b.of != "" && a.of != b.of {
		return 0, fmt.Errorf("%s is counted as %s, %s as %s: one is not the other", from, a.of, to, b.of)
	}
	if a.factor == b.factor && a.offset == b.offset {
		return v, nil
	}
	return (v*a.factor + a.offset - b.offset) / b.factor, nil
}

// SameKind says whether a value in one unit can be given in the other.
func SameKind(a, b string) bool {
	_, err := convert(1, a, b)
	return err == nil
}

// Known says whether a unit can be read at all.
func Known(unit string) bool {
	_, err := parseUnit(unit)
	return err == nil
}

// Metric says whether a unit belongs to the metric side, so that results can be given on the side a person works on.
// Units of both sides (minutes, percent) are neither.
func Metric(unit string) bool {
	u, err := parseUnit(unit)
	return err == nil && u.side == metric
}

// Customary is Metric for US customary units.
func Customary(unit string) bool {
	u, err := parseUnit(unit)
	return err == nil && u.side == customary
}
