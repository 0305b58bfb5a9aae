package desk

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/web/page"
)

// PropertyWork is what was put down on a property in one year: every record, and what each zone got against every limit.
func (d *Desk) PropertyWork(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	p, err := d.db.Property(r.Context(), r.PathValue("property"))
	if err != nil {
		return err
	}
	year, err := readYear(a, cmp.Or(r.URL.Query().Get("year"), d.now().In(a.place).Format("2006")))
	if err != nil {
		return err
	}
	done, err := d.workOf(r.Context(), p.ID)
	if err != nil {
		return err
	}
	v := page.WorkView{Property: p.ID, Address: p.Address, Year: strconv.Itoa(year), Off: d.offSays(a, done)}
	v.Years = done.years(a, p.ID, d.now())
	names, err := d.names(r.Context())
	if err != nil {
		return err
	}
	for _, x := range done.all {
		if strings.HasPrefix(x.Day, v.Year) {
			v.Records = append(v.Records, d.recordRow(a, names, done, x))
		}
	}
	firm, err := d.recordFirm(r.Context())
	if err != nil {
		return err
	}
	for _, t := range d.book().Totals(v.Year, done.current, done.material) {
		v.Totals = append(v.Totals, totalView(a, firm, done.zone(t.Zone), t))
	}
	f, err := d.frame(r, a, "clients", a.words.T("work.title", "address", p.Address, "year", year))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Work(f, v))
}

// worked is what was put down on a property: all records, those that stand, and the materials and zones they name.
type worked struct {
	all, current []store.Application
	material     materialOf
	zones        []store.Zone
}

func (d *Desk) workOf(ctx context.Context, property string) (o worked, err error) {
	if o.all, err = d.db.Applications(ctx, store.ApplicationFilter{Property: property}); err != nil {
		return o, err
	}
	o.current = record.Current(o.all)
	if o.material, err = d.materialOf(ctx); err != nil {
		return o, err
	}
	o.zones, err = d.db.Zones(ctx, property)
	return o, err
}

func (o worked) zone(id string) string {
	for _, z := range o.zones {
		if z.ID == id {
			return z.Name
		}
	}
	return id
}

func (o worked) stands(id string) bool {
	return slices.ContainsFunc(o.current, func(a store.Application) bool { return a.ID == id })
}

// years are those with a record, newest first, and this year always.
func (o worked) years(a asking, property string, now time.Time) []page.Choice {
	years := []string{now.In(a.place).Format("2006")}
	for _, x := range o.all {
		if len(x.Day) >= 4 {
			years = append(years, x.Day[:4])
		}
	}
	slices.Sort(years)
	years = slices.Compact(years)
	slices.Reverse(years)
	out := make([]page.Choice, len(years))
	for i, y := range years {
		out[i] = page.Choice{Value: "/desk/properties/" + property + "/work?year=" + y, Label: y}
	}
	return out
}

// offSays is what keeps people off a property just now.
func (d *Desk) offSays(a asking, o worked) []string {
	var out []string
	for _, r := range record.Running(o.current, o.material, d.now()) {
		names := make([]string, len(r.Zones))
		for i, z := range r.Zones {
			names[i] = o.zone(z)
		}
		key := "off.say"
		switch {
		case !r.Until.IsZero() && r.Say != "":
			key = "off.both"
		case !r.Until.IsZero():
			key = "off.until"
		}
		out = append(out, a.words.T(key, "zones", strings.Join(names, ", "), "name", r.Name, "time", moment(r.Until, a.place), "say", r.Say))
	}
	return out
}

func (d *Desk) recordRow(a asking, names names, o worked, x store.Application) page.RecordRow {
	row := page.RecordRow{URL: "/desk/applications/" + x.ID, Day: shortDay(x.Day), Time: clock(cmp.Or(x.Start, x.At)), Name: x.Name, By: names.person(x.Author, a.words)}
	total := 0.0
	var zones []string
	for _, z := range x.Zones {
		total += z.Amount
		zones = append(zones, o.zone(z.Zone)+" "+zoneAmount(a, x.Unit, z))
	}
	row.Amount, row.Zones = a.amount(total, x.Unit), strings.Join(zones, ", ")
	switch {
	case x.Withdrawn:
		row.State = page.Reason{Say: a.words.T("record.withdrawn")}
	case !o.stands(x.ID):
		row.State = page.Reason{Say: a.words.T("record.corrected")}
	case len(x.Missing) > 0:
		row.State = page.Reason{Kind: "ask", Say: a.words.T("record.missing", "items", strings.Join(d.itemNames(x.Missing, a.words), ", "))}
	default:
		row.State = page.Reason{Kind: "done", Say: a.words.T("record.complete")}
	}
	if o.stands(x.ID) {
		for _, f := range x.Flags {
			row.Flags = append(row.Flags, flagSays(a, f, o.zone(f.Zone)))
		}
	}
	if x.Seen != nil {
		row.Seen = a.words.T("record.seen", "who", names.person(x.Seen.By, a.words), "why", x.Seen.Why)
	}
	return row
}

// nutrients give a record's percent of a nutrient, and what its zone got of it.
var nutrients = map[string]func(record.Line) (share, got float64){
	"N":    func(l record.Line) (float64, float64) { return l.Material.Grade.N, l.Part.N },
	"P2O5": func(l record.Line) (float64, float64) { return l.Material.Grade.P2O5, l.Part.P2O5 },
	"K2O":  func(l record.Line) (float64, float64) { return l.Material.Grade.K2O, l.Part.K2O },
}

// totalView is what one zone got, nutrient by nutrient and active by active, each with its limit and its working.
func totalView(a asking, firm record.Firm, zone string, t record.ZoneTotal) page.TotalView {
	v := page.TotalView{Zone: zone}
	nutrient := func(label string, sum, limit float64, of func(record.Line) (share, got float64)) {
		if sum > 0 {
			v.Cells = append(v.Cells, totalCell(a, label, "lb"+per1000, sum, limit, workingOfNutrient(a, t, of)))
		}
	}
	nutrient("N", t.Sum.N, firm.NYear, nutrients["N"])
	nutrient("P₂O₅", t.Sum.P2O5, 0, nutrients["P2O5"])
	nutrient("K₂O", t.Sum.K2O, 0, nutrients["K2O"])
	for _, name := range sortedKeys(t.Sum.Active) {
		v.Cells = append(v.Cells, totalCell(a, name, "lb/acre", t.Sum.Active[name], t.YearLimit(name), workingOfActive(a, t, name)))
	}
	return v
}

func totalCell(a asking, label, unit string, sum, limit float64, lines []string) page.TotalCell {
	c := page.TotalCell{Label: label, Value: a.rate(sum, unit), Working: lines}
	if limit > 0 {
		c.Limit, c.Over = a.words.T("total.limit", "limit", figure(agronomy.Q(limit, unit).Crew(a.metric()).Value)), sum > limit*(1+1e-9)
		c.Percent = min(100, int(sum/limit*100+0.5))
		c.HasLimit = true
	}
	return c
}

func workingOfNutrient(a asking, t record.ZoneTotal, of func(record.Line) (share, got float64)) []string {
	var out []string
	for _, l := range t.Lines {
		if share, got := of(l); got > 0 {
			out = append(out, a.words.T("total.line", "day", shortDay(l.Application.Day), "name", l.Application.Name, "amount", weighed(a, l),
				"share", figure(share), "area", a.amount(l.Zone.AreaSqFt, "ft2"), "got", a.rate(got, "lb"+per1000)))
		}
	}
	return append(out, a.words.T("total.formula.nutrient"))
}

func workingOfActive(a asking, t record.ZoneTotal, name string) []string {
	var out []string
	for _, l := range t.Lines {
		if got := l.Part.Active[name]; got > 0 {
			out = append(out, a.words.T("total.line.active", "day", shortDay(l.Application.Day), "name", l.Application.Name, "amount", weighed(a, l),
				"area", a.amount(l.Zone.AreaSqFt, "ft2"), "got", a.rate(got, "lb/acre"), "makes", makes(a, l.Material)))
		}
	}
	return append(out, a.words.T("total.formula.active"))
}

// weighed is what a zone got, with its weight where it was not weighed.
func weighed(a asking, l record.Line) string {
	said := zoneAmount(a, l.Application.Unit, l.Zone)
	lb := record.Shipped().Pounds(l.Zone.Amount, l.Material)
	if agronomy.SameKind(l.Application.Unit, "lb") || lb <= 0 {
		return said
	}
	return said + " = " + a.amount(lb, "lb")
}

func sortedKeys(m map[string]float64) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
