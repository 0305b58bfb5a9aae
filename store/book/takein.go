package book

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"swardbook/store"
	"swardbook/store/geo"
)

// MostRows bounds a file that is taken in at once.
const MostRows = 20000

// Sheet is a file of clients, properties and zones as it was given: a CSV, or GeoJSON whose properties are the columns.
type Sheet struct {
	Columns []string
	Rows    []SheetRow
	Shapes  bool // rows may have outlines and places of their own
}

// SheetRow is one row of a sheet.
type SheetRow struct {
	Line  int // in the file, from 1; of GeoJSON the feature's number
	Cells []string
	Ring  geo.Ring
	Place *store.LonLat
	Wrong string // why it can't be read; "" when it can
}

// ReadSheet reads a CSV (parted by commas, semicolons or tabs) or GeoJSON. An error is a sentence about the whole file.
func ReadSheet(raw []byte) (Sheet, error) {
	raw = bytes.TrimPrefix(raw, []byte("\ufeff"))
	if !utf8.Valid(raw) {
		return Sheet{}, store.Errorf(store.Invalid, "The file is not in UTF-8. Save it as “CSV UTF-8” and try again.")
	}
	trimmed := bytes.TrimSpace(raw)
	if len(trimmed) == 0 {
		return Sheet{}, store.Errorf(store.Invalid, "The file is empty.")
	}
	if trimmed[0] == '{' {
		return readShapes(trimmed)
	}
	return readCSV(raw)
}

func readShapes(raw []byte) (Sheet, error) {
	features, err := geo.ReadJSON(bytes.NewReader(raw))
	if err != nil {
		return Sheet{}, sentence(err)
	}
	if len(features) > MostRows {
		return Sheet{}, tooMany(len(features))
	}
	names := map[string]bool{}
	for _, f := range features {
		for name := range f.Properties {
			names[name] = true
		}
	}
	s := Sheet{Columns: slices.Sorted(maps.Keys(names)), Shapes: true}
	for i, f := range features {
		r := SheetRow{Line: i + 1, Ring: f.Ring, Place: f.Point}
		if f.Wrong != "" {
			r.Wrong = sentence(errors.New(f.Wrong)).Error()
		}
		for _, c := range s.Columns {
			r.Cells = append(r.Cells, strings.TrimSpace(f.Properties[c]))
		}
		s.Rows = append(s.Rows, r)
	}
	return s, nil
}

func tooMany(n int) error {
	return store.Errorf(store.Invalid, "The file holds %d rows; at most %d are taken in at once. Part it.", n, MostRows)
}

// sentence makes an error one that begins and ends like a sentence.
func sentence(err error) error {
	text := err.Error()
	r, size := utf8.DecodeRuneInString(text)
	return errors.New(strings.TrimSuffix(strings.ToUpper(string(r))+text[size:], ".") + ".")
}

func readCSV(raw []byte) (Sheet, error) {
	in := csv.NewReader(bytes.NewReader(raw))
	in.Comma, in.FieldsPerRecord = partedBy(raw), -1
	head, err := in.Read()
	if err != nil {
		return Sheet{}, store.Errorf(store.Invalid, "The first line can't be read: %v.", err)
	}
	var s Sheet
	for i, c := range head {
		if c = strings.TrimSpace(c); c == "" {
			c = "column " + strconv.Itoa(i+1)
		}
		s.Columns = append(s.Columns, c)
	}
	for {
		cells, err := in.Read()
		if err == io.EOF {
			return s, nil
		}
		if len(s.Rows) == MostRows {
			return s, tooMany(MostRows + 1)
		}
		s.Rows = append(s.Rows, csvRow(in, cells, len(head), err))
		var broken *csv.ParseError
		if errors.As(err, &broken) && errors.Is(broken.Err, csv.ErrQuote) {
			return s, nil // what follows an open quote is not to be trusted
		}
	}
}

func csvRow(in *csv.Reader, cells []string, want int, err error) SheetRow {
	r := SheetRow{}
	if err != nil {
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			r.Line = broken.StartLine
		}
		r.Wrong = sentence(fmt.Errorf("the row can't be read: %w", err)).Error()
		return r
	}
	r.Line, _ = in.FieldPos(0)
	if len(cells) != want {
		r.Wrong = fmt.Sprintf("The row has %d cells, the first line has %d.", len(cells), want)
	}
	for _, c := range cells {
		c = strings.TrimSpace(c)
		if len(c) > 1 && c[0] == '\'' && strings.ContainsRune("=+-@", rune(c[1])) {
			c = c[1:] // a sign that only keeps spreadsheets from reckoning
		}
		r.Cells = append(r.Cells, c)
	}
	return r
}

// partedBy is the sign that parts most cells of the first line.
func partedBy(raw []byte) rune {
	first, _, _ := bytes.Cut(raw, []byte("\n"))
	best, n := ',', bytes.Count(first, []byte(","))
	for _, sign := range []rune{';', '\t'} {
		if k := bytes.Count(first, []byte(string(sign))); k > n {
			best, n = sign, k
		}
	}
	return best
}

// Fields are what a column can be, in the order they are asked for.
var Fields = []string{"client", "phone", "email", "note", "photos", "address", "system", "region", "cautions", "latitude", "longitude", "zone", "area"}

// names by which columns are known, beside the field's own.
var known = map[string][]string{
	"client": {"client name", "customer", "name"}, "phone": {"telephone", "tel"}, "email": {"e-mail", "mail"}, "note": {"notes", "remark"}, "photos": {"photo consent"}, "address": {"street", "property"},
	"system": {"sprinklers", "irrigation"}, "cautions": {"caution", "to mind"}, "latitude": {"lat"}, "longitude": {"lon", "lng", "long"}, "zone": {"zone name", "lawn"},
	"area": {"area_sqft", "area_m2", "area (sq ft)", "area (m²)", "square feet", "sqft", "size"},
}

// Guess finds the column of each field by its name; a field without one is left out.
func Guess(columns []string) map[string]int {
	out := map[string]int{}
	for _, field := range Fields {
		for _, name := range append([]string{field}, known[field]...) {
			i := slices.IndexFunc(columns, func(c string) bool { return strings.EqualFold(c, name) })
			if i >= 0 {
				out[field] = i
				break
			}
		}
	}
	return out
}

// Held is what the office has already.
type Held struct {
	Clients    []store.Client
	Properties []store.Property
	Zones      []store.Zone
}

// Bad is a row that can't be taken in, and why.
type Bad struct {
	Line int
	Says string
}

// Taking is what taking a sheet in would add. Clients and properties that are there already are added to, never changed.
type Taking struct {
	Clients    []store.Client
	Properties []store.Property
	Zones      []store.Zone
	Same       int // rows that name nothing new
	Bad        []Bad
}

// Plan works out what a sheet would add; columns maps fields to columns, perArea are the square feet of the sheet's unit of area, id makes ids.
func Plan(s Sheet, columns map[string]int, perArea float64, held Held, id func() string) Taking {
	p := planner{sheet: s, columns: columns, perArea: perArea, id: id, clients: map[string]string{}, properties: map[string]string{}, zones: map[string]bool{}}
	for _, c := range held.Clients {
		p.clients[folded(c.Name)] = c.ID
	}
	for _, x := range held.Properties {
		p.properties[x.Client+"\x00"+folded(x.Address)] = x.ID
	}
	for _, z := range held.Zones {
		p.zones[z.Property+"\x00"+folded(z.Name)] = true
	}
	for _, r := range s.Rows {
		if says := p.take(r); says != "" {
			p.out.Bad = append(p.out.Bad, Bad{r.Line, says})
		}
	}
	return p.out
}

func folded(text string) string { return strings.ToLower(strings.Join(strings.Fields(text), " ")) }

type planner struct {
	sheet               Sheet
	columns             map[string]int
	perArea             float64
	id                  func() string
	clients, properties map[string]string // ids by name
	zones               map[string]bool
	out                 Taking
}

func (p *planner) cell(r SheetRow, field string) string {
	i, ok := p.columns[field]
	if !ok || i < 0 || i >= len(r.Cells) {
		return ""
	}
	return r.Cells[i]
}

const longestCell = 300

// take adds what a row names; what is wrong with it is said and nothing of it is added.
func (p *planner) take(r SheetRow) string {
	if r.Wrong != "" {
		return r.Wrong
	}
	if !slices.ContainsFunc(r.Cells, func(c string) bool { return c != "" }) && r.Ring == nil {
		return "" // an empty line
	}
	for _, field := range []string{"client", "phone", "email", "address", "region", "zone"} {
		if len(p.cell(r, field)) > longestCell {
			return fmt.Sprintf("What stands under %s is longer than %d characters.", field, longestCell)
		}
	}
	name, address, zone := p.cell(r, "client"), p.cell(r, "address"), p.cell(r, "zone")
	switch {
	case name == "":
		return "The client's name is missing."
	case address == "" && (zone != "" || r.Ring != nil || r.Place != nil):
		return "The address is missing: a zone belongs to one."
	case zone == "" && r.Ring != nil:
		return "The zone's name is missing: an outline belongs to one."
	}
	place, says := p.place(r)
	if says != "" {
		return says
	}
	system, ok := systems[folded(p.cell(r, "system"))]
	if !ok {
		return fmt.Sprintf("Sprinklers are “present”, “none” or left empty, not “%s”.", p.cell(r, "system"))
	}
	consent, ok := consents[folded(p.cell(r, "photos"))]
	if !ok {
		return fmt.Sprintf("Photos are “yes”, “firm” (for the firm's own work), “no” or left empty, not “%s”.", p.cell(r, "photos"))
	}
	area, says := p.area(r)
	if says != "" {
		return says
	}
	before := len(p.out.Clients) + len(p.out.Properties) + len(p.out.Zones)
	client := p.client(r, name, consent)
	if address != "" {
		property := p.property(store.Property{Client: client, Address: address, System: system, Region: p.cell(r, "region"), Cautions: cautions(p.cell(r, "cautions")), Place: place})
		if zone != "" {
			if says := p.zone(store.Zone{Property: property, Name: zone, AreaSqFt: area, Outline: r.Ring.String()}); says != "" {
				return says
			}
		}
	}
	if before == len(p.out.Clients)+len(p.out.Properties)+len(p.out.Zones) {
		p.out.Same++
	}
	return ""
}

// consents are the words for what a client said of photos.
var consents = map[string]store.Consent{"": store.NotAsked, "yes": store.PhotosYes, "firm": store.PhotosFirm, "no": store.PhotosNo}

// systems are the words for an in-ground sprinkler system.
var systems = map[string]string{"": "", "present": "present", "yes": "present", "none": "none", "no": "none", "unknown": "", "not known": ""}

func cautions(text string) []string {
	var out []string
	for part := range strings.SplitSeq(text, "|") {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

func (p *planner) place(r SheetRow) (*store.LonLat, string) {
	lat, lon := p.cell(r, "latitude"), p.cell(r, "longitude")
	if lat == "" && lon == "" {
		if at, ok := geo.Middle(r.Ring); ok && r.Place == nil {
			return &at, ""
		}
		return r.Place, ""
	}
	at, err := geo.ReadPlace(strings.ReplaceAll(lat, ",", ".") + " " + strings.ReplaceAll(lon, ",", "."))
	if err != nil {
		return nil, sentence(err).Error()
	}
	return &at, ""
}

// area is what is typed, else that of the outline.
func (p *planner) area(r SheetRow) (float64, string) {
	text := p.cell(r, "area")
	if text == "" && r.Ring != nil {
		sqft, err := r.Ring.SqFt()
		if err != nil {
			return 0, sentence(err).Error()
		}
		return sqft, ""
	}
	if text == "" || text == "0" {
		return 0, ""
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(text, " ", ""), 64)
	if err != nil || math.IsNaN(x) || x*p.perArea < 1 || x*p.perArea > 5e6 {
		return 0, fmt.Sprintf("“%s” is no area: a number without signs between, such as 2150.", text)
	}
	return x * p.perArea, ""
}

func (p *planner) client(r SheetRow, name string, consent store.Consent) string {
	key := folded(name)
	if p.clients[key] == "" {
		c := store.Client{ID: p.id(), Name: name, Phone: p.cell(r, "phone"), Email: p.cell(r, "email"), Note: p.cell(r, "note"), Photos: consent}
		p.clients[key] = c.ID
		p.out.Clients = append(p.out.Clients, c)
	}
	return p.clients[key]
}

func (p *planner) property(x store.Property) string {
	key := x.Client + "\x00" + folded(x.Address)
	if p.properties[key] == "" {
		x.ID = p.id()
		p.properties[key] = x.ID
		p.out.Properties = append(p.out.Properties, x)
	}
	return p.properties[key]
}

// zone adds a zone that is not there; a second row for one of this file's own zones is wrong.
func (p *planner) zone(z store.Zone) string {
	key := z.Property + "\x00" + folded(z.Name)
	if p.zones[key] {
		if slices.ContainsFunc(p.out.Zones, func(x store.Zone) bool { return x.Property == z.Property && folded(x.Name) == folded(z.Name) }) {
			return fmt.Sprintf("The zone “%s” stands twice at this address.", z.Name)
		}
		return ""
	}
	p.zones[key] = true
	z.ID = p.id()
	p.out.Zones = append(p.out.Zones, z)
	return ""
}
