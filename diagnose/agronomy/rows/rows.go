// Package rows reads the small tables that stand beside formulas as files, so that a reviewer sees a changed limit or a
// changed source as one line. It takes text that is part of the program; a fault in it is a fault of the program.
package rows

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Row is one line of a table, by column.
type Row map[string]string

// Must reads a table with exactly these columns; lines that begin with # are remarks. Every row must fill its source.
func Must(text string, columns ...string) []Row {
	table, err := Read(text, columns...)
	if err != nil {
		panic(err)
	}
	return table
}

// Read is Must for text that may be at fault: it names the line.
func Read(text string, columns ...string) ([]Row, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	head, err := r.Read()
	if err != nil || !slices.Equal(head, columns) {
		return nil, fmt.Errorf("the columns must be %s", strings.Join(columns, ","))
	}
	lines, err := r.ReadAll()
	if err != nil {
		return nil, err
	}
	table := make([]Row, len(lines))
	for i, line := range lines {
		table[i] = Row{}
		for j, name := range columns {
			table[i][name] = line[j]
		}
		if slices.Contains(columns, "source") && table[i]["source"] == "" {
			return nil, fmt.Errorf("row %d: no source", i+1)
		}
	}
	return table, nil
}

// Number is a column as a number.
func (r Row) Number(column string) float64 {
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		panic(fmt.Errorf("%s is %q, not a number, in %v", column, r[column], r))
	}
	return v
}

// Or is Number, or the other where the column is empty.
func (r Row) Or(column string, other float64) float64 {
	if r[column] == "" {
		return other
	}
	return r.Number(column)
}

// Distinct is every value of a column once, in order.
func Distinct(table []Row, column string) []string {
	var out []string
	for _, r := range table {
		if v := r[column]; v != "" && !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}
