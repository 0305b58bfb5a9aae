package history_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"swardbook/store/history"
)

// need finds a program that .ci/setup installs. Without it a laptop skips the test; under CI that is a failure.
func need(t *testing.T, program string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err == nil {
		return path
	}
	if os.Getenv("CI") != "" {
		t.Fatalf("no %s under CI", program)
	}
	t.Skipf("no %s here: sh .ci/setup installs it", program)
	return ""
}

// A reader of PDF files that is not ours finds every number of the record, and no page that is only half there.
func TestAnotherReaderReadsThePaper(t *testing.T) {
	program := need(t, "pdftotext")
	_, rec, table := fullSeason(t)
	file := filepath.Join(t.TempDir(), "season.pdf")
	var out bytes.Buffer
	if err := rec.WritePDF(&out, table, made); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	text, err := exec.CommandContext(t.Context(), program, "-layout", file, "-").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	words := " " + strings.Join(strings.Fields(string(text)), " ") + " "
	value, limit := place(table, "value"), place(table, "limit")
	for _, row := range table.Rows {
		for _, c := range []history.Cell{row[value], row[limit]} {
			if c.IsNumber && !strings.Contains(words, " "+c.String()+" ") {
				t.Errorf("the paper lacks %s: %s", c, words)
			}
		}
	}
	for _, want := range []string{"Season 2026", "What comes next", "Water audit", "over the limit", "page 1 of "} {
		if !strings.Contains(words, want) {
			t.Errorf("the paper lacks %q: %s", want, words)
		}
	}
}

const readBook = `import read from 'read-excel-file/node';
console.log(JSON.stringify(Object.fromEntries((await read(process.argv[1])).map((s) => [s.sheet, s.data]))));`

// A reader of workbooks that is not ours finds the sheets, their heads, numbers as numbers and texts as texts.
func TestAnotherReaderReadsTheWorkbook(t *testing.T) {
	node := need(t, "node")
	tools := filepath.Join("..", "..", ".ci", "web")
	if _, err := os.Stat(filepath.Join(tools, "node_modules", "read-excel-file")); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal(err)
		}
		t.Skip("no read-excel-file here: sh .ci/setup installs it")
	}
	_, _, table := fullSeason(t)
	file := filepath.Join(t.TempDir(), "season.xlsx")
	var out bytes.Buffer
	if err := table.WriteXLSX(&out); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	run := exec.CommandContext(t.Context(), node, "--input-type=module", "-e", readBook, file)
	run.Dir = tools
	text, err := run.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	var book map[string][][]any
	if err := json.Unmarshal(text, &book); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	if len(book) != len(table.Parts()) {
		t.Errorf("%d sheets", len(book))
	}
	for _, p := range table.Parts() {
		rows := book[p.Label]
		if len(rows) != len(p.Rows)+1 {
			t.Errorf("%s: %d rows, want %d", p.Label, len(rows), len(p.Rows)+1)
			continue
		}
		for c, column := range p.Columns {
			if rows[0][c] != column.Label {
				t.Errorf("%s: head %v, want %s", p.Label, rows[0][c], column.Label)
			}
			for r, row := range p.Rows {
				sameCell(t, p.Label+" "+column.ID, rows[r+1][c], row[c])
			}
		}
	}
}

func sameCell(t *testing.T, where string, got any, want history.Cell) {
	t.Helper()
	switch x := got.(type) {
	case nil:
		if want.String() != "" {
			t.Errorf("%s: nothing, want %q", where, want)
		}
	case float64:
		if !want.IsNumber || strconv.FormatFloat(x, 'f', -1, 64) != want.String() {
			t.Errorf("%s: %v, want %q", where, x, want)
		}
	case string:
		days := []string{want.Text, want.Text + "T00:00:00.000Z"} // a day is a date there
		if want.IsNumber || !slices.Contains(days, x) {
			t.Errorf("%s: %q, want %q", where, x, want)
		}
	default:
		t.Errorf("%s: %v", where, got)
	}
}
