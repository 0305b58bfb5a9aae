package history_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/history"
	"swardbook/store/sqlite"
)

var update = flag.Bool("update", false, "write the golden files anew")

// office is a database with one client, one property of two zones, and what tests put in.
type office struct {
	t    *testing.T
	db   *sqlite.DB
	know *knowledge.Loaded
	at   time.Time
	n    map[string]int64
}

func openOffice(t *testing.T) *office {
	t.Helper()
	o := &office{t: t, at: time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC), n: map[string]int64{}}
	var err error
	o.know, err = knowledge.Load()
	o.must(err)
	ctx := t.Context()
	o.db, err = sqlite.Open(ctx, filepath.Join(t.TempDir(), "t.db"), func() time.Time { return o.at })
	o.must(err)
	t.Cleanup(func() { o.must(o.db.Close()) })
	o.must(o.db.CreateFirm(ctx, store.Firm{Name: "Greenfield", Units: "us", Zone: "UTC"}, store.Person{ID: "olga", Name: "Olga", Role: store.Owner, Lang: "en", Active: true, Hash: "x"}))
	o.must(o.db.AddPerson(ctx, store.Person{ID: "ana", Name: "Ana", Role: store.Crew, Lang: "en", Active: true, Hash: "x"}))
	for _, id := range []string{"meadow", "quiet", "bare"} {
		o.must(o.db.AddClient(ctx, store.Client{ID: id, Name: id}))
	}
	o.must(o.db.AddProperty(ctx, store.Property{ID: "home", Client: "meadow", Address: "=1 Long Road", System: "present"}))
	o.must(o.db.AddProperty(ctx, store.Property{ID: "empty", Client: "quiet", Address: "2 Short Road"}))
	for _, z := range []string{"Front", "Back"} {
		o.must(o.db.AddZone(ctx, store.Zone{ID: strings.ToLower(z), Property: "home", Name: z}))
		o.pass(time.Second)
	}
	for i, day := range []string{"2025-06-02", "2026-05-04", "2026-08-27"} {
		o.must(o.db.AddVisit(ctx, store.Visit{ID: fmt.Sprintf("v%d", i), Property: "home", Crew: "ana", Day: day, Order: 1, Why: "complaint", State: store.Planned}))
	}
	return o
}

func (o *office) must(err error) {
	o.t.Helper()
	if err != nil {
		o.t.Fatal(err)
	}
}

func (o *office) pass(d time.Duration) { o.at = o.at.Add(d) }

// item is one operation of a phone at the office's time.
func (o *office) item(device, kind string) store.Item {
	o.n[device]++
	id := fmt.Sprintf("%s-%d", device, o.n[device])
	return store.Item{Op: store.Op{
		ID: id, Device: device, N: o.n[device], Kind: kind, Entity: id, Edition: "e1", Author: "ana", SentBy: "ana",
		HLC: fmt.Sprintf("%012x-%04x-0001", o.at.UnixMilli(), o.n[device]), At: o.at.Format(time.RFC3339), Raw: []byte(`{"id":"` + id + `"}`), Received: o.at,
	}}
}

func (o *office) push(device string, items ...store.Item) {
	o.t.Helper()
	_, err := o.db.Push(o.t.Context(), store.Batch{Device: device, By: "ana", Sent: o.at, Items: items})
	o.must(err)
	o.pass(time.Minute)
}

func (o *office) read(device, visit, zone, check, typed string) string {
	o.t.Helper()
	it := o.item(device, "reading")
	it.About = store.Place{Visit: visit, Zone: zone, Check: check, Typed: typed}
	it.Reading = &store.Reading{ID: it.ID, Visit: visit, Zone: zone, Check: check, Typed: typed, Edition: "e1", Author: "ana", Device: device, At: it.At}
	o.push(device, it)
	return it.ID
}

func (o *office) diagnose(visit, zone string, causes ...diagnose.Likelihood) string {
	o.t.Helper()
	text, err := json.Marshal(diagnose.Answer{ID: visit + "/" + zone, Edition: "e1", Verdict: "cause", Causes: causes})
	o.must(err)
	id := "d-" + visit + "-" + zone + o.at.Format("150405")
	o.must(o.db.SaveDiagnosis(o.t.Context(), store.Diagnosis{ID: id, Visit: visit, Zone: zone, Edition: "e1", InputHash: "h", Made: o.at, Answer: text}))
	o.pass(time.Minute)
	return id
}

func (o *office) review(r store.Review) {
	o.t.Helper()
	r.ID, r.By, r.At = "r-"+o.at.Format("150405"), "olga", o.at
	o.must(o.db.AddReview(o.t.Context(), r))
	o.pass(time.Minute)
}

func (o *office) handIn(visit string) {
	o.t.Helper()
	for _, state := range []store.VisitState{store.UnderWay, store.HandedIn} {
		it := o.item("phone", "visit")
		it.About.Visit = visit
		it.Visit = &store.VisitChange{Visit: visit, State: state, At: o.at}
		o.push("phone", it)
	}
}

// fill is a season with one of everything.
func (o *office) fill() {
	o.t.Helper()
	o.read("phone", "v0", "front", "tug_test", "firm") // last year's
	o.read("phone", "v1", "front", "thatch_in", "1/2; 3/4 in")
	o.read("phone", "v1", "front", "thatch_in", "0")
	o.read("phone", "v1", "front", "tug_test", "mat_lifts_no_roots")
	o.read("phone", "v1", "front", "ring_sign", "mushrooms -dead_band")
	o.read("phone", "v1", "front", "indicator_plants", "none")
	o.read("phone", "v1", "front", "crown_check", "-")
	o.read("phone", "v1", "front", "note", "@ the gate, \"by the oak\"")
	o.read("phone", "v1", "front", "photo", strings.Repeat("ab", 32))
	aside := o.item("phone", "reading")
	aside.Aside, aside.Detail = "unreadable", "It is kept as typed."
	aside.About = store.Place{Visit: "v1", Zone: "front", Check: "sun_hours", Typed: "=lots"}
	o.push("phone", aside)
	o.diagnose("v1", "front", diagnose.Likelihood{ID: "drought_stress", Likelihood: 0.97, Role: "primary"})
	thought := o.diagnose("v1", "front",
		diagnose.Likelihood{ID: "white_grubs", Likelihood: 0.81, Role: "primary"},
		diagnose.Likelihood{ID: "drought_stress", Likelihood: 0.42},
		diagnose.Likelihood{ID: "soil_compaction", Likelihood: 0.02})
	o.read("phone", "v1", "back", "tug_test", "firm")
	first := o.read("tablet", "v1", "back", "tug_test", "sod_piece_lifts")
	o.review(store.Review{Visit: "v1", Zone: "front", Kind: "overrule", Cause: "soil_compaction", Judgement: "confirmed", Reason: "The probe would not go in.", Diagnosis: thought, Engine: 0.02})
	o.review(store.Review{Visit: "v1", Zone: "back", Kind: "choose", Reading: first})
	o.handIn("v1")
	o.review(store.Review{Visit: "v1", Kind: "send back", Reason: "Please photograph the side yard."})
	o.handIn("v1")
	o.review(store.Review{Visit: "v1", Kind: "sign off"})
	o.read("phone", "v2", "back", "thatch_in", "1 in")
	o.read("phone", "v2", "front", "tug_test", "firm")
	o.read("tablet", "v2", "front", "tug_test", "mat_lifts_no_roots") // by somebody who had not seen the other answer
	o.must(o.db.SaveDiagnosis(o.t.Context(), store.Diagnosis{ID: "open", Visit: "v2", Zone: "front", Edition: "e1", InputHash: "h", Made: o.at, Answer: []byte(`{"verdict":"cant_tell"}`)}))
}

func TestSeasonGolden(t *testing.T) {
	o := openOffice(t)
	o.fill()
	rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	var got bytes.Buffer
	o.must(rec.Table(o.know).WriteCSV(&got))
	golden := filepath.Join("..", "..", "testdata", "season", "meadow-2026.csv")
	if *update {
		o.must(os.MkdirAll(filepath.Dir(golden), 0o755))
		o.must(os.WriteFile(golden, got.Bytes(), 0o644))
	}
	want, err := os.ReadFile(golden)
	o.must(err)
	if !bytes.Equal(got.Bytes(), want) {
		t.Errorf("the season differs from %s (-update writes it anew):\n%s", golden, got.String())
	}
	again, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	var twice bytes.Buffer
	o.must(again.Table(o.know).WriteCSV(&twice))
	if !bytes.Equal(got.Bytes(), twice.Bytes()) {
		t.Error("the same season came out in another order")
	}
}

// find returns the rows of a table in which some columns have these texts.
func find(table history.Table, where map[string]string) [][]history.Cell {
	var rows [][]history.Cell
	for _, row := range table.Rows {
		if matches(table, row, where) {
			rows = append(rows, row)
		}
	}
	return rows
}

func matches(table history.Table, row []history.Cell, where map[string]string) bool {
	for id, text := range where {
		if cell(table, row, id).String() != text {
			return false
		}
	}
	return true
}

func cell(table history.Table, row []history.Cell, id string) history.Cell {
	i := slices.IndexFunc(table.Columns, func(c history.Column) bool { return c.ID == id })
	return row[i]
}

func TestSeasonTellsMissingNothingAndZeroApart(t *testing.T) {
	o := openOffice(t)
	o.fill()
	rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	table := rec.Table(o.know)
	for _, c := range []struct {
		where, want map[string]string
	}{
		{map[string]string{"item_id": "thatch_in", "typed": "0"}, map[string]string{"value": "0", "status": "current"}},
		{map[string]string{"item_id": "thatch_in", "typed": "1/2; 3/4 in"}, map[string]string{"value": "0.625", "status": "superseded"}},
		{map[string]string{"item_id": "crown_check"}, map[string]string{"value": "", "state": "not looked at"}},
		{map[string]string{"item_id": "sun_hours"}, map[string]string{"value": "", "status": "set aside", "typed": "=lots"}},
		{map[string]string{"kind": "cause", "item_id": "white_grubs"}, map[string]string{"likelihood_pct": "80", "role": "primary", "judgement": ""}},
		{map[string]string{"kind": "cause", "item_id": "soil_compaction"}, map[string]string{"likelihood_pct": "under 5", "judgement": "confirmed"}},
		{map[string]string{"kind": "overruling"}, map[string]string{"likelihood_pct": "under 5", "reason": "The probe would not go in.", "by": "Olga"}},
		{map[string]string{"kind": "choice"}, map[string]string{"item_id": "tug_test", "typed": "sod_piece_lifts", "zone": "Back"}},
		{map[string]string{"kind": "send-back"}, map[string]string{"reason": "Please photograph the side yard."}},
		{map[string]string{"day": "2026-08-27", "typed": "mat_lifts_no_roots"}, map[string]string{"status": "disputed"}},
		{map[string]string{"day": "2026-08-27", "zone": "Front", "typed": "firm"}, map[string]string{"status": "superseded, disputed"}},
		{map[string]string{"kind": "diagnosis"}, map[string]string{"state": "can't tell yet", "zone": "Front", "day": "2026-08-27"}},
		{map[string]string{"kind": "sign-off"}, map[string]string{"by": "Olga", "zone": ""}},
	} {
		rows := find(table, c.where)
		if len(rows) != 1 {
			t.Errorf("%v: %d rows", c.where, len(rows))
			continue
		}
		for id, want := range c.want {
			if got := cell(table, rows[0], id).String(); got != want {
				t.Errorf("%v: %s is %q, want %q", c.where, id, got, want)
			}
		}
	}
	if rows := find(table, map[string]string{"kind": "cause", "item_id": "drought_stress"}); len(rows) != 0 {
		t.Errorf("a cause that was neither likely nor spoken of is listed: %v", rows)
	}
	if rows := find(table, map[string]string{"day": "2025-06-02"}); len(rows) != 0 {
		t.Errorf("last year's rows: %v", rows)
	}
	none := find(table, map[string]string{"item_id": "indicator_plants"})
	signs := find(table, map[string]string{"item_id": "ring_sign"})
	if len(none) != 1 || cell(table, none[0], "state").Text == "" || len(signs) != 1 || !strings.Contains(cell(table, signs[0], "state").Text, "not found") {
		t.Errorf("looked and found nothing: %v, %v", none, signs)
	}
	for _, row := range table.Rows {
		if len(row) != len(table.Columns) {
			t.Fatalf("a row of %d cells under %d columns", len(row), len(table.Columns))
		}
	}
}

func TestSeasonHasItsPhotos(t *testing.T) {
	o := openOffice(t)
	o.fill()
	rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	front := rec.Properties[0].Visits[0].Zones[0]
	if photos := front.Photos(); front.Zone.Name != "Front" || len(photos) != 1 || photos[0].SHA != strings.Repeat("ab", 32) {
		t.Errorf("photos of %s: %+v", front.Zone.Name, front.Photos())
	}
	for consent, pairs := range map[store.Consent]int{store.NotAsked: 1, store.PhotosYes: 1, store.PhotosFirm: 0, store.PhotosNo: 0} {
		o.must(o.db.SaveClient(t.Context(), store.Client{ID: "meadow", Name: "meadow", Photos: consent}))
		rec, err = history.Season(t.Context(), o.db, o.know, "meadow", 2026)
		o.must(err)
		if got := rec.Properties[0].Pairs; len(got) != pairs {
			t.Errorf("the client said %q, and %d zones have photos in the record", consent, len(got))
		}
	}
}

func TestSeasonWithoutRows(t *testing.T) {
	o := openOffice(t)
	for _, client := range []string{"quiet", "bare", "meadow"} {
		rec, err := history.Season(t.Context(), o.db, o.know, client, 2020)
		o.must(err)
		table := rec.Table(o.know)
		if rec.Client.ID != client || table.Rows == nil || len(table.Rows) != 0 || len(table.Columns) != 19 {
			t.Errorf("%s: %+v", client, table)
		}
		var out bytes.Buffer
		o.must(table.WriteCSV(&out))
		if !strings.HasPrefix(out.String(), "\uFEFFday,property,") || strings.Count(out.String(), "\n") != 1 {
			t.Errorf("%s: %q", client, out.String())
		}
	}
}

func TestSeasonOfNobody(t *testing.T) {
	o := openOffice(t)
	if _, err := history.Season(t.Context(), o.db, o.know, "nobody", 2026); store.KindOf(err) != store.NotFound {
		t.Errorf("got %v", err)
	}
	if _, err := history.PropertyHistory(t.Context(), o.db, o.know, "nowhere", 0); store.KindOf(err) != store.NotFound {
		t.Errorf("got %v", err)
	}
}

func TestSeasonOfFindingsThatCantBeTrue(t *testing.T) {
	o := openOffice(t)
	o.read("phone", "v1", "front", "tug_test", "firm")
	o.must(o.db.SaveDiagnosis(t.Context(), store.Diagnosis{ID: "d", Visit: "v1", Zone: "front", Edition: "e1", InputHash: "h", Made: o.at, Answer: []byte(`{"error":"They can't all be true."}`)}))
	rec, err := history.Season(t.Context(), o.db, o.know, "meadow", 2026)
	o.must(err)
	table := rec.Table(o.know)
	rows := find(table, map[string]string{"kind": "diagnosis"})
	if len(rows) != 1 || cell(table, rows[0], "reason").Text != "They can't all be true." {
		t.Errorf("rows %v", rows)
	}
}

func TestPropertyHistory(t *testing.T) {
	o := openOffice(t)
	o.fill()
	past, err := history.PropertyHistory(t.Context(), o.db, o.know, "home", 0)
	o.must(err)
	if len(past.Visits) != 3 || len(past.Ahead) != 0 || past.Visits[0].Day != "2025-06-02" || len(past.Zones) != 2 || past.Zones[0].Zone.Name != "Front" {
		t.Fatalf("past %+v", past)
	}
	front, back := past.Zones[0], past.Zones[1]
	if v := front.Visits[1]; !v.Seen || v.Verdict != "cause" || len(v.Leading) != 1 || v.Leading[0].ID != "white_grubs" || v.Leading[0].Percent.Steps != 80 {
		t.Errorf("front, second visit: %+v", v)
	}
	if !front.Visits[0].Seen || back.Visits[0].Seen {
		t.Error("a zone nobody saw is shown as seen")
	}
	if len(front.Lines) != 1 || len(back.Lines) != 1 {
		t.Fatalf("lines %+v, %+v", front.Lines, back.Lines)
	}
	thatch := front.Lines[0]
	if thatch.Check != "thatch_in" || thatch.Values[0] != nil || thatch.Values[1] == nil || *thatch.Values[1] != 0 || thatch.Values[2] != nil {
		t.Errorf("thatch in front: zero must not be missing: %+v", thatch)
	}
	if v := back.Lines[0].Values; v[1] != nil || v[2] == nil || *v[2] != 1 {
		t.Errorf("thatch in the back: %+v", v)
	}
}

// Zones made in the same millisecond stay in the order they were made, on the screen and in the sheet.
func TestZonesOfOneMomentKeepTheirOrder(t *testing.T) {
	o := openOffice(t)
	names := []string{"Verge", "Bank", "Terrace", "Apron"}
	for i, name := range names {
		o.must(o.db.AddZone(t.Context(), store.Zone{ID: fmt.Sprintf("z%d", 9-i), Property: "empty", Name: name}))
	}
	past, err := history.PropertyHistory(t.Context(), o.db, o.know, "empty", 0)
	o.must(err)
	var got []string
	for _, z := range past.Zones {
		got = append(got, z.Zone.Name)
	}
	if !slices.Equal(got, names) {
		t.Errorf("zones %v, made as %v", got, names)
	}
}
