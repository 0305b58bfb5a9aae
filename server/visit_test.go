package main

import (
	"bytes"
	"context"
	"database/sql"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	_ "modernc.org/sqlite"
)

var update = flag.Bool("update", false, "write the golden files anew")

// august is where the clock of the tests begins: the season of the day must not change what is diagnosed.
const august = "2026-08-27T10:00:00-04:00"

// office is the real binary on a port and a data folder of its own.
type office struct {
	t            testing.TB
	binary, data string
	fromNothing  bool // let the program itself fill its folder, else it begins with a copy of a filled one
	addr         string
	cmd          *exec.Cmd
	log          bytes.Buffer
}

func buildOffice(t testing.TB) *office {
	t.Helper()
	binary, err := program()
	if err != nil {
		t.Fatal(err)
	}
	o := &office{t: t, binary: binary, data: filepath.Join(t.TempDir(), "data")}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	o.addr = l.Addr().String()
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	return o
}

func (o *office) url(path string) string { return "http://" + o.addr + path }

func (o *office) start() {
	o.t.Helper()
	if !o.fromNothing {
		o.layIn()
	}
	o.cmd = exec.Command(o.binary, "-demo", "-quiet", "-clock", august, "-addr", o.addr, "-data", o.data)
	o.cmd.Stdout, o.cmd.Stderr = &o.log, &o.log
	if err := o.cmd.Start(); err != nil {
		o.t.Fatal(err)
	}
	o.t.Cleanup(o.stop)
	waitFor(o.t, "the office", 30*time.Second, func() (bool, bool) { return true, o.listens() })
}

func (o *office) listens() bool {
	c, err := net.DialTimeout("tcp", o.addr, time.Second)
	if err == nil {
		_ = c.Close()
	}
	return err == nil
}

// stop ends the office as Ctrl-C does; a fault on the way out fails the test.
func (o *office) stop() {
	if o.cmd == nil {
		return
	}
	if err := o.cmd.Process.Signal(syscall.SIGINT); err != nil {
		o.t.Error(err)
	}
	if err := o.cmd.Wait(); err != nil {
		o.t.Errorf("the office ended badly: %v\n%s", err, o.log.String())
	}
	o.cmd = nil
	if o.listens() {
		o.t.Fatal("something still listens on the port")
	}
}

// answer is what a crew member gives to one check: the marks to press, or the numbers or words to type.
type answer struct {
	check string
	press []string
	typed []string
	want  string // the text of the record
	unit  string // chosen before typing; "" the check's own
}

func pressed(check string, options ...string) answer {
	return answer{check: check, press: options, want: strings.Join(options, " ")}
}

func typed(check, want string, parts ...string) answer {
	return answer{check: check, typed: parts, want: want}
}

func metric(check, want string, parts ...string) answer {
	return answer{check: check, typed: parts, want: want, unit: "cm"}
}

// walk is what is recorded in each zone, zone by zone in the order of the walk.
var walk = []struct {
	zone    string
	area    string // set for a zone that the office does not know
	photo   bool
	answers []answer
}{
	{zone: "Front lawn", answers: []answer{
		pressed("pattern", "none"), pressed("edge_shape", "none"), pressed("colour", "green"), pressed("species", "mix"), pressed("site_event", "dog_uses_area"),
		typed("sun_hours", "7.5", "7.5"), typed("mow_height_in", "3 1/4", "3 1/4"), pressed("indicator_plants", "low_n_weeds"), typed("weed_cover_pct", "8", "8"),
		pressed("tug_test", "firm"), typed("core_depth_in", "6; 6 1/2; 7; 6", "6", "6 1/2", "7", "6"), pressed("moisture_profile", "even_moist"), pressed("puddle_time", "none"),
		typed("thatch_in", "0.4", "0.4"), typed("grubs_sqft", "0", "0"), typed("note", "Looks as it should.", "Looks as it should."),
	}},
	{zone: "Back lawn", photo: true, answers: []answer{
		pressed("pattern", "irregular_patches"), pressed("edge_shape", "smooth_rounded"), pressed("colour", "brown"), pressed("species", "kbg"), pressed("site_event", "sod_2_to_5_years"),
		typed("sun_hours", "9", "9"), typed("mow_height_in", "3", "3"), pressed("indicator_plants", "hot_thin_weeds"), typed("weed_cover_pct", "12", "12"),
		pressed("tug_test", "firm"), typed("core_depth_in", "2; 2 1/2; 7; 7,5", "2", "2 1/2", "7", "7,5"), pressed("moisture_profile", "dry_all"), pressed("puddle_time", "none"),
		typed("thatch_in", "0.4; 0.5", "0.4", "0.5"), typed("grubs_sqft", "2; 1", "2", "1"), typed("note", "Head by the shed throws into the fence.", "Head by the shed throws into the fence."),
	}},
	{zone: "Strip behind the shed", area: "310", answers: []answer{
		pressed("pattern", "shade_outline"), pressed("edge_shape", "gradual"), pressed("colour", "green"), pressed("species", "kbg"), pressed("site_event", "heavy_traffic"),
		typed("sun_hours", "2", "2"), typed("mow_height_in", "2", "2"), pressed("indicator_plants", "shade_weeds", "moss_algae"), typed("weed_cover_pct", "25", "25"),
		pressed("tug_test", "firm"), metric("core_depth_in", "12; 13; 13,5; 12 cm", "12", "13", "13,5", "12"), pressed("moisture_profile", "even_moist"), pressed("puddle_time", "slow"),
		typed("thatch_in", "0.3", "0.3"), typed("grubs_sqft", "1", "1"), typed("note", "Mower turns here.", "Mower turns here."),
	}},
}

// TestOneVisit is the main job from end to end: recorded without an office, through a browser that dies, to the season record.
func TestOneVisit(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.fromNothing = true
	o.start()
	profile := t.TempDir()
	b := startBrowser(t, profile, august)
	phone := b.open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the day sheet", `document.body.innerText.includes("14 Alder Rise")`)
	phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
	o.stop()

	phone.goTo(o.url("/field/"))
	phone.waitUntil("the day sheet without an office", `document.body.innerText.includes("14 Alder Rise")`)
	phone.eval(`[...document.querySelectorAll("a.row-link")].find(a => a.innerText.includes("14 Alder Rise")).click()`, nil)
	phone.waitUntil("the cautions", `document.querySelector("[data-cautions]")?.innerText.includes("cable")`)
	phone.click("[data-side] .go")
	recorded := 1
	for _, z := range walk {
		if z.area != "" {
			phone.fill(`[data-add] [name="name"]`, z.zone)
			phone.fill(`[data-add] [name="area"]`, z.area)
			phone.click(`[data-add] [type="submit"]`)
			recorded++
		}
		recorded += recordZone(t, phone, z.zone, z.photo, z.answers)
	}
	phone.click("[data-hand] .go")
	phone.click("[data-sure]")
	recorded++
	phone.waitUntil("the foot line to count", fmt.Sprintf(`document.querySelector("[data-kept]").innerText.includes("%d ")`, recorded))
	if foot := phone.text("[data-kept]") + phone.text("[data-received]"); !strings.Contains(foot, "kept on this phone") || strings.Contains(foot, "All") {
		t.Fatalf("the foot line without an office says %q", foot)
	}
	b.kill()

	b = startBrowser(t, profile, august)
	o.start()
	phone = b.open(390, 844, false, o.url("/field/"))
	// A browser writes its cookies down every half minute only: a killed one may have to be signed in again before it sends.
	phone.waitUntil("the office's word", `/All .* received by the office|Sign in to send/.test(document.body.innerText)`)
	if strings.Contains(phone.text("body"), "Sign in to send") {
		phone.goTo(o.url("/sign-in?next=/field/"))
		phone.signIn("Jonah", "meadow-walk-3")
	}
	phone.waitUntil("received by the office", `/All .* received by the office/.test(document.querySelector("[data-kept]")?.innerText ?? "")`)
	phone.waitUntil("the photo too", `!/photo/.test(document.querySelector("[data-received]")?.innerText ?? "")`)
	checkRows(t, o, recorded)

	manager := startBrowser(t, t.TempDir(), august)
	desk := manager.open(1440, 900, false, o.url("/sign-in?next=/desk/"))
	desk.signIn("Tamsin", "thistle-desk-7")
	overruleAndSignOff(t, desk)
	desk.eval(`fetch("/sign-out", {method: "POST"}).then(r => r.status)`, nil)
	desk.goTo(o.url("/sign-in?next=/desk/clients"))
	desk.signIn("Iris", "elder-gate-41")
	compareSeason(t, desk)
}

// TestNoPhotosWhereTheClientWantsNone: what the desk was told reaches the phone with the day sheet; a form takes no photo, and takes them again.
func TestNoPhotosWhereTheClientWantsNone(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	phone := startBrowser(t, t.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.press("a.row-link", "14 Alder Rise")
	phone.click("[data-side] .go")
	phone.press("a", "Back lawn")
	phone.waitUntil("a camera", `document.querySelector("#check-photo [data-camera]")?.hidden === false`)
	var form string
	phone.eval(`location.href`, &form)
	desk := startBrowser(t, t.TempDir(), august).open(1440, 900, false, o.url("/sign-in?next=%2Fdesk%2Ffind%3Fq%3D14%2Balder"))
	desk.signIn("Tamsin", "thistle-desk-7")
	desk.press("a", "14 Alder Rise")
	desk.waitUntil("the property", `location.pathname.startsWith("/desk/properties/")`)
	desk.eval(`document.querySelector("main a[href^='/desk/clients/']").click()`, nil)
	for said, hidden := range map[string]bool{"no": true, "firm": false} {
		desk.waitUntil("the client", `/^.desk.clients.[^/]+$/.test(location.pathname) && document.querySelector("a[href$='/change']")`)
		desk.eval(`document.querySelector("a[href$='/change']").click()`, nil)
		desk.waitUntil("the form", `document.querySelector("[name=photos]")`)
		desk.eval(`document.querySelector("[name=photos][value=`+said+`]").click()`, nil)
		desk.keepPicture(t, "consent-desk-"+said+".png")
		desk.eval(`document.querySelector("form.narrow").requestSubmit()`, nil)
		desk.waitUntil("it is saved", `document.querySelector("[role=status]")`)
		desk.keepPicture(t, "consent-client-"+said+".png")
		phone.goTo(o.url("/field/"))
		phone.waitUntil("the day sheet of just now", `(async () => {
			const open = indexedDB.open("swardbook");
			await new Promise((r) => { open.onsuccess = r; });
			const get = open.result.transaction("pack").objectStore("pack").get("packet");
			await new Promise((r) => { get.onsuccess = r; });
			open.result.close();
			return get.result.body.clients.some((c) => c.photos === "`+said+`");
		})()`)
		phone.goTo(form)
		phone.waitUntil("the camera", fmt.Sprintf(`document.querySelector("#check-photo [data-camera]")?.hidden === %t && document.querySelector("#check-photo [data-refused]").hidden === %t`, hidden, !hidden))
		phone.eval(`(() => { const box = document.querySelector("#check-photo"); box.closest("details").open = true; box.scrollIntoView(); })()`, nil)
		phone.keepPicture(t, "consent-phone-"+said+".png")
	}
}

func (tb *tab) signIn(name, passcode string) {
	tb.t.Helper()
	tb.fill(`[name="name"]`, name)
	tb.fill(`[name="passcode"]`, passcode)
	tb.eval(`document.querySelector("form[action='/sign-in']").requestSubmit()`, nil)
	tb.waitUntil("signed in as "+name, `location.pathname !== "/sign-in"`)
}

// recordZone opens a zone from the visit's page, answers its checks, looks at what the phone thinks, and goes back.
// It returns how many records it made.
func recordZone(t *testing.T, phone *tab, zone string, photo bool, answers []answer) (records int) {
	t.Helper()
	link := fmt.Sprintf(`[...document.querySelectorAll("[data-zones] a.row-link")].find(a => a.innerText.includes(%q))`, zone)
	phone.waitUntil("zone "+zone, link)
	phone.eval(link+`.click()`, nil)
	phone.waitUntil("the form of "+zone, `document.querySelector("[data-form]") && !document.querySelector("[data-form]").inert`)
	for _, a := range answers {
		box := "#check-" + a.check
		for _, option := range a.press {
			phone.click(fmt.Sprintf(`%s input[value="%s"]`, box, option))
			phone.waitKept(box)
			records++
		}
		if a.unit != "" {
			phone.click(fmt.Sprintf(`%s input[data-unit][value="%s"]`, box, a.unit))
		}
		for _, part := range a.typed {
			phone.fill(box+" .typed", part)
			if strings.Contains(a.want, ";") {
				phone.click(box + " [data-add-one]")
			}
			phone.waitKept(box)
			records++
		}
	}
	if photo {
		phone.do("photo", chromedp.SetUploadFiles(chromedp.CSS("#check-photo input[type=file]"), []string{cameraFile(t)}))
		phone.waitKept("#check-photo")
		records++
	}
	phone.waitUntil("causes without an office", `document.querySelector("[data-sofar]").innerText.length > 40`)
	if zone == "Back lawn" {
		if text := phone.text("[data-sofar]"); !regexp.MustCompile(`(?s)Sprinklers.*%.*min`).MatchString(text) {
			t.Errorf("%s: the phone says %q", zone, text)
		}
	}
	phone.eval(`history.back()`, nil)
	phone.waitUntil("the visit's page", `location.pathname === "/field/visit" && document.querySelector("[data-zones] a.row-link")`)
	return records
}

// waitKept waits until the state at the control says that the answer is kept.
func (tb *tab) waitKept(box string) {
	tb.t.Helper()
	tb.waitUntil(box+" kept", fmt.Sprintf(`document.querySelector(%q) && !document.querySelector(%q)`, box+" .said.kept", box+" .said.going"))
}

// cameraFile writes a picture such as a camera gives.
func cameraFile(t *testing.T) string {
	t.Helper()
	im := image.NewRGBA(image.Rect(0, 0, 2400, 1800))
	for y := range 1800 {
		for x := range 2400 {
			im.SetRGBA(x, y, color.RGBA{uint8(40 + x*7%60), uint8(100 + y*11%70), 40, 255})
		}
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, im, nil); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "camera.jpg")
	if err := os.WriteFile(path, out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// checkRows reads the office's database beside the running office: every record of the phone once, numbers without a hole.
func checkRows(t *testing.T, o *office, recorded int) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(o.data, "swardbook.db")+"?mode=ro")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	ctx := context.Background()
	var device string
	var rows, distinct, last, through int
	err = db.QueryRowContext(ctx, `SELECT o.device, count(*), count(DISTINCT o.id), max(o.n), d.through FROM ops o JOIN devices d ON d.id = o.device
		WHERE d.agent LIKE 'Mozilla%' GROUP BY o.device`).Scan(&device, &rows, &distinct, &last, &through)
	if err != nil {
		t.Fatal(err)
	}
	if rows != distinct || rows != last || rows != through || rows != recorded {
		t.Errorf("%d rows, %d ids, last number %d, known through %d; the phone recorded %d", rows, distinct, last, through, recorded)
	}
	var aside string
	if err := db.QueryRowContext(ctx, `SELECT coalesce(group_concat(aside || ': ' || CAST(raw AS TEXT), char(10)), '') FROM ops WHERE aside <> ''`).Scan(&aside); err != nil || aside != "" {
		t.Errorf("set aside: %.400s (%v)", aside, err)
	}
	var photos int
	if err := db.QueryRowContext(ctx, `SELECT count(*) FROM photos f JOIN photo_wants w ON w.sha = f.sha WHERE w.device = $1 AND f.complete = 1`, device).Scan(&photos); err != nil || photos != 1 {
		t.Errorf("%d photos are whole at the office: %v", photos, err)
	}
	for _, z := range walk {
		for _, a := range z.answers {
			var got string
			err := db.QueryRowContext(ctx, `SELECT json_extract(CAST(o.raw AS TEXT), '$.body.typed') FROM ops o JOIN zones z ON z.id = json_extract(CAST(o.raw AS TEXT), '$.body.zone')
				WHERE o.device = $1 AND z.name = $2 AND json_extract(CAST(o.raw AS TEXT), '$.body.check') = $3 ORDER BY o.n DESC LIMIT 1`, device, z.zone, a.check).Scan(&got)
			if err != nil || got != a.want {
				t.Errorf("%s, %s: the office has %q, want %q (%v)", z.zone, a.check, got, a.want, err)
			}
		}
	}
}

// overruleAndSignOff looks the visit over as the manager does.
func overruleAndSignOff(t *testing.T, desk *tab) {
	t.Helper()
	desk.waitUntil("what needs a person", `document.body.innerText.includes("14 Alder Rise")`)
	desk.eval(`[...document.querySelectorAll("a")].find(a => a.innerText.includes("14 Alder Rise") && a.href.includes("/desk/visits/")).click()`, nil)
	desk.waitUntil("the visit", `location.pathname.startsWith("/desk/visits/") && document.querySelector("form[action$='/overrule']")`)
	desk.waitUntil("the zone's causes", `document.body.innerText.includes("Back lawn")`)
	desk.eval(`[...document.querySelectorAll("a")].find(a => a.innerText.trim().startsWith("Back lawn"))?.click()`, nil)
	form := `[...document.querySelectorAll("form[action$='/overrule']")].find(f => f.closest("section, article, div").innerText.length && f.elements.zone)`
	desk.waitUntil("the form to see it differently", form)
	desk.eval(`(() => { const f = `+form+`; f.elements.judgement.value = "confirmed"; [...f.querySelectorAll("[name=judgement]")].forEach(r => { if (r.type === "radio") r.checked = r.value === "confirmed"; });
f.elements.reason.value = "Ran the station and watched: the rotor by the shed sticks."; f.submit(); })()`, nil)
	desk.waitUntil("the overruling", `document.body.innerText.includes("the rotor by the shed sticks") && document.querySelector("form[action$='/sign-off']")`)
	desk.eval(`document.querySelector("form[action$='/sign-off']").submit()`, nil)
	desk.waitUntil("signed off", `!document.querySelector("form[action$='/sign-off']") && /signed off/i.test(document.body.innerText)`)
}

var changing = []struct {
	find *regexp.Regexp
	put  string
}{
	{regexp.MustCompile(`(2026-\d\d-\d\d)T[0-9:.]+(Z|[+-]\d\d:\d\d)`), "${1}Thh:mm"},
	{regexp.MustCompile(`\b[0-9a-f]{64}\b`), "PHOTO"},
}

// compareSeason downloads the record as the owner does and compares it with the golden, moments and photo names put aside.
func compareSeason(t *testing.T, desk *tab) {
	t.Helper()
	desk.waitUntil("the client", `document.body.innerText.includes("Odalys Fenwright")`)
	var csv string
	desk.eval(`(async () => { const a = [...document.querySelectorAll("a")].find(a => a.innerText.includes("Odalys Fenwright"));
const id = new URL(a.href).pathname.split("/")[3]; const r = await fetch("/desk/clients/" + id + "/season.csv?year=2026"); return r.status === 200 ? await r.text() : "status " + r.status; })()`, &csv)
	for _, c := range changing {
		csv = c.find.ReplaceAllString(csv, c.put)
	}
	csv = strings.TrimPrefix(csv, "\ufeff")
	path := filepath.Join(root(t), "testdata", "season", "one-visit.csv")
	if *update {
		if err := os.WriteFile(path, []byte(csv), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, expected := strings.Split(csv, "\n"), strings.Split(string(want), "\n")
	for i := range max(len(got), len(expected)) {
		line := func(s []string) string { return strings.Join(s[min(i, len(s)):min(i+1, len(s))], "") }
		if line(got) != line(expected) {
			t.Fatalf("line %d of the season record:\n got %q\nwant %q", i+1, line(got), line(expected))
		}
	}
	for _, kind := range []string{"reading", "cause", "overruling", "sign-off"} {
		if !slices.ContainsFunc(got, func(l string) bool { return strings.Contains(l, ","+kind+",") }) {
			t.Errorf("the record has no row of kind %s", kind)
		}
	}
}
