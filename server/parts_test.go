package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"swardbook/diagnose/knowledge"
)

// snapper copies parts of a page as they stand: what was typed and chosen becomes attributes, and ids get an ending of their own, so that many copies
// of one part can stand on one page; what modules find parts by goes, but for the two that style sheets know, lest the page draws on a copy.
const snapper = `(() => {
let made = 0;
globalThis.snap = (selector) => {
	const from = document.querySelector(selector);
	if (!from) return "";
	const copy = from.cloneNode(true), end = "-copy-" + (++made) + "-" + Date.now();
	const pairs = [[from, copy], ...[...from.querySelectorAll("*")].map((e, i) => [e, copy.querySelectorAll("*")[i]])];
	for (const [was, e] of pairs) {
		if (was.matches("input[type=radio], input[type=checkbox]")) e.toggleAttribute("checked", was.checked);
		else if (was.matches("input:not([type=file])")) e.setAttribute("value", was.value);
		else if (was.matches("textarea")) e.textContent = was.value;
		else if (was.matches("option")) e.toggleAttribute("selected", was.selected);
		for (const name of ["id", "for", "name", "aria-labelledby", "aria-describedby", "aria-controls"]) {
			const text = e.getAttribute(name);
			if (text) e.setAttribute(name, text.split(" ").map((id) => id + end).join(" "));
		}
		for (const { name } of [...e.attributes]) if (name.startsWith("data-") && !["data-only", "data-pins"].includes(name)) e.removeAttribute(name);
	}
	return copy.outerHTML;
};
})()`

// gallery gathers copies of the phone's parts in their states.
type gallery struct {
	t     *testing.T
	phone *tab
	parts []galleryPart
}

type galleryPart struct{ Name, HTML string }

// take copies a part as it stands now.
func (g *gallery) take(name, selector string) {
	g.t.Helper()
	var html string
	g.phone.eval(snapper, nil)
	g.phone.eval(fmt.Sprintf(`snap(%q)`, selector), &html)
	if html == "" {
		g.t.Errorf("no part for %s: %s", name, selector)
		return
	}
	g.parts = append(g.parts, galleryPart{name, html})
}

// broken makes the phone's store refuse records until mended.
func (g *gallery) broken() {
	g.phone.eval(`(() => { globalThis.whole = { add: IDBObjectStore.prototype.add, put: IDBObjectStore.prototype.put };
		for (const name of ["add", "put"]) IDBObjectStore.prototype[name] = function (...a) { if (this.name === "ops") throw new DOMException("no room", "QuotaExceededError"); return whole[name].apply(this, a); }; })()`, nil)
}

func (g *gallery) mended() {
	g.phone.eval(`Object.assign(IDBObjectStore.prototype, globalThis.whole) && true`, nil)
}

// kind takes one check of a kind through its states.
func (g *gallery) kind(kind, check, good string) {
	g.t.Helper()
	box := "#check-" + check
	g.phone.eval(fmt.Sprintf(`(() => { const d = document.querySelector(%q).closest("details.part"); d.open = true; d.scrollIntoView(); })()`, box), nil)
	g.take(kind+": untouched", box)
	g.phone.eval(fmt.Sprintf(`document.querySelector(%q).querySelector("details.how") ? (document.querySelector(%q).querySelector("details.how").open = true) : true`, box, box), nil)
	g.phone.waitUntil("how it is done", fmt.Sprintf(`!document.querySelector(%q).querySelector("details.how") || document.querySelector(%q).querySelector(".how-body")`, box, box))
	g.take(kind+": how it is done", box)
	g.phone.eval(fmt.Sprintf(`(document.querySelector(%q).querySelector("details.how") ?? {}).open = false`, box), nil)
	said := fmt.Sprintf(`document.querySelector(%q).querySelector("[data-said]")`, box)
	give := func(text string) {
		switch kind {
		case "choice", "signs":
			g.phone.click(box + " label:has(input[type=radio]:not(:checked), input[type=checkbox]:not(:checked)) input")
		case "photo":
			g.phone.do("photo", chromedp.SetUploadFiles(chromedp.CSS(box+" input[type=file]"), []string{cameraFile(g.t)}))
		case "place":
			g.phone.click(box + " [data-sketch]")
		case "mix":
			g.phone.fill(box+" input[data-share]", text)
		case "note":
			g.phone.fill(box+" textarea", text)
		default:
			g.phone.fill(box+" input.typed", text)
		}
	}
	g.broken()
	give(good)
	g.phone.waitUntil(kind+" is not kept", said+`.classList.contains("not")`)
	g.take(kind+": could not be kept", box)
	g.mended()
	if kind == "photo" {
		give(good)
	} else {
		g.phone.click(box + " [data-said] button")
	}
	g.phone.waitUntil(kind+" is kept", said+`.classList.contains("kept")`)
	g.take(kind+": kept", box)
	if slices.Contains([]string{"choice", "signs", "photo", "place", "note"}, kind) {
		return
	}
	give("7 apples")
	g.phone.waitUntil(kind+" can't be read", fmt.Sprintf(`document.querySelector(%q).querySelector("[data-problem]").textContent !== ""`, box))
	g.take(kind+": can't be read", box)
}

// TestEveryPartInEveryState puts copies of all parts of the phone's pages, made by the pages themselves in each of their states, on one page, and
// looks at it in both languages and schemes at three widths. A kind of check or an aid that is not among them fails. The pictures
// are for a person to look at.
func TestEveryPartInEveryState(t *testing.T) {
	findChromium(t)
	axe := findAxe(t)
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]string{} // the first check of each
	order := []string{}
	for _, c := range know.Bundle.Checks {
		if kinds[string(c.Kind)] == "" {
			kinds[string(c.Kind)] = c.ID
			order = append(order, string(c.Kind))
		}
	}
	texts := goodTexts(t)
	for _, lang := range []string{"en", "es"} {
		t.Run(lang, func(t *testing.T) {
			o := buildOffice(t)
			o.start()
			phone := startBrowser(t, t.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
			phone.t = t
			g := &gallery{t: t, phone: phone}
			phone.signIn("Jonah", "meadow-walk-3")
			phone.waitUntil("the worker and its cache", workerHere)
			if lang == "es" {
				phone.click("[data-speak=es]")
				phone.waitUntil("Spanish", `document.documentElement.lang === "es" && document.querySelector("a.row-link")`)
			}
			phone.waitUntil("all received", `document.querySelector("footer, [data-foot]")?.innerText.length > 3`)
			g.take("the foot: nothing waits", "[data-foot]")
			g.take("the day sheet", "[data-list]")
			phone.press("a.row-link", "14 Alder Rise")
			phone.waitUntil("the visit", `document.querySelector("[data-side] .go")`)
			g.take("a visit before it starts: its button", "[data-side]")
			phone.click("[data-side] .go")
			phone.waitUntil("the zones", `document.querySelector("[data-zones] a.row-link")`)
			o.stop()
			g.take("the zones of a visit", "[data-zones]")
			phone.eval(`document.querySelector("[data-add] details") && (document.querySelector("[data-add] details").open = true)`, nil)
			phone.click(`[data-add] [type="submit"]`)
			g.take("a zone without a name", "[data-add]")
			phone.waitUntil("the button to hand in", `document.querySelector("[data-hand] .btn")`)
			g.take("handing in", "[data-hand]")
			phone.click("[data-hand] .go")
			phone.waitUntil("what is missing", `document.querySelector("[data-sure]")`)
			g.take("handing in: what is missing", "[data-hand]")
			phone.press("[data-zones] a.row-link", "Front lawn")
			phone.waitUntil("the form", formReady+` && document.querySelector("[data-sofar] .next")`)
			g.take("the walk-through", "[data-walkthrough]")
			g.take("so far: nothing looked at", "[data-sofar]")
			for _, kind := range order {
				good := texts[kinds[kind]]
				switch kind {
				case "note":
					good = "The gate sticks"
				case "mix":
					good = "20"
				}
				g.kind(kind, kinds[kind], good)
			}
			phone.waitUntil("what it may be", `document.querySelector("[data-standing]")`)
			g.take("so far: not enough to tell", "[data-sofar]")
			var aids []string
			phone.eval(`[...document.querySelectorAll("[data-aid]")].map((e) => e.dataset.aid + " " + e.dataset.for)`, &aids)
			seen := map[string]bool{}
			for _, one := range aids {
				var aid, check string
				fmt.Sscan(one, &aid, &check)
				if seen[aid] {
					continue
				}
				seen[aid] = true
				at := fmt.Sprintf(`[data-aid=%s][data-for=%s]`, aid, check)
				phone.eval(fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.closest("details.part").open = true; e.open = true; })()`, at), nil)
				phone.waitUntil(aid, fmt.Sprintf(`document.querySelector(%q).querySelector("[data-body]").children.length > 1`, at))
				g.take("helps: "+aid, at)
			}
			for _, aid := range []string{"cans", "frame", "points", "sun", "wetting"} {
				if !seen[aid] {
					t.Errorf("no check has the aid %s", aid)
				}
			}
			g.take("the foot: readings wait", "[data-foot]")
			phone.goTo(o.url("/field/unsent"))
			phone.waitUntil("what is not sent", fmt.Sprintf(`document.documentElement.lang === %q && document.querySelectorAll("main li").length > 4`, lang))
			g.take("what is not sent", "main")
			g.show(lang, axe)
		})
	}
}

// show puts the parts on one page and looks at it.
func (g *gallery) show(lang, axe string) {
	t, phone := g.t, g.phone
	t.Helper()
	list, err := json.Marshal(g.parts)
	if err != nil {
		t.Fatal(err)
	}
	phone.eval(`((list) => { document.querySelectorAll(".foot, header.top a, header.top p").forEach((e) => e.remove()); document.querySelector("h1").textContent = "All parts";
		const main = document.querySelector("main"); main.replaceChildren();
		for (const { Name, HTML } of list) { const part = document.createElement("section"), head = document.createElement("h2"), body = document.createElement("div"); head.textContent = Name; body.innerHTML = HTML.replace(/^<main/, "<div").replace(/main>$/, "div>");
			const form = document.createElement("form"); form.className = "checks"; form.append(body); part.append(head, form); main.append(part); }
		for (const e of main.querySelectorAll("[inert]")) e.inert = false;
		main.querySelectorAll("section[aria-label]").forEach((e, i) => e.setAttribute("aria-label", e.getAttribute("aria-label") + " " + (i + 1))); })(`+string(list)+`)`, nil)
	dir := os.Getenv("SWARDBOOK_PICTURES")
	for _, wide := range []int64{360, 390, 768} {
		phone.do("size", func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
			_, err := cdp.Call(ctx, target, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: wide, Height: 844, DeviceScaleFactor: 1, Mobile: true})
			return chromedp.Void{}, err
		})
		l := &lens{t: t, axe: axe, tab: phone, wide: wide, high: 844, zoom: wide}
		l.look(fmt.Sprintf("the parts in %s at %d px", lang, wide))
		for _, scheme := range []string{"light", "dark"} {
			if dir == "" {
				break
			}
			l.media(scheme)
			phone.shot(filepath.Join(dir, fmt.Sprintf("parts-%s-%d-%s.png", lang, wide, scheme)))
		}
	}
	var stand int
	phone.eval(`document.querySelectorAll("main > section").length`, &stand)
	if stand != len(g.parts) || stand < 40 {
		t.Errorf("%d parts stand on the page that was looked at, of %d", stand, len(g.parts))
	}
}
