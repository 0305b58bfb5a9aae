package history

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"testing"
)

func TestWriteCSV(t *testing.T) {
	table := Table{
		Columns: []Column{{"a", "A"}, {"b_in", "B (in)"}},
		Rows: [][]Cell{
			{Str("=1+1"), Num(-2.5)}, {Str("-"), Num(0)}, {Str("+49"), {}}, {Str("@x"), Num(1e21)},
			{Str("\tx"), Str("a,b")}, {Str("\rx"), Str(`say "hi"`)}, {Str("two\nlines"), Str("½ Zoll – größer")},
			{Str("＝1"), Str("2 - 1")}, {Str("\nx"), Str("")},
		},
	}
	want := "\uFEFFa,b_in\r\n'=1+1,-2.5\r\n'-,0\r\n'+49,\r\n'@x,1000000000000000000000\r\n'\tx,\"a,b\"\r\n\"'x\",\"say \"\"hi\"\"\"\r\n" +
		"\"two\r\nlines\",½ Zoll – größer\r\n'＝1,2 - 1\r\n\"'\r\nx\",\r\n"
	var out bytes.Buffer
	if err := table.WriteCSV(&out); err != nil {
		t.Fatal(err)
	}
	if out.String() != want {
		t.Errorf("got\n%q\nwant\n%q", out.String(), want)
	}
}

func TestNoTextIsEverAFormula(t *testing.T) {
	for _, text := range []string{"=HYPERLINK(1)", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＋1", "－1", "＠x"} {
		var out bytes.Buffer
		table := Table{Columns: []Column{{"a", "A"}}, Rows: [][]Cell{{Str(text)}}}
		if err := table.WriteCSV(&out); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(out.String(), bom))).ReadAll()
		if err != nil || !strings.HasPrefix(rows[1][0], "'") {
			t.Errorf("%q became %q, %v", text, rows, err)
		}
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteCSVTellsOfAFullDisk(t *testing.T) {
	if err := (Table{Columns: []Column{{"a", "A"}}}).WriteCSV(full{}); err == nil {
		t.Error("a file that was not written was called written")
	}
}

func TestPercentOf(t *testing.T) {
	for p, want := range map[float64]string{0: "under 5", 0.049: "under 5", 0.05: "5", 0.07: "5", 0.08: "10", 0.5: "50", 0.949: "95", 0.96: "over 95"} {
		if got := PercentOf(p).Cell().String(); got != want {
			t.Errorf("%v: %s, want %s", p, got, want)
		}
	}
}
