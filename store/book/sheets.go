package book

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"swardbook/store"
	"swardbook/store/geo"
	"swardbook/store/sqlite"
)

// sheets writes what a spreadsheet or a map program reads: clients.csv as it can be taken in again, visits, readings, records, and zones.geojson.
func (o *writer) sheets(s sqlite.Snapshot) error {
	b, err := readBook(s)
	if err != nil {
		return err
	}
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{{"clients.csv", b.clientSheet}, {"zones.geojson", b.zoneMap},
		{"visits.csv", func(w io.Writer) error {
			return sheet(w, s, "visits", "id", "property", "crew", "day", "place", "why", "ask", "state", "handed_in")
		}},
		{"readings.csv", func(w io.Writer) error { return b.readingSheet(w, s) }}} {
		if err := o.file(f.name, f.write); err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
	}
	return nil
}

// row is one row of a table by column.
type row map[string]any

func (r row) text(column string) string { return cell(r[column]) }

func cell(v any) string {
	switch x := v.(type) {
	case nil:
		return ""
	case float64:
		return strconv.FormatFloat(x, 'g', -1, 64)
	case []byte:
		return string(x)
	case sqlite.Packable:
		return string(x)
	}
	return fmt.Sprint(v)
}

// shelf is what is known of places, small enough to be held: readings are not.
type shelf struct{ clients, properties, zones []row }

func readBook(s sqlite.Snapshot) (b shelf, err error) {
	for _, t := range []struct {
		name string
		to   *[]row
	}{{"clients", &b.clients}, {"properties", &b.properties}, {"zones", &b.zones}} {
		if err := s.Each(t.name, func(columns []string, values []any) error {
			r := row{}
			for i, c := range columns {
				r[c] = values[i]
			}
			*t.to = append(*t.to, r)
			return nil
		}); err != nil {
			return b, err
		}
	}
	return b, nil
}

// Columns of clients.csv, as they are taken in again.
var Columns = []string{"client", "phone", "email", "note", "photos", "address", "system", "region", "cautions", "latitude", "longitude", "zone", "area_sqft", "archived"}

func (b shelf) clientSheet(w io.Writer) error {
	out := newSheet(w)
	out.write(Columns...)
	of := map[string][]row{}
	for _, p := range b.properties {
		of[p.text("client")] = append(of[p.text("client")], p)
	}
	zones := map[string][]row{}
	for _, z := range b.zones {
		zones[z.text("property")] = append(zones[z.text("property")], z)
	}
	for _, c := range b.clients {
		if len(of[c.text("id")]) == 0 {
			out.write(clientLine(c, row{}, row{})...)
		}
		for _, p := range of[c.text("id")] {
			if len(zones[p.text("id")]) == 0 {
				out.write(clientLine(c, p, row{})...)
			}
			for _, z := range zones[p.text("id")] {
				out.write(clientLine(c, p, z)...)
			}
		}
	}
	return out.end()
}

func clientLine(c, p, z row) []string {
	var cautions []string
	_ = json.Unmarshal([]byte(p.text("cautions")), &cautions) // the database holds a list or nothing
	area := z.text("area_sqft")
	if area == "0" {
		area = ""
	}
	archived := c.text("archived") + p.text("archived") + z.text("archived")
	if archived != "" {
		archived = "yes"
	}
	return []string{plainCell(c.text("name")), plainCell(c.text("phone")), plainCell(c.text("email")), plainCell(c.text("note")), c.text("photos"), plainCell(p.text("address")), p.text("system"),
		plainCell(p.text("region")), plainCell(strings.Join(cautions, " | ")), p.text("lat"), p.text("lon"), plainCell(z.text("name")), area, archived}
}

// plainCell keeps a spreadsheet from taking a text for a formula.
func plainCell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}

// zoneMap are properties as points and zones as polygons.
func (b shelf) zoneMap(w io.Writer) error {
	clients, properties := map[string]row{}, map[string]row{}
	for _, c := range b.clients {
		clients[c.text("id")] = c
	}
	var failed error
	err := geo.WriteJSON(w, func(yield func(geo.Out) bool) {
		for _, p := range b.properties {
			properties[p.text("id")] = p
			out := geo.Out{Properties: [][2]any{{"client", clients[p.text("client")].text("name")}, {"address", p.text("address")}}}
			if lat, ok := p["lat"].(float64); ok {
				lon, _ := p["lon"].(float64)
				out.Point = &store.LonLat{lon, lat}
			}
			if !yield(out) {
				return
			}
		}
		for _, z := range b.zones {
			p := properties[z.text("property")]
			ring, err := geo.ParseRing(z.text("outline"))
			if err != nil {
				failed = err
				return
			}
			if !yield(geo.Out{Ring: ring, Properties: [][2]any{{"client", clients[p.text("client")].text("name")}, {"address", p.text("address")}, {"zone", z.text("name")}, {"area_sqft", z["area_sqft"]}}}) {
				return
			}
		}
	})
	if failed != nil {
		return failed
	}
	return err
}

// sheet writes some columns of a table.
func sheet(w io.Writer, s sqlite.Snapshot, table string, columns ...string) error {
	out := newSheet(w)
	out.write(columns...)
	at := map[string]int{}
	if err := s.Each(table, func(names []string, values []any) error {
		for i, n := range names {
			at[n] = i
		}
		line := make([]string, len(columns))
		for i, c := range columns {
			line[i] = plainCell(cell(values[at[c]]))
		}
		out.write(line...)
		return out.csv.Error()
	}); err != nil {
		return err
	}
	return out.end()
}

// readingSheet are the readings that count, each with its zone's name.
func (b shelf) readingSheet(w io.Writer, s sqlite.Snapshot) error {
	names := map[string]string{}
	for _, z := range b.zones {
		names[z.text("id")] = z.text("name")
	}
	out := newSheet(w)
	out.write("visit", "zone", "zone_name", "check", "typed", "author", "at", "edition")
	if err := s.Each("readings", func(columns []string, values []any) error {
		r := row{}
		for i, c := range columns {
			r[c] = values[i]
		}
		out.write(r.text("visit"), r.text("zone"), plainCell(names[r.text("zone")]), r.text("check_id"), plainCell(r.text("typed")), r.text("author"), r.text("at"), r.text("edition"))
		return out.csv.Error()
	}); err != nil {
		return err
	}
	return out.end()
}

// csvSheet is a CSV as spreadsheets open it: UTF-8 with its mark, lines ended by CR and LF.
type csvSheet struct {
	csv *csv.Writer
	err error
}

func newSheet(w io.Writer) *csvSheet {
	_, err := io.WriteString(w, "\ufeff")
	out := &csvSheet{csv.NewWriter(w), err}
	out.csv.UseCRLF = true
	return out
}

func (s *csvSheet) write(cells ...string) {
	if s.err == nil {
		s.err = s.csv.Write(cells)
	}
}

func (s *csvSheet) end() error {
	s.csv.Flush()
	if s.err != nil {
		return s.err
	}
	return s.csv.Error()
}
