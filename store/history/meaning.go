package history

import (
	"math"
	"strconv"
	"strings"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// meaning reads a reading's typed text and puts it in words.
func meaning(know *knowledge.Loaded, r store.Reading) ReadingRecord {
	out := ReadingRecord{Reading: r, Label: r.Check, Status: statusOf(r)}
	check, ok := know.Check(r.Check)
	if !ok {
		return out
	}
	out.Label = check.Label.EN
	value, problems := checks.Read(check, r.Typed)
	for _, p := range problems {
		if !p.Ask {
			return out
		}
	}
	out.Blank = value.Blank
	out.SHA = value.SHA
	out.State = stateOf(check, value)
	if n := len(value.Numbers); n > 0 {
		x := rounded(mean(value.Numbers))
		if check.Kind == checks.Mix {
			x, n = rounded(x*float64(n)), 1
		}
		out.Number, out.Count = &x, n
		if len(check.Units) > 0 {
			out.Unit, out.metric = check.Units[0].Label.EN, ownUnit(check, true)
		}
	}
	return out
}

func statusOf(r store.Reading) string {
	switch {
	case r.Current && r.Dispute:
		return Disputed
	case r.Current:
		return Current
	case r.Dispute:
		return Otherwise
	}
	return Superseded
}

// stateOf puts a choice or signs in words. Looked for and not found is said; not looked at is not.
func stateOf(check checks.Check, v checks.Value) string {
	switch {
	case v.Blank:
		return "not looked at"
	case check.Kind == checks.Choice:
		return option(check, v.State)
	case check.Kind == checks.Mix:
		return sharesOf(check, v)
	case check.Kind == checks.Place:
		return "from the left and the far edge, %: " + v.Text
	case check.Kind != checks.Signs:
		return ""
	case len(v.Present) == 0 && check.None != "" && len(v.Absent) >= len(check.Options)-1:
		return option(check, check.None)
	}
	var parts []string
	if len(v.Present) > 0 {
		parts = append(parts, options(check, v.Present))
	}
	if len(v.Absent) > 0 {
		parts = append(parts, "looked for, not found: "+options(check, v.Absent))
	}
	return strings.Join(parts, "; ")
}

// sharesOf names each part of a mix with its share.
func sharesOf(check checks.Check, v checks.Value) string {
	if len(v.Present) == 0 {
		return option(check, check.None)
	}
	parts := make([]string, len(v.Present))
	for i, id := range v.Present {
		parts[i] = option(check, id) + " " + strconv.FormatFloat(rounded(v.Numbers[i]), 'f', -1, 64) + " " + check.Units[0].Label.EN
	}
	return strings.Join(parts, "; ")
}

func options(check checks.Check, ids []string) string {
	labels := make([]string, len(ids))
	for i, id := range ids {
		labels[i] = option(check, id)
	}
	return strings.Join(labels, ", ")
}

func option(check checks.Check, id string) string {
	for _, o := range check.Options {
		if o.ID == id {
			return o.Label.EN
		}
	}
	return id
}

func mean(numbers []float64) float64 {
	sum := 0.0
	for _, x := range numbers {
		sum += x
	}
	return sum / float64(len(numbers))
}

// rounded keeps four decimals: more than any tool measures, and no noise of binary fractions.
func rounded(x float64) float64 { return math.Round(x*1e4) / 1e4 }
