package main

import (
	"testing"
)

// formReady is true once the form of the zone that the address names takes answers.
const formReady = `location.pathname === "/field/zone" && document.querySelector("[data-form]")?.inert === false && document.querySelector("[data-page]").dataset.page === "zone"`

// storeRows counts the operations on the phone, and drafts.
const storeRows = `(async (store) => { const open = indexedDB.open("swardbook"); await new Promise((r) => { open.onsuccess = r; });
	const count = open.result.transaction([store]).objectStore(store).count(); await new Promise((r) => { count.onsuccess = r; }); open.result.close(); return count.result; })`

// TestTurningFromAVisitToItsZonesAndBack goes from a visit to two of its zones and back within one document and without an office: each form
// shows its own answers, an answer is kept once, what was half typed on the visit and in the forms stands when one comes back, an answer
// that could not be kept holds the page once, and a document of its own shows the same.
func TestTurningFromAVisitToItsZonesAndBack(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	phone := startBrowser(t, t.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the day sheet", `document.body.innerText.includes("14 Alder Rise")`)
	phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
	phone.press("a.row-link", "14 Alder Rise")
	phone.click("[data-side] .go")
	phone.waitUntil("the zones", `document.querySelectorAll("[data-zones] a.row-link").length > 1`)
	o.stop()
	phone.eval(`location.reload()`, nil)
	phone.waitUntil("what can be turned to", `document.querySelectorAll("[data-zones] a.row-link").length > 1 && performance.getEntriesByType("resource").some((r) => new URL(r.name).pathname === "/field/zone")`)
	phone.eval(`new Promise((r) => setTimeout(() => { globalThis.stayed = true; r(); }, 1500))`, nil)
	var visit, first, second string
	phone.eval(`location.href`, &visit)
	phone.fill(`[data-add] [name="name"]`, "Behind the shed")

	phone.click("[data-zones] li:first-child a.row-link")
	phone.waitUntil("the first form", formReady)
	phone.eval(`location.href`, &first)
	turned(phone, "the first form")
	phone.waitUntil("its head is read out", `document.activeElement === document.querySelector("h1") && document.title.length > 0 && document.querySelector("h1").innerText.length > 0`)
	answerOne(phone, "thatch_in", "0.5")
	phone.fill(`#check-mow_height_in input.typed`, "tall")
	phone.waitUntil("a sentence at the height", `document.querySelector("#check-mow_height_in [data-problem]").textContent !== ""`)

	phone.click("[data-after] .go")
	phone.waitUntil("the second form", formReady+` && location.href !== "`+first+`"`)
	phone.eval(`location.href`, &second)
	turned(phone, "the second form")
	phone.waitUntil("no answer of the first", `document.querySelector("#check-thatch_in [data-row]").textContent.trim() === "" && document.querySelector("#check-mow_height_in input.typed").value === ""`)
	answerOne(phone, "thatch_in", "0.75")

	phone.eval(`history.back()`, nil)
	phone.waitUntil("the first form again", formReady+` && location.href === "`+first+`"`)
	turned(phone, "the first form again")
	phone.waitUntil("what stood in it", `document.querySelector("#check-thatch_in [data-row]").textContent.includes("0.5") && document.querySelector("#check-mow_height_in input.typed").value === "tall"
		&& document.querySelector("#check-mow_height_in [data-problem]").textContent !== ""`)
	answerOne(phone, "grubs_sqft", "3")

	phone.eval(`(() => { globalThis.put = IDBObjectStore.prototype.add; globalThis.putted = IDBObjectStore.prototype.put;
		for (const name of ["add", "put"]) { const was = IDBObjectStore.prototype[name]; IDBObjectStore.prototype[name] = function (...a) { if (this.name === "ops") throw new DOMException("no room", "QuotaExceededError"); return was.apply(this, a); }; } })()`, nil)
	phone.fill(`#check-sun_hours input.typed`, "6")
	phone.waitUntil("it is not kept, and that is said", `document.querySelector("#check-sun_hours [data-said]").classList.contains("not")`)
	phone.eval(`document.querySelector("[data-back]").click()`, nil)
	phone.waitUntil("the trouble is shown first", `location.href === "`+first+`" && document.activeElement?.id === "check-sun_hours"`)
	phone.eval(`Object.assign(IDBObjectStore.prototype, { add: globalThis.put, put: globalThis.putted }) && true`, nil)
	phone.click("[data-back]")
	phone.waitUntil("the visit, with what was half typed", `location.href === "`+visit+`" && document.querySelector("[data-page]").dataset.page === "visit" && document.querySelector('[data-add] [name="name"]').value === "Behind the shed"`)
	turned(phone, "the visit")

	phone.click("[data-zones] li:first-child a.row-link")
	phone.waitUntil("the first form a third time", formReady)
	phone.eval(`location.reload()`, nil)
	phone.waitUntil("the same in a document of its own", `typeof stayed === "undefined" && `+formReady+` && document.querySelector("#check-thatch_in [data-row]").textContent.includes("0.5")
		&& document.querySelector("#check-grubs_sqft [data-row]").textContent.trim() === "3" && document.querySelector("#check-mow_height_in input.typed").value === "tall"`)
}

// turned fails when the document was loaded anew on the way.
func turned(phone *tab, where string) {
	phone.t.Helper()
	var stayed bool
	phone.eval(`globalThis.stayed === true`, &stayed)
	if !stayed {
		phone.t.Fatalf("%s came by loading a document", where)
	}
}

// answerOne gives one number to a check and expects one operation more on the phone for it, however many forms this document had before.
func answerOne(phone *tab, check, text string) {
	phone.t.Helper()
	var before, after int
	phone.eval(storeRows+`("ops")`, &before)
	phone.fill(`#check-`+check+` input.typed`, text)
	phone.waitUntil("kept", `document.querySelector("#check-`+check+` [data-said]").classList.contains("kept")`)
	phone.eval(`new Promise((r) => setTimeout(r, 300))`, nil)
	phone.eval(storeRows+`("ops")`, &after)
	if after != before+1 {
		phone.t.Errorf("an answer to %s made %d operations", check, after-before)
	}
}
