package history

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"swardbook/store"
	"swardbook/store/record"
)

// ApplicationRecord is one record of something put down, with what it means.
type ApplicationRecord struct {
	store.Application
	By       string         // name of the author
	Material store.Material // as it was then; the zero Material when the list did not hold it
	Zones    []AppliedRecord
	Missing  []string // what it lacks, in words
	Status   string   // Current, Superseded or Withdrawn
}

// AppliedRecord is what one zone got.
type AppliedRecord struct {
	Zone store.Zone
	store.AppliedZone
	Rate *float64 // unit per 1000 sq ft; nil when the area is not known
}

// Withdrawn is the status of a record that says it never took place, and of the one it withdraws.
const Withdrawn = "withdrawn"

// ZoneSum is what a zone got in the year, from the records that stand.
type ZoneSum struct {
	Zone  store.Zone
	Sums  []Sum
	Total record.ZoneTotal // what the sums are made of
}

// Sum is one nutrient or active ingredient: nutrients in lb per 1000 sq ft as the grade counts them, actives in lb per acre.
type Sum struct {
	Name  string
	Value float64
	Unit  string
	Limit float64 // most in a calendar year, in Unit; 0 when none is known
	Whose string  // the limit is: OfFirm or OfLabel
}

// Whose a yearly limit is.
const (
	OfFirm  = "the firm's limit"
	OfLabel = "the label's limit"
)

// Over reports whether the sum is more than its limit.
func (s Sum) Over() bool { return s.Limit > 0 && s.Value > s.Limit*(1+1e-9) }

// The units of sums.
const (
	perThousand = "lb/1000 sq ft"
	perAcre     = "lb/acre"
)

// work reads what was put down on a property between two days, and adds it up.
func (r *reader) work(rec *PropertyRecord, zones []store.Zone, from, to string) error {
	list, err := r.store.Applications(r.ctx, store.ApplicationFilter{Property: rec.Property.ID, FromDay: from, ToDay: to})
	if err != nil || len(list) == 0 {
		return err
	}
	material, err := r.materials()
	if err != nil {
		return err
	}
	current := record.Current(list)
	for _, a := range list {
		ar, err := r.application(a, zones, current, material)
		if err != nil {
			return err
		}
		rec.place(ar)
	}
	if len(from) < 4 { // the whole past has no season to add up
		return nil
	}
	firm := record.Usual
	if err := r.store.Setting(r.ctx, record.SettingName, &firm); err != nil {
		return err
	}
	for _, t := range record.Shipped().Totals(from[:4], current, material) {
		rec.Totals = append(rec.Totals, ZoneSum{Zone: zoneOf(zones, t.Zone), Sums: sums(t, firm), Total: t})
	}
	return nil
}

// place puts a record with its visit.
func (rec *PropertyRecord) place(a ApplicationRecord) {
	for i := range rec.Visits {
		if rec.Visits[i].Visit.ID == a.Visit {
			rec.Visits[i].Applied = append(rec.Visits[i].Applied, a)
			return
		}
	}
	rec.Elsewhere = append(rec.Elsewhere, a)
}

// materials looks up versions of materials; it asks the database once.
func (r *reader) materials() (func(string, int64) (store.Material, bool), error) {
	if r.versions == nil {
		list, err := r.store.MaterialVersions(r.ctx)
		if err != nil {
			return nil, err
		}
		r.versions = map[string]store.Material{}
		for _, m := range list {
			r.versions[fmt.Sprint(m.ID, " ", m.Version)] = m
		}
	}
	return func(id string, version int64) (store.Material, bool) {
		m, ok := r.versions[fmt.Sprint(id, " ", version)]
		return m, ok
	}, nil
}

func (r *reader) application(a store.Application, zones []store.Zone, current []store.Application, material func(string, int64) (store.Material, bool)) (ApplicationRecord, error) {
	rec := ApplicationRecord{Application: a, Status: Superseded}
	rec.Material, _ = material(a.Material, a.Version)
	switch {
	case a.Withdrawn:
		rec.Status = Withdrawn
	case slices.ContainsFunc(current, func(c store.Application) bool { return c.ID == a.ID }):
		rec.Status = Current
	}
	for _, id := range a.Missing {
		if it, ok := record.Shipped().Item(id); ok {
			id = it.Label.EN
		}
		rec.Missing = append(rec.Missing, id)
	}
	for _, z := range a.Zones {
		zr := AppliedRecord{Zone: zoneOf(zones, z.Zone), AppliedZone: z}
		if z.AreaSqFt > 0 {
			rate := rounded(z.Amount / z.AreaSqFt * 1000)
			zr.Rate = &rate
		}
		rec.Zones = append(rec.Zones, zr)
	}
	var err error
	rec.By, err = r.name(a.Author)
	return rec, err
}

func zoneOf(zones []store.Zone, id string) store.Zone {
	for _, z := range zones {
		if z.ID == id {
			return z
		}
	}
	return store.Zone{ID: id, Name: id}
}

// sums lists what is not nothing: nutrients first, then actives by name.
func sums(t record.ZoneTotal, firm record.Firm) []Sum {
	var out []Sum
	p := t.Sum
	for _, s := range []Sum{{Name: "N", Value: p.N, Unit: perThousand, Limit: firm.NYear, Whose: OfFirm}, {Name: "P2O5", Value: p.P2O5, Unit: perThousand}, {Name: "K2O", Value: p.K2O, Unit: perThousand}} {
		if s.Value > 0 {
			s.Value = rounded(s.Value)
			out = append(out, s)
		}
	}
	names := make([]string, 0, len(p.Active))
	for name := range p.Active {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Compare(a, b) })
	for _, name := range names {
		out = append(out, Sum{Name: name, Value: rounded(p.Active[name]), Unit: perAcre, Limit: t.YearLimit(name), Whose: OfLabel})
	}
	return out
}

// application writes a row for each zone of a record.
func (r *rows) application(base line, a ApplicationRecord) {
	own := line{
		"kind": Str("put down"), "item_id": Str(a.Application.Material), "item": Str(a.Name), "by": Str(a.By), "at": Str(cmp.Or(a.Start, a.At)), "status": Str(a.Status), "reason": Str(wants(a)),
	}
	for _, z := range a.Zones {
		value, unit := in(z.Amount, a.Unit, r.metric)
		own["zone"], own["typed"], own["value"], own["unit"], own["state"] = Str(z.Zone.Name), Str(z.given(a.Unit, unit)), Num(value), Str(unit), Cell{}
		if z.Rate != nil {
			own["state"] = Str(rateIn(*z.Rate, a.Unit, r.metric))
		}
		r.working = rateWorking(z, a.Unit, r.metric)
		r.add(base, own)
	}
	if len(a.Zones) == 0 {
		r.add(base, own)
	}
}

// given is the amount as it was typed, with the record's unit where none was and the table speaks in another one.
func (z AppliedRecord) given(unit, shown string) string {
	if typed := strings.TrimSpace(z.Typed); unit != shown && typed != "" && !strings.ContainsFunc(typed, unicode.IsLetter) {
		return typed + " " + unit
	}
	return z.Typed
}

// wants says why a record is not whole, or why it was corrected.
func wants(a ApplicationRecord) string {
	var out []string
	if len(a.Missing) > 0 {
		out = append(out, "missing: "+strings.Join(a.Missing, ", "))
	}
	if len(a.Flags) > 0 {
		codes := make([]string, len(a.Flags))
		for i, f := range a.Flags {
			codes[i] = f.Code
		}
		out = append(out, "limits passed: "+strings.Join(codes, ", "))
	}
	if a.Reason != "" {
		out = append(out, a.Reason)
	}
	return strings.Join(out, "; ")
}

// total writes what a zone got in the year.
func (r *rows) total(property string, t ZoneSum) {
	for _, s := range t.Sums {
		value, unit := in(s.Value, s.Unit, r.metric)
		own := line{"zone": Str(t.Zone.Name), "kind": Str("season total"), "item": Str(s.Name), "value": Num(value), "unit": Str(unit)}
		if s.Limit > 0 {
			own["limit"], own["reason"] = Num(inUnitOf(s.Value, s.Limit, s.Unit, r.metric)), Str(s.Whose)
			if s.Over() {
				own["state"] = Str("over the limit")
			}
		}
		r.working = sumWorking(s, t.Total.Lines, r.metric)
		r.add(line{"property": Str(property)}, own)
	}
}
