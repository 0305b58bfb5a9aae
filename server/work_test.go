package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// album is where the pictures of a day's work go: a folder that SWARDBOOK_PICTURES names, or nowhere.
func album(t *testing.T) func(tb *tab, name string) {
	t.Helper()
	dir := os.Getenv("SWARDBOOK_PICTURES")
	if dir == "" {
		return func(*tab, string) {}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return func(tb *tab, name string) { tb.shot(filepath.Join(dir, name+".png")) }
}

// press clicks the first element of a kind whose text holds words.
func (tb *tab) press(selector, words string) {
	tb.t.Helper()
	find := `[...document.querySelectorAll(` + jsText(selector) + `)].find(e => e.innerText.includes(` + jsText(words) + `))`
	tb.waitUntil(selector+" "+words, find)
	tb.eval(find+`.click()`, nil)
}

func jsText(s string) string {
	return "\"" + strings.ReplaceAll(strings.ReplaceAll(s, `\`, `\\`), `"`, `\"`) + "\""
}

// holds waits until the page says words.
func (tb *tab) holds(words string) {
	tb.t.Helper()
	tb.waitUntil(words, `document.body.innerText.includes(`+jsText(words)+`)`)
}

// TestWork is the work of a day: planned on the desk against the label, loaded and recorded without an office, received, and
// the same sum on the phone, at the desk, in the season record.
func TestWork(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	picture := album(t)
	desk := startBrowser(t, t.TempDir(), august).open(1440, 900, false, o.url("/sign-in?next=/desk/"))
	desk.signIn("Tamsin", "thistle-desk-7")
	signPlan(t, desk, picture)
	desk.goTo(o.url("/desk/load?day=2026-08-27"))
	desk.holds("5.7 lb")
	picture(desk, "desk-load")

	phone := startBrowser(t, t.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.holds("27 Millrace Lane")
	phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
	o.stop()
	loadTruck(phone, picture)
	recordPlanned(phone, picture)
	recordOther(phone, picture)
	calibrate(phone, picture)

	o.start()
	phone.eval(`dispatchEvent(new Event("online"))`, nil)
	phone.goTo(o.url("/field/unsent"))
	phone.waitUntil("received", `/All .* received by the office|Sign in to send/.test(document.body.innerText)`)
	phone.click("[data-send]")
	phone.waitUntil("all received", `/All .* received by the office/.test(document.querySelector("[data-kept]")?.innerText ?? "")`)
	addsUp(t, o, desk, picture)
	agrees(o, phone, picture)
}

// agrees reads on the phone what the desk and the season record say: the sums of the zone, the amounts, and what is complete now.
func agrees(o *office, phone *tab, picture func(*tab, string)) {
	phone.t.Helper()
	phone.goTo(o.url("/field/"))
	phone.press("a.row-link", "27 Millrace Lane")
	phone.waitUntil("the completed record", `document.querySelector("[data-work]")?.innerText.includes("18.25 lb") && !document.querySelector("[data-work]").innerText.includes("still missing")`)
	phone.waitUntil("the sums", `/N 1.52 lb on 1000 sq ft/.test(document.querySelector("[data-sums]")?.textContent) && /trichlorfon 8.1 lb on an acre/i.test(document.querySelector("[data-sums]").textContent)`)
	picture(phone, "phone-sums")
}

// signPlan brings a step that was gathered onto the next day's visit back to today, changes its amount over the label, sees the label stand against it, changes it back, leaves steps out and signs.
func signPlan(t *testing.T, desk *tab, picture func(*tab, string)) {
	t.Helper()
	desk.press("a", "27 Millrace Lane")
	desk.press("a", "Plan with amounts")
	desk.waitUntil("the plan", `location.pathname.endsWith("/plan") && document.querySelector(".planned")`)
	amount := `[...document.querySelectorAll(".planned")].find(e => e.innerText.includes("Trichlorfon"))`
	set := func(x string) {
		desk.eval(`(() => { const s = `+amount+`; s.querySelector(".input.short").value = `+jsText(x)+`; s.querySelector("input[name=day]").value = "2026-08-27"; s.querySelector("button[value=adjust]").click(); })()`, nil)
		desk.waitUntil("the amount "+x, amount+`?.querySelector(".input.short")?.value === `+jsText(x)+` && document.readyState === "complete"`)
	}
	desk.waitUntil("gathered onto the visit of the next day", amount+`.innerText.includes("by itself it would be on 27 Aug 2026")`)
	set("10")
	desk.waitUntil("the label", amount+`.innerText.includes("Label:") && !document.querySelector("form[action$='/plan/sign'] button")`)
	picture(desk, "desk-plan-limit")
	set("3")
	desk.waitUntil("no label", `!`+amount+`.innerText.includes("Label:") && document.querySelector("form[action$='/plan/sign'] button")`)
	picture(desk, "desk-plan")
	desk.eval(`(() => { const f = document.querySelector("form[action$='/plan/sign']"); const c = f.elements.crew; c.value = [...c.options].find(o => o.text === "Jonah").value; window.confirm = () => true; f.querySelector("button").click(); })()`, nil)
	desk.holds("Its steps are visits now")
	desk.waitUntil("the visit of a step", amount+`.querySelector("a[href*='/desk/visits/']")`)
	picture(desk, "desk-plan-signed")
}

// loadTruck reads the load list without an office.
func loadTruck(phone *tab, picture func(*tab, string)) {
	phone.t.Helper()
	phone.press("a", "Load list")
	phone.waitUntil("the load", `document.querySelector("[data-list]")?.innerText.includes("5.7 lb")`)
	phone.holds("Lawn markers and client notices")
	picture(phone, "phone-load")
	phone.press("a.row-link", "27 Millrace Lane")
}

// recordPlanned records the planned step as it was planned; what the record lacks is named at once.
func recordPlanned(phone *tab, picture func(*tab, string)) {
	phone.t.Helper()
	phone.click("[data-side] .go")
	phone.press("[data-work] a.row-link", "Trichlorfon")
	phone.waitUntil("the planned amount", `document.querySelector(".zone-row")?.parentElement.innerText.includes("planned 5.7 lb")`)
	phone.press("button", "All as planned")
	phone.waitUntil("what is missing", `document.querySelector("[data-missing]")?.innerText.includes("Certificate number")`)
	phone.click(`[data-now="start"]`)
	phone.click(`[data-now="end"]`)
	for name, text := range map[string]string{"equipment": "Rotary one", "certified": "Tamsin", "target": "white grubs"} {
		phone.fill(`textarea[name="`+name+`"]`, text)
	}
	phone.fill(`input[name="wind"]`, "6")
	phone.fill(`input[name="temperature"]`, "78")
	phone.click(`input[name="method"][value="spread"]`)
	phone.waitUntil("one item is missing", `document.querySelectorAll("[data-missing] li").length === 1`)
	picture(phone, "phone-apply-planned")
	phone.click("[data-do-keep]")
	phone.waitUntil("it is kept", `document.querySelector("[data-kept-record]")?.innerText.includes("Still missing: Certificate number")`)
	picture(phone, "phone-apply-kept")
	phone.press("[data-keep] a", "Back to the visit")
	phone.waitUntil("the record on the visit", `document.querySelector("[data-work]")?.innerText.includes("still missing: Certificate number")`)
	phone.waitUntil("who stays off", `document.querySelector("[data-off]")?.innerText.includes("Trichlorfon")`)
	picture(phone, "phone-visit")
}

// recordOther records a fertilizer above the firm's own limit: it is said and kept.
func recordOther(phone *tab, picture func(*tab, string)) {
	phone.t.Helper()
	phone.press("[data-work] a", "Record what was put down")
	phone.press("[data-materials] label", "24-0-11")
	phone.waitUntil("the zones", `document.querySelectorAll(".zone-row").length === 2`)
	phone.fill(".zone-row:nth-of-type(1) .amounts input", "6 1/4")
	phone.fill(".zone-row:nth-of-type(2) .amounts input", "12")
	phone.click(`[data-now="start"]`)
	phone.click(`[data-now="end"]`)
	phone.fill(`textarea[name="equipment"]`, "Rotary one")
	phone.waitUntil("the firm's limit of nitrogen", `document.querySelector("[data-flags]")?.innerText.includes("nitrogen, 1.516 lb")`)
	picture(phone, "phone-apply")
	phone.click("[data-do-keep]")
	phone.waitUntil("it is kept", `document.querySelector("[data-kept-record]")?.innerText.includes("Kept on this phone")`)
	phone.press("[data-keep] a", "Back to the visit")
	phone.waitUntil("the record on the visit", `document.querySelector("[data-work]")?.innerText.includes("18.25 lb")`)
}

// calibrate measures a spreader; the rate shows before it is kept.
func calibrate(phone *tab, picture func(*tab, string)) {
	phone.t.Helper()
	phone.eval(`location.href = "/field/"`, nil)
	phone.press("a", "Calibrate a spreader or sprayer")
	phone.waitUntil("the form", `location.pathname === "/field/calibrate" && document.querySelector("[data-form]")?.hidden === false`)
	for name, text := range map[string]string{"equipment": "Rotary one", "width": "5", "length": "10", "collected": "0.5", "want": "9"} {
		phone.fill(`[name="`+name+`"]`, text)
	}
	phone.waitUntil("the rate", `document.querySelector("[data-result]")?.innerText.includes("10 lb on 1000 sq ft")`)
	picture(phone, "phone-calibrate")
	phone.click("form button[type=submit]")
	phone.waitUntil("it is kept", `document.querySelector("[data-said]")?.innerText.includes("Kept on this phone")`)
	phone.click(`[name="kind"][value="sprayer"]`)
	for name, text := range map[string]string{"equipment": "Boom of four", "width": "6", "length": "100"} {
		phone.fill(`[name="`+name+`"]`, text)
	}
	for _, caught := range []string{"0.4", "0.41", "0.39", "0.47"} {
		phone.fill(`[data-nozzle-row] input`, caught)
		phone.click(`[data-nozzle-row] button.add-one`)
	}
	leaveCalibration(phone)
	phone.waitUntil("the worn nozzle", `[...document.querySelectorAll("[data-spread] .problem-text")].map(e => e.innerText).join() === "Nozzle 4: 0.47 gal, 12.57 % above the mean: worn or blocked, clean or replace it"`)
	phone.waitUntil("the rate of all", `document.querySelector("[data-result]")?.innerText.includes("2.78 gal on 1000 sq ft")`)
	picture(phone, "phone-nozzles")
	phone.click("form button[type=submit]")
	phone.waitUntil("it is kept", `document.querySelector("[data-list]")?.innerText.includes("Boom of four")`)
}

// leaveCalibration leaves the page with a width that can't be read and a nozzle half typed, and finds all of it again.
func leaveCalibration(phone *tab) {
	phone.t.Helper()
	phone.fill(`[name="width"]`, "six")
	phone.click("form button[type=submit]")
	phone.waitUntil("the width is asked for", `document.activeElement?.name === "width" && document.getElementById(document.activeElement.getAttribute("aria-describedby"))?.innerText !== ""`)
	phone.fill(`[data-nozzle-row] input`, "0.5 cups")
	phone.waitUntil("the draft is kept", `document.querySelector("[data-form]").dataset.draft === "kept"`)
	phone.eval(`location.href = "/field/"`, nil)
	phone.press("a", "Calibrate a spreader or sprayer")
	phone.waitUntil("everything is still there", `location.pathname === "/field/calibrate" && document.querySelector("[data-form]")?.hidden === false
		&& document.querySelector('[name="kind"]:checked').value === "sprayer" && document.querySelector("[name=equipment]").value === "Boom of four" && document.querySelector("[name=width]").value === "six"
		&& [...document.querySelectorAll("[data-nozzle-row] li")].map(e => e.innerText).join() === "0.4,0.41,0.39,0.47" && document.querySelector("[data-nozzle-row] input").value === "0.5 cups"`)
	phone.fill(`[name="width"]`, "6")
	phone.fill(`[data-nozzle-row] input`, "")
}

// addsUp holds the desk, the season record and the stock to what the phone recorded, completes the record that lacks an item
// and says what is known of the other.
func addsUp(t *testing.T, o *office, desk *tab, picture func(*tab, string)) {
	t.Helper()
	desk.goTo(o.url("/desk/"))
	desk.holds("records of something put down need a look")
	picture(desk, "desk-needs")
	desk.press("a", "Trichlorfon 6.2 %")
	desk.holds("Certificate number")
	picture(desk, "desk-record")
	desk.fill(`[name="item.certificate"]`, "C-1704")
	desk.fill(`[name="reason"]`, "Number read from the certificate on file.")
	desk.press(".more form button", "Keep the correction")
	desk.holds("The correction is kept beside the first record.")
	desk.goTo(o.url("/desk/"))
	row := `[...document.querySelectorAll("tr")].find(e => e.innerText.includes("Fertilizer 24-0-11") && e.innerText.includes("27 Millrace Lane"))`
	desk.waitUntil("the record of the feed", row)
	desk.eval(row+`.querySelector("a").click()`, nil)
	desk.fill(`[name="why"]`, "Hopper was set for the other lawn; client told, no more feed this fall.")
	desk.press("form button", "Looked at")
	desk.holds("Noted beside the record.")
	desk.press("a", "27 Millrace Lane")
	desk.holds("1.52 lb on 1000 sq ft")
	desk.holds("8.1 lb on an acre")
	desk.eval(`document.querySelectorAll("details.sum").forEach(d => { d.open = true; })`, nil)
	picture(desk, "desk-work")
	desk.goTo(o.url("/desk/calibrations"))
	desk.holds("10 lb on 1000 sq ft")
	desk.holds("Nozzle 4: 0.47 gal, 12.57 % above the mean")
	picture(desk, "desk-calibrations")
	desk.goTo(o.url("/desk/materials"))
	desk.holds("114.3 lb")
	desk.holds("581.75 lb")
	desk.goTo(o.url("/desk/clients"))
	desk.eval(`(async () => { const a = [...document.querySelectorAll("a")].find(a => a.innerText.includes("Hedda")); location.href = new URL(a.href).pathname + "/season/2026"; })()`, nil)
	desk.waitUntil("the season record", `location.pathname.includes("/season/") && document.body.innerText.includes("18.25") || document.body.innerText.includes("trichlorfon")`)
	for name, sum := range map[string]string{"N": "1.52 lb on 1000 sq ft", "trichlorfon": "8.1 lb on an acre"} {
		desk.waitUntil(name+" in the season", `[...document.querySelectorAll("summary")].some(e => e.innerText.trim() === `+jsText(sum)+` && e.closest("div, li, p, td, section").parentElement.innerText.includes(`+jsText(name)+`))`)
	}
	picture(desk, "desk-season")
	var csv string
	desk.eval(`(async () => (await fetch(location.pathname.replace("/season/2026", "/season.csv?year=2026"))).text())()`, &csv)
	for _, want := range []string{"put down", "season total", ",1.5158,lb/1000 sq ft", ",8.1022,lb/acre", "superseded", "missing: Certificate number"} {
		if !strings.Contains(csv, want) {
			t.Errorf("the season's file lacks %q", want)
		}
	}
	desk.goTo(o.url("/desk/load?day=2026-08-27"))
	desk.holds("recorded")
}
