package weather

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
)

// Problem is something in a file that can't be used.
type Problem struct {
	Line int // of the file, the heading is line 1
	Say  string
}

// Error is the problem with its line.
func (p Problem) Error() string { return fmt.Sprintf("line %d: %s", p.Line, p.Say) }

// Problems are all that was found, at most mostProblems.
type Problems []Problem

// Error is all of them, a line each.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, one := range p {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

const mostProblems = 50

// Options say how strict a reader is.
type Options struct {
	// Gaps is how many days in a row may be missing, or lack Tmax, Tmin or Rain; 0 refuses every gap.
	Gaps int
	// MostDays refuses longer files; 0 is 100 years.
	MostDays int
	// Probe takes a file of the soil's temperature alone as well.
	Probe bool
}

// Read reads a station's daily file: a heading that names the columns and their units, as in "tmax (C)" or "rain [in]", then
// a row a day, oldest first. Columns may be parted by commas, semicolons or tabs; after semicolons and tabs a comma is a
// decimal mark. Columns it doesn't know are passed over. An error is Problems unless reading itself failed.
func Read(r io.Reader, o Options) (Series, error) {
	if o.MostDays == 0 {
		o.MostDays = 36600
	}
	br := bufio.NewReader(r)
	head, err := br.Peek(4096)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull) {
		return Series{}, err
	}
	rd := reader{o: o, series: Series{Units: map[Column]string{}}}
	rd.csv = csv.NewReader(br)
	rd.csv.Comma = separator(string(head))
	rd.csv.FieldsPerRecord = -1
	rd.csv.ReuseRecord = true
	rd.csv.TrimLeadingSpace = true
	if err := rd.all(); err != nil {
		return Series{}, err
	}
	return rd.series, nil
}

func separator(head string) rune {
	line, _, _ := strings.Cut(head, "\n")
	for _, mark := range []rune{';', '\t'} {
		if strings.ContainsRune(line, mark) {
			return mark
		}
	}
	return ','
}

type reader struct {
	o        Options
	csv      *csv.Reader
	series   Series
	places   []Column // column of each field, "" for those passed over
	problems Problems
	inGap    int
	must     []Column // a day without one of them is not complete
}

func (r *reader) refuse(line int, format string, args ...any) {
	if len(r.problems) < mostProblems {
		r.problems = append(r.problems, Problem{line, fmt.Sprintf(format, args...)})
	}
}

func (r *reader) all() error {
	fields, err := r.csv.Read()
	if errors.Is(err, io.EOF) {
		return Problems{{1, "The file is empty; it needs a heading and a row a day."}}
	}
	if err != nil {
		return asProblem(err)
	}
	r.heading(fields)
	if len(r.problems) > 0 {
		return r.problems
	}
	for len(r.problems) < mostProblems {
		fields, err := r.csv.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return asProblem(err)
		}
		line, _ := r.csv.FieldPos(0)
		r.row(line, fields)
		if len(r.series.Days) > r.o.MostDays {
			r.refuse(line, "The file holds more than %d days.", r.o.MostDays)
			break
		}
	}
	if len(r.series.Days) == 0 && len(r.problems) == 0 {
		r.refuse(1, "The file holds no days.")
	}
	if r.inGap > 0 && len(r.problems) == 0 {
		r.refuse(1, "The last day must be complete: nothing is known beyond a gap at the end.")
	}
	if len(r.problems) > 0 {
		return r.problems
	}
	return nil
}

func asProblem(err error) error {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return Problems{{parse.Line, "This line can't be read as a row of a table: " + parse.Err.Error() + "."}}
	}
	return err
}

var (
	withUnit = regexp.MustCompile(`^(.*?)\s*[(\[]\s*([^)\]]*?)\s*[)\]]\s*$`)
	plain    = regexp.MustCompile(`[^a-z0-9]+`)
)

// heading finds the columns and their units.
func (r *reader) heading(fields []string) {
	for i, field := range fields {
		field = strings.TrimSpace(strings.TrimPrefix(field, "\ufeff"))
		name, unit := field, ""
		if m := withUnit.FindStringSubmatch(field); m != nil {
			name, unit = m[1], m[2]
		}
		col := columnNamed(name)
		r.places = append(r.places, col)
		if col == "" {
			continue
		}
		if slices.Contains(r.series.Columns, col) {
			r.refuse(1, "Column %d, %q, is %s a second time.", i+1, field, col)
		}
		r.series.Columns = append(r.series.Columns, col)
		r.series.Units[col] = unit
		if col != Date {
			r.unit(col, field, unit)
		}
	}
	r.must = []Column{Tmax, Tmin, Rain}
	if r.o.Probe && r.series.Has(Soil) && !slices.ContainsFunc(r.must, r.series.Has) {
		r.must = []Column{Soil}
	}
	for _, col := range append([]Column{Date}, r.must...) {
		if !slices.Contains(r.series.Columns, col) {
			r.refuse(1, "The heading names no column %s; it needs date, tmax, tmin and rain, as in: date,tmin (C),tmax (C),rain (mm).", col)
		}
	}
}

// list names the columns a day must have, as a person reads them.
func list(must []Column, last string) string {
	words := make([]string, len(must))
	for i, col := range must {
		words[i] = string(col)
	}
	if len(words) == 1 {
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}

func columnNamed(name string) Column {
	word := plain.ReplaceAllString(strings.ToLower(name), "")
	if word == "date" || word == "day" {
		return Date
	}
	for col, c := range columns {
		if word == plain.ReplaceAllString(string(col), "") || slices.Contains(c.also, word) {
			return col
		}
	}
	return ""
}

func (r *reader) unit(col Column, field, unit string) {
	c := columns[col]
	if unit == "" {
		r.refuse(1, "The column %q names no unit; write it after the name, as in %s (%s).", field, col, c.unit)
		return
	}
	for _, fits := range append([]string{c.unit}, c.or...) {
		if agronomy.SameKind(unit, fits) {
			return
		}
	}
	r.refuse(1, "The column %q is in %q; %s must be in a unit like %s.", field, unit, col, c.unit)
}

// row reads a day.
func (r *reader) row(line int, fields []string) {
	if len(fields) == 1 && strings.TrimSpace(fields[0]) == "" {
		return
	}
	if len(fields) != len(r.places) {
		r.refuse(line, "This row has %d fields, the heading has %d.", len(fields), len(r.places))
		return
	}
	day := unknown(time.Time{})
	good := true
	for i, col := range r.places {
		switch {
		case col == "":
		case col == Date:
			day.Date = r.date(line, fields[i])
		default:
			v, ok := r.number(line, col, fields[i])
			*day.at(col), good = v, good && ok
		}
	}
	if day.Date.IsZero() || !good || !r.follows(line, day.Date) {
		return
	}
	r.judge(line, day)
	r.series.Days = append(r.series.Days, day)
}

func (r *reader) date(line int, text string) time.Time {
	text = strings.TrimSpace(text)
	for _, form := range []string{"2006-01-02", "2006/01/02", "20060102"} {
		if t, err := time.Parse(form, text); err == nil && t.Year() >= 1800 && t.Year() <= 2200 {
			return t
		}
	}
	r.refuse(line, "%.40q is no date; write it as 2026-07-06.", text)
	return time.Time{}
}

// number reads a value in the column's own unit; an empty field is NaN. "T" is a trace of rain, 0.
func (r *reader) number(line int, col Column, text string) (float64, bool) {
	text = strings.TrimSpace(text)
	switch {
	case text == "" || text == "-" || strings.EqualFold(text, "NA"):
		return math.NaN(), true
	case col == Rain && strings.EqualFold(text, "T"):
		return 0, true
	}
	if r.csv.Comma != ',' {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		r.refuse(line, "%s is %.40q, which is no number.", col, text)
		return v, false
	}
	c := columns[col]
	in := agronomy.Input{Name: string(col), Unit: c.unit, Or: c.or, Range: c.limit}
	own, err := in.Number(agronomy.Q(v, r.series.Units[col]))
	if err != nil {
		r.refuse(line, "%s", err)
		return v, false
	}
	return own, true
}

// follows holds a date to the one before, and fills a gap that is allowed.
func (r *reader) follows(line int, date time.Time) bool {
	n := len(r.series.Days)
	if n == 0 {
		return true
	}
	last := r.series.Days[n-1].Date
	missing := int(math.Round(date.Sub(last).Hours()/24)) - 1
	switch {
	case missing == -1:
		r.refuse(line, "%s is there twice.", date.Format("2006-01-02"))
		return false
	case missing < -1:
		r.refuse(line, "%s comes after %s; the oldest day must come first.", date.Format("2006-01-02"), last.Format("2006-01-02"))
		return false
	case missing > r.o.Gaps:
		r.refuse(line, "%d days are missing before %s; at most %d in a row may be.", missing, date.Format("2006-01-02"), r.o.Gaps)
	}
	for i := 1; i <= missing && missing <= r.o.Gaps; i++ {
		r.series.Days = append(r.series.Days, unknown(last.AddDate(0, 0, i)))
		r.series.Missing += len(r.must)
		r.inGap++
	}
	return true
}

// judge refuses a day that can't be, and counts what it lacks.
func (r *reader) judge(line int, d Day) {
	if d.Tmin > d.Tmax {
		r.refuse(line, "tmin (%s C) is above tmax (%s C).", agronomy.Figure(d.Tmin), agronomy.Figure(d.Tmax))
	}
	if d.RHmin > d.RHmax {
		r.refuse(line, "rhmin (%s %%) is above rhmax (%s %%).", agronomy.Figure(d.RHmin), agronomy.Figure(d.RHmax))
	}
	if Known(d.Dew) && d.Dew > d.Tmax+0.5 {
		r.refuse(line, "The dew point (%s C) is above tmax (%s C).", agronomy.Figure(d.Dew), agronomy.Figure(d.Tmax))
	}
	lacks := 0
	for _, col := range r.must {
		if !Known(*d.at(col)) {
			lacks++
		}
	}
	r.series.Missing += lacks
	if lacks == 0 {
		r.inGap = 0
		return
	}
	if len(r.series.Days) == 0 {
		r.refuse(line, "The first day lacks %s; nothing is known before it.", list(r.must, "or"))
	}
	if r.inGap++; r.inGap > r.o.Gaps {
		r.refuse(line, "%s is missing; at most %d days in a row may lack that.", list(r.must, "or"), r.o.Gaps)
	}
}
