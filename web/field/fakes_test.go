package field

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/route"
)

var noon = time.Date(2026, 8, 27, 12, 0, 0, 0, time.UTC)

// office is a small database in memory.
type office struct {
	mu       sync.Mutex
	epoch    string
	visits   []store.Visit
	readings map[string][]store.Reading
	rows     []store.FeedRow
	photos   map[string]store.Photo
	changed  int64
	asked    []string // the visits the last feed was asked for
	shed
}

func newOffice() *office {
	visit := func(id, crew, day string, order int, state store.VisitState) store.Visit {
		return store.Visit{ID: id, Property: "p1", Crew: crew, Day: day, Order: order, Why: "complaint", State: state}
	}
	return &office{
		epoch: "e1", photos: map[string]store.Photo{}, readings: map[string][]store.Reading{"v1": {{Seq: 4, ID: "r1", Visit: "v1", Zone: "z1", Check: "c1", Typed: "2"}}},
		visits: []store.Visit{
			visit("v1", "crew", "2026-08-27", 1, store.Planned), visit("v2", "other", "2026-08-27", 1, store.Planned),
			visit("v3", "", "2026-08-28", 1, store.Planned), visit("v4", "crew", "2026-08-20", 1, store.SentBack),
			visit("v5", "crew", "2026-08-19", 1, store.HandedIn), visit("h1", "other", "2026-07-01", 1, store.SignedOff),
			visit("h2", "other", "2026-06-01", 1, store.SignedOff), visit("h3", "other", "2026-05-01", 1, store.SignedOff),
		},
		rows: []store.FeedRow{{Seq: 1, ID: "a", Device: "d", Stamp: "s", Raw: []byte(`{"n":1}`)}, {Seq: 2, ID: "b", Device: "d", Stamp: "s", Raw: []byte(`{"n":`)}},
	}
}

func (o *office) Epoch(context.Context) (string, error) { return o.epoch, nil }
func (o *office) Seq(context.Context) (int64, error)    { return 9, nil }

// Changed counts every question as a change: this office says nothing of what is written.
func (o *office) Changed(...store.Mark) int64 {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.changed++
	return o.changed
}
func (o *office) Firm(context.Context) (store.Firm, error) {
	return store.Firm{Name: "Alder Lawns", Units: "us", Zone: "America/Chicago"}, nil
}

func (o *office) Feed(_ context.Context, since int64, limit int, visits []string) (store.FeedPage, error) {
	o.asked = visits
	page := store.FeedPage{Next: since}
	for _, row := range o.rows {
		if row.Seq > since && len(page.Rows) < limit {
			page.Rows, page.Next = append(page.Rows, row), row.Seq
		}
	}
	page.More = page.Next < int64(len(o.rows))
	return page, nil
}

func (o *office) Visits(_ context.Context, f store.VisitFilter) ([]store.Visit, error) {
	var list []store.Visit
	for _, v := range o.visits {
		if (f.FromDay == "" || v.Day >= f.FromDay) && (f.ToDay == "" || v.Day <= f.ToDay) && (f.Property == "" || v.Property == f.Property) {
			list = append(list, v)
		}
	}
	return list, nil
}

func (o *office) Property(context.Context, string) (store.Property, error) {
	return store.Property{ID: "p1", Client: "k1", Address: "14 Alder Rise"}, nil
}

func (o *office) Client(context.Context, string) (store.Client, error) {
	return store.Client{ID: "k1", Name: "Marsh", Phone: "555-0100", Email: "m@example.com"}, nil
}

func (o *office) Zones(context.Context, string) ([]store.Zone, error) {
	return []store.Zone{{ID: "z1", Property: "p1", Name: "Back lawn", AreaSqFt: 1200}}, nil
}

// Weather has a wet day outside of what is asked for, a dry one and one without a gauge among the wet.
func (o *office) Weather(_ context.Context, from, to string) (list []store.WeatherDay, err error) {
	rain := func(mm float64) *float64 { return &mm }
	for _, d := range []store.WeatherDay{{Day: "2026-01-01", Rain: rain(9)}, {Day: "2026-08-20", Rain: rain(0.9)}, {Day: "2026-08-24", Rain: rain(12.7)}, {Day: "2026-08-25"}, {Day: "2026-08-26", Rain: rain(1)}, {Day: "2027-01-01", Rain: rain(9)}} {
		if d.Day >= from && d.Day <= to {
			list = append(list, d)
		}
	}
	return list, nil
}

func (o *office) Readings(_ context.Context, visit string) ([]store.Reading, error) {
	return o.readings[visit], nil
}

func (o *office) LatestDiagnoses(_ context.Context, visit string) ([]store.Diagnosis, error) {
	if visit != "h1" {
		return nil, nil
	}
	return []store.Diagnosis{{Visit: visit, Zone: "z1", Answer: []byte(`{"verdict":"cause","causes":[{"id":"a","likelihood":0.6},{"id":"b"},{"id":"c"},{"id":"d"}]}`)}, {Visit: visit, Zone: "z2", Answer: []byte(`{`)}}, nil
}

func (o *office) PhotoState(_ context.Context, sha string) (store.Photo, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if p, ok := o.photos[sha]; ok {
		return p, nil
	}
	return store.Photo{}, store.Errorf(store.NotFound, "There is no such photo.")
}

func (o *office) PhotoDone(_ context.Context, p store.Photo) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.photos[p.SHA] = p
	return nil
}

func (o *office) PhotoList(context.Context) ([]store.Photo, error) { return nil, nil }

// door is an intake that answers as it is told and remembers what came.
type door struct {
	reply intake.Reply
	err   error
	got   []intake.Request
	from  []intake.Sender

	courses map[string]diagnose.Course
}

func (d *door) Courses(context.Context, store.Visit) (map[string]diagnose.Course, error) {
	return d.courses, nil
}

func (d *door) Push(_ context.Context, from intake.Sender, req intake.Request) (intake.Reply, error) {
	d.got, d.from = append(d.got, req), append(d.from, from)
	return d.reply, d.err
}

func known(k *knowledge.Loaded) func() *knowledge.Loaded {
	return func() *knowledge.Loaded { return k }
}

func catalogue() *knowledge.Loaded {
	text := func(s string) checks.Text { return checks.Text{EN: s, ES: s} }
	inch := checks.Unit{ID: "in", Label: text("in"), Mul: 1, Div: 1}
	cm := checks.Unit{ID: "cm", Label: text("cm"), Mul: 100, Div: 254}
	return &knowledge.Loaded{JSON: []byte(`{"format":1}`), Edition: "0123456789abcdef", Bundle: knowledge.Bundle{
		Sections: []knowledge.Section{{ID: "look", Label: text("Look")}, {ID: "soil", Label: text("Soil")}, {ID: "empty", Label: text("Empty")}},
		Checks: []checks.Check{
			{ID: "shape", Section: "look", Kind: checks.Choice, Label: text("Shape"), HowTo: text("Stand back."), Options: []checks.Option{{ID: "none", Label: text("None"), Drawing: "pattern-none"}, {ID: "rings", Label: text("Rings")}}},
			{ID: "marks", Section: "look", Kind: checks.Signs, Label: text("Marks"), None: "nothing", Options: []checks.Option{{ID: "nothing", Label: text("Nothing")}, {ID: "holes", Label: text("Holes")}}},
			{ID: "height", Section: "look", Kind: checks.Measure, Label: text("Height"), Units: []checks.Unit{inch, cm}, Minutes: 1.5, Tool: text("ruler")},
			{ID: "depth", Section: "soil", Kind: checks.Repeated, Label: text("Depth"), Units: []checks.Unit{inch}, Caution: text("Locate buried lines first.")},
			{ID: "bugs", Section: "soil", Kind: checks.Count, Label: text("Bugs"), Units: []checks.Unit{inch}},
			{ID: "words", Section: "soil", Kind: checks.Note, Label: text("Words")},
			{ID: "view", Section: "soil", Kind: checks.Photo, Label: text("View")},
			{ID: "gone", Section: "soil", Kind: checks.Note, Label: text("Gone"), Retired: true},
		},
	}}
}

// site is the phone's side behind what the real site does around it: the person, the audience, errors as JSON.
type site struct {
	office *office
	door   *door
	mux    *http.ServeMux
	know   *knowledge.Loaded // what counts now
	person store.Person
}

func newSite(t *testing.T) *site {
	t.Helper()
	dir, err := os.OpenRoot(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = dir.Close() })
	s := &site{office: newOffice(), door: &door{}, mux: http.NewServeMux(), know: catalogue(), person: store.Person{ID: "crew", Name: "Robin", Role: store.Crew, Lang: "en"}}
	f, err := New(Deps{DB: s.office, Intake: s.door, Photos: intake.NewPhotos(dir, s.office), Know: func() *knowledge.Loaded { return s.know }, Now: func() time.Time { return noon }})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range f.Routes() {
		pattern := line.Method + " " + line.Pattern
		if line.Pattern == "/field/" {
			pattern += "{$}"
		}
		s.mux.HandleFunc(pattern, s.guarded(line))
	}
	return s
}

func (s *site) guarded(line route.Route) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if s.person.ID != "" {
			r = r.WithContext(route.WithPerson(r.Context(), s.person))
		}
		err := line.Handler(w, r)
		if err == nil {
			return
		}
		statuses := map[store.Kind]int{store.SignIn: 401, store.NotFound: 404, store.TooLarge: 413, store.Outdated: 426, store.Busy: 503, store.Invalid: 422}
		status := statuses[store.KindOf(err)]
		if status == 0 {
			status = 500
		}
		_ = refuse(w, status, "error", err.Error())
	}
}

// ask sends one request; headers are name, value, name, value.
func (s *site) ask(t *testing.T, method, url, body string, headers ...string) *http.Response {
	t.Helper()
	r := httptest.NewRequest(method, url, strings.NewReader(body))
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.mux.ServeHTTP(w, r)
	return w.Result()
}

func text(t *testing.T, res *http.Response) string {
	t.Helper()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(body)
}

func wantStatus(t *testing.T, res *http.Response, want int) {
	t.Helper()
	if res.StatusCode != want {
		t.Fatalf("status %d, want %d: %s", res.StatusCode, want, text(t, res))
	}
}

func (o *office) PhotoGone(_ context.Context, sha string) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	delete(o.photos, sha)
	return nil
}

func (o *office) ErasedPhotos(context.Context) ([]string, error) { return nil, nil }
func (o *office) PhotoErased(context.Context, string) error      { return nil }
