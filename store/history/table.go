package history

import (
	"bufio"
	"encoding/csv"
	"io"
	"strconv"
	"strings"
)

// Table is what every writer writes. Every row has a cell for every column. Workings has for each row how its computed number came about, for
// paper; it may be shorter than Rows.
type Table struct {
	Columns  []Column
	Rows     [][]Cell
	Workings [][]string
}

// Column has a name for files and a label for pages; both name the unit where there is one.
type Column struct {
	ID    string
	Label string
}

// Cell is a text or a number. The zero value is empty: nothing is known, which is not zero.
type Cell struct {
	Text     string
	Number   float64
	IsNumber bool
}

// Str is a text cell.
func Str(s string) Cell { return Cell{Text: s} }

// Num is a number cell.
func Num(x float64) Cell { return Cell{Number: x, IsNumber: true} }

// String writes the cell as a person reads it; numbers with a point and without grouping.
func (c Cell) String() string {
	if c.IsNumber {
		return strconv.FormatFloat(c.Number, 'f', -1, 64)
	}
	return c.Text
}

// working is how the computed number of a row came about; nil when it has none.
func (t Table) working(row int) []string {
	if row < len(t.Workings) {
		return t.Workings[row]
	}
	return nil
}

// bom tells spreadsheets that the file is UTF-8.
const bom = "\uFEFF"

// WriteCSV writes the table for spreadsheets of any country: UTF-8 with a byte order mark, lines ended by CR LF, and no
// text that a spreadsheet would take for a formula.
func (t Table) WriteCSV(w io.Writer) error {
	buf := bufio.NewWriter(w)
	if _, err := buf.WriteString(bom); err != nil {
		return err
	}
	out := csv.NewWriter(buf)
	out.UseCRLF = true
	record := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		record[i] = c.ID
	}
	if err := out.Write(record); err != nil {
		return err
	}
	for _, row := range t.Rows {
		for i, cell := range row {
			record[i] = cell.csv()
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	return buf.Flush()
}

func (c Cell) csv() string {
	s := c.String()
	if !c.IsNumber && risky(s) {
		return "'" + s
	}
	return s
}

// risky reports whether a spreadsheet may run s as a formula.
func risky(s string) bool {
	for _, r := range s {
		return strings.ContainsRune("=+-@\t\r\n＝＋－＠", r)
	}
	return false
}
