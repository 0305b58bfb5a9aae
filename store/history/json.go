package history

import (
	"encoding/json"
	"io"

	_ "embed" // the schema
)

// SchemaPath is where a server answers with Schema.
const SchemaPath = "/schemas/season.json"

// Schema is the JSON schema (draft 2020-12) of what WriteJSON writes.
//
//go:embed season.schema.json
var Schema []byte

type seasonFile struct {
	Schema  string           `json:"schema"`
	Client  string           `json:"client"`
	Year    int              `json:"year"`
	Units   string           `json:"units"`
	Columns []columnFile     `json:"columns"`
	Rows    []map[string]any `json:"rows"`
}

type columnFile struct {
	ID    string `json:"id"`
	Label string `json:"label"`
}

// WriteJSON writes the record's table for programs. A cell without an answer is left out of its row; numbers are numbers.
func (rec Record) WriteJSON(w io.Writer, t Table) error {
	out := seasonFile{Schema: SchemaPath, Client: rec.Client.Name, Year: rec.Year, Units: "us", Rows: []map[string]any{}}
	if rec.Metric {
		out.Units = Metric
	}
	for _, c := range t.Columns {
		out.Columns = append(out.Columns, columnFile(c))
	}
	for _, row := range t.Rows {
		object := map[string]any{}
		for i, cell := range row {
			switch {
			case cell.IsNumber:
				object[t.Columns[i].ID] = json.Number(cell.String())
			case cell.Text != "":
				object[t.Columns[i].ID] = cell.Text
			}
		}
		out.Rows = append(out.Rows, object)
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(out)
}
