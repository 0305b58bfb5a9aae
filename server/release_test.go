package main

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// nextRelease builds the program with two modules changed, so that the one that is fetched late can't work with the other of this release.
func nextRelease(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	replaced := map[string]string{}
	for name, change := range map[string]func(string) string{
		"dom.js": func(text string) string { return text + "\nexport const later = true;\n" },
		"aidframe.js": func(text string) string {
			return "import { later } from './dom.js';\nif (!later) throw new Error('no later');\n" + text
		},
	} {
		path, err := filepath.Abs(filepath.Join("..", "static", "js", name))
		if err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		replaced[path] = filepath.Join(dir, name)
		if err := os.WriteFile(replaced[path], []byte(change(string(text))), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	list, err := json.Marshal(map[string]any{"Replace": replaced})
	if err != nil {
		t.Fatal(err)
	}
	overlay := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		t.Fatal(err)
	}
	binary, err := built("swardbook-next", ".", "-overlay", overlay)
	if err != nil {
		t.Fatal(err)
	}
	return binary
}

// become goes on as another release.
func (o *office) become(binary string) {
	o.t.Helper()
	o.stop()
	o.binary = binary
	o.start()
}

// forget makes the browser lose what it keeps of the release under addresses that end so.
func (tb *tab) forget(ending string) {
	tb.t.Helper()
	var lost int
	tb.eval(fmt.Sprintf(`(async () => { let lost = 0;
for (const name of await caches.keys()) { const c = await caches.open(name); for (const r of await c.keys()) if (new URL(r.url).pathname.endsWith(%q) && await c.delete(r)) lost++; }
return lost; })()`, ending), &lost)
	if lost == 0 {
		tb.t.Fatalf("the browser keeps nothing that ends with %q", ending)
	}
}

func (tb *tab) build() (build string) {
	tb.t.Helper()
	tb.eval(`document.querySelector("[data-build]").dataset.build`, &build)
	return build
}

const workerHere = `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`

// openAid opens the frame of the grubs, which is fetched when it is first opened.
func (tb *tab) openAid() {
	tb.t.Helper()
	tb.eval(`(() => { const aid = document.querySelector("[data-for=grubs_sqft]"); aid.closest("details.part").open = true; aid.open = true; })()`, nil)
}

// answer presses an option of a check and waits until it is kept.
func (tb *tab) answer(check, option string) {
	tb.t.Helper()
	tb.click(fmt.Sprintf(`#check-%s input[value="%s"]`, check, option))
	tb.waitKept("#check-" + check)
}

// TestB10WhatTheBrowserLostIsNeverMixedWithAnotherRelease: the office goes on as another release under open forms, with and without a
// worker, while the browser loses a module, everything, or the half of it; pages are of one release or say so, and what was recorded arrives.
func TestB10WhatTheBrowserLostIsNeverMixedWithAnotherRelease(t *testing.T) {
	findChromium(t)
	next := nextRelease(t)
	o := buildOffice(t)
	first := o.binary
	o.start()
	phone := startBrowser(t, t.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the worker and its cache", workerHere)
	phone.goTo(o.url("/field/"))
	phone.press("a.row-link", "14 Alder Rise")
	phone.click("[data-side] .go")
	phone.press("a", "Back lawn")
	phone.waitUntil("the form", formReady)
	phone.answer("pattern", "irregular_patches")
	var form string
	phone.eval(`location.href`, &form)

	bare := startBrowser(t, t.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
	bare.signIn("Jonah", "meadow-walk-3")
	bare.waitUntil("the packet", `document.querySelector("a.row-link")`)
	bare.do("no worker", func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, target, network.SetBypassServiceWorker, network.SetBypassServiceWorkerParams{Bypass: true})
		return chromedp.Void{}, err
	})
	bare.goTo(form)
	bare.waitUntil("the form", formReady)
	old := phone.build()
	bare.do("nothing cached by the browser itself", func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, target, network.ClearBrowserCache, cdp.Empty{})
		return chromedp.Void{}, err
	})

	phone.forget("/aidframe.js")
	o.become(next)
	for name, tb := range map[string]*tab{"with a worker": phone, "without": bare} {
		tb.openAid()
		tb.waitUntil("the form "+name+" to say that the frame can't be had", `document.querySelector("[data-for=grubs_sqft]").innerText.includes("could not be fetched")`)
		tb.answer("colour", "brown")
		if tb.build() != old {
			t.Errorf("the open form %s was loaded anew", name)
		}
	}
	phone.keepPicture(t, "release-aid-gone.png")

	phone.eval(`caches.keys().then((names) => Promise.all(names.map((n) => caches.delete(n))))`, nil)
	phone.goTo(form)
	phone.isOf(t, "after the browser lost all", old)
	now := phone.build()
	phone.goTo(o.url("/field/"))
	phone.waitUntil("the worker of the newer release in charge", `(async () => { const r = await navigator.serviceWorker.getRegistration("/field/");
return r.active?.state === "activated" && !r.waiting && !r.installing && (await caches.keys()).filter((n) => n.startsWith("swardbook-release-")).join() === "swardbook-release-`+now+`"; })()`)

	o.become(first)
	phone.forget("/zone.js")
	phone.goTo(form) // made of half a release that nobody has any more: it can't start, but is gone the next time
	phone.waitUntil("the broken half to go", `caches.has("swardbook-release-`+now+`").then((has) => !has)`)
	phone.goTo(form)
	phone.isOf(t, "after the browser lost the half", now)
	phone.waitUntil("received by the office", `/All .* received by the office/.test(document.querySelector("[data-kept]")?.innerText ?? "")`)
	db, err := sql.Open("sqlite", "file:"+filepath.Join(o.data, "swardbook.db")+"?mode=ro")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var got string
	err = db.QueryRowContext(t.Context(), `SELECT coalesce(group_concat(said, ', '), '') FROM (SELECT json_extract(CAST(o.raw AS TEXT), '$.body.check') || ' ' || count(DISTINCT o.id) || ' ' || count(*) said
		FROM ops o JOIN devices d ON d.id = o.device WHERE d.agent LIKE 'Mozilla%' GROUP BY json_extract(CAST(o.raw AS TEXT), '$.body.check') ORDER BY 1)`).Scan(&got)
	if err != nil || got != "colour 2 2, pattern 1 1" {
		t.Errorf("the office has %q (%v)", got, err)
	}
}

// isOf checks that the page is whole, not of the release before, and still knows what was answered.
func (tb *tab) isOf(t *testing.T, when, before string) {
	t.Helper()
	tb.waitUntil("the form "+when, formReady)
	if tb.build() == before {
		t.Errorf("the form %s is of the release before", when)
	}
	for check, option := range map[string]string{"pattern": "irregular_patches", "colour": "brown"} {
		tb.waitUntil(check+" "+when, fmt.Sprintf(`document.querySelector('#check-%s input[value="%s"]').checked`, check, option))
	}
	tb.openAid()
	tb.waitUntil("the frame "+when, `document.querySelector("[data-for=grubs_sqft] [data-tally]")`)
	if text := tb.text("[data-for=grubs_sqft]"); strings.Contains(text, "could not be fetched") {
		t.Errorf("%s: %q", when, text)
	}
}
