package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"swardbook/store"
	"swardbook/store/history"
)

// Ids that are random each time, and the moments at which the demo was filled in, are masked in goldens.
var (
	randomID  = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`)
	fillingAt = regexp.MustCompile(`2026-?08-?27T14:?0[0-9]:?[0-9.]+Z|2026[0-9]{4}T140[0-9]{3}Z`)
)

// TestSeasonsOfTheDemo holds what leaves the office of the invented firm to goldens: two season records in every form, each as a reader reads it back,
// the map of zones and a person's calendar. -update writes them anew.
func TestSeasonsOfTheDemo(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	layDemoIn(t, data)
	at, err := time.Parse(time.RFC3339, august)
	if err != nil {
		t.Fatal(err)
	}
	h, err := openHouse(t.Context(), config{data: data}, func() time.Time { return at }, silent())
	if err != nil {
		t.Fatal(err)
	}
	defer h.close()
	for _, s := range []struct {
		client string
		year   int
	}{{"Obadiah Thorne-Nakai", 2024}, {"Brannock Yard Trust", 2026}} {
		seasonGoldens(t, h, s.client, s.year)
	}
	golden(t, "calendar.ics", calendarOf(t, h, "Tamsin"))
	zip := filepath.Join(t.TempDir(), "book.zip")
	ordered(t, "export", "-data", data, "-to", zip)
	golden(t, "zones.geojson", contents(t, zip)["zones.geojson"])
	paper := filepath.Join(t.TempDir(), "season.pdf")
	ordered(t, "season", "-data", data, "-client", "Brannock Yard Trust", "-year", "2025", "-format", "pdf", "-o", paper)
	file, err := os.ReadFile(paper)
	if n := bytes.Count(file, []byte("/Subtype /Image")); err != nil || n != 4 {
		t.Errorf("%d pictures on paper, want two zones before and after: %v", n, err)
	}
}

func seasonGoldens(t *testing.T, h *house, client string, year int) {
	t.Helper()
	clients, err := h.db.Clients(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(clients, func(c store.Client) bool { return c.Name == client })
	know := h.held.Know()
	rec, err := history.Season(t.Context(), h.db, know, clients[at].ID, year)
	if err != nil {
		t.Fatal(err)
	}
	paper := history.Paper{Firm: "Quillmere Lawns", Made: h.now(), Likely: know.Bundle.Settings.Likely}
	name := strings.ToLower(strings.Fields(client)[0])
	for _, f := range history.Forms {
		var out bytes.Buffer
		if err := f.Write(&out, rec, rec.Table(know), paper); err != nil {
			t.Fatal(err)
		}
		text, ending := out.Bytes(), f.Name
		switch f.Name {
		case "xlsx":
			text, ending = workbookText(t, text), "xlsx.txt"
		case "pdf":
			text, ending = pdfText(t, text), "pdf.txt"
		}
		if text != nil {
			text = bytes.ReplaceAll(text, []byte(know.Edition), []byte("edition"))
			golden(t, fmt.Sprintf("%s-%d.%s", name, year, ending), text)
		}
	}
}

// workbookText is a workbook as its library reads it: a line for each cell that holds something, with the type it has there.
func workbookText(t *testing.T, file []byte) []byte {
	t.Helper()
	book, err := excelize.OpenReader(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	kinds := map[excelize.CellType]string{excelize.CellTypeUnset: "number", excelize.CellTypeNumber: "number", excelize.CellTypeInlineString: "text", excelize.CellTypeSharedString: "text", excelize.CellTypeDate: "date"}
	var out bytes.Buffer
	for _, sheet := range book.GetSheetList() {
		fmt.Fprintf(&out, "== %s\n", sheet)
		rows, err := book.GetRows(sheet, excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		for r, row := range rows {
			for c, value := range row {
				cell, _ := excelize.CoordinatesToCellName(c+1, r+1)
				if kind, _ := book.GetCellType(sheet, cell); value != "" {
					fmt.Fprintf(&out, "%s %s %q\n", cell, kinds[kind], value)
				}
			}
		}
	}
	return out.Bytes()
}

// pdfText is a paper as a reader that is not ours reads it; nil where there is none.
func pdfText(t *testing.T, file []byte) []byte {
	t.Helper()
	program, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("no pdftotext under CI")
		}
		return nil
	}
	run := exec.CommandContext(t.Context(), program, "-layout", "-", "-")
	run.Stdin = bytes.NewReader(file)
	out, err := run.Output()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// calendarOf asks for a person's calendar as a calendar program does.
func calendarOf(t *testing.T, h *house, name string) []byte {
	t.Helper()
	who, err := h.db.PersonByName(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte("token"))
	if err := h.db.SetCalendar(t.Context(), sum[:], who.ID); err != nil {
		t.Fatal(err)
	}
	handler, err := h.handler(config{}, silent())
	if err != nil {
		t.Fatal(err)
	}
	answer := httptest.NewRecorder()
	handler.ServeHTTP(answer, httptest.NewRequest("GET", "http://office.example/cal/token.ics", nil))
	raw, err := io.ReadAll(answer.Result().Body)
	if err != nil || answer.Code != 200 {
		t.Fatal(answer.Code, err)
	}
	return raw
}

// golden compares with a file of testdata/seasons: random ids stand in it as numbers in the order in which they come up.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	seen := map[string]string{}
	got = randomID.ReplaceAllFunc(got, func(id []byte) []byte {
		if seen[string(id)] == "" {
			seen[string(id)] = fmt.Sprintf("id-%d", len(seen)+1)
		}
		return []byte(seen[string(id)])
	})
	got = fillingAt.ReplaceAll(got, []byte("moment"))
	file := filepath.Join("..", "testdata", "seasons", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs (-update writes it anew):\n%s", file, firstDifference(string(got), string(want)))
	}
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return fmt.Sprintf("line %d is\n%s\nwant\n%s", i+1, g[i], w[i])
		}
	}
	return fmt.Sprintf("%d lines, want %d", len(g), len(w))
}
