package sqlite_test

import (
	"os"
	"strings"
	"testing"

	"swardbook/store"
)

// TestErasingTakesWhatIsPersonalAndKeepsTheRest: nothing typed about the client is left in the file, what was measured is, and the log is closed again.
func TestErasingTakesWhatIsPersonalAndKeepsTheRest(t *testing.T) {
	h := newHouse(t)
	sha := strings.Repeat("ab", 32)
	h.must(h.DB.SaveClient(t.Context(), store.Client{ID: "odalys-fenwright", Name: "Odalys Fenwright", Phone: "555 0199", Note: "key under the quillpot"}))
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "note", "quillpot by the door")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Reads(h.visit, h.front, "photo", sha).Photos = []store.Photo{{SHA: sha, Size: 3, Type: "image/jpeg"}}
	p.Sends()
	words, pictures := []string{"note"}, []string{"photo"}
	e, err := h.DB.Erasure(t.Context(), "odalys-fenwright", words, pictures)
	h.must(err)
	if len(e.Open) != 1 || e.Notes != 1 || len(e.Photos) != 1 || e.Held != "" {
		t.Fatalf("%+v", e)
	}
	_, err = h.DB.Erase(t.Context(), "odalys-fenwright", words, pictures)
	wantKind(t, err, store.Conflict)
	h.must(h.DB.AddReview(t.Context(), store.Review{ID: "r", Visit: h.visit, Kind: "sign off", By: "iris", Reason: "quillpot"}))
	head, err := h.DB.Feed(t.Context(), 0, 100, nil)
	h.must(err)
	_, err = h.DB.Erase(t.Context(), "odalys-fenwright", words, pictures)
	h.must(err)
	_, err = h.DB.Erase(t.Context(), "odalys-fenwright", words, pictures)
	wantKind(t, err, store.Conflict)
	for _, query := range []string{`SELECT CAST(raw AS TEXT) || typed FROM ops`, `SELECT name || phone || note FROM clients`, `SELECT address FROM properties`, `SELECT name FROM zones`,
		`SELECT words FROM finds`, `SELECT words FROM finds_who`, `SELECT reason FROM reviews`, `SELECT detail FROM audit`, `SELECT sha FROM photos`, `SELECT ask FROM visits`} {
		all := strings.ToLower(strings.Join(h.texts(query), "\n"))
		for _, left := range []string{"quillpot", "fenwright", "555 0199", "alder rise", "front lawn", sha} {
			if strings.Contains(all, left) {
				t.Errorf("%s: %q is left in %q", query, left, all)
			}
		}
	}
	if got := h.current("tug_test"); got != "firm" {
		t.Errorf("what was measured is %q", got)
	}
	if list, err := h.DB.ErasedPhotos(t.Context()); err != nil || len(list) != 1 || list[0] != sha {
		t.Error(list, err)
	}
	page, err := h.DB.Feed(t.Context(), head.Next, 100, nil)
	if err != nil || len(page.Gone) != 2 {
		t.Errorf("phones are told to drop %v %v", page.Gone, err)
	}
	h.must(h.DB.RenewEpoch(t.Context()))
	again := h.push(p.Batch(1, 3)) // a phone that sends everything anew brings nothing back
	if len(again.Clash) != 0 || strings.Contains(strings.Join(h.texts(`SELECT CAST(raw AS TEXT) FROM ops UNION ALL SELECT CAST(raw AS TEXT) FROM clashes`), ""), "quillpot") {
		t.Errorf("it came back: %+v", again)
	}
	if err := h.DB.Exec(t.Context(), `UPDATE ops SET typed = 'x'`); err == nil {
		t.Error("the log can be changed")
	}
	if err := h.DB.Exec(t.Context(), `UPDATE audit SET detail = 'x'`); err == nil {
		t.Error("the audit log can be changed")
	}
}

// TestErasingLeavesNoTraceInTheFile looks at the bytes of the database and its log, also for what was changed before: no word is left in pages that
// are unused, in the index of the search, or in a signed plan.
func TestErasingLeavesNoTraceInTheFile(t *testing.T) {
	h := newHouse(t)
	client := store.Client{ID: "odalys-fenwright", Name: "Odalys Fenwright", Phone: "555 0199", Email: "odalys@fernmail.example", Note: "key under the quillpot"}
	h.must(h.DB.SaveClient(t.Context(), client))
	client.Note = "key with the neighbour, zinnwald"
	h.must(h.DB.SaveClient(t.Context(), client))
	p := h.Phone("d1", "Jonah")
	for range 40 { // enough that pages of the log are split
		p.Reads(h.visit, h.front, "note", "brackwater by the door "+strings.Repeat("and more of it ", 20))
	}
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	body := `{"steps": [{"id": "raise_cut", "parts": [{"zone": "` + h.front + `", "name": "Front lawn", "area": {"value": 1600.50, "unit": "ft2"}}]}],
		"conflicts": [{"rule": "r", "overrule": {"rule": "r", "by": "iris", "why": "thistledown asked for it"}}]}`
	h.must(h.DB.SignPlan(t.Context(), store.Plan{ID: "plan", Property: h.property.ID, Visit: h.visit, Edition: "e", By: "iris", Body: []byte(body), Steps: []store.PlanStep{{N: 0, Day: "2026-09-10"}}}, nil))
	h.must(h.DB.AddReview(t.Context(), store.Review{ID: "r", Visit: h.visit, Kind: "sign off", By: "iris", Reason: "quillpot"}))
	path := h.texts(`SELECT file FROM pragma_database_list WHERE name = 'main'`)[0]
	left := func() (found []string) {
		for _, end := range []string{"", "-wal"} {
			raw, err := os.ReadFile(path + end)
			h.must(err)
			for _, word := range []string{"quillpot", "zinnwald", "brackwater", "thistledown", "fenwright", "fernmail", "555 0199", "alder rise", "front lawn"} {
				if strings.Contains(strings.ReplaceAll(strings.ToLower(string(raw)), client.ID, ""), word) { // an id is no name outside tests
					found = append(found, word+" in the file"+end)
				}
			}
		}
		return found
	}
	if got := left(); len(got) < 9 {
		t.Fatalf("before: %q", got)
	}
	_, err := h.DB.Erase(t.Context(), client.ID, []string{"note"}, []string{"photo"})
	h.must(err)
	if got := left(); len(got) > 0 {
		t.Errorf("left: %q", got)
	}
	plans, err := h.DB.Plans(t.Context(), h.property.ID)
	h.must(err)
	if got := string(plans[0].Body); !strings.Contains(got, `"name":"Zone 1"`) || !strings.Contains(got, "1600.50") || !strings.Contains(got, `"by":"iris","rule":"r","why":""`) {
		t.Error(got)
	}
}

// TestTheLawHoldsNameAndAddress: while a record of what was put down must be kept, so are customer and place; after it they go by themselves.
func TestTheLawHoldsNameAndAddress(t *testing.T) {
	h := newHouse(t)
	h.must(h.DB.Exec(t.Context(), `INSERT INTO applications (id, seq, visit, property, day, material, version, corrects, author, device, n, at, stamp, body, missing, flags)
		VALUES ('a', 0, $1, $2, '2026-08-20', '', 0, '', '', '', 0, '', '', '{}', '[]', '[]')`, h.visit, h.property.ID))
	_, err := h.DB.Erase(t.Context(), "odalys-fenwright", nil, nil)
	wantKind(t, err, store.Conflict) // something was put down on a visit that is not finished
	h.must(h.DB.AddReview(t.Context(), store.Review{ID: "r", Visit: h.visit, Kind: "sign off", By: "iris"}))
	e, err := h.DB.Erase(t.Context(), "odalys-fenwright", nil, nil)
	h.must(err)
	if e.Held != "2028-08-20" {
		t.Errorf("held until %q", e.Held)
	}
	names := func() string {
		return strings.Join(h.texts(`SELECT name FROM clients UNION ALL SELECT address FROM properties`), ", ")
	}
	if got := names(); got != "Odalys Fenwright, 14 Alder Rise" {
		t.Error(got)
	}
	h.clock.Pass(2 * 365 * 24 * 60 * 60e9)
	if n, err := h.DB.EraseDue(t.Context()); n != 1 || err != nil {
		t.Error(n, err)
	}
	if got := names(); got != "Erased, Erased" {
		t.Error(got)
	}
	if n, err := h.DB.EraseDue(t.Context()); n != 0 || err != nil {
		t.Error(n, err)
	}
}
