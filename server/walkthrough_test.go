package main

import (
	"context"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// TestTheWalkThroughOfAFirstZone: who opens a zone for the first time is shown how it is read, above a form that takes answers meanwhile; skipped or
// gone through it stays away, also without an office and after the page is loaded anew; another person on the same phone sees it, in
// the language chosen; and it comes back when it is asked for.
func TestTheWalkThroughOfAFirstZone(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	phone := startBrowser(t, t.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the worker and its cache", workerHere)
	o.stop()
	openZone := func() {
		t.Helper()
		phone.goTo(o.url("/field/"))
		phone.press("a.row-link", "14 Alder Rise")
		phone.waitUntil("the visit", `document.querySelector("[data-zones] a.row-link") || document.querySelector("[data-side] .go")`)
		phone.eval(`document.querySelector("[data-zones] a.row-link") ? true : (document.querySelector("[data-side] .go").click(), true)`, nil)
		phone.press("[data-zones] a.row-link", "Front lawn")
		phone.waitUntil("the form", formReady+` && document.querySelector("[data-sofar] .next")`)
	}
	const shown = `document.querySelector("[data-walkthrough]")?.checkVisibility() === true`
	openZone()
	phone.waitUntil("the first step", shown+` && document.querySelector("[data-walkthrough]").innerText.includes("1 of 5") && document.querySelector("[data-walk-back]").checkVisibility() === false`)
	phone.keepPicture(t, "walkthrough.png")
	phone.click(`#check-pattern input[value="irregular_patches"]`)
	phone.waitKept("#check-pattern")
	phone.waitUntil("it stands there still", shown)
	phone.click("[data-walk-next]")
	phone.waitUntil("the second step", `document.querySelector("[data-walkthrough]").innerText.includes("2 of 5") && document.querySelector("[data-walkthrough]").innerText.includes("nothing to save")`)
	phone.click("[data-walk-back]")
	phone.waitUntil("the first step again", `document.querySelector("[data-walkthrough]").innerText.includes("1 of 5") && document.activeElement.matches("[data-walk-next]")`)
	phone.eval(`location.reload()`, nil)
	phone.waitUntil("not gone through, it comes again", formReady+" && "+shown)
	phone.click("[data-walk-skip]")
	phone.waitUntil("it is gone, and the head has the focus", `!document.querySelector("[data-walkthrough]") && document.activeElement === document.querySelector("h1")`)
	openZone()
	phone.waitUntil("it stays away", `!document.querySelector("[data-walkthrough]")`)

	phone.goTo(o.url("/field/"))
	phone.click("[data-walk-again]")
	phone.waitUntil("it is said that it will come", `document.activeElement?.matches("[data-walk-said]")`)
	phone.click("[data-speak=es]")
	phone.waitUntil("Spanish", `document.documentElement.lang === "es" && document.querySelector("a.row-link")`)
	openZone()
	phone.waitUntil("it in Spanish", shown+` && document.querySelector("[data-walkthrough]").innerText.includes("1 de 5")`)
	for range 4 {
		phone.click("[data-walk-next]")
	}
	phone.waitUntil("the last step, which can't be skipped", `document.querySelector("[data-walk-next]").innerText === "Listo" && !document.querySelector("[data-walk-skip]").checkVisibility()`)
	phone.click("[data-walk-next]")
	phone.waitUntil("the end of it", `!document.querySelector("[data-walkthrough]")`)

	o.start()
	phone.do("the session ends", func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, target, network.ClearBrowserCookies, cdp.Empty{})
		return chromedp.Void{}, err
	})
	phone.goTo(o.url("/sign-in?next=/field/"))
	phone.signIn("Tamsin", "thistle-desk-7")
	phone.waitUntil("another person's day", `location.pathname === "/field/" && document.querySelector("[data-sub]")?.innerText.includes("Tamsin") && document.querySelector("[data-list]").innerText.length > 20`)
	var other bool
	phone.eval(`!document.querySelector("[data-walk-again]")`, &other)
	if !other {
		t.Error("another person is taken for one who has gone through it")
	}
}
