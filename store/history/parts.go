package history

import "slices"

// Part is some of a table's rows and columns: a sheet of a workbook, a section on paper.
type Part struct {
	ID    string
	Label string
	Table
}

// partings say which kinds of rows go together and which columns those have. Every kind stands in one of them.
var partings = []struct {
	id, label string
	kinds     []string
	columns   []string
}{
	{"outcome", "Outcome", []string{"outcome"}, []string{"property", "zone", "item", "state", "day", "likelihood_pct", "reason"}},
	{"photos", "Photos", []string{"photo"}, []string{"property", "zone", "state", "day", "typed"}},
	{"water", "Water audit", []string{"water audit"}, []string{"day", "property", "zone", "item_id", "item", "typed", "value", "unit", "state", "reason"}},
	{"causes", "Causes", []string{"cause", "diagnosis"}, []string{"day", "property", "zone", "kind", "item_id", "item", "state", "likelihood_pct", "role", "judgement", "reason", "at", "edition"}},
	{"put-down", "Put down", []string{"put down"}, []string{"day", "property", "zone", "item_id", "item", "typed", "value", "unit", "state", "reason", "by", "at", "status"}},
	{"totals", "Season totals", []string{"season total"}, []string{"property", "zone", "item", "value", "unit", "limit", "state", "reason"}},
	{"next", "What comes next", []string{"next step"}, []string{"day", "property", "zone", "item_id", "item", "state", "reason"}},
	{"decisions", "Decisions", []string{"overruling", "choice", "sign-off", "send-back"}, []string{"day", "property", "zone", "kind", "item_id", "item", "typed", "value", "unit", "state", "likelihood_pct", "judgement", "reason", "by", "at"}},
	{"readings", "Readings", []string{"reading"}, []string{"day", "property", "zone", "item_id", "item", "typed", "value", "unit", "state", "reason", "by", "at", "status", "edition"}},
}

// Parts divides a season's table. Each row is in one part; a part without rows is there all the same.
func (t Table) Parts() []Part {
	kind := t.place("kind")
	out := make([]Part, len(partings))
	for i, p := range partings {
		part := Part{ID: p.id, Label: p.label}
		places := make([]int, len(p.columns))
		for j, id := range p.columns {
			places[j] = t.place(id)
			part.Columns = append(part.Columns, t.Columns[places[j]])
		}
		for n, row := range t.Rows {
			if slices.Contains(p.kinds, row[kind].Text) {
				part.Rows, part.Workings = append(part.Rows, cells(row, places)), append(part.Workings, t.working(n))
			}
		}
		out[i] = part
	}
	return out
}

func cells(row []Cell, places []int) []Cell {
	out := make([]Cell, len(places))
	for i, p := range places {
		out[i] = row[p]
	}
	return out
}

// place is where a column stands, -1 when the table has none of that name.
func (t Table) place(id string) int {
	return slices.IndexFunc(t.Columns, func(c Column) bool { return c.ID == id })
}

// get is a row's cell by its column's name; empty when the table has no such column.
func (t Table) get(row []Cell, id string) Cell {
	if i := t.place(id); i >= 0 {
		return row[i]
	}
	return Cell{}
}
