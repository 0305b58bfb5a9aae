package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestPictures makes the pictures of the README from the running program when SWARDBOOK_PICTURES names a folder; without it
// the same pages are only opened, so that what the pictures show is always there to be shown.
func TestPictures(t *testing.T) {
	findChromium(t)
	dir := os.Getenv("SWARDBOOK_PICTURES")
	if dir == "" {
		dir = t.TempDir()
	} else if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	o := buildOffice(t)
	o.start()
	b := startBrowser(t, t.TempDir(), august)
	phone := b.open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the day sheet", `document.body.innerText.includes("14 Alder Rise")`)
	phone.eval(`[...document.querySelectorAll("a.row-link")].find(a => a.innerText.includes("14 Alder Rise")).click()`, nil)
	tapBeforeTheKnowledge(phone)
	phone.click("[data-side] .go")
	recordZone(t, phone, "Back lawn", false, walk[1].answers)
	phone.eval(`[...document.querySelectorAll("[data-zones] a.row-link")].find(a => a.innerText.includes("Back lawn")).click()`, nil)
	phone.waitUntil("the zone", `document.querySelector("[data-sofar]")?.innerText.includes("%")`)
	phone.eval(`(document.querySelector("[data-walk-skip]")?.click(), scrollTo(0, 0), document.activeElement?.blur())`, nil)
	phone.shotOfWindow(filepath.Join(dir, "phone.png"))
	phone.eval(`fetch("/sign-out", {method: "POST"}).then(r => r.status)`, nil)

	desk := b.open(1440, 900, false, o.url("/sign-in?next=/desk/"))
	desk.signIn("Iris", "elder-gate-41")
	desk.waitUntil("what needs a person", `document.body.innerText.includes("27 Millrace Lane")`)
	desk.eval(`[...document.querySelectorAll("a")].find(a => a.innerText.includes("27 Millrace Lane") && a.href.includes("/desk/visits/")).click()`, nil)
	desk.waitUntil("the visit", `document.querySelector("form[action$='/overrule']")`)
	desk.eval(`[...document.querySelectorAll("a")].find(a => a.innerText.trim().startsWith("Creek side"))?.click()`, nil)
	desk.waitUntil("the zone's steps", `document.body.innerText.includes("grub") || document.body.innerText.includes("Grub")`)
	desk.shotOfWindow(filepath.Join(dir, "desk.png"))
	desk.goTo(o.url("/desk/clients"))
	desk.eval(`(async () => { const a = [...document.querySelectorAll("a")].find(a => a.innerText.includes("Casimir")); location.href = new URL(a.href).pathname + "/season/2026"; })()`, nil)
	desk.waitUntil("the season record", `location.pathname.includes("/season/") && document.body.innerText.includes("3 Wren Hollow")`)
	desk.shotOfWindow(filepath.Join(dir, "season.png"))
	if text := desk.text("body"); !strings.Contains(text, "dust-dry") {
		t.Errorf("the season record lacks the overruling: %.300s", text)
	}
}

// tapBeforeTheKnowledge leaves the phone as a quick thumb does: the packet is there, and the page was left before the knowledge came.
// A form that is opened next gets it by itself.
func tapBeforeTheKnowledge(phone *tab) {
	phone.t.Helper()
	phone.waitUntil("the visit", `document.querySelector("[data-side] .go") !== null`)
	phone.waitUntil("the knowledge to have come, and to be gone again", `import("/static/js/db.js").then(({ open }) => open()).then((db) => db.note(["pack"], async (tx) => {
		const { catalogue, ...rest } = (await tx.get("pack", "tags")) ?? {};
		if (!catalogue) return false;
		await tx.delete("pack", "catalogue");
		await tx.put("pack", rest, "tags");
		return true;
	}))`)
}
