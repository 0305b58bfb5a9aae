package desk

import (
	"net/http"
	"slices"
	"strconv"

	"swardbook/store"
	"swardbook/web/page"
)

// How many active ingredients and grasses a form has room for.
const (
	activeLines = 4
	seedLines   = 3
)

func (d *Desk) drawMaterial(w http.ResponseWriter, r *http.Request, a asking, status int, m store.Material, form page.Form) error {
	title := m.Name
	if m.ID == "" {
		title = a.words.T("materials.new")
	}
	f, err := d.frame(r, a, "materials", title)
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.MaterialForm(f, d.materialView(a, m, form)))
}

func (d *Desk) materialView(a asking, m store.Material, form page.Form) page.MaterialView {
	lang := a.words.Lang
	v := page.MaterialView{ID: m.ID, Form: form, Source: m.Source, Values: materialValues(a, m), UnitOf: unitsOf(a, m), Retired: m.Retired, Rolling: m.Limits.Rolling, Restricted: m.Restricted, Licence: m.Licence}
	for _, k := range d.book().Kinds {
		v.Kinds = append(v.Kinds, page.Choice{Value: k.ID, Label: k.Label.In(lang)})
	}
	for _, u := range d.book().Units {
		v.Units = append(v.Units, page.Choice{Value: u.ID, Label: u.Label.In(lang)})
	}
	for _, t := range d.book().Tools {
		v.Tools = append(v.Tools, page.Mark{Value: t.ID, Label: t.Label.In(lang), On: slices.Contains(m.Tools, t.ID)})
	}
	for _, u := range d.know().Bundle.Planning.Uses {
		v.Uses = append(v.Uses, page.Mark{Value: u.ID, Label: u.Label.In(lang), On: slices.Contains(m.Uses, u.ID)})
	}
	v.Grasses = []page.Choice{{}}
	for _, g := range d.know().Bundle.Planning.Grasses {
		v.Grasses = append(v.Grasses, page.Choice{Value: g.ID, Label: g.Label.In(lang)})
	}
	v.Actives, v.Seeds = activeLines, seedLines
	return v
}

// materialValues are a material's numbers and texts by the names of the inputs.
func materialValues(a asking, m store.Material) map[string]string {
	l, per := m.Limits, m.Unit+per1000
	measure := func(name string, x float64, unit string) string { return a.shown(m.Given, name, x, unit) }
	v := map[string]string{
		"name": m.Name, "kind": m.Kind, "formulation": m.Formulation, "reg_no": m.RegNo, "unit": m.Unit, "density": measure("density", m.Density, "lb/gal"), "source": m.Source,
		"n": filled(m.Grade.N), "p2o5": filled(m.Grade.P2O5), "k2o": filled(m.Grade.K2O), "slow_n": filled(m.Grade.SlowN), "cce": filled(m.CCE),
		"rate": measure("rate", m.Rate, per), "once": measure("once", l.Once, per), "year": measure("year", l.Year, per), "times": filled(float64(l.Times)), "interval": filled(float64(l.IntervalDays)),
		"reentry_hours": filled(l.ReentryHours), "reentry_say": l.ReentrySay, "wind_low": measure("wind_low", l.WindLow, "mi/h"), "wind_high": measure("wind_high", l.WindHigh, "mi/h"),
		"temp_low": measure("temp_low", l.TempLow, "F"), "temp_high": measure("temp_high", l.TempHigh, "F"), "seed_after": filled(float64(l.SeedAfter)), "seed_before": filled(float64(l.SeedBefore)),
		"cost": filled(m.UnitCost), "stock": measure("stock", m.Stock, m.Unit),
	}
	for i, act := range m.Actives {
		n := strconv.Itoa(i)
		v["active."+n], v["percent."+n], v["lb_gal."+n] = act.Name, filled(act.Percent), measure("lb_gal."+n, act.LbPerGal, "lb/gal")
		v["active_once."+n], v["active_year."+n] = measure("active_once."+n, act.OnceLbA, "lb/acre"), measure("active_year."+n, act.YearLbA, "lb/acre")
	}
	for i, s := range m.Seed {
		n := strconv.Itoa(i)
		v["grass."+n], v["share."+n], v["purity."+n], v["germination."+n] = s.Grass, filled(s.Share), filled(s.Purity), filled(s.Germination)
	}
	return v
}

// readMaterial reads a material's form and notes what is wrong at its input.
func (d *Desk) readMaterial(a asking, form *page.Form) store.Material {
	number := func(name string, high float64) float64 { return readDecimal(a, form, name, 0, high) }
	in, per := measuring(a, form), d.unitTyped(form)+per1000
	m := store.Material{
		Name: form.V("name"), Kind: form.V("kind"), Formulation: form.V("formulation"), RegNo: form.V("reg_no"), Unit: form.V("unit"),
		Density: in.read("density", "lb/gal", 0, 100), Source: form.V("source"), Rate: in.read("rate", per, 0, 1e5), UnitCost: number("cost", 1e6), Stock: in.read("stock", d.unitTyped(form), 0, 1e8), CCE: number("cce", 200),
		Grade: store.Grade{N: number("n", 82), P2O5: number("p2o5", 80), K2O: number("k2o", 80), SlowN: number("slow_n", 82)},
		Uses:  ticked(form, "uses"), Tools: ticked(form, "tools"), Restricted: form.V("restricted") != "", Licence: form.V("licence") != "", Retired: form.V("retired") != "",
	}
	m.Limits = store.Limits{
		Once: in.read("once", per, 0, 1e5), Year: in.read("year", per, 0, 1e6), Times: readWhole(a, form, "times", 100), Rolling: form.V("rolling") != "", IntervalDays: readWhole(a, form, "interval", 3650),
		ReentryHours: number("reentry_hours", 10000), ReentrySay: form.V("reentry_say"), WindLow: in.read("wind_low", "mi/h", 0, 60), WindHigh: in.read("wind_high", "mi/h", 0, 60),
		TempLow: in.read("temp_low", "F", -40, 130), TempHigh: in.read("temp_high", "F", -40, 130), SeedAfter: readWhole(a, form, "seed_after", 3650), SeedBefore: readWhole(a, form, "seed_before", 3650),
	}
	m.Actives, m.Seed, m.Given = readActives(a, form, in), d.readSeed(a, form), in.given
	d.needed(a, form, m)
	return m
}

// unitTyped is the unit that the form names, or pounds while it names none.
func (d *Desk) unitTyped(form *page.Form) string {
	if u, ok := d.book().Unit(form.V("unit")); ok {
		return u.ID
	}
	return "lb"
}

// unitsOf are the firm's units of a material's numbers, by the names of the inputs.
func unitsOf(a asking, m store.Material) map[string]string {
	v := map[string]string{"density": a.unit("lb/gal"), "lb_gal": a.unit("lb/gal"), "active_once": a.unit("lb/acre"), "active_year": a.unit("lb/acre")}
	v["wind_low"], v["wind_high"], v["temp_low"], v["temp_high"] = a.unit("mi/h"), a.unit("mi/h"), a.unit("F"), a.unit("F")
	v["rates"] = a.words.T("material.rates.us")
	if a.metric() {
		v["rates"] = a.words.T("material.rates.metric")
	}
	return v
}

func ticked(form *page.Form, name string) []string { return append([]string{}, form.Values[name]...) }

func readActives(a asking, form *page.Form, in *measures) []store.Active {
	out := []store.Active{}
	for i := range activeLines {
		n := strconv.Itoa(i)
		act := store.Active{
			Name: form.V("active." + n), Percent: readDecimal(a, form, "percent."+n, 0, 100), LbPerGal: in.read("lb_gal."+n, "lb/gal", 0, 20),
			OnceLbA: in.read("active_once."+n, "lb/acre", 0, 1000), YearLbA: in.read("active_year."+n, "lb/acre", 0, 1000),
		}
		switch {
		case act.Name != "":
			out = append(out, act)
		case act.Percent+act.LbPerGal+act.OnceLbA+act.YearLbA > 0:
			form.Say("active."+n, a.words.T("material.active.need"))
		}
	}
	return out
}

func (d *Desk) readSeed(a asking, form *page.Form) []store.SeedLot {
	out := []store.SeedLot{}
	for i := range seedLines {
		n := strconv.Itoa(i)
		if s := (store.SeedLot{
			Grass: form.V("grass." + n), Share: readDecimal(a, form, "share."+n, 0, 100), Purity: readDecimal(a, form, "purity."+n, 0, 100), Germination: readDecimal(a, form, "germination."+n, 0, 100),
		}); s.Grass != "" {
			out = append(out, s)
		}
	}
	return out
}

// needed says what a material can't be without.
func (d *Desk) needed(a asking, form *page.Form, m store.Material) {
	if m.Name == "" {
		form.Say("name", a.words.T("material.name.need"))
	}
	kind, known := d.book().Kind(m.Kind)
	if !known {
		form.Say("kind", a.words.T("material.kind.need"))
	}
	if _, ok := d.book().Unit(m.Unit); !ok {
		form.Say("unit", a.words.T("material.unit.need"))
	}
	if kind.Pesticide && len(m.Actives) == 0 {
		form.Say("active.0", a.words.T("material.active.need"))
	}
	if m.Grade.N+m.Grade.P2O5+m.Grade.K2O >= 100 {
		form.Say("n", a.words.T("material.grade.wrong"))
	}
	if m.Grade.SlowN > m.Grade.N {
		form.Say("slow_n", a.words.T("material.slow.wrong"))
	}
	if m.Limits.Once > 0 && m.Rate > m.Limits.Once {
		form.Say("rate", a.words.T("material.rate.wrong"))
	}
	if m.Limits.WindHigh > 0 && m.Limits.WindLow > m.Limits.WindHigh {
		form.Say("wind_low", a.words.T("material.wind.wrong"))
	}
}
