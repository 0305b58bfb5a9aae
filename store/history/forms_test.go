package history_test

import (
	"bytes"
	"compress/zlib"
	"encoding/csv"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"swardbook/diagnose"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/history"
	"swardbook/store/record"
)

var made = history.Paper{Firm: "Greenfield", Made: time.Date(2026, 12, 1, 9, 30, 0, 0, time.UTC), Likely: 0.4}

// fullSeason is a season with one of everything, what was put down among it, and a zone that was weighed twice.
func fullSeason(t *testing.T) (*office, history.Record, history.Table) {
	t.Helper()
	return seasonIn(t, "us")
}

// seasonIn is fullSeason of a firm that works in some units.
func seasonIn(t *testing.T, units string) (*office, history.Record, history.Table) {
	t.Helper()
	o := openOffice(t)
	o.fill()
	o.must(o.db.SaveFirm(t.Context(), store.Firm{Name: "Greenfield", Units: units, Zone: "UTC"}))
	o.must(o.db.SaveDiagnosis(t.Context(), store.Diagnosis{ID: "later", Visit: "v2", Zone: "front", Edition: "e1", InputHash: "h", Made: o.at,
		Answer: []byte(`{"verdict":"cause","causes":[{"id":"white_grubs","likelihood":0.21}]}`)}))
	rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	p := &rec.Properties[0]
	rate := 3.125
	p.Visits[0].Applied = append(p.Visits[0].Applied, history.ApplicationRecord{
		Application: store.Application{ID: "a1", Material: "m", Name: "Urea 46-0-0", Unit: "lb", Day: "2026-05-04", At: "2026-05-04T10:00:00Z"},
		By:          "Ana", Status: history.Current, Missing: []string{"Wind"},
		Zones: []history.AppliedRecord{{Zone: store.Zone{Name: "Front"}, AppliedZone: store.AppliedZone{Zone: "front", Typed: "12.5", Amount: 12.5, AreaSqFt: 4000}, Rate: &rate}},
	})
	p.Totals = append(p.Totals, history.ZoneSum{Zone: store.Zone{Name: "Front"}, Sums: []history.Sum{
		{Name: "N", Value: 1.4375, Unit: "lb/1000 sq ft", Limit: 1.25, Whose: history.OfFirm}, {Name: "prodiamine", Value: 0.6125, Unit: "lb/acre", Limit: 1.5, Whose: history.OfLabel}},
		Total: record.ZoneTotal{Lines: []record.Line{{Application: p.Visits[0].Applied[0].Application, Material: store.Material{Name: "Urea", Unit: "lb", Grade: store.Grade{N: 46}},
			Zone: p.Visits[0].Applied[0].Zones[0].AppliedZone, Part: record.Part{N: 1.4375}}}}})
	even := 0.5625
	p.Audits = append(p.Audits, history.AuditRecord{Zone: store.Zone{Name: "Back"}, Day: "2026-08-27", Means: "uneven water", Times: 1.3559,
		ReadingRecord: history.ReadingRecord{Reading: store.Reading{Check: "cans", Typed: "0.5625"}, Label: "Evenness", Unit: "ratio, 0 to 1", Number: &even}})
	p.Next = append(p.Next, history.NextStep{ID: "overseed", Do: "Overseed the front at 55 °F", Day: "2026-09-05", Window: plan.Window{From: "2026-08-20", To: "2026-09-30"}, Who: "Crew", Zones: []string{"Front", "Back"}})
	return o, rec, rec.Table(o.know)
}

func readCSV(t *testing.T, table history.Table) [][]string {
	t.Helper()
	var out bytes.Buffer
	if err := table.WriteCSV(&out); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(out.String(), "\uFEFF"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// Each form is read back by a reader of its own, and every cell is the same in all of them, to the digit, whichever units the firm works in.
func TestNumbersAgreeAcrossForms(t *testing.T) {
	_, rec, table := fullSeason(t)
	formsAgree(t, rec, table)
	paperHolds(t, rec, table, "3.125 lb on", "1.25 lb/1000 sq ft, the firm's limit", "1.5 lb/acre, the label's limit")
	paperReckons(t, rec, table, "12.5 lb ÷ 4000 sq ft = 3.125 lb on 1000 sq ft", "2026-05-04, Urea 46-0-0: 12.5 lb × 46 % ÷ 4000 sq ft = 1.4375 lb/1000 sq ft")
}

// A metric firm reads metric numbers with their units everywhere, and what was typed as it was typed. The numbers are those of the other test by hand:
// 1 lb is 0.45359237 kg, 1 ft 0.3048 m and 1 acre 4046.8564224 m² (NIST Handbook 44, appendix C).
func TestAMetricSeason(t *testing.T) {
	_, rec, table := seasonIn(t, "metric")
	formsAgree(t, rec, table)
	paperHolds(t, rec, table, "15.2576", "6.103 g/m², the firm's limit", "1.6813 kg/ha, the label's limit", "13 °C")
	paperReckons(t, rec, table, "5.6699 kg ÷ 371.6122 m² = 15.2576 g on 1 m²", "amount as typed: 12.5 lb", "2026-05-04, Urea 46-0-0: 5.6699 kg × 46 % ÷ 371.6122 m² = 7.0185 g/m²", "1/2; 3/4 in as typed, 2 numbers: 1.5875 cm")
	if got := readJSON(t, rec, table); got.Units != "metric" {
		t.Errorf("units %q", got.Units)
	}
	for _, w := range []struct {
		item, typed, unit string
		value             float64
	}{
		{"Urea 46-0-0", "12.5 lb", "kg", 5.6699}, {"N", "", "g/m²", 7.0185}, {"prodiamine", "", "kg/ha", 0.6865}, {"Thatch", "1/2; 3/4 in", "cm", 1.5875}, {"Evenness", "0.5625", "ratio, 0 to 1", 0.5625},
	} {
		if !slices.ContainsFunc(table.Rows, func(row []history.Cell) bool {
			cell := func(id string) history.Cell { return row[place(table, id)] }
			return strings.HasPrefix(cell("item").Text, w.item) && cell("typed").Text == w.typed && cell("unit").Text == w.unit && cell("value").Number == w.value
		}) {
			t.Errorf("no row says %+v", w)
		}
	}
	for _, row := range table.Rows {
		if unit := row[place(table, "unit")].Text; slices.Contains([]string{"in", "lb", "lb/acre", "lb/1000 sq ft", "per sq ft"}, unit) {
			t.Errorf("a metric firm reads %s: %v", unit, row)
		}
	}
}

func formsAgree(t *testing.T, rec history.Record, table history.Table) {
	t.Helper()
	sheet := readCSV(t, table)
	object := readJSON(t, rec, table)
	for r, row := range table.Rows {
		for c, cell := range row {
			want := cell.String()
			if got := sheet[r+1][c]; got != want && got != "'"+want {
				t.Errorf("CSV, row %d, %s: %q, want %q", r, table.Columns[c].ID, got, want)
			}
			got, there := object.Rows[r][table.Columns[c].ID]
			if there != (want != "") || there && text(got) != want {
				t.Errorf("JSON, row %d, %s: %v, want %q", r, table.Columns[c].ID, got, want)
			}
			if _, number := got.(json.Number); there && number != cell.IsNumber {
				t.Errorf("JSON, row %d, %s: %T", r, table.Columns[c].ID, got)
			}
		}
	}
	workbookAgrees(t, table)
	paperHolds(t, rec, table, "80 %", "20 %", "no longer likely", "=1 Long Road", "over the limit", "0.5625 ratio, 0 to 1", "run time times 1.3559", "2026-08-20 to 2026-09-30", "Front, Back")
}

func text(x any) string {
	if n, ok := x.(json.Number); ok {
		return n.String()
	}
	return x.(string)
}

type seasonJSON struct {
	Units   string
	Columns []struct{ ID, Label string }
	Rows    []map[string]any
}

func readJSON(t *testing.T, rec history.Record, table history.Table) (out seasonJSON) {
	t.Helper()
	var file bytes.Buffer
	if err := rec.WriteJSON(&file, table); err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(&file)
	dec.UseNumber()
	if err := dec.Decode(&out); err != nil || len(out.Rows) != len(table.Rows) {
		t.Fatalf("%d rows, %v", len(out.Rows), err)
	}
	return out
}

func workbookAgrees(t *testing.T, table history.Table) {
	t.Helper()
	var file bytes.Buffer
	if err := table.WriteXLSX(&file); err != nil {
		t.Fatal(err)
	}
	book, err := excelize.OpenReader(&file)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	rows := 0
	for i, part := range table.Parts() {
		if book.GetSheetName(i) != part.Label {
			t.Errorf("sheet %d is %q, want %q", i, book.GetSheetName(i), part.Label)
		}
		rows += len(part.Rows)
		for c, column := range part.Columns {
			head, _ := excelize.CoordinatesToCellName(c+1, 1)
			if got, _ := book.GetCellValue(part.Label, head); got != column.Label {
				t.Errorf("%s %s: %q, want %q", part.Label, head, got, column.Label)
			}
			for r, row := range part.Rows {
				at, _ := excelize.CoordinatesToCellName(c+1, r+2)
				cellAgrees(t, book, part.Label, at, row[c])
			}
		}
	}
	if rows != len(table.Rows) {
		t.Errorf("%d rows in the sheets, %d in the table", rows, len(table.Rows))
	}
}

func cellAgrees(t *testing.T, book *excelize.File, sheet, at string, cell history.Cell) {
	t.Helper()
	got, err := book.GetCellValue(sheet, at)
	if cell.IsNumber {
		raw, _ := book.GetCellValue(sheet, at, excelize.Options{RawCellValue: true})
		x, _ := strconv.ParseFloat(raw, 64)
		kind, _ := book.GetCellType(sheet, at)
		if x != cell.Number || kind == excelize.CellTypeSharedString || kind == excelize.CellTypeInlineString {
			t.Errorf("%s %s: %q of type %d, want the number %v", sheet, at, raw, kind, cell.Number)
		}
		return
	}
	if formula, _ := book.GetCellFormula(sheet, at); err != nil || formula != "" || got != cell.Text {
		t.Errorf("%s %s: %q (formula %q), want %q, %v", sheet, at, got, formula, cell.Text, err)
	}
}

// paperHolds fails for every number of the table that the paper lacks, and for every text that it is to show.
func paperHolds(t *testing.T, rec history.Record, table history.Table, texts ...string) {
	t.Helper()
	var file bytes.Buffer
	if err := rec.WritePDF(&file, table, made); err != nil {
		t.Fatal(err)
	}
	words := paperText(t, file.Bytes())
	value, unit := place(table, "value"), place(table, "unit")
	numbers := 0
	for _, row := range table.Rows {
		if !row[value].IsNumber {
			continue
		}
		numbers++
		if want := row[value].String() + " " + row[unit].String(); !slices.Contains(words, want) && !strings.Contains(strings.Join(words, " "), want) {
			t.Errorf("the paper lacks %q", want)
		}
	}
	if numbers < 4 {
		t.Fatalf("only %d numbers in the table", numbers)
	}
	for _, want := range texts {
		if !strings.Contains(strings.Join(words, " "), want) {
			t.Errorf("the paper lacks %q", want)
		}
	}
}

// paperReckons fails for every working that paper does not hold, and for a computed number without the number of its working.
func paperReckons(t *testing.T, rec history.Record, table history.Table, lines ...string) {
	t.Helper()
	var file bytes.Buffer
	if err := rec.WritePDF(&file, table, made); err != nil {
		t.Fatal(err)
	}
	words := strings.Join(paperText(t, file.Bytes()), " ")
	at := strings.Index(words, "How the numbers were reckoned")
	if at < 0 {
		t.Fatal("paper says nothing of how numbers were reckoned")
	}
	n := strings.Count(words[at:], "Source: ")
	for i := range n {
		if ref := " [" + strconv.Itoa(i+1) + "]"; strings.Count(words, ref) != 2 {
			t.Errorf("%s stands %d times on paper, want one number and one working", ref, strings.Count(words, ref))
		}
	}
	for _, want := range lines {
		if !strings.Contains(words[at:], want) {
			t.Errorf("no working says %q: %s", want, words[at:])
		}
	}
}

func place(table history.Table, id string) int {
	return slices.IndexFunc(table.Columns, func(c history.Column) bool { return c.ID == id })
}

var (
	stream = regexp.MustCompile(`(?s)stream\n(.*?)\nendstream`)
	shown  = regexp.MustCompile(`(?s)\(((?:\\.|[^\\)])*)\)\s*Tj`)
)

// paperText reads the texts that a PDF shows, in order: its packed streams hold them as UTF-16 in brackets.
func paperText(t *testing.T, file []byte) []string {
	t.Helper()
	return slices.Concat(paperPages(t, file)...)
}

// paperPages are the texts page by page.
func paperPages(t *testing.T, file []byte) (out [][]string) {
	t.Helper()
	for _, s := range stream.FindAllSubmatch(file, -1) {
		unpack, err := zlib.NewReader(bytes.NewReader(s[1]))
		if err != nil {
			continue
		}
		page, err := io.ReadAll(unpack)
		if err != nil {
			continue
		}
		var texts []string
		for _, m := range shown.FindAllSubmatch(page, -1) {
			texts = append(texts, wide(unescaped(m[1])))
		}
		if len(texts) > 0 {
			out = append(out, texts)
		}
	}
	if len(out) == 0 {
		t.Fatal("the paper shows no text")
	}
	return out
}

func unescaped(b []byte) (out []byte) {
	for i := 0; i < len(b); i++ {
		if b[i] == '\\' && i+1 < len(b) {
			i++
			if b[i] == 'r' {
				out = append(out, '\r')
				continue
			}
		}
		out = append(out, b[i])
	}
	return out
}

func wide(b []byte) string {
	units := make([]uint16, len(b)/2)
	for i := range units {
		units[i] = uint16(b[2*i])<<8 | uint16(b[2*i+1])
	}
	return string(utf16.Decode(units))
}

// The same record at the same moment is the same paper, byte for byte.
func TestPaperIsTheSameTwice(t *testing.T) {
	_, rec, table := fullSeason(t)
	var a, b bytes.Buffer
	if err := rec.WritePDF(&a, table, made); err != nil {
		t.Fatal(err)
	}
	if err := rec.WritePDF(&b, table, made); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two writings differ")
	}
}

// Whatever a person typed, paper and workbook are written.
func TestAnyTextCanBeWritten(t *testing.T) {
	_, rec, table := fullSeason(t)
	texts := rapid.SliceOfN(rapid.OneOf(rapid.String(), rapid.StringN(200, 900, -1),
		rapid.SampledFrom([]string{"🌱 grün", "a\u200db", "\xff\xfe", "½ ² ≥ → ✓", "=1+1", strings.Repeat("x", 5000), "{pages}", "\\(", "a\nb\r\nc"})), len(table.Columns), len(table.Columns))
	rapid.Check(t, func(t *rapid.T) {
		typed := texts.Draw(t, "texts")
		own := history.Table{Columns: table.Columns}
		row := make([]history.Cell, len(table.Columns))
		for i := range row {
			row[i] = history.Str(typed[i])
		}
		row[place(table, "kind")] = history.Str(rapid.SampledFrom([]string{"reading", "cause", "put down", "overruling", "outcome", "photo", "water audit", "next step", "season total"}).Draw(t, "kind"))
		own.Rows = [][]history.Cell{row}
		client := rec
		client.Client.Name = typed[0]
		if err := client.WritePDF(io.Discard, own, made); err != nil {
			t.Fatal(err)
		}
		if err := own.WriteXLSX(io.Discard); err != nil {
			t.Fatal(err)
		}
	})
}

func TestOutcomes(t *testing.T) {
	for _, c := range []struct {
		name  string
		after string // the answer at the second visit
		judge string // what a manager said of the cause on the second visit
		want  string
	}{
		{"it went", `{"verdict":"cause","causes":[{"id":"white_grubs","likelihood":0.1}]}`, "", history.NoLonger},
		{"it stayed", `{"verdict":"cause","causes":[{"id":"white_grubs","likelihood":0.7,"role":"primary"}]}`, "", history.Still},
		{"a manager knew better", `{"verdict":"cause","causes":[{"id":"white_grubs","likelihood":0.7,"role":"primary"}]}`, "ruled out", history.RuledOut},
		{"nobody came back", "", "", history.OnceSeen},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := openOffice(t)
			o.diagnose("v1", "front", diagnose.Likelihood{ID: "white_grubs", Likelihood: 0.81, Role: "primary"})
			if c.after != "" {
				o.must(o.db.SaveDiagnosis(t.Context(), store.Diagnosis{ID: "later", Visit: "v2", Zone: "front", Edition: "e1", InputHash: "h", Made: o.at, Answer: []byte(c.after)}))
			}
			if c.judge != "" {
				o.review(store.Review{Visit: "v2", Zone: "front", Kind: "overrule", Cause: "white_grubs", Judgement: c.judge, Reason: "No grubs.", Diagnosis: "later", Engine: 0.7})
			}
			rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
			o.must(err)
			got := rec.Properties[0].Outcomes
			if len(got) != 1 || got[0].ID != "white_grubs" || got[0].State != c.want {
				t.Errorf("outcomes %+v, want %s", got, c.want)
			}
		})
	}
}

func TestSceneIsDrawnWithoutStyles(t *testing.T) {
	o := history.OutcomeRecord{Label: `<b>"Grubs"`, Course: []history.CoursePoint{{Day: "2026-05-04", Likelihood: 0.8}, {Day: "2026-06-04", Likelihood: 0.5}, {Day: "2026-08-27", Likelihood: 0.1}}}
	var out bytes.Buffer
	if err := o.Scene(0.4).WriteSVG(&out); err != nil {
		t.Fatal(err)
	}
	svg := out.String()
	if strings.Contains(svg, "style=") || strings.Contains(svg, "<b>") || strings.Count(svg, "<circle") != 3 || !strings.Contains(svg, "2026-08-27") {
		t.Error(svg)
	}
}

func TestSeasonJSONGolden(t *testing.T) {
	o := openOffice(t)
	o.fill()
	rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	var got bytes.Buffer
	o.must(rec.WriteJSON(&got, rec.Table(o.know)))
	golden := filepath.Join("..", "..", "testdata", "season", "meadow-2026.json")
	if *update {
		o.must(os.WriteFile(golden, got.Bytes(), 0o644))
	}
	want, err := os.ReadFile(golden)
	o.must(err)
	if !bytes.Equal(got.Bytes(), want) {
		t.Errorf("the season differs from %s (-update writes it anew):\n%s", golden, got.String())
	}
}
