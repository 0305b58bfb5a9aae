package desk

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/diagnose/agronomy"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/web/page"
)

// Materials lists what the firm puts down, then the generic examples it has not taken over.
func (d *Desk) Materials(w http.ResponseWriter, r *http.Request) error {
	return d.drawMaterials(w, r, http.StatusOK, page.Form{})
}

func (d *Desk) drawMaterials(w http.ResponseWriter, r *http.Request, status int, rules page.Form) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	list, err := d.db.Materials(r.Context())
	if err != nil {
		return err
	}
	left, err := d.stockLeft(r.Context(), list)
	if err != nil {
		return err
	}
	v := page.MaterialsView{}
	for _, m := range list {
		row := d.materialRow(a, m)
		row.URL = "/desk/materials/" + m.ID
		if m.StockDay != "" {
			row.Stock, row.Short = a.amount(left[m.ID], m.Unit), left[m.ID] < 0
		}
		v.Rows = append(v.Rows, row)
	}
	if v.Examples, err = d.exampleRows(a, list); err != nil {
		return err
	}
	if v.Rules, err = d.rulesView(r.Context(), a, rules); err != nil {
		return err
	}
	f, err := d.frame(r, a, "materials", a.words.T("desk.materials"))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Materials(f, v))
}

// stockLeft is what was counted less what was put down since, by material.
func (d *Desk) stockLeft(ctx context.Context, list []store.Material) (map[string]float64, error) {
	left := map[string]float64{}
	first := ""
	for _, m := range list {
		left[m.ID] = m.Stock
		if m.StockDay != "" && (first == "" || m.StockDay < first) {
			first = m.StockDay
		}
	}
	if first == "" {
		return left, nil
	}
	all, err := d.db.Applications(ctx, store.ApplicationFilter{FromDay: first})
	if err != nil {
		return nil, err
	}
	for _, a := range record.Current(all) {
		at := slices.IndexFunc(list, func(m store.Material) bool { return m.ID == a.Material })
		if at < 0 || a.Day < list[at].StockDay || list[at].StockDay == "" {
			continue
		}
		for _, z := range a.Zones {
			left[a.Material] -= z.Amount
		}
	}
	return left, nil
}

func (d *Desk) materialRow(a asking, m store.Material) page.MaterialRow {
	kind, _ := d.book().Kind(m.Kind)
	row := page.MaterialRow{Name: m.Name, Kind: kind.Label.In(a.words.Lang), Makes: makes(a, m), Limits: limitsSay(a, m), Retired: m.Retired, Source: m.Source}
	if m.Rate > 0 {
		row.Rate = a.rate(m.Rate, m.Unit+per1000)
	}
	if m.UnitCost > 0 {
		row.Cost = a.words.T("material.cost.say", "cost", money(m.UnitCost), "unit", m.Unit)
	}
	if kind.Pesticide && m.RegNo == "" {
		row.Lacks = a.words.T("material.lacks.reg")
	}
	return row
}

// makes is what a material is made of: its grade and its active ingredients.
func makes(a asking, m store.Material) string {
	var parts []string
	if g := m.Grade; g.N+g.P2O5+g.K2O > 0 {
		parts = append(parts, figure(g.N)+"-"+figure(g.P2O5)+"-"+figure(g.K2O))
	}
	for _, act := range m.Actives {
		switch {
		case act.LbPerGal > 0:
			parts = append(parts, act.Name+" "+a.amount(act.LbPerGal, "lb/gal"))
		case act.Percent > 0:
			parts = append(parts, act.Name+" "+figure(act.Percent)+" %")
		default:
			parts = append(parts, act.Name)
		}
	}
	return strings.Join(parts, ", ")
}

// limitsSay is what a label allows, one sentence each.
func limitsSay(a asking, m store.Material) []string {
	w := a.words
	l := m.Limits
	var out []string
	say := func(there bool, key string, args ...any) {
		if there {
			out = append(out, w.T("limit."+key, args...))
		}
	}
	say(l.Once > 0, "once", "rate", a.rate(l.Once, m.Unit+per1000))
	say(l.Year > 0, "year", "rate", a.rate(l.Year, m.Unit+per1000))
	for _, act := range m.Actives {
		say(act.OnceLbA > 0, "active_once", "active", act.Name, "rate", a.rate(act.OnceLbA, "lb/acre"))
		say(act.YearLbA > 0, "active_year", "active", act.Name, "rate", a.rate(act.YearLbA, "lb/acre"))
	}
	say(l.Times > 0, "times", "n", l.Times)
	say(l.Rolling, "rolling")
	say(l.IntervalDays > 0, "interval", "n", l.IntervalDays)
	between := func(key, unit string, low, high float64) {
		from := figure(agronomy.Q(low, unit).Crew(a.metric()).Value)
		say(low != 0 && high != 0, key, "low", from, "high", a.amount(high, unit))
		say(low != 0 && high == 0, key+"_low", "low", a.amount(low, unit))
		say(low == 0 && high != 0, key+"_high", "high", a.amount(high, unit))
	}
	between("wind", "mi/h", l.WindLow, l.WindHigh)
	between("temp", "F", l.TempLow, l.TempHigh)
	say(l.SeedAfter > 0, "seed_after", "n", l.SeedAfter)
	say(l.SeedBefore > 0, "seed_before", "n", l.SeedBefore)
	say(l.ReentryHours > 0, "reentry", "n", figure(l.ReentryHours))
	say(l.ReentrySay != "", "reentry_say", "say", l.ReentrySay)
	return out
}

// exampleRows are the examples whose name the firm's list does not hold.
func (d *Desk) exampleRows(a asking, own []store.Material) ([]page.MaterialRow, error) {
	examples, err := record.Examples()
	if err != nil {
		return nil, err
	}
	var rows []page.MaterialRow
	for _, m := range examples {
		if !slices.ContainsFunc(own, func(o store.Material) bool { return strings.EqualFold(o.Name, m.Name) }) {
			row := d.materialRow(a, m)
			row.URL, row.Lacks = "/desk/materials/new?example="+m.ID, ""
			rows = append(rows, row)
		}
	}
	return rows, nil
}

// NewMaterial draws the form for a material, filled in from an example when one is named.
func (d *Desk) NewMaterial(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	m := store.Material{Unit: "lb"}
	examples, err := record.Examples()
	if err != nil {
		return err
	}
	if at := slices.IndexFunc(examples, func(e store.Material) bool { return e.ID == r.URL.Query().Get("example") }); at >= 0 {
		m = examples[at]
		m.ID = ""
	}
	return d.drawMaterial(w, r, a, http.StatusOK, m, page.Form{})
}

// Material draws a material's form.
func (d *Desk) Material(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	m, err := d.db.Material(r.Context(), r.PathValue("material"), 0)
	if err != nil {
		return err
	}
	return d.drawMaterial(w, r, a, http.StatusOK, m, page.Form{})
}

// AddMaterial takes a new material in.
func (d *Desk) AddMaterial(w http.ResponseWriter, r *http.Request) error {
	return d.saveMaterial(w, r, store.Material{})
}

// SaveMaterial keeps a further version of a material; what was recorded with an older one stays with that.
func (d *Desk) SaveMaterial(w http.ResponseWriter, r *http.Request) error {
	m, err := d.db.Material(r.Context(), r.PathValue("material"), 0)
	if err != nil {
		return err
	}
	return d.saveMaterial(w, r, m)
}

func (d *Desk) saveMaterial(w http.ResponseWriter, r *http.Request, old store.Material) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	m := d.readMaterial(a, &form)
	m.ID = old.ID
	if m.Stock != old.Stock || old.StockDay == "" && m.Stock > 0 {
		m.StockDay = d.now().In(a.place).Format(time.DateOnly)
	} else {
		m.StockDay = old.StockDay
	}
	if form.Bad() {
		return d.drawMaterial(w, r, a, http.StatusUnprocessableEntity, m, form)
	}
	if m.ID == "" {
		m.ID = uuid.NewString()
	}
	_, err = d.db.SaveMaterial(r.Context(), m, a.who.ID)
	return done(w, r, err, "/desk/materials", "material")
}

// perArea is what nutrients are counted in.
const perArea = "lb N/1000 ft2"

// SaveRules keeps which states' lists the firm's records follow, and its own limits of nitrogen.
func (d *Desk) SaveRules(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	in := measuring(a, &form)
	f := record.Firm{Rules: []string{}, NOnce: in.read("n_once", perArea, 0, 10), NYear: in.read("n_year", perArea, 0, 20), Given: in.given}
	for _, rule := range d.book().Rules {
		if slices.Contains(form.Values["rules"], rule.ID) && !rule.Always {
			f.Rules = append(f.Rules, rule.ID)
		}
	}
	if form.Bad() {
		return d.drawMaterials(w, r, http.StatusUnprocessableEntity, form)
	}
	return done(w, r, d.db.SaveSetting(r.Context(), record.SettingName, f), "/desk/materials", "rules")
}

func (d *Desk) rulesView(ctx context.Context, a asking, form page.Form) (page.RulesView, error) {
	f, err := d.recordFirm(ctx)
	v := page.RulesView{Form: form, NOnce: a.shown(f.Given, "n_once", f.NOnce, perArea), NYear: a.shown(f.Given, "n_year", f.NYear, perArea), Unit: a.unit(perArea)}
	for _, rule := range d.book().Rules {
		v.Rules = append(v.Rules, page.RuleRow{
			ID: rule.ID, Label: rule.Label, Always: rule.Always, Chosen: rule.Always || slices.Contains(f.Rules, rule.ID), Source: rule.Source,
			Items: strings.Join(d.itemNames(rule.Items, a.words), ", "), Keep: a.words.N("rule.keep", rule.Keep),
		})
	}
	return v, err
}
