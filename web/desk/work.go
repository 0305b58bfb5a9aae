package desk

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/web/page"
)

// workStore is what the pages of materials, records, plans and weather ask of the database.
type workStore interface {
	SaveMaterial(ctx context.Context, m store.Material, by string) (int64, error)
	Materials(ctx context.Context) ([]store.Material, error)
	MaterialVersions(ctx context.Context) ([]store.Material, error)
	Material(ctx context.Context, id string, version int64) (store.Material, error)
	Applications(ctx context.Context, f store.ApplicationFilter) ([]store.Application, error)
	Application(ctx context.Context, id string) (store.Application, error)
	SeeApplication(ctx context.Context, id, by, why string) error
	Calibrations(ctx context.Context, limit int) ([]store.Calibration, error)
	SaveWeather(ctx context.Context, days []store.WeatherDay) error
	Weather(ctx context.Context, from, to string) ([]store.WeatherDay, error)
	SignPlan(ctx context.Context, p store.Plan, visits []store.Visit) error
	Plans(ctx context.Context, property string) ([]store.Plan, error)
	Plan(ctx context.Context, id string) (store.Plan, error)
	PlanSteps(ctx context.Context, visit string) ([]store.PlanStep, error)
	SetStep(ctx context.Context, plan string, n int, state store.StepState, why string) error
	SaveDraft(ctx context.Context, draft store.PlanDraft) error
	Draft(ctx context.Context, visit string) (store.PlanDraft, error)
	Setting(ctx context.Context, name string, v any) error
	SaveSetting(ctx context.Context, name string, v any) error
}

// book is the data of the rules of records.
func (d *Desk) book() *record.Book { return record.Shipped() }

// recordFirm is what the firm decided about its records.
func (d *Desk) recordFirm(ctx context.Context) (record.Firm, error) {
	f := record.Usual
	err := d.db.Setting(ctx, record.SettingName, &f)
	return f, err
}

// materialOf looks up a version of a material.
type materialOf = func(id string, version int64) (store.Material, bool)

func (d *Desk) materialOf(ctx context.Context) (materialOf, error) {
	list, err := d.db.MaterialVersions(ctx)
	known := make(map[string]store.Material, len(list))
	for _, m := range list {
		known[fmt.Sprint(m.ID, " ", m.Version)] = m
	}
	return func(id string, version int64) (store.Material, bool) {
		m, ok := known[fmt.Sprint(id, " ", version)]
		return m, ok
	}, err
}

// decimal is how numbers of forms are read: a point or a comma, halves and quarters.
var decimal = checks.Check{ID: "number", Kind: checks.Measure, Units: []checks.Unit{{ID: "", Mul: 1, Div: 1}}}

// readDecimal reads a number typed into a form; nothing typed is 0. What can't be read, or lies outside, is said at its input.
func readDecimal(a asking, form *page.Form, name string, low, high float64) float64 {
	typed := form.V(name)
	if typed == "" {
		return 0
	}
	x, ok := parseDecimal(typed)
	if !ok || x < low || x > high {
		form.Say(name, a.words.T("number.wrong", "low", figure(low), "high", figure(high)))
		return 0
	}
	return x
}

func parseDecimal(typed string) (float64, bool) {
	v, problems := checks.Read(decimal, typed)
	if len(problems) > 0 || len(v.Numbers) != 1 || math.IsInf(v.Numbers[0], 0) {
		return 0, false
	}
	return v.Numbers[0], true
}

func readWhole(a asking, form *page.Form, name string, high int) int {
	return int(math.Round(readDecimal(a, form, name, 0, float64(high))))
}

// figure writes a number as a crew reads it: two decimals at most, one from a thousand on. static/js/work.js does the same.
func figure(x float64) string {
	scale := 100.0
	if math.Abs(x) >= 1000 {
		scale = 10
	}
	return strconv.FormatFloat(math.Round(x*scale)/scale, 'f', -1, 64)
}

// filled writes a number for an input; nothing for 0.
func filled(x float64) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// money writes an amount of money; nothing for 0.
func money(x float64) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'f', 2, 64)
}

// itemNames are items of a record in words.
func (d *Desk) itemNames(ids []string, w page.Words) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = id
		if it, ok := d.book().Item(id); ok {
			out[i] = it.Label.In(w.Lang)
		}
	}
	return out
}

// flagSays is a limit that was passed, in words.
func flagSays(a asking, f store.Flag, zone string) string {
	args := []any{"zone", zone}
	unit := flagUnits[f.Code]
	if unit == per1000 {
		unit = f.Words["unit"] + per1000
	}
	for word, text := range f.Words {
		if x, err := strconv.ParseFloat(text, 64); err == nil && unit != "" {
			text = a.flagged(x, unit)
		}
		args = append(args, word, text)
	}
	return strings.TrimPrefix(a.words.T("flag."+f.Code, args...), ": ")
}

// flagUnits say what the numbers of flags are measured in; per1000 stands for the record's own unit on that ground.
var flagUnits = map[string]string{
	record.Once: per1000, record.Year: per1000, record.ActiveOnce: "lb/acre", record.ActiveYear: "lb/acre", record.NOnce: "lb" + per1000, record.NYear: "lb" + per1000,
	record.WindLow: "mi/h", record.WindHigh: "mi/h", record.TempLow: "F", record.TempHigh: "F",
}

// flagged is a number of a flag in the firm's units, the label's own with three decimals so that what is just above a limit does
// not look like it.
func (a asking) flagged(x float64, unit string) string {
	if a.metric() {
		return a.rate(x, unit)
	}
	top, under, on := strings.Cut(unit, "/")
	if !on || unit == "mi/h" {
		return record.Say(x) + " " + agronomy.UnitWords(unit)
	}
	return record.Say(x) + " " + top + " " + a.words.T("on."+strings.ReplaceAll(under, " ", ""))
}
