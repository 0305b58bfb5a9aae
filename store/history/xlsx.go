package history

import (
	"errors"
	"io"
	"time"

	"github.com/xuri/excelize/v2"
)

// columnWidth of a sheet's columns, in characters; those not named are narrow.
var columnWidth = map[string]float64{"property": 24, "item": 26, "typed": 20, "state": 28, "reason": 32, "at": 22, "by": 14, "zone": 16, "limit": 16}

// WriteXLSX writes the table as a workbook: a sheet for each part, headers with their units, numbers as numbers and days as days. No text is a formula.
func (t Table) WriteXLSX(w io.Writer) (err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }()
	styles, err := sheetStyles(f)
	if err != nil {
		return err
	}
	for i, p := range t.Parts() {
		if i == 0 {
			err = f.SetSheetName("Sheet1", p.Label)
		} else {
			_, err = f.NewSheet(p.Label)
		}
		if err != nil {
			return err
		}
		if err := p.sheet(f, styles); err != nil {
			return err
		}
	}
	_, err = f.WriteTo(w)
	return err
}

type styles struct{ head, day int }

func sheetStyles(f *excelize.File) (s styles, err error) {
	if s.head, err = f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}}); err != nil {
		return s, err
	}
	format := "yyyy-mm-dd"
	s.day, err = f.NewStyle(&excelize.Style{CustomNumFmt: &format})
	return s, err
}

func (p Part) sheet(f *excelize.File, s styles) error {
	out, err := f.NewStreamWriter(p.Label)
	if err != nil {
		return err
	}
	head := make([]any, len(p.Columns))
	for i, c := range p.Columns {
		head[i] = excelize.Cell{StyleID: s.head, Value: c.Label}
		if err := out.SetColWidth(i+1, i+1, max(12, columnWidth[c.ID])); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := out.SetRow("A1", head); err != nil {
		return err
	}
	for n, row := range p.Rows {
		at, err := excelize.CoordinatesToCellName(1, n+2)
		if err != nil {
			return err
		}
		if err := out.SetRow(at, p.values(row, s)); err != nil {
			return err
		}
	}
	return out.Flush()
}

func (p Part) values(row []Cell, s styles) []any {
	out := make([]any, len(row))
	for i, c := range row {
		switch day, err := time.Parse(time.DateOnly, c.Text); {
		case c.IsNumber:
			out[i] = c.Number
		case p.Columns[i].ID == "day" && err == nil:
			out[i] = excelize.Cell{StyleID: s.day, Value: day}
		case c.Text != "":
			out[i] = c.Text
		}
	}
	return out
}
