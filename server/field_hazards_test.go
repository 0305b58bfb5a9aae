package main

import (
	"context"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// lifecycle freezes a tab as a browser does to one in the background, or wakes it.
func (tb *tab) lifecycle(state page.SetWebLifecycleStateState) {
	tb.t.Helper()
	tb.do("lifecycle", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, page.SetWebLifecycleState, page.SetWebLifecycleStateParams{State: state})
		return chromedp.Void{}, err
	})
}

// TestB9AFrozenTabGoesOn: a tab is frozen while it sends, twice, and woken; everything arrives once, and it records on.
func TestB9AFrozenTabGoesOn(t *testing.T) {
	p := startPushing(t)
	tb := p.phone()
	tb.eval(`(async () => { for (let i = 0; i < 60; i++) await phone.record(); })()`, nil)
	for range 2 {
		tb.eval(`void phone.syncer.tapped()`, nil)
		tb.lifecycle("frozen")
		time.Sleep(300 * time.Millisecond)
		tb.lifecycle("active")
	}
	tb.eval(`phone.record()`, nil)
	tb.waitUntil("everything to be sent", `phone.syncer.tapped().then(() => phone.outbox.unsent()).then((rows) => rows.length === 0)`)
	var state struct{ Device string }
	tb.eval(`phone.outbox.state()`, &state)
	if through, err := p.db.Through(t.Context(), state.Device); err != nil || through != 61 {
		t.Errorf("the office has %d of 61 (%v)", through, err)
	}
	if readings, err := p.db.Readings(t.Context(), p.visit.ID); err != nil || len(readings) != 61 {
		t.Errorf("%d readings (%v)", len(readings), err)
	}
}

// TestC10WithoutASecureAddressThereIsNoForm: a phone that opens the office without https is told so, and can enter nothing.
func TestC10WithoutASecureAddressThereIsNoForm(t *testing.T) {
	p := startPushing(t)
	b := startBrowser(t, t.TempDir(), "")
	at, err := url.Parse(p.url)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/field/", "/field/zone?visit=" + p.visit.ID + "&zone=" + p.zones[0].ID} {
		tb := b.open(390, 844, false, "http://office.example:"+at.Port()+path)
		var secure bool
		if tb.eval(`isSecureContext`, &secure); secure {
			t.Fatal("the browser takes this address for secure")
		}
		tb.waitUntil("the page to say so", `document.body.innerText.includes("https")`)
		var shown int
		tb.eval(`[...document.querySelectorAll("main input, main select, main textarea, fieldset")].filter((e) => e.checkVisibility()).length`, &shown)
		if shown > 0 {
			t.Errorf("%s shows %d things to enter: %s", path, shown, strings.ReplaceAll(tb.text("body"), "\n", " "))
		}
	}
}
