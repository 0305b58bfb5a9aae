package main

import "testing"

// TestThePhoneShowsTheSketchOfAProperty: the zones as the office drew them stand above their list, without signal too, in the person's language, and
// what was looked at is filled.
func TestThePhoneShowsTheSketchOfAProperty(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	phone := startBrowser(t, t.TempDir(), august).open(390, 844, true, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.press("a", "1 Kiln Square")
	phone.waitUntil("the visit", `location.pathname === "/field/visit" && document.querySelector("[data-side] .go")`)
	phone.click("[data-side] .go")
	phone.waitUntil("the sketch", `document.querySelectorAll(".lawn polygon").length === 4`)
	var said string
	phone.eval(`document.querySelector(".lawn").getAttribute("aria-label") + ": " + [...document.querySelectorAll(".lawn text")].map((t) => t.textContent).join(", ")`, &said)
	if said != "Sketch of the zones, north up: Green, Chapel side, Bank, Path edges, N" {
		t.Errorf("the sketch says %q", said)
	}
	var out bool
	phone.eval(`document.documentElement.scrollWidth > document.documentElement.clientWidth || document.querySelectorAll(".lawn polygon.done").length > 0`, &out)
	if out {
		t.Error("it sticks out, or shows a zone as looked at before anybody looked")
	}
	phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
	o.stop()
	phone.press(".row-link", "Green")
	phone.waitUntil("the zone's form", `location.pathname === "/field/zone" && document.querySelector("[data-form]") && !document.querySelector("[data-form]").inert`)
	phone.eval(`document.querySelector("#check-pattern input[type=radio], #check-pattern button").click()`, nil)
	phone.waitUntil("it is kept", `document.querySelector("#check-pattern .said.kept")`)
	phone.eval(`history.back()`, nil)
	phone.waitUntil("the zone is filled", `location.pathname === "/field/visit" && document.querySelectorAll(".lawn polygon.done").length === 1`)
}
