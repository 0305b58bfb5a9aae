package diagnose_test

import (
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
)

func several(xs ...float64) checks.Value { return checks.Value{Numbers: xs} }

func TestPlaces(t *testing.T) {
	cores := []diagnose.CheckValue{{Check: "core", Value: several(1, 2, 2.9, 3, 20)}}
	one := []diagnose.CheckValue{{Check: "core", Value: several(1)}}
	for _, c := range []struct {
		name           string
		values         []diagnose.CheckValue
		finding, state string
		in, of         int
	}{
		{"three of five are short", cores, "core", "short", 3, 5},
		{"a limit belongs to the band above", cores, "core", "middle", 1, 5},
		{"the last band is open", cores, "core", "deep", 1, 5},
		{"one reading is no places", one, "core", "short", 0, 0},
		{"a range is not of places", cores, "core_range", "large", 0, 0},
		{"a choice is not of places", []diagnose.CheckValue{{Check: "tint", Value: checks.Value{State: "straw"}}}, "tint", "straw", 0, 0},
		{"an unknown finding", cores, "ghost", "short", 0, 0},
		{"an unknown state", cores, "core", "endless", 0, 0},
		{"nothing read", nil, "core", "short", 0, 0},
	} {
		if in, of := diagnose.Places(small(t), c.values, c.finding, c.state); in != c.in || of != c.of {
			t.Errorf("%s: %d of %d, want %d of %d", c.name, in, of, c.in, c.of)
		}
	}
}
