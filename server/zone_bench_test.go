package main

import (
	"context"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// stopwatch runs in every document: it keeps when a link was tapped, over to the next document, when the zone form that follows has been painted
// and can be used, and what the browser's Event Timing says of each interaction: from the finger to the next picture, in ms. Times are on
// the browser's own clock, since pages see another day.
const stopwatch = `(() => {
const now = (t) => performance.timeOrigin + t;
addEventListener("click", (e) => { if (!e.target.closest?.("a[href]")) return; sessionStorage.setItem("tapped", String(now(e.timeStamp))); requestAnimationFrame(look); }, true);
const watch = globalThis.watch = {opened: 0, interactions: {}};
new PerformanceObserver((list) => { for (const e of list.getEntries()) if (e.interactionId) watch.interactions[e.interactionId] = Math.max(watch.interactions[e.interactionId] ?? 0, e.duration); })
  .observe({type: "event", durationThreshold: 16, buffered: true});
const look = () => {
  const form = document.querySelector("[data-form]");
  if (location.pathname !== "/field/zone" || !form || form.inert) return void requestAnimationFrame(look);
  const {port1, port2} = new MessageChannel(); // its turn comes after this frame's picture
  port1.onmessage = () => { watch.opened = now(performance.now()) - Number(sessionStorage.getItem("tapped")); };
  requestAnimationFrame(() => port2.postMessage(0));
};
if (location.pathname === "/field/zone") requestAnimationFrame(look);
})()`

// finger taps the middle of what the expression gives, as a touch does.
func (tb *tab) finger(expression string) {
	tb.t.Helper()
	var at struct{ X, Y float64 }
	tb.eval(`(async () => { const e = `+expression+`; e.scrollIntoView({block: "center"}); await new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)));
		const b = e.getBoundingClientRect(); return {X: b.x + b.width / 2, Y: b.y + b.height / 2}; })()`, &at)
	tb.do("tap", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: "touchStart", TouchPoints: []*input.TouchPoint{{X: at.X, Y: at.Y}}})
		if err == nil {
			_, err = cdp.Call(ctx, t, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: "touchEnd", TouchPoints: []*input.TouchPoint{}})
		}
		return chromedp.Void{}, err
	})
}

// BenchmarkZoneForm opens a zone's form from the visit's page and answers choices with a finger, in a browser whose processor is slowed
// four times: ms from the tap on the zone to the painted form that takes answers, from a tap on an answer to the next picture (the
// longest event of the interaction; below 16 ms the browser reports none, which counts as 16), and on a zone tapped as soon as the visit's
// page shows, before it could make ready to turn to the form. The goals are 150 ms to open and 50 for an answer. The service
// worker is a thread of its own that the browser doesn't slow.
func BenchmarkZoneForm(b *testing.B) {
	const rounds, taps = 12, 6
	findChromium(b)
	o := buildOffice(b)
	o.start()
	phone := startBrowser(b, b.TempDir(), august).open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the day sheet", `document.body.innerText.includes("14 Alder Rise")`)
	phone.waitUntil("the service worker", `navigator.serviceWorker.controller || navigator.serviceWorker.ready.then(() => true)`)
	phone.eval(`[...document.querySelectorAll("a.row-link")].find(a => a.innerText.includes("14 Alder Rise")).click()`, nil)
	phone.waitUntil("the visit", `document.querySelector("[data-side] .go")`)
	phone.click("[data-side] .go")
	phone.waitUntil("the zones", `document.querySelector("[data-zones] a.row-link")`)
	visit := ""
	phone.eval(`location.href`, &visit)
	phone.do("slow down", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: stopwatch})
		if err == nil {
			_, err = cdp.Call(ctx, t, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
		}
		if err == nil {
			_, err = cdp.Call(ctx, t, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
		}
		return chromedp.Void{}, err
	})
	var opens, colds, answers []float64
	for b.Loop() {
		for n := range 2 * rounds {
			phone.goTo(visit)
			phone.waitUntil("the zones", `document.querySelector("[data-zones] a.row-link")`)
			cold := n%2 == 0
			if !cold {
				phone.waitUntil("the form made ready", `performance.getEntriesByType("resource").some((r) => new URL(r.name).pathname === "/field/zone")`)
				phone.eval(`new Promise((r) => setTimeout(r, 1000))`, nil) // who taps has read the page
			}
			phone.finger(`document.querySelector("[data-zones] a.row-link")`)
			phone.waitUntil("the form", `globalThis.watch && watch.opened > 0`)
			var opened float64
			phone.eval(`watch.opened`, &opened)
			if cold {
				colds = append(colds, opened)
				continue
			}
			opens = append(opens, opened)
			for range taps {
				phone.eval(`(() => { watch.interactions = {}; watch.clicked = false; addEventListener("click", () => { watch.clicked = true; }, {once: true, capture: true}); })()`, nil)
				phone.finger(`(() => { const all = [...document.querySelectorAll("[data-form] label:has(input[type=radio]:not([data-unit], :checked))")].filter((e) => e.checkVisibility()); return all[Math.floor(Math.random() * all.length)]; })()`)
				phone.waitUntil("the tap arrives", `watch.clicked`)
				var took float64
				phone.eval(`(async () => { await new Promise((r) => setTimeout(r, 400)); return Math.max(16, ...Object.values(watch.interactions)); })()`, &took)
				answers = append(answers, took)
			}
		}
	}
	for name, list := range map[string][]float64{"open": opens, "open-at-once": colds, "tap": answers} {
		slices.Sort(list)
		b.ReportMetric(list[len(list)/2], "ms/"+name)
		b.ReportMetric(list[len(list)*95/100], "p95-ms/"+name)
	}
}
