package history_test

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"slices"
	"strings"
	"testing"

	"swardbook/store"
	"swardbook/store/history"
)

// TestPaperShowsBeforeAndAfter: a zone's first and last photo stand beside each other with their days; one that stands alone says so, and
// one that the office lacks leaves a frame with its digest. Without photos at hand the table names them all.
func TestPaperShowsBeforeAndAfter(t *testing.T) {
	o, rec, _ := fullSeason(t)
	sha := func(c string) string { return strings.Repeat(c, 64) }
	rec.Properties[0].Pairs = []history.PhotoPair{
		{Zone: store.Zone{ID: "front", Name: "Front"}, First: history.DatedPhoto{Day: "2026-05-04", SHA: sha("a")}, Last: history.DatedPhoto{Day: "2026-08-27", SHA: sha("b")}},
		{Zone: store.Zone{ID: "back", Name: "Back"}, First: history.DatedPhoto{Day: "2026-05-04", SHA: sha("c")}, Last: history.DatedPhoto{Day: "2026-05-04", SHA: sha("c")}},
		{Zone: store.Zone{ID: "side", Name: "Side"}, First: history.DatedPhoto{Day: "2026-06-04", SHA: sha("d")}, Last: history.DatedPhoto{Day: "2026-06-04", SHA: sha("d")}},
	}
	table := rec.Table(o.know)
	asked := map[string]int{}
	paper := made
	paper.Photo = func(name string) ([]byte, error) {
		asked[name]++
		if name == sha("d") {
			return nil, errors.New("not here")
		}
		im := image.NewRGBA(image.Rect(0, 0, 12+int(name[0]-0x60), 9))
		im.Set(3, 3, color.RGBA{0, 200, 0, 255})
		var out bytes.Buffer
		err := jpeg.Encode(&out, im, nil)
		return out.Bytes(), err
	}
	var file bytes.Buffer
	if err := rec.WritePDF(&file, table, paper); err != nil {
		t.Fatal(err)
	}
	words := strings.Join(paperText(t, file.Bytes()), " ")
	for _, want := range []string{"Front", "Before, 2026-05-04", "After, 2026-08-27", "The only one, 2026-05-04", "The only one, 2026-06-04", "The office does not have this photo. Its digest begins dddddddddddd"} {
		if !strings.Contains(words, want) {
			t.Errorf("the paper lacks %q", want)
		}
	}
	if n := bytes.Count(file.Bytes(), []byte("/Subtype /Image")); n != 3 {
		t.Errorf("%d pictures on paper, want 3", n)
	}
	if len(asked) != 4 || strings.Contains(words, "Digest") {
		t.Errorf("asked for %v; the table stands beside the photos: %t", asked, strings.Contains(words, "Digest"))
	}
	file.Reset()
	if err := rec.WritePDF(&file, table, made); err != nil {
		t.Fatal(err)
	}
	if words := strings.Join(paperText(t, file.Bytes()), " "); !strings.Contains(words, "Digest") || !strings.Contains(words, "bbbbbbbbbbbb…") {
		t.Error("without photos at hand, nothing names them")
	}
}

// TestARowStaysOnItsPage: a row of two lines that would not fit begins the next page, so that no page begins with the rest of a row.
func TestARowStaysOnItsPage(t *testing.T) {
	o, rec, _ := fullSeason(t)
	for lines := range 40 { // each shifts the rows by one, so that some row meets the end of a page in its middle
		own := rec.Table(o.know)
		row := own.Rows[0]
		for i, r := range own.Rows {
			if r[place(own, "kind")].Text == "reading" {
				row = own.Rows[i]
			}
		}
		own.Rows, own.Workings = nil, nil
		for n := range 90 {
			next := append([]history.Cell{}, row...)
			next[place(own, "item")] = history.Str("Top")
			if n >= lines {
				next[place(own, "item")] = history.Str(strings.Repeat("wide ", 8) + "Rest")
			}
			own.Rows = append(own.Rows, next)
		}
		var file bytes.Buffer
		if err := rec.WritePDF(&file, own, made); err != nil {
			t.Fatal(err)
		}
		all := paperPages(t, file.Bytes())
		if len(all) < 3 {
			t.Fatalf("%d pages", len(all))
		}
		for i, page := range all {
			at := slices.Index(page, "Counts") // the last of the head
			if at >= 0 && at+1 < len(page) && !strings.HasPrefix(page[at+1], "2026-") {
				t.Fatalf("page %d begins with the rest of a row: %q", i+1, page[:at+3])
			}
		}
	}
}
