package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// album is where the pictures of new pages go: a folder that SWARDBOOK_PICTURES names, or nowhere.
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

func jsText(s string) string { return "\"" + strings.ReplaceAll(strings.ReplaceAll(s, `\`, `\\`), `"`, `\"`) + "\"" }

// TestWork is the work of a day: planned on the desk, loaded and recorded without an office, received, and adding up everywhere.
func TestWork(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	picture := album(t)
	b := startBrowser(t, t.TempDir(), august)
	phone := b.open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the day sheet", `document.body.innerText.includes("14 Alder Rise")`)
	phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
	o.stop()
	recordApplication(t, phone, picture)
}

// recordApplication records a fertilizer on two zones without signal: what is missing is named at once.
func recordApplication(t *testing.T, phone *tab, picture func(*tab, string)) {
	t.Helper()
	phone.press("a.row-link", "14 Alder Rise")
	phone.click("[data-side] .go")
	phone.press("[data-work] a", "Record what was put down")
	phone.press("[data-materials] label", "24-0-11")
	phone.waitUntil("the zones", `document.querySelectorAll(".zone-row").length === 3`)
	phone.fill(".zone-row:nth-of-type(1) .amounts input", "6 1/4")
	phone.fill(".zone-row:nth-of-type(2) .amounts input", "12")
	phone.waitUntil("what is missing", `document.querySelector("[data-missing]")?.innerText.includes("Begun at")`)
	picture(phone, "phone-apply")
	phone.click(`[data-now="start"]`)
	phone.click(`[data-now="end"]`)
	phone.fill(`textarea[name="equipment"]`, "Rotary one")
	phone.waitUntil("nothing is missing", `!document.querySelector("[data-missing]")`)
	phone.waitUntil("the firm's limit of nitrogen", `document.querySelector("[data-flags]")?.innerText.includes("nitrogen")`)
	phone.click("[data-do-keep]")
	phone.waitUntil("it is kept", `document.querySelector("[data-kept-record]")?.innerText.includes("Kept on this phone")`)
	picture(phone, "phone-apply-kept")
	phone.press("[data-keep] a", "Back to the visit")
	phone.waitUntil("the record on the visit", `document.querySelector("[data-work]")?.innerText.includes("18.25 lb")`)
	picture(phone, "phone-visit")
}

// TestDeskPictures opens every new page of the desk, in light and in dark, on a wide and on a narrow window.
func TestDeskPictures(t *testing.T) {
	if os.Getenv("SWARDBOOK_PICTURES") == "" {
		t.Skip("only for pictures")
	}
	findChromium(t)
	o := buildOffice(t)
	o.start()
	picture := album(t)
	b := startBrowser(t, t.TempDir(), august)
	desk := b.open(1440, 900, false, o.url("/sign-in?next=/desk/"))
	desk.signIn("Tamsin", "thistle-desk-7")
	desk.goTo(o.url("/desk/materials"))
	picture(desk, "desk-materials")
	desk.press("a", "Fertilizer 24-0-11")
	desk.waitUntil("form", `document.querySelector("[name=slow_n]")`)
	picture(desk, "desk-material")
	desk.goTo(o.url("/desk/weather"))
	picture(desk, "desk-weather")
	desk.goTo(o.url("/desk/"))
	desk.press("a", "27 Millrace Lane")
	desk.waitUntil("the visit", `document.querySelector("form[action$='/overrule']")`)
	desk.press("a", "Plan with amounts")
	desk.waitUntil("the plan", `location.pathname.endsWith("/plan")`)
	picture(desk, "desk-plan-mill")
	desk.goTo(o.url("/desk/"))
	desk.press("a", "8 Teasel Court")
	desk.press("a", "Plan with amounts")
	desk.waitUntil("the plan", `location.pathname.endsWith("/plan")`)
	picture(desk, "desk-plan-teasel")
}
