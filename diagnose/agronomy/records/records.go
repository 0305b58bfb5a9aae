// Package records says what a record of a pesticide application must hold, when it is due, how long it is kept, whether a
// spot record will do, and judges wind, temperature and re-entry. The label and the state's own rule always win. What is
// law stands as data with its source; a firm adds its state's rows.
package records

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/rows"
)

var (
	//go:embed data/fields.csv
	fieldsText string
	//go:embed data/terms.csv
	termsText string

	fields = rows.Must(fieldsText, "rule", "adds", "field", "spot", "when", "source")
	terms  = rows.Must(termsText, "rule", "due_days", "keep_years", "copy_days", "source")
)

// Federal is the rule that holds for restricted-use products everywhere; state rules add to it.
var Federal = fields[0]["rule"]

// Rules are the rules known, the federal one first.
func Rules() []string { return rows.Distinct(fields, "rule") }

// otherNames are further ways to cite the federal rule; spot is its paragraph on spot applications.
const (
	wholePart = "7 CFR Part 110"
	section   = "7 CFR 110.3"
	spotRule  = "7 CFR 110.3(b)"
)

var inRule = agronomy.Input{Name: "rule", Also: []string{"state", "jurisdiction"}, Kind: agronomy.Text, OneOf: append(Rules(), wholePart, section, spotRule), Says: "rule or state"}

// ruleOf finds a rule by its citation or state, and whether it is the paragraph on spot applications.
func ruleOf(given string) (rule string, spot bool, err error) {
	if given == "" {
		return Federal, false, nil
	}
	known, err := inRule.Option(given)
	switch known {
	case wholePart, section:
		return Federal, false, nil
	case spotRule:
		return Federal, true, nil
	}
	return known, false, err
}

// Case is what a record is asked for: under which rule, and in what circumstances.
type Case struct {
	Rule       string // "" is the federal one
	Spot       bool   // a spot application, under one-tenth acre in the day: the shorter record
	Supervised bool   // somebody without a certificate applied under supervision
}

// Required is the items a record must hold, in the rule's order, with the source of each rule.
func Required(c Case) (items []string, source string, err error) {
	rule, spot, err := ruleOf(c.Rule)
	if err != nil {
		return nil, "", err
	}
	c.Spot = c.Spot || spot
	var sources []string
	for _, r := range fields {
		if !holds(rule, r) || c.Spot && r["spot"] != "yes" && r["rule"] == Federal || r["when"] == "supervised" && !c.Supervised {
			continue
		}
		if !slices.Contains(items, r["field"]) {
			items = append(items, r["field"])
		}
		if !slices.Contains(sources, r["source"]) {
			sources = append(sources, r["source"])
		}
	}
	return items, strings.Join(sources, "; "), nil
}

// holds says whether a row is part of a rule: its own, or that of the rule it adds to.
func holds(rule string, r rows.Row) bool {
	if r["rule"] == rule {
		return true
	}
	return slices.ContainsFunc(fields, func(own rows.Row) bool { return own["rule"] == rule && own["adds"] == r["rule"] })
}

// Missing is the items that a record lacks, or holds blank.
func Missing(record map[string]string, c Case) ([]string, error) {
	items, _, err := Required(c)
	missing := []string{}
	for _, item := range items {
		if strings.TrimSpace(lookUp(record, item)) == "" {
			missing = append(missing, item)
		}
	}
	return missing, err
}

// lookUp finds an item whatever its capitals.
func lookUp(record map[string]string, item string) string {
	if v, ok := record[item]; ok {
		return v
	}
	for name, v := range record {
		if strings.EqualFold(strings.TrimSpace(name), item) {
			return v
		}
	}
	return ""
}

// Terms are a rule's deadlines, counted from the application.
type Terms struct {
	Due    time.Time // the record must be written by the end of this day
	Keep   time.Time // and kept until this day
	Copy   time.Time // the customer's copy must be out by the end of this day
	Source string
}

// TermsOf works out the deadlines of an application. A record of 29 February is kept until 1 March: longer, not shorter.
func TermsOf(rule string, applied time.Time) (Terms, error) {
	known, _, err := ruleOf(rule)
	if err != nil {
		return Terms{}, err
	}
	for _, r := range terms {
		if r["rule"] == known {
			return Terms{
				Due:  applied.AddDate(0, 0, int(r.Number("due_days"))),
				Keep: applied.AddDate(int(r.Number("keep_years")), 0, 0),
				Copy: applied.AddDate(0, 0, int(r.Number("copy_days"))), Source: r["source"],
			}, nil
		}
	}
	return Terms{}, agronomy.Refuse("rule", fmt.Sprintf("%.40q", rule), "one with terms in the table")
}

// dateForm is how dates are written.
const dateForm = "2006-01-02"

// Day reads a date written as 2026-05-01.
func Day(name, text string) (time.Time, error) {
	d, err := time.Parse(dateForm, strings.TrimSpace(text))
	if err != nil || d.Year() < 1900 || d.Year() > 2200 {
		return time.Time{}, agronomy.Refuse(name, fmt.Sprintf("%.40q", text), "a date like 2026-05-01, from 1900 to 2200")
	}
	return d, nil
}

const spotSource = "7 CFR 110.3(b): spot applications in a total area of less than one-tenth acre on the same day; the threshold from memory"

// spotLimit is one-tenth of an acre, ft2.
const spotLimit = 4356

var inDayArea = agronomy.Input{Name: "total_area_treated_same_day", Also: []string{"area_treated_same_day", "total_area", "area"}, Unit: "ft2", Range: agronomy.AtLeast(0), Says: "all ground treated with the product on that day"}

// SpotAllowed says whether the shorter record will do: for less than one-tenth of an acre in the day.
func SpotAllowed(dayArea agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("total treated on the day < 4356 ft²", spotSource)
	a := s.Take(inDayArea, dayArea)
	return s.Give(agronomy.OfFlag(a < spotLimit-1e-6)), s.Err()
}
