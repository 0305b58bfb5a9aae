package field

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"swardbook/static"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/page"
	"swardbook/web/route"
)

const push = `{"proto":1,"app":"b","device":"d1","epoch":"e1","sent":"2026-08-27T09:00:00.000Z","ops":[{"n":1,"id":"a1"}]}`

func packed(t *testing.T, body string) string {
	t.Helper()
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	if _, err := z.Write([]byte(body)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestPushStatuses(t *testing.T) {
	zipped := packed(t, push)
	bomb := packed(t, `{"proto":1,"device":"d","ops":[`+strings.Repeat(" ", intake.MaxBytes+10)+`]}`)
	for name, c := range map[string]struct {
		body    string
		headers []string
		door    door
		want    int
		error   string
	}{
		"whole":              {body: push, door: door{reply: intake.Reply{Epoch: "e1", Through: 1, Seq: 3, Now: noon}}, want: 200},
		"packed":             {body: zipped, headers: []string{"Content-Encoding", "gzip"}, want: 200},
		"a hole":             {body: push, door: door{reply: intake.Reply{Through: 0, Hole: true}}, want: 409},
		"a fork":             {body: push, door: door{reply: intake.Reply{Fork: true}}, want: 409},
		"not JSON":           {body: push, headers: []string{"Content-Type", "text/plain"}, want: 415, error: "media_type"},
		"unknown packing":    {body: push, headers: []string{"Content-Encoding", "br"}, want: 415, error: "media_type"},
		"half a body":        {body: push[:60], want: 400, error: "malformed"},
		"half a packed body": {body: zipped[:len(zipped)-12], headers: []string{"Content-Encoding", "gzip"}, want: 400, error: "malformed"},
		"not packed at all":  {body: push, headers: []string{"Content-Encoding", "gzip"}, want: 400, error: "malformed"},
		"no form of a push":  {body: `[]`, want: 400, error: "malformed"},
		"too long":           {body: strings.Repeat(" ", intake.MaxBytes+1), want: 413, error: "too_large"},
		"too long unpacked":  {body: bomb, headers: []string{"Content-Encoding", "gzip"}, want: 413, error: "error"},
		"too old":            {body: strings.Replace(push, `"proto":1`, `"proto":0`, 1), want: 426, error: "error"},
		"busy":               {body: push, door: door{err: store.Errorf(store.Busy, "Busy.")}, want: 503, error: "error"},
		"a fault of ours":    {body: push, door: door{err: errors.New("disk")}, want: 500, error: "error"},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			*s.door = c.door
			headers := append([]string{"Content-Type", "application/json; charset=utf-8"}, c.headers...)
			res := s.ask(t, "POST", "/api/v1/ops", c.body, headers...)
			wantStatus(t, res, c.want)
			var got struct{ Error, Say string }
			if err := json.Unmarshal([]byte(text(t, res)), &got); err != nil {
				t.Fatalf("the answer is not JSON: %v", err)
			}
			if got.Error != c.error || c.error != "" && got.Say == "" {
				t.Errorf("error %q say %q, want %q", got.Error, got.Say, c.error)
			}
			if res.Header.Get("Cache-Control") != "no-store" {
				t.Error("an answer of sync may be kept by a cache")
			}
		})
	}
}

func TestPushHandsOverWhatCame(t *testing.T) {
	s := newSite(t)
	wantStatus(t, s.ask(t, "POST", "/api/v1/ops", packed(t, push), "Content-Type", "application/json", "Content-Encoding", "gzip", "User-Agent", "phone"), 200)
	if len(s.door.got) != 1 || string(s.door.got[0].Ops[0].Raw) != `{"n":1,"id":"a1"}` {
		t.Fatalf("handed over %+v", s.door.got)
	}
	if from := s.door.from[0]; from.Person.ID != "crew" || from.Agent != "phone" {
		t.Errorf("sender %+v", from)
	}
}

func TestSignInIsAskedInJSON(t *testing.T) {
	s := newSite(t)
	s.person = store.Person{}
	for _, c := range [][2]string{{"POST", "/api/v1/ops"}, {"GET", "/api/v1/pack"}, {"GET", "/api/v1/me"}, {"GET", "/api/v1/feed"}} {
		res := s.ask(t, c[0], c[1], push, "Content-Type", "application/json")
		wantStatus(t, res, 401)
		if res.Header.Get("Content-Type") != "application/json" {
			t.Errorf("%s: %s", c[1], res.Header.Get("Content-Type"))
		}
	}
}

func TestAudiences(t *testing.T) {
	s := newSite(t)
	f, err := New(Deps{DB: s.office, Intake: s.door, Know: known(catalogue())})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range f.Routes() {
		want := route.Anyone
		if strings.HasPrefix(line.Pattern, "/api/") {
			want = route.Crew
		}
		if line.Audience != want {
			t.Errorf("%s %s is for %s", line.Method, line.Pattern, line.Audience)
		}
	}
}

func TestPack(t *testing.T) {
	s := newSite(t)
	res := s.ask(t, "GET", "/api/v1/pack", "")
	wantStatus(t, res, 200)
	body := text(t, res)
	var p Packet
	if err := json.Unmarshal([]byte(body), &p); err != nil {
		t.Fatal(err)
	}
	ids := []string{}
	for _, v := range p.Visits {
		ids = append(ids, v.ID)
	}
	if got, want := fmt.Sprint(ids), "[v1 v4 v5 h1]"; got != want {
		t.Errorf("visits %s, want the own ones, the open one and the last three before: %s", got, want)
	}
	if fmt.Sprint(p.Days) != "[2026-08-27 2026-08-28]" || p.Epoch != "e1" || p.Seq != 9 || p.Person.Name != "Robin" || p.Edition != "0123456789abcdef" {
		t.Errorf("packet %+v", p)
	}
	if len(p.Properties) != 1 || len(p.Clients) != 1 || len(p.Zones) != 1 || len(p.Readings) != 1 {
		t.Errorf("%d properties, %d clients, %d zones, %d readings", len(p.Properties), len(p.Clients), len(p.Zones), len(p.Readings))
	}
	if len(p.Diagnoses) != 2 || len(p.Diagnoses[0].Causes) != 3 || len(p.Diagnoses[1].Causes) != 0 {
		t.Errorf("diagnoses %+v", p.Diagnoses)
	}
	if got, want := fmt.Sprint(p.Rain), "[{2026-08-24 12.7} {2026-08-26 1}]"; got != want {
		t.Errorf("rain %s, want the wet days of the last ten: %s", got, want)
	}
	if strings.Contains(body, "555-0100") || strings.Contains(body, "example.com") || strings.Contains(body, "null") {
		t.Error("the packet holds a client's contacts, or null")
	}
}

func TestPackTag(t *testing.T) {
	s := newSite(t)
	tag := s.ask(t, "GET", "/api/v1/pack", "").Header.Get("ETag")
	wantStatus(t, s.ask(t, "GET", "/api/v1/pack", "", "If-None-Match", tag), 304)
	s.office.visits[0].State = store.UnderWay
	wantStatus(t, s.ask(t, "GET", "/api/v1/pack", "", "If-None-Match", tag), 200)
}

func TestManagersSeeWhatNobodyHas(t *testing.T) {
	s := newSite(t)
	s.person = store.Person{ID: "boss", Role: store.Manager}
	var p Packet
	if err := json.Unmarshal([]byte(text(t, s.ask(t, "GET", "/api/v1/pack", ""))), &p); err != nil {
		t.Fatal(err)
	}
	if p.Visits[0].ID != "v3" {
		t.Errorf("visits %+v", p.Visits)
	}
}

func TestDaysAreTheFirms(t *testing.T) {
	late := noon.Add(-9 * 3600e9) // 03:00 UTC is still the day before in Chicago
	if got := daysOf(late, "America/Chicago"); got[0] != "2026-08-26" {
		t.Errorf("days %v", got)
	}
	if got := daysOf(late, "Nowhere/At_All"); got[0] != "2026-08-27" {
		t.Errorf("days %v", got)
	}
}

func TestFeed(t *testing.T) {
	s := newSite(t)
	var page FeedPage
	read := func(url string) {
		t.Helper()
		res := s.ask(t, "GET", url, "")
		wantStatus(t, res, 200)
		if err := json.Unmarshal([]byte(text(t, res)), &page); err != nil {
			t.Fatal(err)
		}
	}
	read("/api/v1/feed?epoch=e1&since=0&limit=1")
	if len(page.Rows) != 1 || !page.More || page.Next != 1 || string(page.Rows[0].Op) != `{"n":1}` || page.Gone == nil {
		t.Errorf("page %+v", page)
	}
	if fmt.Sprint(s.office.asked) != "[v1 v4]" {
		t.Errorf("asked for visits %v", s.office.asked)
	}
	read("/api/v1/feed?epoch=e1&since=1")
	if len(page.Rows) != 1 || page.More || string(page.Rows[0].Op) != "null" {
		t.Errorf("a row that is not JSON: %+v", page)
	}
	read("/api/v1/feed?epoch=another&since=2")
	if len(page.Rows) != 2 {
		t.Errorf("another epoch begins anew, got %+v", page)
	}
	for _, bad := range []string{"since=-1", "since=x", "limit=0", "limit=x"} {
		wantStatus(t, s.ask(t, "GET", "/api/v1/feed?"+bad, ""), 400)
	}
}

func TestPhotos(t *testing.T) {
	s := newSite(t)
	photo := "\xff\xd8\xff\xe0" + strings.Repeat("x", 1000)
	sum := sha256.Sum256([]byte(photo))
	url := "/api/v1/photos/" + hex.EncodeToString(sum[:])
	piece := func(offset int, body string) *http.Response {
		return s.ask(t, "PATCH", url, body, "Content-Type", "application/partial-upload", "Upload-Offset", fmt.Sprint(offset), "Upload-Length", fmt.Sprint(len(photo)), "Upload-Media-Type", "image/jpeg")
	}
	stands := func(res *http.Response, status int, offset, complete string) {
		t.Helper()
		wantStatus(t, res, status)
		if got := res.Header.Get("Upload-Offset") + " " + res.Header.Get("Upload-Complete"); got != strings.TrimSpace(offset+" "+complete) && got != offset+" "+complete {
			t.Fatalf("offset and complete: %q, want %q %q", got, offset, complete)
		}
	}
	stands(s.ask(t, "HEAD", url, ""), 204, "0", "?0")
	stands(piece(0, photo[:400]), 204, "400", "?0")
	stands(piece(0, photo[:400]), 409, "400", "")
	stands(s.ask(t, "HEAD", url, ""), 204, "400", "?0")
	wantStatus(t, s.ask(t, "GET", url, ""), 404)
	stands(piece(400, photo[400:]), 204, "1004", "?1")
	stands(piece(400, photo[400:]), 204, "1004", "?1")
	stands(s.ask(t, "HEAD", url, ""), 204, "1004", "?1")
	res := s.ask(t, "GET", url, "")
	wantStatus(t, res, 200)
	if text(t, res) != photo || res.Header.Get("Content-Type") != "image/jpeg" || !strings.Contains(res.Header.Get("Cache-Control"), "immutable") {
		t.Errorf("photo came as %v", res.Header)
	}
	damaged := strings.Replace(url, url[len(url)-4:], "0000", 1)
	res = s.ask(t, "PATCH", damaged, photo, "Content-Type", "application/partial-upload", "Upload-Offset", "0", "Upload-Length", fmt.Sprint(len(photo)))
	stands(res, 422, "0", "")
}

func TestPhotoFaults(t *testing.T) {
	s := newSite(t)
	url := "/api/v1/photos/" + strings.Repeat("a", 64)
	ok := []string{"Content-Type", "application/partial-upload", "Upload-Offset", "0", "Upload-Length", "10"}
	for name, c := range map[string]struct {
		url     string
		headers []string
		want    int
	}{
		"not a piece":     {url, append(append([]string{}, ok...), "Content-Type", "image/jpeg"), 415},
		"no offset":       {url, ok[:2], 400},
		"negative offset": {url, append(append([]string{}, ok...), "Upload-Offset", "-1"), 400},
		"not a name":      {"/api/v1/photos/abc", ok, 400},
		"too large":       {url, append(append([]string{}, ok...), "Upload-Length", "999999999"), 413},
	} {
		t.Run(name, func(t *testing.T) { wantStatus(t, s.ask(t, "PATCH", c.url, "x", c.headers...), c.want) })
	}
	wantStatus(t, s.ask(t, "HEAD", "/api/v1/photos/abc", ""), 400)
	wantStatus(t, s.ask(t, "GET", "/api/v1/photos/abc", ""), 404)
}

func TestKnowledgeAndMe(t *testing.T) {
	s := newSite(t)
	res := s.ask(t, "GET", "/api/v1/knowledge.json", "")
	wantStatus(t, res, 200)
	if res.Header.Get("ETag") != `"0123456789abcdef"` || text(t, res) != `{"format":1}` {
		t.Error("the knowledge is not the bundle's own bytes under its edition")
	}
	wantStatus(t, s.ask(t, "GET", "/api/v1/knowledge.json", "", "If-None-Match", `"0123456789abcdef"`), 304)
	if got := text(t, s.ask(t, "GET", "/api/v1/me", "")); got != `{"id":"crew","name":"Robin","role":"crew","lang":"en"}`+"\n" {
		t.Errorf("me %s", got)
	}
}

// TestKnowledgeThatChangesReachesPhones holds that other rates are new bytes under the same pages, and other checks other pages.
func TestKnowledgeThatChangesReachesPhones(t *testing.T) {
	s := newSite(t)
	version := func() string {
		t.Helper()
		var rel release
		if err := json.Unmarshal([]byte(text(t, s.ask(t, "GET", "/field/release.json", ""))), &rel); err != nil {
			t.Fatal(err)
		}
		return rel.Version
	}
	first := version()
	learned := catalogue()
	learned.Edition, learned.JSON = "fedcba9876543210", []byte(`{"format":2}`)
	s.know = learned
	res := s.ask(t, "GET", "/api/v1/knowledge.json", "", "If-None-Match", `"0123456789abcdef"`)
	wantStatus(t, res, 200)
	if res.Header.Get("ETag") != `"fedcba9876543210"` || text(t, res) != `{"format":2}` {
		t.Error("phones get the knowledge of before")
	}
	if !strings.Contains(text(t, s.ask(t, "GET", "/api/v1/pack", "")), `"edition":"fedcba9876543210"`) {
		t.Error("the day packet names the edition of before")
	}
	if version() != first {
		t.Error("the same pages are another release")
	}
	other := catalogue()
	other.Bundle.Sections[0].Label.EN = "See"
	s.know = other
	if version() == first || !strings.Contains(text(t, s.ask(t, "GET", "/field/zone", "")), "See") {
		t.Error("the pages of other checks are not handed out")
	}
	if worker := text(t, s.ask(t, "GET", "/sw.js", "")); !strings.Contains(worker, version()) {
		t.Error("the worker keeps another release")
	}
}

func TestReleaseHoldsEverythingTheShellsLoad(t *testing.T) {
	s := newSite(t)
	var rel release
	if err := json.Unmarshal([]byte(text(t, s.ask(t, "GET", "/field/release.json", ""))), &rel); err != nil {
		t.Fatal(err)
	}
	have := map[string]File{}
	for _, f := range rel.Files {
		have[f.URL] = f
		if f.Type == "" || len(f.SHA256) != 64 {
			t.Errorf("%+v", f)
		}
	}
	asset := regexp.MustCompile(`(?:src|href)="(/static/[^"#]+|/manifest[^"]+)`)
	for _, shell := range []string{"/field/", "/field/visit", "/field/zone", "/field/unsent"} {
		res := s.ask(t, "GET", shell+"?visit=1", "")
		wantStatus(t, res, 200)
		body := text(t, res)
		sum := sha256.Sum256([]byte(body))
		if have[shell].SHA256 != hex.EncodeToString(sum[:]) || have[shell].Type != "text/html" {
			t.Errorf("%s is not what the release lists", shell)
		}
		if !strings.Contains(body, `data-build="`+rel.Version+`"`) {
			t.Errorf("%s does not carry its build", shell)
		}
		for _, m := range asset.FindAllStringSubmatch(body, -1) {
			if _, ok := have[m[1]]; !ok {
				t.Errorf("%s loads %s, which is not in the release", shell, m[1])
			}
		}
		wantStatus(t, s.ask(t, "GET", shell, "", "If-None-Match", res.Header.Get("ETag")), 304)
	}
	for url := range have {
		if strings.HasPrefix(url, "/api/") {
			t.Errorf("%s must never be kept", url)
		}
	}
	manifest := s.ask(t, "GET", "/manifest.webmanifest", "")
	wantStatus(t, manifest, 200)
	var m struct {
		Display   string `json:"display"`
		Start     string `json:"start_url"`
		Icons     []struct{ Src, Sizes string }
		Shortcuts []struct{ Name, URL string }
	}
	if err := json.NewDecoder(manifest.Body).Decode(&m); err != nil || m.Display != "standalone" || m.Start != "/field/" || len(m.Icons) == 0 || len(m.Shortcuts) == 0 || m.Shortcuts[0].URL != "/field/" {
		t.Errorf("the manifest does not make it a thing of the home screen: %+v %v", m, err)
	}
}

func TestReleaseFollowsImports(t *testing.T) {
	files := fstest.MapFS{
		"js/a.js": {Data: []byte("import { x } from './b.js';\nexport { y } from './c.js';\n")},
		"js/b.js": {Data: []byte("import {\n  z,\n} from './c.js';\n")}, "js/c.js": {Data: []byte("import './a.js';\n")}, "js/d.js": {},
	}
	got, err := imported(files, []string{"a.js"}, imports)
	if err != nil || fmt.Sprint(got) != "[js/a.js js/b.js js/c.js]" {
		t.Errorf("%v %v", got, err)
	}
	if _, err := imported(files, []string{"gone.js"}, imports); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing module: %v", err)
	}
}

// changed is the embedded files with one of them replaced.
type changed struct {
	fs.FS
	name string
	body []byte
}

func (c changed) Open(name string) (fs.File, error) {
	if name == c.name {
		return fstest.MapFS{name: {Data: c.body}}.Open(name)
	}
	return c.FS.Open(name)
}

func TestEveryChangeIsAnotherVersion(t *testing.T) {
	words, err := page.LoadWords("en")
	if err != nil {
		t.Fatal(err)
	}
	version := func(files fs.FS, say string) string {
		know := catalogue()
		know.Bundle.Sections[0].Label.EN = say
		rel, err := newRelease(files, know.Bundle, []page.Words{words})
		if err != nil {
			t.Fatal(err)
		}
		return rel.Version
	}
	first := version(static.FS, "Look")
	if first != version(static.FS, "Look") {
		t.Error("the same files are another version")
	}
	if first == version(static.FS, "See") || first == version(changed{static.FS, "js/ids.js", []byte("//")}, "Look") {
		t.Error("other files are the same version")
	}
}

func TestWorker(t *testing.T) {
	s := newSite(t)
	res := s.ask(t, "GET", "/sw.js", "")
	wantStatus(t, res, 200)
	if res.Header.Get("Cache-Control") != "no-cache" || !strings.HasPrefix(res.Header.Get("Content-Type"), "text/javascript") {
		t.Errorf("headers %v", res.Header)
	}
	body := text(t, res)
	if !strings.HasPrefix(body, `const RELEASE = {"version":"`) || !strings.Contains(body, "addEventListener('install'") {
		t.Errorf("worker begins %.60s", body)
	}
	pass, err := workerOf(static.FS, release{}, true)
	if err != nil || bytes.Contains(pass, []byte("'fetch'")) || bytes.Contains(pass, []byte("indexedDB")) {
		t.Errorf("the worker that lets everything through does more than that: %v", err)
	}
}

func TestZoneFormHasAControlForEveryKind(t *testing.T) {
	body := text(t, newSite(t).ask(t, "GET", "/field/zone", ""))
	for _, want := range []string{
		`data-check="shape" data-kind="choice"`, `type="radio" name="shape" value="rings"`, `type="radio" name="shape" value="" checked`,
		`type="checkbox" name="marks" value="holes"`, `data-only data-none="nothing"`, `inputmode="decimal" name="height"`,
		`name="height.unit" value="cm"`, `aria-label="Depth, in"`, `data-kind="count"`, `<textarea class="typed" name="words"`,
		`type="file" accept="image/*" capture="environment" name="view"`, `draw.svg#pattern-none`, "Locate buried lines first.",
	} {
		if !strings.Contains(body, want) {
			t.Errorf("the form lacks %s", want)
		}
	}
	for _, not := range []string{`value="nothing"`, "Gone", "Empty", " style=", "onclick", "<script>"} {
		if strings.Contains(body, not) {
			t.Errorf("the form holds %s", not)
		}
	}
}

func TestEveryDrawingExists(t *testing.T) {
	sprite, err := static.FS.ReadFile("img/draw.svg")
	if err != nil {
		t.Fatal(err)
	}
	s := newSite(t)
	used := regexp.MustCompile(`draw\.svg#([\w-]+)`)
	for _, shell := range []string{"/field/", "/field/visit", "/field/zone", "/field/unsent"} {
		for _, m := range used.FindAllStringSubmatch(text(t, s.ask(t, "GET", shell, "")), -1) {
			if !bytes.Contains(sprite, []byte(`id="`+m[1]+`"`)) {
				t.Errorf("%s shows %s, which is not drawn", shell, m[1])
			}
		}
	}
}
