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

// keys presses keys one after another as a keyboard does, and counts them.
func (tb *tab) keys(names ...string) int {
	tb.t.Helper()
	tb.waitUntil("the page to listen for keys", `document.readyState === "complete"`) // its modules run once all of it is read
	for _, name := range names {
		key, shift, _ := strings.Cut(name, "+")
		_ = shift
		tb.do("key "+name, func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
			text := ""
			code, virtual := key, int64(0)
			if len(key) == 1 {
				text, virtual = key, int64(strings.ToUpper(key)[0])
			}
			if v, ok := map[string]int64{"Enter": 13, "Escape": 27, "ArrowDown": 40, "ArrowUp": 38, "ArrowLeft": 37, "ArrowRight": 39, "Backspace": 8, "PageDown": 34}[key]; ok {
				virtual = v
			}
			if key == "Enter" {
				text = "\r"
			}
			for _, kind := range []input.DispatchKeyEventType{"keyDown", "keyUp"} {
				p := input.DispatchKeyEventParams{Type: kind, Key: key, Code: code, WindowsVirtualKeyCode: virtual}
				if kind == "keyDown" {
					p.Text = text
				}
				if _, err := cdp.Call(ctx, t, input.DispatchKeyEvent, p); err != nil {
					return chromedp.Void{}, err
				}
			}
			return chromedp.Void{}, nil
		})
	}
	return len(names)
}

// TestTheOfficeByKeyboard goes through the desk with keys: visits are looked over and signed off, one is moved to another day, and a zone is drawn.
func TestTheOfficeByKeyboard(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	picture := album(t)
	desk := startBrowser(t, t.TempDir(), august).open(1440, 900, false, o.url("/sign-in?next=/desk/"))
	desk.signIn("Iris", "elder-gate-41")
	desk.waitUntil("the first page", `document.querySelector("#h-waiting")`)
	picture(desk, "desk-first")
	lookOver(t, desk, picture)
	moveByKeys(t, o, desk, picture)
	drawByKeys(t, o, desk, picture)
	takeInFile(t, o, desk, picture)
}

// lookOver signs off a normal visit with keys alone and says how many it took; the goal is six.
func lookOver(t *testing.T, desk *tab, picture func(*tab, string)) {
	t.Helper()
	desk.eval(`document.querySelector("#h-waiting").closest("section").querySelector("tr[data-row] a").focus()`, nil)
	n := desk.keys("Enter")
	desk.waitUntil("the visit", `location.pathname.startsWith("/desk/visits/") && document.querySelector("[data-key=s]")`)
	picture(desk, "desk-visit")
	openNumbers(t, desk)
	picture(desk, "desk-workings")
	var before string
	desk.eval(`location.pathname`, &before)
	desk.eval(`(() => { window.confirm = () => true; })()`, nil) // the question is answered with Enter: it counts as a key
	n += desk.keys("s") + 1
	desk.waitUntil("it is signed off", `location.pathname !== `+jsText(before)+` && document.querySelector("[role=status]")`)
	t.Logf("a normal look-over takes %d keys from the first page, %d from the visit before", n, n-1)
	if n > 6 {
		t.Errorf("%d keys", n)
	}
	var next string
	desk.eval(`document.querySelector("[data-key=n]")?.getAttribute("href") ?? ""`, &next)
	if next != "" {
		desk.keys("n")
		desk.waitUntil("the next visit by one key", `location.pathname === `+jsText(next))
	}
	var photo bool
	desk.eval(`!!document.querySelector(".photos a[data-photo]")`, &photo)
	if photo {
		desk.eval(`document.querySelector(".photos a[data-photo]").focus()`, nil)
		desk.keys("Enter")
		desk.waitUntil("the photo", `document.querySelector("#photo").open`)
		desk.keys("z")
		desk.waitUntil("in full size", `document.querySelector("#photo.whole")`)
		picture(desk, "desk-photo")
		desk.keys("Escape")
	}
}

// openNumbers opens the workings of what is seen, why and what to do, each with a key, and closes them again.
func openNumbers(t *testing.T, desk *tab) {
	t.Helper()
	for _, at := range []struct{ part, says string }{{".zone-head", "Source:"}, {".because .cause", "odds now"}, {".settle", "bits a minute"}} {
		number := `document.querySelector(` + jsText(at.part+" details.number") + `)`
		for _, open := range []bool{true, false} {
			desk.eval(number+`.querySelector("summary").focus()`, nil)
			desk.keys("Enter")
			desk.waitUntil("the working in "+at.part, fmt.Sprintf(`%s.open === %t && %s.checkVisibility() && (!%[2]t || %[1]s.innerText.includes(%[4]s))`, number, open, number, jsText(at.says)))
		}
	}
	desk.eval(`document.activeElement.blur()`, nil)
}

// moveByKeys picks a visit of the board up, takes it to nobody's sheet of the next day, and puts it down.
func moveByKeys(t *testing.T, o *office, desk *tab, picture func(*tab, string)) {
	t.Helper()
	desk.goTo(o.url("/desk/days"))
	desk.waitUntil("the board", `document.querySelector("[data-visit][draggable=true]")`)
	picture(desk, "desk-days")
	var id string
	desk.eval(`document.querySelector("[data-visit][draggable=true]").dataset.visit`, &id)
	desk.eval(`document.querySelector("[data-visit][draggable=true]").focus()`, nil)
	desk.keys(" ", "ArrowDown", "Escape")
	desk.waitUntil("it is left", `document.querySelector("[data-told]").textContent.includes("Left")`)
	desk.keys(" ", "ArrowLeft", "ArrowLeft", "ArrowLeft", "ArrowLeft", "PageDown", "Enter")
	desk.waitUntil("it is moved", `location.search.includes("2026-08-28") && document.querySelector("[data-crew=''] [data-visit='`+id+`']")`)
	desk.waitUntil("it has the focus", `document.activeElement?.dataset.visit === `+jsText(id))
	desk.eval(`(() => { // and back, by drag
		const card = document.activeElement, data = new DataTransfer(), day = document.querySelector("[data-day='2026-08-27']");
		card.dispatchEvent(new DragEvent("dragstart", {bubbles: true, dataTransfer: data}));
		day.dispatchEvent(new DragEvent("dragover", {bubbles: true, cancelable: true, dataTransfer: data}));
		day.dispatchEvent(new DragEvent("drop", {bubbles: true, cancelable: true, dataTransfer: data})); })()`, nil)
	desk.waitUntil("it is back", `location.search.includes("2026-08-27") && document.querySelector("[data-crew=''] [data-visit='`+id+`']")`)
}

// drawByKeys draws a triangle with the keyboard and saves its area.
func drawByKeys(t *testing.T, o *office, desk *tab, picture func(*tab, string)) {
	t.Helper()
	desk.goTo(o.url("/desk/find?q=14+alder"))
	desk.press("a", "14 Alder Rise")
	desk.waitUntil("the property", `location.pathname.startsWith("/desk/properties/")`)
	desk.press("a", "Sketch map")
	desk.waitUntil("the map", `document.querySelector("[data-map] [data-tools]:not([hidden])")`)
	desk.fill("[name=place]", "40.5, -74.25")
	desk.eval(`(() => { document.querySelector("[name=draw]").click(); document.querySelector("[data-sketch]").focus(); })()`, nil)
	desk.keys("Enter")
	for range 20 {
		desk.keys("ArrowRight")
	}
	desk.keys("Enter")
	for range 20 {
		desk.keys("ArrowDown")
	}
	desk.keys("Enter")
	desk.waitUntil("three corners", `/^3 corners, [\d,]+ sq ft/.test(document.querySelector("[data-told]").textContent)`)
	var live string
	desk.eval(`document.querySelector("[data-told]").textContent.match(/[\d,]+ sq ft/)[0]`, &live)
	picture(desk, "desk-map")
	desk.press("button", "Save the sketch")
	desk.waitUntil("it is saved with the same area", `document.querySelector("[role=status].done") && document.querySelector("fieldset legend small").textContent === `+jsText(live))
}

// takeInFile takes clients in: a file with a bad row first, then without.
func takeInFile(t *testing.T, o *office, desk *tab, picture func(*tab, string)) {
	t.Helper()
	desk.goTo(o.url("/desk/import"))
	choose := func(text string) {
		desk.eval(fmt.Sprintf(`(() => { const data = new DataTransfer(); data.items.add(new File([%q], "clients.csv", {type: "text/csv"}));
			const input = document.querySelector("[type=file]"); input.files = data.files; input.form.requestSubmit(); })()`, text), nil)
	}
	choose("client,address,zone,area\nFen household,3 Fen Lane,Front,1800\nFen household,,Back,900\n")
	desk.waitUntil("the bad row", `document.querySelector(".take-bad")?.innerText.includes("The address is missing")`)
	picture(desk, "desk-import")
	choose("client,address,zone,area\nFen household,3 Fen Lane,Front,1800\n")
	desk.press("button", "Take all of it in")
	desk.waitUntil("they are in", `location.pathname === "/desk/clients" && document.body.innerText.includes("Fen household")`)
	picture(desk, "desk-clients")
}
