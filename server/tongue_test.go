package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestSpanish goes through a zone in Spanish, without an office, and works things out there: the cans, the sun and the
// area by tape. Pictures are kept when SWARDBOOK_PICTURES names a folder.
func TestSpanish(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	b := startBrowser(t, t.TempDir(), august)
	phone := b.open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the day sheet", `document.body.innerText.includes("14 Alder Rise")`)
	phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
	o.stop()
	phone.goTo(o.url("/field/"))
	phone.waitUntil("the day sheet without an office", `document.querySelector("[data-speak=es]")`)
	phone.click("[data-speak=es]")
	phone.waitUntil("the day sheet in Spanish", `document.documentElement.lang === "es" && document.querySelector("h1").innerText === "Hoja del día" && document.body.innerText.includes("14 Alder Rise")`)
	phone.keepPicture(t, "es-day.png")
	phone.eval(`[...document.querySelectorAll("a.row-link")].find(a => a.innerText.includes("14 Alder Rise")).click()`, nil)
	phone.waitUntil("the start in Spanish", `document.querySelector("[data-side] .go")?.innerText === "Empezar"`)
	phone.click("[data-side] .go")
	phone.waitUntil("the zones", `document.querySelector("[data-zones] a.row-link")`)
	phone.keepPicture(t, "es-visit.png")
	phone.eval(`[...document.querySelectorAll("[data-zones] a.row-link")].find(a => a.innerText.includes("Back lawn")).click()`, nil)
	phone.waitUntil("the form", `document.documentElement.lang === "es" && document.querySelector("[data-form]") && !document.querySelector("[data-form]").inert`)
	english(t, phone)
	phone.fill("#check-sun_hours .typed", "mucho")
	phone.waitUntil("the problem in Spanish", `document.querySelector("#check-sun_hours [data-problem]").innerText.includes("no se puede leer aquí")`)
	if got := phone.text("#check-sun_hours .said"); !strings.Contains(got, "TODAVÍA no cuenta") {
		t.Errorf("what is not read says %q", got)
	}
	surveySun(t, phone)
	catchCans(t, phone)
	phone.waitUntil("what is missing", `document.querySelector("[data-standing]")?.innerText.includes("Falta:")`)
	phone.eval(`history.back()`, nil)
	phone.waitUntil("the thinnest zone", `document.querySelector("[data-thin]")?.innerText.includes("La que menos pruebas tiene")`)
	tapeArea(t, phone)
	smallTargets(t, phone)
}

// tapeArea adds a rectangle and takes a circle off it.
func tapeArea(t *testing.T, phone *tab) {
	t.Helper()
	phone.eval(`document.querySelector("[data-tape]").closest("details").open = true`, nil)
	piece := func(lengths string) {
		phone.eval(`(() => { const l = `+lengths+`; document.querySelectorAll("[data-tape] input").forEach((i, k) => { i.value = l[k]; }); document.querySelector("[data-add-piece]").click(); })()`, nil)
	}
	pick := func(n, value string) {
		phone.eval(`(() => { const s = document.querySelectorAll("[data-tape] select")[`+n+`]; s.value = "`+value+`"; s.dispatchEvent(new Event("change", {bubbles: true})); })()`, nil)
	}
	piece(`["40", "25 1/2"]`)
	phone.waitUntil("the rectangle", `document.querySelector("[data-add] [name=area]").value === "1020"`)
	pick("0", "circle")
	pick("1", "off")
	piece(`["10"]`)
	phone.waitUntil("the bed taken off", `document.querySelector("[data-add] [name=area]").value === "941"`)
	piece(`["100"]`)
	phone.waitUntil("more taken off than there is", `document.querySelector("[data-tape] .problem").innerText.includes("quita más")`)
	phone.keepPicture(t, "es-tape.png")
}

// smallTargets measures what can be pressed: a gloved thumb wants 48 px, and nothing may stick out of the window.
func smallTargets(t *testing.T, phone *tab) {
	t.Helper()
	var small []string
	phone.eval(`[...document.querySelectorAll("a, button, summary, select, textarea, label.opt, input:not([type=radio]):not([type=checkbox]):not([type=file])")]
		.filter(e => e.checkVisibility() && e.getClientRects().length > 0)
		.map(e => ({e, r: e.getBoundingClientRect()}))
		.filter(({e, r}) => !e.classList.contains("skip") && (r.height < 47.5 || r.width < 47.5 || r.right > innerWidth + 1 || r.left < -1))
		.map(({e, r}) => e.tagName + "." + e.className + " " + e.innerText.slice(0, 30) + " " + Math.round(r.width) + "×" + Math.round(r.height) + " at " + Math.round(r.left))`, &small)
	for _, s := range small {
		t.Errorf("too small for a thumb, or outside the window: %s", s)
	}
}

// english fails when a label of the English form stands in the Spanish one.
func english(t *testing.T, phone *tab) {
	t.Helper()
	all := phone.text("[data-form]")
	for _, word := range []string{"Not looked at", "Tug test", "Thatch\n", "Mowing height", "How:"} {
		if strings.Contains(all, word) {
			t.Errorf("%q is left in the Spanish form", word)
		}
	}
}

func surveySun(t *testing.T, phone *tab) {
	t.Helper()
	phone.eval(`document.querySelector("[data-aid=sun] summary").click()`, nil)
	phone.waitUntil("the survey", `document.querySelectorAll("[data-aid=sun] input").length > 3`)
	field := func(n int, text string) {
		phone.eval(`(() => { const i = document.querySelectorAll("[data-aid=sun] input[inputmode=decimal]")[`+string(rune('0'+n))+`]; i.value = "`+text+`"; i.dispatchEvent(new Event("input", {bubbles: true})); })()`, nil)
	}
	field(0, "40.7")
	field(1, "35")
	phone.click("[data-add-thing]")
	phone.waitUntil("hours of sun", `document.querySelector("[data-aid=sun] [data-take]")`)
	phone.keepPicture(t, "es-sun.png")
	phone.click("[data-aid=sun] [data-take]")
	phone.waitUntil("the hours are the answer", `/^\d+\.\d$/.test(document.querySelector("#check-sun_hours .typed").value)`)
	phone.waitKept("#check-sun_hours")
}

func catchCans(t *testing.T, phone *tab) {
	t.Helper()
	phone.eval(`(() => { const aid = document.querySelector("[data-aid=cans]"); aid.closest("details.part").open = true; aid.open = true; })()`, nil)
	phone.waitUntil("the cans", `document.querySelector("[data-aid=cans] .typed")`)
	for _, depth := range []string{"0,2", "1/2", "0.4", "0.5"} {
		phone.eval(`(() => { const i = document.querySelector("[data-aid=cans] .typed"); i.value = "`+depth+`"; i.dispatchEvent(new Event("input", {bubbles: true})); document.querySelector("[data-aid=cans] .add-one").click(); })()`, nil)
	}
	phone.eval(`(() => { const i = document.querySelectorAll("[data-aid=cans] .text input"); i[0].value = "20"; i[0].dispatchEvent(new Event("input", {bubbles: true})); i[3].value = "0.5"; i[3].dispatchEvent(new Event("input", {bubbles: true})); })()`, nil)
	phone.waitUntil("rate and run time", `document.querySelector("[data-aid=cans] [data-run]")?.innerText.includes("min")`)
	if got := phone.text("[data-aid=cans] .aid-told"); !strings.Contains(got, "Uniformidad 0.50") || !strings.Contains(got, "1.20 pulg por hora") {
		t.Errorf("the cans say %q", got)
	}
	phone.eval(`document.querySelector("[data-aid=cans] .aid-told").scrollIntoView({block: "center"})`, nil)
	phone.keepPicture(t, "es-cans.png")
	phone.click("[data-aid=cans] [data-take]")
	phone.waitKept("#check-catch_can_du")
	smallTargets(t, phone)
}

// keepPicture keeps a picture of the window when a folder for pictures is named.
func (tb *tab) keepPicture(t *testing.T, name string) {
	t.Helper()
	if dir := os.Getenv("SWARDBOOK_PICTURES"); dir != "" {
		tb.shotOfWindow(filepath.Join(dir, name))
	}
}
