package records

import (
	"fmt"
	"strings"

	"swardbook/diagnose/agronomy"
)

type (
	values  = agronomy.Values
	results = agronomy.Results
	way     = agronomy.Way
)

// Formulas are this subject's entries of the registry.
func Formulas() []agronomy.Formula { return []agronomy.Formula{recordFormula()} }

var (
	inDate       = agronomy.Input{Name: "application_date", Also: []string{"date"}, Kind: agronomy.Text, Says: "day of the application, like 2026-05-01"}
	inRecord     = agronomy.Input{Name: "record", Kind: agronomy.Data, Says: "the record: item and text"}
	inSpot       = agronomy.Input{Name: "spot", Also: []string{"spot_application"}, Kind: agronomy.Flag, Says: "whether it is a spot application"}
	inSupervised = agronomy.Input{Name: "supervised", Kind: agronomy.Flag, Says: "whether somebody without a certificate applied under supervision"}
	inFinished   = agronomy.Input{Name: "finished", Also: []string{"application_end", "end"}, Kind: agronomy.Text, Says: "end of the application, like 2026-05-01T14:30"}
)

// outputs reads "name|further name unit", parted by semicolons.
func outputs(list string) []agronomy.Output {
	var out []agronomy.Output
	for _, item := range strings.Split(list, ";") {
		name, unit, _ := strings.Cut(strings.TrimSpace(item), " ")
		names := strings.Split(name, "|")
		out = append(out, agronomy.Output{Name: names[0], Also: names[1:], Unit: unit})
	}
	return out
}

func recordFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "application_record", Does: "What a record of an application must hold and by when, and whether weather and re-entry are in order.", Source: "7 CFR Part 110; 40 CFR 171.303(b)(7); states as listed; the product's label",
		Inputs:  []agronomy.Input{inRule, inDate, inDayArea, inRecord, inSpot, inSupervised, inWind, inWindMin, inWindMax, inTemp, inTempMin, inTempMax, inREI, inFinished, inForm},
		Outputs: outputs("required_fields list; record_due date; keep_until date; customer_copy_due date; spot_record_allowed boolean; complete boolean; missing list; label_3_to_10 text; advice_3_to_8 text; wind_class text; temperature_class text; governing_rei h; re_entry_at time; statement text"),
		Ways: []way{
			{Needs: []string{"rule"}, May: []string{"spot", "supervised"}, Run: required},
			{Needs: []string{"application_date"}, May: []string{"rule"}, Run: deadlines},
			{Needs: []string{"total_area_treated_same_day"}, Run: agronomy.Gives("spot_record_allowed", func(v values) (agronomy.Result, error) {
				return SpotAllowed(v.Q("total_area_treated_same_day"))
			})},
			{Needs: []string{"record"}, May: []string{"rule", "spot", "supervised"}, Run: complete},
			judged("wind", "label_3_to_10", func(v values) (agronomy.Result, error) {
				return Wind(v.List("wind"), agronomy.Q(3, "mi/h"), agronomy.Q(10, "mi/h"))
			}),
			judged("wind", "advice_3_to_8", func(v values) (agronomy.Result, error) {
				return windBy(adviceSource, v.List("wind"), agronomy.Q(3, "mi/h"), agronomy.Q(8, "mi/h"))
			}),
			judged("wind", "wind_class", func(v values) (agronomy.Result, error) {
				return Wind(v.List("wind"), v.Q("wind_min", agronomy.Q(3, "mi/h")), v.Q("wind_max", agronomy.Q(10, "mi/h")))
			}, "wind_min", "wind_max"),
			judged("temperature", "temperature_class", func(v values) (agronomy.Result, error) {
				return Temperature(v.List("temperature"), v.Q("temperature_min", agronomy.Q(50, "F")), v.Q("temperature_max", agronomy.Q(85, "F")))
			}, "temperature_min", "temperature_max"),
			{Needs: []string{"rei"}, Run: agronomy.Gives("governing_rei", func(v values) (agronomy.Result, error) { return GoverningREI(v.List("rei")) })},
			{Needs: []string{"rei", "finished"}, Run: back},
			{Needs: []string{"form"}, Run: agronomy.Gives("statement", func(v values) (agronomy.Result, error) { return Statement(v.Text("form")) })},
		},
	}
}

// judged is a way whose result has one text for a single value and a list for a list.
func judged(input, output string, read func(values) (agronomy.Result, error), may ...string) way {
	return way{Needs: []string{input}, May: may, Run: func(v values) (results, error) {
		r, err := read(v)
		if err == nil && v[input].Kind == agronomy.Number {
			r.Value = agronomy.OfText(r.Texts[0], r.Unit)
		}
		return results{output: r}, err
	}}
}

func caseOf(v values) Case {
	return Case{Rule: v.Text("rule"), Spot: v["spot"].Yes, Supervised: v["supervised"].Yes}
}

func required(v values) (results, error) {
	items, source, err := Required(caseOf(v))
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("items that the rule lists", source)
	s.Note("rule", v.Text("rule"))
	return results{"required_fields": s.Give(agronomy.OfTexts(items, "list"))}, s.Err()
}

func deadlines(v values) (results, error) {
	day, err := Day("application_date", v.Text("application_date"))
	if err != nil {
		return nil, err
	}
	t, err := TermsOf(v.Text("rule"), day)
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("application date and the rule's days and years", t.Source)
	s.Note("application_date", day.Format(dateForm))
	give := func(text string) agronomy.Result { return s.Give(agronomy.OfText(text, "date")) }
	return results{
		"record_due": give(t.Due.Format(dateForm)), "keep_until": give(t.Keep.Format(dateForm)), "customer_copy_due": give(t.Copy.Format(dateForm)),
	}, s.Err()
}

// recordFrom reads a record out of decoded JSON; numbers are taken as they would be written.
func recordFrom(v agronomy.Value) (map[string]string, error) {
	items, ok := v.Data.(map[string]any)
	if !ok || len(items) > 500 {
		return nil, agronomy.Refuse("record", fmt.Sprintf("%.40q", v.String()), "an object of items and their texts")
	}
	record := map[string]string{}
	for name, item := range items {
		switch item := item.(type) {
		case nil:
		case string:
			record[name] = item
		case float64:
			record[name] = agronomy.Figure(item)
		case bool:
			record[name] = map[bool]string{true: "yes", false: "no"}[item]
		default:
			return nil, agronomy.Refuse("record, "+name, "a list or an object", "a text or a number")
		}
	}
	return record, nil
}

func complete(v values) (results, error) {
	record, err := recordFrom(v["record"])
	if err != nil {
		return nil, err
	}
	c := caseOf(v)
	missing, err := Missing(record, c)
	if err != nil {
		return nil, err
	}
	items, source, err := Required(c)
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("every item of the rule is there and not blank", source)
	s.Note("record", fmt.Sprint(len(record), " items given, ", len(items), " required"))
	if c.Spot && !strings.Contains(strings.ToLower(lookUp(record, "location")), "spot application") {
		s.Remark("The location of a spot application must be called spot application, with a short description.")
	}
	return results{"complete": s.Give(agronomy.OfFlag(len(missing) == 0)), "missing": s.Give(agronomy.OfTexts(missing, "list"))}, s.Err()
}

func back(v values) (results, error) {
	end, form, err := moment("finished", v.Text("finished"))
	if err != nil {
		return nil, err
	}
	governing, err := GoverningREI(v.List("rei"))
	if err != nil {
		return nil, err
	}
	at, err := ReEntry(end, governing.Quantity())
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("end of the application + the governing interval", entrySource)
	s.Note("finished", v.Text("finished"))
	s.Step("governing interval", governing.Number, governing.Unit, "")
	return results{"re_entry_at": s.Give(agronomy.OfText(at.Format(form), "time"))}, s.Err()
}
