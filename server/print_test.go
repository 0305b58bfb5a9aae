package main

import (
	"context"
	"regexp"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// printed is a page as the browser prints it on letter paper.
func (tb *tab) printed() (file []byte) {
	tb.t.Helper()
	tb.do("print", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		out, err := cdp.Call(ctx, t, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.5, PaperHeight: 11})
		if err == nil {
			file = out.Data
		}
		return chromedp.Void{}, err
	})
	return file
}

var onePage = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// TestAClientsLinkPrintsToTwoPages: every client of the invented firm, the one with three properties and twelve zones among them, gets the season
// on at most two pages of paper.
func TestAClientsLinkPrintsToTwoPages(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	o.start()
	desk := startBrowser(t, t.TempDir(), august).open(1440, 900, false, o.url("/sign-in?next=/desk/clients"))
	desk.signIn("Iris", "elder-gate-41")
	desk.waitUntil("the clients", `document.querySelector("main a[href^='/desk/clients/']")`)
	var links []string
	desk.eval(`(async () => {
		const ids = [...new Set([...document.querySelectorAll("main a[href^='/desk/clients/']")].map((a) => a.getAttribute("href").split("/")[3]))].filter((id) => id.length === 36);
		const out = [];
		for (const id of ids) for (const year of [2025, 2026]) {
			const answer = await fetch("/desk/clients/" + id + "/links", { method: "POST", body: new URLSearchParams({ shows: "season " + year, days: "30" }) });
			const address = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("code.address");
			if (address) out.push(new URL(address.textContent).pathname);
		}
		return out;
	})()`, &links)
	if len(links) < 18 {
		t.Fatalf("%d links", len(links))
	}
	long := 0
	for _, to := range links {
		desk.goTo(o.url(to))
		desk.waitUntil("the page", `document.readyState === "complete" && [...document.images].every((i) => i.complete)`)
		var whose string
		desk.eval(`document.querySelector("h1").innerText + ", " + document.querySelector(".share .soft").innerText`, &whose)
		n := len(onePage.FindAll(desk.printed(), -1))
		if n < 1 || n > 2 {
			t.Errorf("%s prints to %d pages", whose, n)
		}
		if n == 2 {
			long++
		}
	}
	if long == 0 {
		t.Errorf("of %d links none needs a second page", len(links))
	}
}
