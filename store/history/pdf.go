package history

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// face is the one family that paper is written in.
const face = "go"

// sizes of a sheet of paper, in millimetres and points
const (
	margin     = 15
	lineHeight = 4.2
	textSize   = 8.5
	headSize   = 13
)

// Paper is what a printed record needs besides itself.
type Paper struct {
	Firm   string
	Made   time.Time // stands at the foot of every page
	Likely float64   // from which likelihood a cause counts as likely; drawn as a limit

	// Photo is a photo to print, by its digest: JPEG without anything but the picture. nil, or an error: there is none.
	Photo func(sha string) ([]byte, error)
}

// column of a printed table: what stands in it, and its share of the width.
type paperColumn struct {
	label string
	share float64
	text  func(Table, []Cell) string
}

func plain(id string) func(Table, []Cell) string {
	return func(t Table, row []Cell) string { return t.get(row, id).String() }
}

// printed are the columns of each part on paper. Every number is a cell of the table, written as in every other form.
var printed = map[string][]paperColumn{
	"outcome":   {{"Zone", 2, plain("zone")}, {"Cause that led", 4, plain("item")}, {"At the last visit", 3, plain("state")}, {"Day", 2, plain("day")}, {"Likelihood", 2, percentText}, {"Before", 3, plain("reason")}},
	"causes":    {{"Day", 2, plain("day")}, {"Zone", 2, plain("zone")}, {"Cause", 5, causeText}, {"Likelihood", 2, percentText}, {"Role", 2, plain("role")}, {"Manager", 2, plain("judgement")}},
	"photos":    {{"Zone", 3, plain("zone")}, {"Photo", 2, plain("state")}, {"Day", 2, plain("day")}, {"Digest", 3, typedText}},
	"water":     {{"Day", 2, plain("day")}, {"Zone", 2, plain("zone")}, {"Test", 4, plain("item")}, {"Value", 3, valueText}, {"Means", 3, plain("state")}, {"So", 4, plain("reason")}},
	"next":      {{"Day", 2.6, plain("day")}, {"Zones", 3.4, plain("zone")}, {"Step", 6, plain("item")}, {"When it may be done", 5, plain("state")}, {"By", 3, plain("reason")}},
	"put-down":  {{"Day", 2, plain("day")}, {"Zone", 2, plain("zone")}, {"What", 4, plain("item")}, {"Amount", 2, valueText}, {"Rate", 3, plain("state")}, {"By", 2, plain("by")}, {"Record", 3, statusText}},
	"totals":    {{"Zone", 3, plain("zone")}, {"What", 4, plain("item")}, {"In the year", 3, valueText}, {"Most in a year", 4, limitText}},
	"decisions": {{"Day", 2, plain("day")}, {"Zone", 2, plain("zone")}, {"Decision", 2, plain("kind")}, {"About", 3, decisionText}, {"Engine then", 2, percentText}, {"Reason", 4, plain("reason")}, {"By", 2, plain("by")}},
	"readings":  {{"Day", 2.6, plain("day")}, {"Zone", 2.3, plain("zone")}, {"Check", 4, plain("item")}, {"Value", 2.6, valueText}, {"Seen", 3.3, plain("state")}, {"As typed", 3.2, typedText}, {"By", 1.5, plain("by")}, {"Counts", 1.9, statusText}},
}

// reckoned are the columns behind whose numbers the number of their working stands, the first that a part has.
var reckoned = []string{"Rate", "In the year", "Value"}

func percentText(t Table, row []Cell) string {
	if c := t.get(row, "likelihood_pct").String(); c != "" {
		return c + " %"
	}
	return ""
}

func valueText(t Table, row []Cell) string {
	return strings.TrimSpace(t.get(row, "value").String() + " " + t.get(row, "unit").String())
}

func limitText(t Table, row []Cell) string {
	if c := t.get(row, "limit"); c.IsNumber {
		return joined(c.String()+" "+t.get(row, "unit").String()+", "+t.get(row, "reason").String(), t.get(row, "state").String())
	}
	return ""
}

func statusText(t Table, row []Cell) string {
	return joined(t.get(row, "status").String(), t.get(row, "reason").String())
}

func causeText(t Table, row []Cell) string {
	return joined(t.get(row, "item").String(), t.get(row, "state").String(), t.get(row, "reason").String())
}

func decisionText(t Table, row []Cell) string {
	return joined(t.get(row, "item").String(), t.get(row, "judgement").String(), valueText(t, row), t.get(row, "state").String())
}

// typedText shortens the name of a photo's bytes, which nobody reads.
func typedText(t Table, row []Cell) string {
	typed := t.get(row, "typed").String()
	if len(typed) == 64 && !strings.ContainsAny(typed, " \n") {
		return typed[:12] + "…"
	}
	return typed
}

func joined(parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, "; ")
}

// sheets is a document in the making.
type sheets struct {
	*fpdf.Fpdf
	width float64    // between the margins
	notes [][]string // workings, by the number that stands behind what they explain
}

// WritePDF writes the record on paper: outcomes with their course, what was put down, sums, causes, decisions, readings. The same record
// written at the same moment gives the same bytes. A failure of the writer is an error, never a panic.
func (rec Record) WritePDF(w io.Writer, t Table, p Paper) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the season of %s can't be put on paper: %v", rec.Client.ID, r)
		}
	}()
	s := newSheets(rec, p)
	s.SetFont(face, "B", 20)
	s.CellFormat(0, 10, drawable(fmt.Sprintf("Season %d", rec.Year)), "", 1, "L", false, 0, "")
	s.SetFont(face, "", 11)
	s.CellFormat(0, 6, drawable(joined(rec.Client.Name, p.Firm)), "", 1, "L", false, 0, "")
	if len(t.Rows) == 0 {
		s.Ln(6)
		s.MultiCell(s.width, 5, "Nothing was recorded in this year.", "", "L", false)
	}
	for _, part := range t.Parts() {
		if len(part.Rows) == 0 {
			continue
		}
		if part.ID == "photos" && p.Photo != nil {
			s.photos(rec, part.Label, p.Photo) // each says below it what its row of the table would
			continue
		}
		s.part(part)
		if part.ID == "outcome" {
			s.courses(rec, p.Likely)
		}
	}
	s.workings()
	return s.Output(w)
}

func newSheets(rec Record, p Paper) *sheets {
	f := fpdf.New("P", "mm", "Letter", "")
	f.SetCatalogSort(true)
	f.SetCreationDate(p.Made)
	f.SetModificationDate(p.Made)
	f.AddUTF8FontFromBytes(face, "", goregular.TTF)
	f.AddUTF8FontFromBytes(face, "B", gobold.TTF)
	f.SetTitle(drawable(fmt.Sprintf("Season %d, %s", rec.Year, rec.Client.Name)), true)
	f.SetMargins(margin, margin, margin)
	f.SetAutoPageBreak(false, margin)
	wide, _ := f.GetPageSize()
	s := &sheets{Fpdf: f, width: wide - 2*margin}
	f.AliasNbPages("{pages}")
	f.SetFooterFunc(func() {
		f.SetY(-margin + 3)
		f.SetFont(face, "", 7)
		foot := fmt.Sprintf("%s · %d · made %s · page %d of {pages}", rec.Client.Name, rec.Year, p.Made.UTC().Format("2006-01-02 15:04 UTC"), f.PageNo())
		f.CellFormat(0, 4, drawable(foot), "", 0, "L", false, 0, "")
	})
	f.AddPage()
	return s
}

// room begins a new page when less than h is left on this one, and says whether it did.
func (s *sheets) room(h float64) bool {
	_, high := s.GetPageSize()
	if s.GetY()+h <= high-margin {
		return false
	}
	s.AddPage()
	return true
}

// heading begins a part, on the next page when there is no room for so much of it below.
func (s *sheets) heading(label string, below float64) {
	s.Ln(5)
	s.room(below)
	s.SetFont(face, "B", headSize)
	s.CellFormat(0, 7, drawable(label), "", 1, "L", false, 0, "")
}

// part writes one part as a table, property by property.
func (s *sheets) part(p Part) {
	columns := printed[p.ID]
	s.heading(p.Label, 30)
	property := ""
	for i, row := range p.Rows {
		if at := p.get(row, "property").String(); at != property || i == 0 {
			property = at
			s.room(20)
			s.Ln(1.5)
			s.SetFont(face, "B", 9.5)
			s.CellFormat(0, 5.5, drawable(cmp.Or(property, "–")), "", 1, "L", false, 0, "")
			s.head(columns)
		}
		texts := make([]string, len(columns))
		for j, c := range columns {
			texts[j] = c.text(p.Table, row)
		}
		if w := p.working(i); len(w) > 0 {
			s.notes = append(s.notes, w)
			at := slices.IndexFunc(columns, func(c paperColumn) bool { return slices.Contains(reckoned, c.label) })
			texts[max(at, 0)] += fmt.Sprintf(" [%d]", len(s.notes))
		}
		s.row(columns, texts)
	}
}

// workings writes how the computed numbers came about, by the numbers that stand behind them.
func (s *sheets) workings() {
	if len(s.notes) == 0 {
		return
	}
	s.heading("How the numbers were reckoned", 30)
	s.SetFont(face, "", textSize)
	for i, lines := range s.notes {
		for _, piece := range s.SplitText(drawable(fmt.Sprintf("[%d] %s", i+1, strings.Join(lines, "; "))), s.width-1) {
			s.room(lineHeight)
			s.CellFormat(0, lineHeight, piece, "", 1, "L", false, 0, "")
		}
		s.Ln(0.8)
	}
}

func (s *sheets) head(columns []paperColumn) {
	s.SetFont(face, "B", textSize)
	for i, c := range columns {
		s.CellFormat(s.share(columns, i), lineHeight+1, drawable(c.label), "B", 0, "L", false, 0, "")
	}
	s.Ln(lineHeight + 1.5)
}

// row writes one row; a cell that is too long goes on below. A row stays on one page unless it is longer than a third of one.
func (s *sheets) row(columns []paperColumn, texts []string) {
	s.SetFont(face, "", textSize)
	cells, most := make([][]string, len(texts)), 1
	for i, text := range texts {
		cells[i] = s.SplitText(drawable(text), s.share(columns, i)-1)
		most = max(most, len(cells[i]))
	}
	if _, high := s.GetPageSize(); float64(most)*lineHeight < high/3 && s.room(float64(most)*lineHeight) {
		s.head(columns)
		s.SetFont(face, "", textSize)
	}
	for line := range most {
		if s.room(lineHeight) {
			s.head(columns)
			s.SetFont(face, "", textSize)
		}
		for i := range cells {
			text := ""
			if line < len(cells[i]) {
				text = cells[i][line]
			}
			s.CellFormat(s.share(columns, i), lineHeight, text, "", 0, "L", false, 0, "")
		}
		s.Ln(lineHeight)
	}
	s.Ln(0.8)
}

func (s *sheets) share(columns []paperColumn, i int) float64 {
	sum := 0.0
	for _, c := range columns {
		sum += c.share
	}
	return s.width * columns[i].share / sum
}

// A tile is a drawing with its title; two stand beside each other.
type tile struct {
	title string
	high  float64 // of the drawing
	fresh bool    // it begins a row
	draw  func(left, top float64)
}

// sizes of tiles, in millimetres
const (
	tileGap   = 4.0
	mostTitle = 3 // lines of a title
)

// tiles draws a list two by two, each row whole on one page.
func (s *sheets) tiles(list []tile) {
	wide := (s.width - tileGap) / 2
	for len(list) > 0 {
		row := list[:1]
		if len(list) > 1 && !list[1].fresh {
			row = list[:2]
		}
		list = list[len(row):]
		s.SetFont(face, "B", textSize)
		titles, lines, high := make([][]string, len(row)), 0, 0.0
		for i, t := range row {
			titles[i] = s.SplitText(drawable(t.title), wide-2)
			titles[i] = titles[i][:min(len(titles[i]), mostTitle)]
			lines, high = max(lines, len(titles[i])), max(high, t.high)
		}
		s.Ln(2)
		s.room(float64(lines)*lineHeight + high)
		top := s.GetY()
		for i, t := range row {
			left := margin + float64(i)*(wide+tileGap)
			s.SetFont(face, "B", textSize)
			for k, line := range titles[i] {
				s.SetXY(left, top+float64(k)*lineHeight)
				s.CellFormat(wide, lineHeight, line, "", 0, "L", false, 0, "")
			}
			t.draw(left+1, top+float64(lines)*lineHeight+1) // text stands a millimetre into its cell
		}
		s.SetXY(margin, top+float64(lines)*lineHeight+high+1)
	}
}

// courses draws the causes of zones that were looked at more than once.
func (s *sheets) courses(rec Record, likely float64) {
	var list []tile
	for _, p := range rec.Properties {
		for _, o := range p.Outcomes {
			if len(o.Course) > 1 {
				list = append(list, tile{title: joined(p.Property.Address, o.Zone.Name, o.Label), high: sceneH, draw: func(left, top float64) { o.Scene(likely).draw(s.Fpdf, left, top) }})
			}
		}
	}
	if len(list) == 0 {
		return
	}
	s.tiles(list)
	s.SetFont(face, "", 7)
	s.CellFormat(0, lineHeight, drawable(fmt.Sprintf("How likely the cause was at each visit. Above the broken line, %s %%, it counts as likely.", Num(100*likely))), "", 1, "L", false, 0, "")
}
