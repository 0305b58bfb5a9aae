package main

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// thumb touches a page as a gloved hand does, and counts.
type thumb struct {
	t           *testing.T
	tab         *tab
	taps, typed int
}

// tap brings the element into view and touches its middle.
func (h *thumb) tap(selector string) {
	h.t.Helper()
	h.tab.waitUntil(selector, fmt.Sprintf(`document.querySelector(%q)?.checkVisibility()`, selector))
	var at struct{ X, Y float64 }
	h.tab.eval(fmt.Sprintf(`(async () => { const e = document.querySelector(%q); e.scrollIntoView({ block: "center", behavior: "instant" });
		await new Promise((r) => requestAnimationFrame(r)); const b = e.getBoundingClientRect(); return { x: b.left + b.width / 2, y: b.top + b.height / 2 }; })()`, selector), &at)
	h.at(at.X, at.Y)
}

func (h *thumb) at(x, y float64) {
	h.t.Helper()
	h.taps++
	h.tab.do("touch", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}})
		if err == nil {
			_, err = cdp.Call(ctx, t, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}})
		}
		return chromedp.Void{}, err
	})
}

// typeIn touches a field and types; the keypad's own Done or Next counts as a tap.
func (h *thumb) typeIn(selector, text string) {
	h.t.Helper()
	h.tap(selector)
	h.tab.waitUntil("the focus on "+selector, fmt.Sprintf(`document.activeElement === document.querySelector(%q)`, selector))
	h.letters(text)
}

func (h *thumb) letters(text string) {
	h.t.Helper()
	h.typed += len([]rune(text))
	h.tab.do("type", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, input.InsertText, input.InsertTextParams{Text: text})
		return chromedp.Void{}, err
	})
}

func (h *thumb) done() {
	h.t.Helper()
	h.taps++
	h.tab.key(h.t, "\r")
}

// tapWith touches what holds the words, so that a test reads what a person reads.
func (h *thumb) tapWith(selector, words string) {
	h.t.Helper()
	h.tab.waitUntil(words, fmt.Sprintf(`(() => { document.querySelectorAll("[data-thumb]").forEach((e) => e.removeAttribute("data-thumb"));
		const e = [...document.querySelectorAll(%q)].find((e) => e.innerText.includes(%q)); e?.setAttribute("data-thumb", ""); return e; })()`, selector, words))
	h.tap("[data-thumb]")
}

// standard are the twelve checks of a usual zone: what is pressed, what is typed.
var standard = []answer{
	pressed("pattern", "irregular_patches"), pressed("colour", "brown"), typed("sun_hours", "8", "8"), pressed("edge_shape", "smooth_rounded"), typed("weed_cover_pct", "5", "5"),
	pressed("species", "kbg"), typed("mow_height_in", "3", "3"), pressed("tug_test", "firm"), typed("core_depth_in", "2; 6; 7", "2", "6", "7"), pressed("moisture_profile", "dry_all"),
	typed("thatch_in", ".4", ".4"), typed("grubs_sqft", "0", "0"),
}

// walkStandard answers the twelve checks by touch.
func (h *thumb) walkStandard(answers []answer) {
	for _, a := range answers {
		box := "#check-" + a.check
		var open bool
		h.tab.eval(fmt.Sprintf(`document.querySelector(%q).closest("details.part").open`, box), &open)
		if !open {
			var part string
			h.tab.eval(fmt.Sprintf(`document.querySelector(%q).closest("details.part").id`, box), &part)
			h.tap("#" + part + " > summary")
		}
		for _, option := range a.press {
			h.tap(fmt.Sprintf(`%s label:has(input[value="%s"])`, box, option))
		}
		for i, text := range a.typed {
			if i == 0 {
				h.typeIn(box+" .typed", text)
			} else {
				h.letters(text)
			}
			h.done()
		}
		h.tab.waitKept(box)
	}
}

// TestYard goes through a visit of a property with five zones by touch only, without an office, in both languages.
func TestYard(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	b := startBrowser(t, t.TempDir(), august)
	for _, v := range []struct{ lang, who, passcode, at string }{{"en", "Jonah", "meadow-walk-3", "14 Alder Rise"}, {"es", "Jonah", "meadow-walk-3", "3 Wren Hollow"}} {
		t.Run(v.lang, func(t *testing.T) {
			if o.cmd == nil {
				o.start()
			}
			phone := b.open(390, 844, false, o.url("/sign-in?next=/field/"))
			phone.t = t
			var known bool
			phone.eval(`location.pathname === "/field/"`, &known)
			if !known {
				phone.signIn(v.who, v.passcode)
			}
			phone.waitUntil("the day sheet", `document.body.innerText.includes("`+v.at+`")`)
			phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
			o.stop()
			h := &thumb{t: t, tab: phone}
			phone.goTo(o.url("/field/"))
			if v.lang == "es" {
				h.tap("[data-speak=es]")
				phone.waitUntil("Spanish", `document.documentElement.lang === "es"`)
			}
			fiveZones(t, h, v.lang, v.at)
		})
	}
}

func fiveZones(t *testing.T, h *thumb, lang, at string) {
	phone := h.tab
	h.tapWith("a.row-link", at)
	h.tap("[data-side] .go")
	phone.waitUntil("the zones", `document.querySelector("[data-zones] a.row-link")`)
	var have int
	phone.eval(`document.querySelectorAll("[data-zones] a.row-link").length`, &have)
	for n := have; n < 5; n++ {
		h.typeIn(`[data-add] [name="name"]`, fmt.Sprint("Zone ", n+1))
		h.tap(`[data-add] [type="submit"]`)
		phone.waitUntil("one zone more", fmt.Sprintf(`document.querySelectorAll("[data-zones] a.row-link").length === %d`, n+1))
	}
	h.tap("[data-zones] li:first-child a.row-link")
	for n := range 5 {
		phone.waitUntil("the form", `document.querySelector("[data-form]") && !document.querySelector("[data-form]").inert`)
		phone.waitUntil("what comes first", `document.querySelector("[data-sofar] .next")`) // a thumb comes later than that
		h.taps, h.typed = 0, 0
		switch n {
		case 0:
			h.walkStandard(standard)
			t.Logf("%s: a standard zone of %d checks took %d taps and %d typed characters", lang, len(standard), h.taps, h.typed)
			if h.taps > 30 || h.typed > 25 {
				t.Errorf("that is more than 30 taps or 25 characters")
			}
		case 1:
			everyControl(t, h, lang)
		default:
			h.walkStandard(standard[:2])
		}
		phone.waitUntil("what it may be", `document.querySelector("[data-sofar]").innerText.length > 20`)
		var was string
		phone.eval(`location.href`, &was)
		phone.waitUntil("a page that stands still", `(async () => { const top = () => document.querySelector("[data-after] .go").getBoundingClientRect().top + scrollY; const was = top(); await new Promise((r) => setTimeout(r, 400)); return top() === was; })()`)
		h.tap("[data-after] .go")
		phone.waitUntil("the next page", fmt.Sprintf(`location.href !== %q && document.readyState === "complete"`, was))
	}
	phone.waitUntil("the visit again", `location.pathname === "/field/visit" && document.querySelector("[data-hand] .go")`)
	h.tap("[data-hand] .go")
	h.tap("[data-sure]")
	handed := map[string]string{"en": "Handed in", "es": "Entregada"}[lang]
	phone.waitUntil("handed in", `document.body.innerText.includes("`+handed+`")`)
}

// wrong is bad input at a control that is typed into, and a part of the sentence that must stand there.
var wrong = []struct{ check, field, text, en, es string }{
	{"sun_hours", ".typed", "much", "can't be read", "no se puede leer"},
	{"mow_height_in", ".typed", "400", "must lie between", "tiene que estar entre"},
	{"core_depth_in", ".typed", "deep", "can't be read", "no se puede leer"},
	{"grubs_sqft", ".typed", "7 apples", "not a unit", "no es una unidad"},
	{"weed_mix", "[data-share=clover]", "170", "must lie between", "tiene que estar entre"},
}

// everyControl answers one check of each kind, wrongly first where it can be wrong.
func everyControl(t *testing.T, h *thumb, lang string) {
	phone := h.tab
	phone.eval(`document.querySelectorAll("details.part").forEach((d) => { d.open = true; })`, nil)
	for _, w := range wrong {
		box := "#check-" + w.check
		h.typeIn(box+" "+w.field, w.text)
		h.done()
		want := map[string]string{"en": w.en, "es": w.es}[lang]
		phone.waitUntil("the sentence at "+w.check, fmt.Sprintf(`document.querySelector(%q).innerText.includes(%q)`, box+" [data-problem]", want))
		var stays string
		phone.eval(fmt.Sprintf(`document.querySelector(%q).value`, box+" "+w.field), &stays)
		if stays != w.text {
			t.Errorf("%s: %q was typed, %q is left", w.check, w.text, stays)
		}
	}
	var drafts []string
	phone.eval(`(async () => { const open = indexedDB.open("swardbook"); await new Promise((r) => { open.onsuccess = r; }); const all = open.result.transaction("drafts").objectStore("drafts").getAll();
		await new Promise((r) => { all.onsuccess = r; }); open.result.close(); return all.result.map((d) => d.text); })()`, &drafts)
	for _, w := range wrong {
		if !strings.Contains(strings.Join(drafts, "\n"), w.text) {
			t.Errorf("%s: %q is not kept for the next time the page opens: %q", w.check, w.text, drafts)
		}
	}
	clear := func(selector string) {
		phone.eval(fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.value = ""; e.dispatchEvent(new Event("input", { bubbles: true })); e.dispatchEvent(new Event("change", { bubbles: true })); })()`, selector), nil)
	}
	clear("#check-weed_mix [data-share=clover]")
	for range 3 {
		h.tap(`#check-weed_mix .mix-row:nth-child(1) [data-step="5"]`)
	}
	h.tap(`#check-weed_mix .mix-row:nth-child(3) [data-step="5"]`)
	phone.waitUntil("the running total", `document.querySelector("#check-weed_mix [data-total]")?.dataset.total === "20"`)
	phone.waitKept("#check-weed_mix")
	phone.keepPicture(t, lang+"-mix.png")
	h.tap("#check-spot [data-sketch]")
	phone.waitKept("#check-spot")
	h.tap("#check-spot [data-row] button")
	phone.waitUntil("the pin taken out", `!document.querySelector("#check-spot [data-row] button")`)
	h.tap("#check-spot [data-sketch]")
	phone.waitUntil("the pin in the middle", `/^1: (middle|centro)$/.test(document.querySelector("#check-spot [data-row] button")?.innerText)`)
	phone.keepPicture(t, lang+"-spot.png")
	clear("#check-grubs_sqft .typed")
	h.tap(`[data-for=grubs_sqft] > summary`)
	for range 2 {
		h.tap(`[data-for=grubs_sqft] [data-tally="1"]`)
	}
	phone.keepPicture(t, lang+"-frame.png")
	h.tap(`[data-for=grubs_sqft] [data-take]`)
	phone.waitUntil("the count", `document.querySelector("#check-grubs_sqft [data-row] button")?.innerText === "2"`)
	h.tap(`[data-for=ground_cover_pct] > summary`)
	for _, met := range []string{"x", "x", "o", "x"} {
		h.tap(`[data-for=ground_cover_pct] [data-met=` + met + `]`)
	}
	phone.keepPicture(t, lang+"-points.png")
	h.tap(`[data-for=ground_cover_pct] [data-take]`)
	phone.waitUntil("the cover", `document.querySelector("#check-ground_cover_pct [data-row] button")?.innerText === "75"`)
	clear("#check-core_depth_in .typed")
	h.typeIn("#check-core_depth_in .typed", "2; 6,5; 7 1/2")
	h.done()
	phone.waitUntil("mean, spread and dots", `/5\.3.*5\.5/.test(document.querySelector("#check-core_depth_in [data-spread]").innerText) && document.querySelectorAll("#check-core_depth_in .dot").length === 3`)
	h.tap(`#check-indicator_plants label:has([value=low_n_weeds])`)
	phone.waitKept("#check-indicator_plants")
	h.typeIn("#check-note textarea", "a gate")
	h.tap("#check-note legend")
	phone.waitKept("#check-note")
	phone.do("photo", chromedp.SetUploadFiles(chromedp.CSS("#check-photo input[type=file]"), []string{cameraFile(t)}))
	phone.waitKept("#check-photo")
	overTheLast(t, h, lang)
}

// overTheLast takes a photo through the camera with the last one of the spot laid over it, where the demonstration has one.
func overTheLast(t *testing.T, h *thumb, lang string) {
	phone := h.tab
	var offered bool
	phone.eval(`!document.querySelector("[data-guide]").hidden`, &offered)
	if !offered {
		return
	}
	h.tap("[data-guide]")
	phone.waitUntil("the last photo over the camera", `document.querySelector(".guide-box video")?.videoWidth > 0 && document.querySelector(".guide-box img").naturalWidth > 0`)
	phone.keepPicture(t, lang+"-guide.png")
	h.tap("[data-shoot]")
	phone.waitUntil("one photo more", `document.querySelectorAll("#check-photo [data-photos] img").length === 2`)
}
