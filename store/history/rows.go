package history

import (
	"time"

	"swardbook/diagnose/knowledge"
)

// columns of a season's table, in order. A cell that a row has no answer for is empty.
var columns = []Column{
	{"day", "Day"}, {"property", "Property"}, {"zone", "Zone"}, {"kind", "Kind of row"},
	{"item_id", "Check or cause, id"}, {"item", "Check or cause"}, {"typed", "As typed"},
	{"value", "Value, in the unit beside it"}, {"unit", "Unit of the value"}, {"limit", "Most in a year, in the unit of the value"}, {"state", "What was seen"},
	{"likelihood_pct", "Likelihood (%)"}, {"role", "Role"}, {"judgement", "Manager's judgement"}, {"reason", "Reason"},
	{"by", "By"}, {"at", "When"}, {"status", "Status"}, {"edition", "Edition of the knowledge"},
}

// line is one row by the names of its columns.
type line map[string]Cell

// rows collects the lines of a table.
type rows struct {
	list     [][]Cell
	workings [][]string
	working  []string // of the row that is added next
	metric   bool
}

func (r *rows) add(base, own line) {
	row := make([]Cell, len(columns))
	for i, c := range columns {
		cell, ok := own[c.ID]
		if !ok {
			cell = base[c.ID]
		}
		row[i] = cell
	}
	r.list, r.workings, r.working = append(r.list, row), append(r.workings, r.working), nil
}

// Table is the record as one table: a row for each reading, each cause that was likely or spoken of, each decision, each zone that
// something was put down on, what each zone got in the year and what became of it, its first and last photo, each test of the sprinklers, and each
// step that is still open. Numbers are in the units of the firm, as typed beside them. The
// order is that of the record: property, day, zone, catalogue.
func (rec Record) Table(*knowledge.Loaded) Table {
	out := &rows{list: [][]Cell{}, metric: rec.Metric}
	for _, p := range rec.Properties {
		for _, v := range p.Visits {
			out.visit(line{"day": Str(v.Visit.Day), "property": Str(p.Property.Address)}, v)
		}
		for _, a := range p.Elsewhere {
			out.application(line{"day": Str(a.Day), "property": Str(p.Property.Address)}, a)
		}
		for _, t := range p.Totals {
			out.total(p.Property.Address, t)
		}
		for _, o := range p.Outcomes {
			out.outcome(p.Property.Address, o)
		}
		for _, x := range p.Pairs {
			out.pair(p.Property.Address, x)
		}
		for _, x := range p.Audits {
			out.audit(p.Property.Address, x)
		}
		for _, x := range p.Next {
			out.next(p.Property.Address, x)
		}
	}
	return Table{Columns: columns, Rows: out.list, Workings: out.workings}
}

func (r *rows) visit(base line, v VisitRecord) {
	for _, z := range v.Zones {
		base["zone"] = Str(z.Zone.Name)
		r.zone(base, z)
	}
	delete(base, "zone")
	for _, a := range v.Applied {
		out := line{"day": Str(a.Day), "property": base["property"]}
		r.application(out, a)
	}
	for _, a := range v.Asides {
		r.aside(base, a)
	}
	for _, review := range v.Reviews {
		r.add(base, line{
			"kind": Str(map[string]string{SignOff: "sign-off", SendBack: "send-back"}[review.Kind]), "reason": Str(review.Reason),
			"by": Str(review.Name), "at": moment(review.At),
		})
	}
}

// verdicts that no row of a cause tells.
var verdicts = map[string]string{"cant_tell": "can't tell yet", "nothing_wrong": "nothing wrong found"}

func (r *rows) zone(base line, z ZoneRecord) {
	for _, reading := range z.Readings {
		r.reading(base, reading)
	}
	for _, c := range z.Causes {
		r.add(base, line{
			"kind": Str("cause"), "item_id": Str(c.ID), "item": Str(c.Label), "likelihood_pct": c.Percent.Cell(), "role": Str(c.Role),
			"judgement": Str(c.Judgement), "at": moment(z.Diagnosed), "edition": Str(z.Edition),
		})
	}
	if says := verdicts[z.Verdict]; says != "" {
		r.add(base, line{"kind": Str("diagnosis"), "state": Str(says), "at": moment(z.Diagnosed), "edition": Str(z.Edition)})
	}
	if z.CantSay != "" {
		r.add(base, line{"kind": Str("diagnosis"), "state": Str("no answer"), "reason": Str(z.CantSay), "at": moment(z.Diagnosed), "edition": Str(z.Edition)})
	}
	for _, o := range z.Overrules {
		r.add(base, line{
			"kind": Str("overruling"), "item_id": Str(o.Cause), "item": Str(o.Label), "likelihood_pct": o.Percent.Cell(),
			"judgement": Str(o.Judgement), "reason": Str(o.Reason), "by": Str(o.Name), "at": moment(o.At),
		})
	}
	for _, c := range z.Choices {
		r.choice(base, c)
	}
}

func (r *rows) reading(base line, reading ReadingRecord) {
	own := line{
		"kind": Str("reading"), "item_id": Str(reading.Check), "item": Str(reading.Label), "typed": Str(reading.Typed),
		"state": Str(reading.State), "by": Str(reading.By), "at": Str(reading.At), "status": Str(reading.Status), "edition": Str(reading.Edition),
	}
	if reading.Number != nil {
		r.number(own, reading)
		r.working = meanWorking(reading, r.metric)
	}
	r.add(base, own)
}

// number writes a reading's number in the firm's units; what was typed stands beside it.
func (r *rows) number(own line, x ReadingRecord) {
	value, unit := x.Said(r.metric)
	own["value"], own["unit"] = Num(value), Str(unit)
}

func (r *rows) choice(base line, c ReviewRecord) {
	own := line{"kind": Str("choice"), "item": Str(c.Label), "reason": Str(c.Reason), "by": Str(c.Name), "at": moment(c.At)}
	if c.Chosen != nil {
		own["item_id"], own["typed"], own["state"] = Str(c.Chosen.Check), Str(c.Chosen.Typed), Str(c.Chosen.State)
		if c.Chosen.Number != nil {
			r.number(own, *c.Chosen)
		}
	}
	r.add(base, own)
}

func (r *rows) aside(base line, a AsideRecord) {
	r.add(base, line{
		"zone": Str(a.Zone), "kind": Str("reading"), "item_id": Str(a.Check), "item": Str(a.Label), "typed": Str(a.Typed),
		"reason": Str(a.Detail), "by": Str(a.Name), "at": Str(a.At), "status": Str(SetAside), "edition": Str(a.Edition),
	})
}

// moment is a time of the office in UTC; empty when there is none.
func moment(t time.Time) Cell {
	if t.IsZero() {
		return Cell{}
	}
	return Str(t.UTC().Format(time.RFC3339))
}
