package main

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// findAxe returns the text of axe-core, which sh .ci/setup installs. Without it a laptop skips the test; under CI that is a failure.
func findAxe(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root(t), ".ci", "web", "node_modules", "axe-core", "axe.min.js"))
	if err == nil {
		return string(text)
	}
	if os.Getenv("CI") != "" {
		t.Fatal(err)
	}
	t.Skip("no axe-core here: sh .ci/setup installs it")
	return ""
}

// lens looks at one page in both schemes: axe, contrast, targets, zoom.
type lens struct {
	t    *testing.T
	axe  string
	tab  *tab
	wide int64
	high int64
	zoom int64 // the width that is left at 200 %
}

func (l *lens) media(scheme string) {
	l.tab.do("scheme", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
			{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
		return chromedp.Void{}, err
	})
}

func (l *lens) width(wide int64) {
	l.tab.do("size", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: wide, Height: l.high, DeviceScaleFactor: 1, Mobile: l.wide < 600})
		return chromedp.Void{}, err
	})
}

// look fails the test for whatever axe finds, text below 7:1, targets below 48 px, motion, and what sticks out at 200 %.
func (l *lens) look(page string) {
	l.t.Helper()
	l.tab.eval(`(() => {`+l.axe+`
	})()`, nil)
	l.tab.eval(`(() => { document.querySelectorAll("details").forEach((d) => { d.open = true; }); })()`, nil)
	l.tab.eval(measures, nil)
	for _, scheme := range []string{"light", "dark"} {
		l.media(scheme)
		var found []string
		l.tab.eval(`(async () => { await new Promise((r) => setTimeout(r, 30));
			const got = await axe.run(document, { resultTypes: ["violations"] });
			return [...got.violations.flatMap((v) => v.nodes.map((n) => "axe " + v.id + ": " + n.target.join(" ") + " " + n.html.slice(0, 120))), ...measures.faint(), ...measures.moving()]; })()`, &found)
		for _, f := range found {
			l.t.Errorf("%s, %s: %s", page, scheme, f)
		}
	}
	var small []string
	l.tab.eval(`measures.small()`, &small)
	for _, s := range small {
		l.t.Errorf("%s: too small a target: %s", page, s)
	}
	l.width(l.zoom)
	var out []string
	l.tab.eval(`measures.out()`, &out)
	for _, s := range out {
		l.t.Errorf("%s at 200 %%: sticks out: %s", page, s)
	}
	l.width(l.wide)
}

// measures is what the lens asks of a page: computed colours of all text, sizes of all that can be pressed, widths.
const measures = `(() => {
const seen = (e) => e.checkVisibility({ opacityProperty: true, visibilityProperty: true }) && e.getClientRects().length > 0 && !e.closest(".away, .skip");
const name = (e) => e.tagName.toLowerCase() + (e.id ? "#" + e.id : "") + (typeof e.className === "string" && e.className ? "." + e.className.split(" ").join(".") : "") + " “" + (e.innerText ?? e.textContent ?? "").trim().slice(0, 30) + "”";
const colour = (text) => { const m = text.match(/[\d.]+/g)?.map(Number) ?? [0, 0, 0, 0]; return { c: m.slice(0, 3), a: m[3] ?? 1 }; };
const over = (top, ground) => top.c.map((v, i) => v * top.a + ground[i] * (1 - top.a));
const light = (c) => { const [r, g, b] = c.map((v) => { const s = v / 255; return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
const ground = (e) => { if (!e) return [255, 255, 255]; const top = colour(getComputedStyle(e).backgroundColor); return top.a === 1 ? top.c : over(top, ground(e.parentElement)); };
const clear = (e) => { let a = 1; for (let p = e; p; p = p.parentElement) a *= Number(getComputedStyle(p).opacity); return a; };
const ratio = (a, b) => { const [x, y] = [light(a), light(b)]; return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
const short = (list) => [...new Set(list)].slice(0, 12);
globalThis.measures = {
	faint: () => { const found = []; const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
		while (walk.nextNode()) { const e = walk.currentNode.parentElement; if (!walk.currentNode.data.trim() || !e || !seen(e) || e.closest("option, script, style, noscript, [disabled]")) continue;
			const style = getComputedStyle(e); const under = e.matches(".pins circle + text") ? colour(getComputedStyle(e.previousElementSibling).fill).c : null; const g = under ?? ground(e instanceof SVGElement ? e.closest("svg") : e); const ink = colour(e instanceof SVGElement ? style.fill : style.color); ink.a *= clear(e);
			const r = ratio(over(ink, g), g); if (r < 7) found.push("text at " + r.toFixed(2) + ":1 " + name(e)); }
		return short(found); },
	moving: () => short(document.getAnimations().filter((a) => a.effect?.getTiming().duration > 0).map((a) => "moves: " + name(a.effect.target))),
	small: () => short([...document.querySelectorAll("a, button, summary, select, textarea, label:has(input[type=radio], input[type=checkbox]), input:not([type=radio], [type=checkbox], [type=file], [type=hidden])")].filter(seen)
		.filter((e) => !(e.tagName === "A" && !e.matches(".btn, nav a") && getComputedStyle(e).display === "inline")).map((e) => ({ e, r: e.getBoundingClientRect() })).filter(({ r }) => r.height < 47.5 || r.width < 47.5)
		.map(({ e, r }) => Math.round(r.width) + "×" + Math.round(r.height) + " " + name(e))),
	out: () => { const wide = document.documentElement.clientWidth; if (document.documentElement.scrollWidth <= wide + 1) return [];
		return short([...document.body.querySelectorAll("*")].filter(seen).filter((e) => e.getBoundingClientRect().right > wide + 1 && !e.closest(".scroll")).map((e) => Math.round(e.getBoundingClientRect().right) + " of " + wide + " " + name(e))); },
};
})()`

// TestAccess goes through every page of phone and desk, by the keyboard as well.
func TestAccess(t *testing.T) {
	findChromium(t)
	axe := findAxe(t)
	o := buildOffice(t)
	o.start()
	b := startBrowser(t, t.TempDir(), august)
	t.Run("field", func(t *testing.T) { t.Parallel(); fieldAccess(t, o, b, axe) })
	t.Run("setup", func(t *testing.T) { t.Parallel(); setupAccess(t, axe) })
	t.Run("desk", func(t *testing.T) { t.Parallel(); deskAccess(t, o, startBrowser(t, t.TempDir(), august), axe) })
}

func fieldAccess(t *testing.T, o *office, b *browser, axe string) {
	phone := b.open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.t = t
	l := &lens{t: t, axe: axe, tab: phone, wide: 390, high: 844, zoom: 195}
	l.look("/sign-in")
	phone.signIn("Jonah", "meadow-walk-3")
	phone.waitUntil("the day sheet", `document.body.innerText.includes("14 Alder Rise")`)
	l.look("/field/")
	phone.eval(`[...document.querySelectorAll("a.row-link")].find(a => a.innerText.includes("14 Alder Rise")).click()`, nil)
	phone.waitUntil("the visit", `document.querySelector("[data-side] .go")`)
	l.look("/field/visit before it starts")
	phone.click("[data-side] .go")
	phone.waitUntil("the zones", `document.querySelector("[data-zones] a.row-link")`)
	l.look("/field/visit")
	visit := ""
	phone.eval(`new URLSearchParams(location.search).get("visit")`, &visit)
	zone := ""
	phone.click("[data-zones] a.row-link")
	phone.waitUntil("the form", `document.querySelector("[data-form]") && !document.querySelector("[data-form]").inert`)
	phone.eval(`location.search`, &zone)
	byKeyboard(t, phone)
	phone.fill("#check-sun_hours .typed", "much")
	phone.waitUntil("the problem", `!document.querySelector("#check-sun_hours [data-problem]").hidden`)
	l.look("/field/zone")
	for _, page := range []string{"/field/unsent", "/field/load", "/field/calibrate", "/field/apply?visit=" + visit,
		"/field/es/", "/field/es/visit?visit=" + visit, "/field/es/zone" + zone, "/field/es/unsent", "/field/es/load", "/field/es/calibrate", "/field/es/apply?visit=" + visit} {
		phone.goTo(o.url(page))
		phone.waitUntil(page, `!/Opening|Abriendo/.test(document.querySelector("[data-kept]").innerText)`)
		l.look(page)
	}
	phone.goTo(o.url("/field/unsent"))
	phone.waitUntil("the unsent page", `!/Opening/.test(document.querySelector("[data-kept]").innerText)`)
	phone.click("[data-out='/sign-out/everywhere']")
	phone.waitUntil("signed out", `location.pathname === "/sign-in"`)
}

// byKeyboard answers the first check without touching, and sees that what has the focus shows it.
func byKeyboard(t *testing.T, phone *tab) {
	t.Helper()
	var bare []string
	phone.eval(`document.querySelector("#check-pattern input").focus()`, nil)
	phone.key(t, " ")
	phone.waitKept("#check-pattern")
	for range 25 {
		phone.key(t, "\t")
		var shown string
		phone.eval(`(() => { const e = document.activeElement; const ring = [e, e.closest("label, fieldset")].filter(Boolean).some((x) => getComputedStyle(x).outlineStyle !== "none" && parseFloat(getComputedStyle(x).outlineWidth) >= 2);
			return ring ? "" : e.tagName + " " + e.className + " " + e.name; })()`, &shown)
		if shown != "" {
			bare = append(bare, shown)
		}
	}
	if len(bare) > 0 {
		t.Errorf("the focus does not show on %q", bare)
	}
}

func (tb *tab) key(t *testing.T, key string) {
	t.Helper()
	ctx, cancel := context.WithCancel(tb.ctx)
	defer cancel()
	if err := chromedp.Do(ctx, chromedp.KeyEvent(key)); err != nil {
		t.Fatal(err)
	}
}

// notPages are the routes of the desk that answer with something else than a page.
var notPages = regexp.MustCompile(`season\.(csv|json|xlsx|pdf|ics)|seasons\.zip|/photos/|/desk/find|\.(csv|json|xlsx|pdf|ics|zip|jpg)$`)

// deskAccess walks the desk by its links until it has seen a page of every route there is.
// setupAccess looks at the first page of an office that nobody has set up.
func setupAccess(t *testing.T, axe string) {
	now, err := startingAt(august)
	if err != nil {
		t.Fatal(err)
	}
	c := config{data: t.TempDir()}
	h, err := openHouse(t.Context(), c, now, silent())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.close() })
	handler, err := h.handler(c, silent())
	if err != nil {
		t.Fatal(err)
	}
	site := httptest.NewServer(handler)
	t.Cleanup(site.Close)
	tb := startBrowser(t, t.TempDir(), august).open(1440, 900, false, site.URL+"/setup")
	tb.waitUntil("the form", `document.querySelector("form[method=post] input")`)
	l := &lens{t: t, axe: axe, tab: tb, wide: 1440, high: 900, zoom: 720}
	l.look("/setup")
}

func deskAccess(t *testing.T, o *office, b *browser, axe string) {
	desk := b.open(1440, 900, false, o.url("/sign-in?next=/desk/"))
	desk.t = t
	l := &lens{t: t, axe: axe, tab: desk, wide: 1440, high: 900, zoom: 720}
	desk.signIn("Iris", "elder-gate-41")
	loseAReading(t, desk)
	routes := deskRoutes(t)
	seen := map[string]bool{}
	queue, met := []string{"/desk/", "/desk/aside", "/desk/copy"}, map[string]bool{"/desk/": true} // a page is led to only while there is something for it
	for len(queue) > 0 && len(seen) < len(routes) {
		path := queue[0]
		queue = queue[1:]
		at := slices.IndexFunc(routes, func(r deskRoute) bool { return r.match.MatchString(path) })
		if at < 0 || seen[routes[at].pattern] {
			continue
		}
		seen[routes[at].pattern] = true
		desk.goTo(o.url(path))
		var links []string
		desk.eval(`[...document.querySelectorAll("a[href^='/'], form[method=get]")].map((a) => new URL(a.href ?? a.action, location.href).pathname)`, &links)
		for _, link := range links {
			if !met[link] && !notPages.MatchString(link) {
				met[link] = true
				queue = append(queue, link)
			}
		}
		l.look(path)
	}
	for _, r := range routes {
		if !seen[r.pattern] {
			t.Errorf("no page of %s was looked at", r.pattern)
		}
	}
	openALink(t, o, desk)
	l.look("/c/, the page of a client's link")
}

// openALink makes a link to a client's season and opens it as the client does.
func openALink(t *testing.T, o *office, tb *tab) {
	t.Helper()
	var path string
	tb.goTo(o.url("/desk/clients"))
	tb.waitUntil("the clients", `document.querySelector("tr[data-row] a[href^='/desk/clients/']")`)
	tb.eval(`(async () => {
		const client = document.querySelector("tr[data-row] a[href^='/desk/clients/']").getAttribute("href");
		const answer = await fetch(client + "/links", {method: "POST", body: new URLSearchParams({shows: "season 2026", days: "30"})});
		const page = new DOMParser().parseFromString(await answer.text(), "text/html");
		return new URL(page.querySelector("code.address").textContent).pathname;
	})()`, &path)
	tb.goTo(o.url(path))
	tb.waitUntil("the client's page", `document.querySelector("main.share")`)
}

// loseAReading sends a reading of a visit that nobody has, as a phone does that knows more than the office, so that there is something to put in its place.
func loseAReading(t *testing.T, tb *tab) {
	t.Helper()
	var status int
	tb.eval(`(async () => {
		const pack = await (await fetch("/api/v1/pack")).json();
		const id = crypto.randomUUID(), at = pack.now;
		const op = {n: 1, id, op: "create", entity: id, base: 0, form: "reading", fver: 1, author: pack.person.id, at,
			hlc: Date.parse(at).toString(16).padStart(12, "0") + "-0000-abcd", body: {visit: crypto.randomUUID(), zone: crypto.randomUUID(), check: "thatch_in", typed: "0.5", edition: pack.edition}};
		const push = {proto: 1, app: "test", device: crypto.randomUUID(), epoch: pack.epoch, sent: at, ops: [op]};
		return (await fetch("/api/v1/ops", {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify(push)})).status;
	})()`, &status)
	if status != 200 {
		t.Fatalf("the office answers %d to a reading of an unknown visit", status)
	}
}

type deskRoute struct {
	pattern string
	match   *regexp.Regexp
}

// deskRoutes are the pages of the desk, from the list of all routes.
func deskRoutes(t *testing.T) (all []deskRoute) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root(t), "testdata", "routes.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		if f[0] != "GET" || !strings.HasPrefix(f[1], "/desk/") || notPages.MatchString(f[1]) {
			continue
		}
		pattern := regexp.MustCompile(`\\\{\w+\\\}`).ReplaceAllString(regexp.QuoteMeta(f[1]), `[^/]+`)
		all = append(all, deskRoute{f[1], regexp.MustCompile(fmt.Sprintf("^%s$", pattern))})
	}
	// A word in the address, as in /clients/new, comes before a name in its place.
	slices.SortStableFunc(all, func(a, b deskRoute) int { return strings.Count(a.pattern, "{") - strings.Count(b.pattern, "{") })
	return all
}
