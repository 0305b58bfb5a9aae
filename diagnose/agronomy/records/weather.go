package records

import (
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
)

const (
	windSource   = "common label drift wording: drift rises below 3 mi/h (inversion) and above 10 mi/h; the product's own label governs"
	adviceSource = "national pesticide stewardship site, Evaluate the weather: 3 to 8 mi/h, away from sensitive areas, where the label has no limit"
	heatSource   = "common label wording for broadleaf herbicides on turf: above 50 °F, caution above 85 to 90 °F; the product's own label governs (memory)"
	entrySource  = "U.S. EPA, Worker Protection Standard, restrictions after application: the longest interval of mixed products holds"
	dryingSource = "common wording of the non-agricultural box of labels; the product's own label governs (practice)"
)

var (
	inWind    = agronomy.Input{Name: "wind", Also: []string{"wind_speed"}, Kind: agronomy.Numbers, Unit: "mi/h", Range: agronomy.Between(0, 250), Says: "wind at the application"}
	inWindMin = agronomy.Input{Name: "wind_min", Also: []string{"label_wind_min"}, Unit: "mi/h", Range: agronomy.Between(0, 50), Says: "the label's least wind"}
	inWindMax = agronomy.Input{Name: "wind_max", Also: []string{"label_wind_max"}, Unit: "mi/h", Range: agronomy.Between(0, 50), Says: "the label's greatest wind"}
	inTemp    = agronomy.Input{Name: "temperature", Also: []string{"air_temperature", "temperatures"}, Kind: agronomy.Numbers, Unit: "F", Range: agronomy.Between(-60, 150), Says: "air temperature at the application"}
	inTempMin = agronomy.Input{Name: "temperature_min", Also: []string{"label_temperature_min"}, Unit: "F", Range: agronomy.Between(-60, 150), Says: "the label's least temperature"}
	inTempMax = agronomy.Input{Name: "temperature_max", Also: []string{"label_temperature_max"}, Unit: "F", Range: agronomy.Between(-60, 150), Says: "the label's greatest temperature"}
	inREI     = agronomy.Input{Name: "rei", Also: []string{"re_entry_interval", "reentry_interval", "re_entry"}, Kind: agronomy.Numbers, Unit: "h", Range: agronomy.Between(0, 8760), Says: "re-entry interval of each product in the tank"}
	inForm    = agronomy.Input{Name: "form", Kind: agronomy.Text, OneOf: []string{"spray", "dust", "granules"}, Says: "what was put down"}
)

// words for a value against its limits.
const (
	calm  = "too calm (inversion risk)"
	right = "in range"
	windy = "too windy"
	cold  = "too cold"
	hot   = "too hot"
)

func judge(s *agronomy.Sheet, in, inLow, inHigh agronomy.Input, list agronomy.Quantities, low, high agronomy.Quantity, below, above string) (agronomy.Result, error) {
	values, lo, hi := s.TakeAll(in, list), s.Take(inLow, low), s.Take(inHigh, high)
	if s.Err() == nil && lo > hi {
		s.Refuse(agronomy.Refuse(inLow.Name, low.String(), "no more than "+inHigh.Name+", "+high.String()))
	}
	words := make([]string, len(values))
	for i, v := range values {
		switch words[i] = right; {
		case v < lo-1e-9:
			words[i] = below
		case v > hi+1e-9:
			words[i] = above
		}
	}
	return s.Give(agronomy.OfTexts(words, "per value")), s.Err()
}

// Wind judges each wind against a label's limits; both limits are in range.
func Wind(wind agronomy.Quantities, least, most agronomy.Quantity) (agronomy.Result, error) {
	return windBy(windSource, wind, least, most)
}

func windBy(source string, wind agronomy.Quantities, least, most agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("too calm below the least wind, too windy above the greatest", source)
	return judge(s, inWind, inWindMin, inWindMax, wind, least, most, calm, windy)
}

// Temperature judges each temperature against a label's limits; both limits are in range.
func Temperature(temperature agronomy.Quantities, least, most agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("too cold below the least temperature, too hot above the greatest", heatSource)
	return judge(s, inTemp, inTempMin, inTempMax, temperature, least, most, cold, hot)
}

// GoverningREI is the re-entry interval that holds for a tank of several products: the longest.
func GoverningREI(intervals agronomy.Quantities) (agronomy.Result, error) {
	s := agronomy.NewSheet("the longest of the products' intervals", entrySource)
	list := s.TakeAll(inREI, intervals)
	longest := 0.0
	for _, h := range list {
		longest = max(longest, h)
	}
	s.Remark("The standard covers farms, nurseries and sod; for lawns labels commonly say to keep off until the spray has dried.")
	return s.In(longest, "h", intervals.Unit), s.Err()
}

// ReEntry is when people may go back: the end of the application and the governing interval.
func ReEntry(finished time.Time, governing agronomy.Quantity) (time.Time, error) {
	h, err := inREI.Number(governing)
	return finished.Add(time.Duration(h * float64(time.Hour))), err
}

var statements = map[string]string{
	"spray":    "Keep people and pets off until the spray has dried.",
	"dust":     "Keep people and pets off until the dust has settled.",
	"granules": "Keep people and pets off until the granules are watered in and the grass is dry.",
}

// Statement is what the customer of a lawn is told about re-entry: of a "spray", "dust" or "granules".
func Statement(form string) (agronomy.Result, error) {
	s := agronomy.NewSheet("statement of the non-agricultural box", dryingSource)
	known := s.Choose(inForm, form)
	return s.Give(agronomy.OfText(statements[known], "text")), s.Err()
}

// momentForms are how a moment may be written.
var momentForms = []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04"}

// moment reads a point in time, and in which form it was written.
func moment(name, text string) (time.Time, string, error) {
	for _, form := range momentForms {
		if t, err := time.Parse(form, strings.TrimSpace(text)); err == nil && t.Year() > 1900 && t.Year() < 2200 {
			return t, form, nil
		}
	}
	return time.Time{}, "", agronomy.Refuse(name, agronomy.OfText(text, "").String(), "a time like 2026-05-01T14:30")
}
