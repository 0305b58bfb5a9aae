package desk

import (
	"cmp"
	"context"
	"net/http"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/records"
	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/store/record"
	"swardbook/web/page"
)

// Application is one record of something put down, whole: what the law asks for, what is missing, what passed a limit.
func (d *Desk) Application(w http.ResponseWriter, r *http.Request) error {
	return d.drawApplication(w, r, http.StatusOK, page.Form{}, page.Form{})
}

func (d *Desk) drawApplication(w http.ResponseWriter, r *http.Request, status int, fix, seen page.Form) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	x, err := d.db.Application(r.Context(), r.PathValue("application"))
	if err != nil {
		return err
	}
	v, err := d.applicationView(r.Context(), a, x)
	if err != nil {
		return err
	}
	v.Fix, v.See = fix, seen
	f, err := d.frame(r, a, "clients", x.Name+", "+shortDay(x.Day))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Application(f, v))
}

func (d *Desk) applicationView(ctx context.Context, a asking, x store.Application) (v page.ApplicationView, err error) {
	o, err := d.workOf(ctx, x.Property)
	if err != nil {
		return v, err
	}
	names, err := d.names(ctx)
	if err != nil {
		return v, err
	}
	m, _ := o.material(x.Material, x.Version)
	firm, err := d.recordFirm(ctx)
	if err != nil {
		return v, err
	}
	v = page.ApplicationView{
		ID: x.ID, AreaUnit: a.unit("ft2"), Row: d.recordRow(a, names, o, x), Visit: "/desk/visits/" + x.Visit, Property: "/desk/properties/" + x.Property + "/work?year=" + yearText(x.Day),
		Address: names.address(x.Property), Stands: o.stands(x.ID), Start: localInput(x.Start), End: localInput(x.End), RegNo: x.RegNo,
		Wants: o.stands(x.ID) && x.Seen == nil && len(x.Missing)+len(x.Flags) > 0, Reason: x.Reason,
	}
	if x.Corrects != "" {
		v.Corrects = "/desk/applications/" + x.Corrects
	}
	for _, rule := range d.book().RulesFor(m, firm) {
		v.Rules = append(v.Rules, rule.Label+": "+termsSay(a, rule, x.Day))
	}
	v.Facts = d.recordFacts(a, names, o, m, x, &v.Notes)
	for _, it := range d.book().Items {
		if it.Check != nil {
			v.Inputs = append(v.Inputs, inputOf(a, it, x.Items[it.ID]))
		}
	}
	for _, z := range o.zones {
		v.Zones = append(v.Zones, zoneInput(a, z, x))
	}
	return v, nil
}

// termsSay is by when a record is due under a rule and until when it is kept.
func termsSay(a asking, rule record.Rule, applied string) string {
	on, err := time.Parse(time.DateOnly, applied)
	if err != nil {
		return a.words.N("rule.keep", rule.Keep)
	}
	terms, err := records.TermsOf(rule.Law, on)
	if rule.Law == "" || err != nil {
		terms = records.Terms{Due: on.AddDate(0, 0, rule.Due), Keep: on.AddDate(rule.Keep, 0, 0)}
	}
	return a.words.T("record.terms", "due", shortDay(terms.Due.Format(time.DateOnly)), "keep", shortDay(terms.Keep.Format(time.DateOnly)))
}

func yearText(day string) string { y, _, _ := strings.Cut(day, "-"); return y }

// recordFacts are all items of a record in the book's order, those of the office too.
func (d *Desk) recordFacts(a asking, names names, o worked, m store.Material, x store.Application, notes *page.Notes) []page.Fact {
	missing := map[string]bool{}
	for _, id := range x.Missing {
		missing[id] = true
	}
	var out []page.Fact
	for _, it := range d.book().Items {
		say := d.itemSays(a, names, o, m, x, it)
		if say != "" || missing[it.ID] {
			fact := page.Fact{Label: it.Label.In(a.words.Lang), Say: say, Missing: missing[it.ID]}
			if it.Given == record.GivenAmounts {
				fact.Rates = ratesOf(a, notes, o, x)
			}
			out = append(out, fact)
		}
	}
	return out
}

func (d *Desk) itemSays(a asking, names names, o worked, m store.Material, x store.Application, it record.Item) string {
	switch it.Given {
	case record.GivenName:
		return strings.TrimSuffix(x.Name+", "+makes(a, m), ", ")
	case record.GivenRegNo:
		return x.RegNo
	case record.GivenAmounts:
		return amountsSay(a, o, m, x)
	case record.GivenAreas:
		return areasSay(a, o, x)
	case record.GivenStart:
		return stampOr(x.Start)
	case record.GivenEnd:
		return stampOr(x.End)
	case record.GivenActive:
		return activesSay(m)
	case record.GivenReentry:
		return reentrySay(a, m)
	case record.GivenOffice:
		return map[string]string{
			"location": names.address(x.Property), "customer": names.clientOf(x.Property), "day": day(x.Day), "site": a.words.T("record.site"),
		}[it.ID]
	}
	if x.Items[it.ID] == "" {
		return ""
	}
	return say(*it.Check, store.Reading{Typed: x.Items[it.ID]}, a.words)
}

func stampOr(text string) string {
	if text == "" {
		return ""
	}
	return stamp(text)
}

// ratesOf are the rates that a record's amounts make, zone by zone, each with its working.
func ratesOf(a asking, notes *page.Notes, o worked, x store.Application) []page.Worked {
	var out []page.Worked
	for _, z := range x.Zones {
		if z.AreaSqFt > 0 {
			rate := rateOf(a, notes, o.zone(z.Zone), x.Unit, z.Amount, z.AreaSqFt, z.Amount/z.AreaSqFt*1000)
			rate.Say = o.zone(z.Zone) + ": " + rate.Say
			out = append(out, rate)
		}
	}
	return out
}

// amountsSay is the total and each zone's amount.
func amountsSay(a asking, o worked, m store.Material, x store.Application) string {
	total := 0.0
	var parts []string
	for _, z := range x.Zones {
		total += z.Amount
		parts = append(parts, o.zone(z.Zone)+": "+zoneAmount(a, x.Unit, z))
	}
	if len(parts) == 0 {
		return ""
	}
	return a.words.T("record.total", "total", a.amount(total, x.Unit)) + " " + strings.Join(parts, "; ")
}

// zoneAmount is what one zone got in the firm's units, and as it was typed where that was another unit.
func zoneAmount(a asking, unit string, z store.AppliedZone) string {
	said := a.amount(z.Amount, unit)
	if typed := strings.TrimSpace(z.Typed); hasUnit(typed) && typed != said {
		said += " " + a.words.T("record.typed", "typed", typed)
	}
	return said
}

func areasSay(a asking, o worked, x store.Application) string {
	total := 0.0
	var parts []string
	for _, z := range x.Zones {
		total += z.AreaSqFt
		parts = append(parts, o.zone(z.Zone)+": "+area(z.AreaSqFt, a.firm, a.words))
	}
	if total == 0 {
		return ""
	}
	return area(total, a.firm, a.words) + ". " + strings.Join(parts, "; ")
}

func activesSay(m store.Material) string {
	var out []string
	for _, act := range m.Actives {
		out = append(out, act.Name)
	}
	return strings.Join(out, ", ")
}

func reentrySay(a asking, m store.Material) string {
	var out []string
	if h := m.Limits.ReentryHours; h > 0 {
		out = append(out, a.words.T("limit.reentry", "n", figure(h)))
	}
	if s := m.Limits.ReentrySay; s != "" {
		out = append(out, s)
	}
	return strings.Join(out, "; ")
}

// inputOf is an item as an input of the desk: a choice as a list, everything else as text.
func inputOf(a asking, it record.Item, typed string) page.Input {
	in := page.Input{Name: "item." + it.ID, Label: it.Label.In(a.words.Lang), Value: typed}
	if it.Check.Kind == checks.Choice {
		in.Type, in.Choices = "select", []page.Choice{{Label: a.words.T("record.not_said")}}
		for _, o := range it.Check.Options {
			in.Choices = append(in.Choices, page.Choice{Value: o.ID, Label: o.Label.In(a.words.Lang)})
		}
	}
	if it.Check.Kind == checks.Measure {
		in.Label += " (" + usualUnit(a, *it.Check).Label.In(a.words.Lang) + ")"
	}
	return in
}

// usualUnit is the unit in which the firm gives a number of a check: its own, or the first metric one.
func usualUnit(a asking, c checks.Check) checks.Unit {
	for _, u := range c.Units {
		if agronomy.Metric(u.ID) == a.metric() {
			return u
		}
	}
	return c.Units[0]
}

func zoneInput(a asking, z store.Zone, x store.Application) page.ZoneInput {
	in := page.ZoneInput{ID: z.ID, Name: z.Name, Area: areaInput(a, z.AreaSqFt, "")}
	for _, got := range x.Zones {
		if got.Zone == z.ID {
			in.Typed, in.Area = got.Typed, areaInput(a, got.AreaSqFt, got.Area)
		}
	}
	return in
}

// areaInput is an area for an input: as it was typed, else in the firm's unit.
func areaInput(a asking, sqft float64, typed string) string {
	if typed != "" || sqft <= 0 {
		return typed
	}
	return filled(agronomy.Q(sqft, "ft2").Crew(a.metric()).Value)
}

// localInput is a record's time for an input of a day and a time.
func localInput(text string) string {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return ""
	}
	return t.Format("2006-01-02T15:04")
}

// CorrectApplication records the correction of a record, or that it never took place, through the same door as a phone.
func (d *Desk) CorrectApplication(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	x, err := d.db.Application(r.Context(), r.PathValue("application"))
	if err != nil {
		return err
	}
	zones, err := d.db.Zones(r.Context(), x.Property)
	if err != nil {
		return err
	}
	body := d.readApplication(a, &form, x, zones)
	if form.V("reason") == "" {
		form.Say("reason", a.words.T("record.reason.need"))
	}
	if form.Bad() {
		return d.drawApplication(w, r, http.StatusUnprocessableEntity, form, page.Form{})
	}
	id, aside, err := d.intake.Record(r.Context(), intake.Sender{Person: a.who, Agent: r.UserAgent()}, "application", body)
	if err != nil {
		return err
	}
	if aside != "" {
		return store.Errorf(store.Conflict, "%s", aside)
	}
	return back(w, r, "/desk/applications/"+id, "record")
}

// readApplication makes the further record from the form; what can't be read is said at its input and kept as typed.
func (d *Desk) readApplication(a asking, form *page.Form, x store.Application, zones []store.Zone) map[string]any {
	items := map[string]string{}
	for _, it := range d.book().Items {
		typed := form.V("item." + it.ID)
		if it.Check == nil || typed == "" {
			continue
		}
		if _, problems := checks.Read(*it.Check, typed); hasProblem(problems) {
			form.Say("item."+it.ID, a.words.T("record.item.wrong"))
		}
		if it.Check.Kind == checks.Measure && !hasUnit(typed) && a.metric() {
			typed += " " + usualUnit(a, *it.Check).ID
		}
		items[it.ID] = typed
	}
	list, in := []map[string]any{}, measuring(a, form)
	for i, z := range zones {
		n := strconv.Itoa(i)
		typed := form.V("amount." + n)
		if typed == "" {
			continue
		}
		if _, ok := d.book().Amount(x.Unit, typed); !ok {
			form.Say("amount."+n, a.words.T("record.amount.wrong", "unit", x.Unit))
		}
		ground := in.read("area."+n, "ft2", 0, 1e8)
		list = append(list, map[string]any{"zone": z.ID, "typed": typed, "area_sqft": ground, "area": in.given["area."+n]})
	}
	return map[string]any{
		"visit": x.Visit, "material": x.Material, "version": x.Version, "name": x.Name, "reg_no": form.V("reg_no"), "unit": x.Unit, "zones": list,
		"start": readMoment(a, form, "start"), "end": readMoment(a, form, "end"), "items": items, "step": x.Step, "corrects": cmp.Or(x.Corrects, x.ID),
		"withdrawn": form.V("withdrawn") != "", "reason": form.V("reason"),
	}
}

// readMoment reads a day and a time in the firm's zone.
func readMoment(a asking, form *page.Form, name string) string {
	typed := form.V(name)
	if typed == "" {
		return ""
	}
	t, err := time.ParseInLocation("2006-01-02T15:04", typed, a.place)
	if err != nil {
		form.Say(name, a.words.T("record.time.wrong"))
		return ""
	}
	return t.Format(time.RFC3339)
}

// SeeApplication keeps what a manager says of a record that lacks an item or passed a limit.
func (d *Desk) SeeApplication(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	why := form.V("why")
	if why == "" {
		form.Say("why", a.words.T("record.see.need"))
		return d.drawApplication(w, r, http.StatusUnprocessableEntity, page.Form{}, form)
	}
	id := r.PathValue("application")
	return done(w, r, d.db.SeeApplication(r.Context(), id, a.who.ID, why), "/desk/applications/"+id, "seen")
}

// wantingRows are the records that lack an item or passed a limit and that nobody has looked at.
func (d *Desk) wantingRows(ctx context.Context, a asking, names names) ([]page.WantingRow, error) {
	list, err := d.wantingOnes(ctx)
	if err != nil {
		return nil, err
	}
	rows := make([]page.WantingRow, 0, len(list))
	for _, x := range list {
		row := page.WantingRow{URL: "/desk/applications/" + x.ID, Name: x.Name, Address: names.address(x.Property), Day: day(x.Day), Who: names.person(x.Author, a.words)}
		if len(x.Missing) > 0 {
			row.Reasons = append(row.Reasons, page.Reason{Kind: "ask", Say: a.words.T("record.missing", "items", strings.Join(d.itemNames(x.Missing, a.words), ", "))})
		}
		for _, f := range x.Flags {
			name := ""
			if z, ok := d.zoneOf(ctx, x.Property, f.Zone); ok {
				name = z.Name
			}
			row.Reasons = append(row.Reasons, page.Reason{Kind: "stop", Say: flagSays(a, f, name)})
		}
		rows = append(rows, row)
	}
	return rows, nil
}
