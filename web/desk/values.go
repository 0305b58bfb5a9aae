package desk

import (
	"math"
	"strconv"
	"strings"

	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/web/page"
)

// say writes what a reading means, as a person reads it. A text that its check cannot read is shown as it was typed.
func say(c checks.Check, r store.Reading, w page.Words) string {
	value, problems := checks.Read(c, r.Typed)
	for _, p := range problems {
		if !p.Ask {
			return r.Typed
		}
	}
	if value.Blank {
		return w.T("value.blank")
	}
	switch c.Kind {
	case checks.Choice:
		return optionLabel(c, value.State, w.Lang)
	case checks.Signs:
		return saySigns(c, value, w)
	case checks.Measure, checks.Repeated, checks.Count:
		return sayNumbers(c, value, r.Typed, w)
	case checks.Mix:
		return saySharesOf(c, value, w)
	case checks.Place:
		return w.N("value.places", strings.Count(value.Text, ";")+1, "where", placesIn(value.Text, w))
	case checks.Photo:
		return w.T("value.photo")
	}
	return value.Text
}

// saySharesOf names each part of a mix with its share, and all of them together.
func saySharesOf(c checks.Check, v checks.Value, w page.Words) string {
	if len(v.Present) == 0 {
		return optionLabel(c, c.None, w.Lang)
	}
	unit := unitLabel(c, "", w.Lang)
	var parts []string
	for i, id := range v.Present {
		parts = append(parts, optionLabel(c, id, w.Lang)+" "+number(v.Numbers[i], c.Decimals)+" "+unit)
	}
	return w.T("value.shares", "parts", strings.Join(parts, "; "), "total", number(mean(v.Numbers)*float64(len(v.Numbers)), c.Decimals)+" "+unit)
}

// placesIn names the ninth of the sketch that each spot lies in.
func placesIn(text string, w page.Words) string {
	ninths := strings.Split(w.T("spot.words"), "|")
	var said []string
	for _, spot := range strings.Split(text, "; ") {
		left, far, _ := strings.Cut(spot, " ")
		x, _ := strconv.Atoi(left)
		y, _ := strconv.Atoi(far)
		said = append(said, ninths[min(y*3/100, 2)*3+min(x*3/100, 2)])
	}
	return strings.Join(said, "; ")
}

func optionLabel(c checks.Check, id, lang string) string {
	for _, o := range c.Options {
		if o.ID == id {
			return o.Label.In(lang)
		}
	}
	return id
}

func saySigns(c checks.Check, v checks.Value, w page.Words) string {
	if len(v.Present) == 0 && len(v.Absent) > 0 && c.None != "" && len(v.Absent) >= len(c.Options)-1 {
		return optionLabel(c, c.None, w.Lang)
	}
	var out []string
	for _, id := range v.Present {
		out = append(out, optionLabel(c, id, w.Lang))
	}
	said := strings.Join(out, "; ")
	if len(v.Absent) == 0 {
		return said
	}
	out = out[:0]
	for _, id := range v.Absent {
		if id != c.None {
			out = append(out, optionLabel(c, id, w.Lang))
		}
	}
	return strings.TrimPrefix(said+"; "+w.T("value.absent", "signs", strings.Join(out, "; ")), "; ")
}

// sayNumbers shows numbers as typed, with their unit, and the mean of several in the check's own unit.
func sayNumbers(c checks.Check, v checks.Value, typed string, w page.Words) string {
	said := typed
	if at := len(typed) - len(v.Unit); v.Unit != "" && at > 0 && strings.EqualFold(typed[at:], v.Unit) {
		said = strings.TrimSpace(typed[:at]) + " " + unitLabel(c, v.Unit, w.Lang)
	} else if !hasUnit(typed) && len(c.Units) > 0 {
		said += " " + unitLabel(c, v.Unit, w.Lang)
	}
	if len(v.Numbers) > 1 {
		said += " (" + w.T("value.mean", "mean", number(mean(v.Numbers), c.Decimals)+" "+unitLabel(c, "", w.Lang)) + ")"
	}
	return strings.TrimSpace(said)
}

func hasUnit(typed string) bool {
	last := strings.TrimSpace(typed)
	return last != "" && strings.ContainsFunc(last, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '%' || r == '°' })
}

// unitLabel names the unit id of c; "" is the check's own.
func unitLabel(c checks.Check, id, lang string) string {
	for i, u := range c.Units {
		if u.ID == id || id == "" && i == 0 {
			return u.Label.In(lang)
		}
	}
	return id
}

func mean(list []float64) float64 {
	sum := 0.0
	for _, x := range list {
		sum += x
	}
	return sum / float64(len(list))
}

// number writes x with at most the check's decimals, and one more for a mean of whole numbers.
func number(x float64, decimals int) string {
	scale := math.Pow(10, float64(max(decimals, 1)))
	return strconv.FormatFloat(math.Round(x*scale)/scale, 'f', -1, 64)
}

// percent says a chance in steps of five.
func percent(p float64, w page.Words) (steps int, says string) {
	steps = int(math.Round(p*20)) * 5
	switch {
	case p < 0.05:
		return steps, w.T("percent.under")
	case p > 0.95:
		return steps, w.T("percent.over")
	}
	return steps, w.T("percent", "n", steps)
}

// squareMetre is square metres in a square foot.
const squareMetre = 0.09290304

// area writes square feet in the firm's units; nothing when it is not known.
func area(sqft float64, firm store.Firm, w page.Words) string {
	switch {
	case sqft <= 0:
		return ""
	case firm.Units == "metric":
		return w.T("area.metric", "n", thousands(sqft*squareMetre, "\u202f"))
	}
	return w.T("area.us", "n", thousands(sqft, ","))
}

// thousands writes a whole number in groups of three.
func thousands(x float64, between string) string {
	digits := strconv.Itoa(int(math.Round(x)))
	var out []string
	for len(digits) > 3 {
		out = append([]string{digits[len(digits)-3:]}, out...)
		digits = digits[:len(digits)-3]
	}
	return strings.Join(append([]string{digits}, out...), between)
}

// readArea reads an area typed in the firm's unit and returns square feet. Nothing typed is 0: not known.
func readArea(typed string, firm store.Firm) (float64, bool) {
	typed = strings.TrimSpace(typed)
	if typed == "" {
		return 0, true
	}
	x, err := strconv.ParseFloat(typed, 64)
	if err != nil || math.IsNaN(x) || x < 1 || x > 5e6 {
		return 0, false
	}
	if firm.Units == "metric" {
		x /= squareMetre
	}
	return x, true
}
