package main

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/static"
)

// fourteen is a published case filled up to fourteen findings with what a sound lawn shows.
func fourteen(b *testing.B, know *knowledge.Loaded) diagnose.Case {
	b.Helper()
	file, err := os.Open("../testdata/cases/worked.json")
	if err != nil {
		b.Fatal(err)
	}
	defer file.Close()
	cases, err := diagnose.ReadCases(file)
	if err != nil {
		b.Fatal(err)
	}
	c := cases[0]
	for _, f := range know.Bundle.Findings {
		seen := slices.ContainsFunc(c.Observed, func(o diagnose.Observed) bool { return o.Finding == f.ID })
		if len(c.Observed) < 14 && !seen && !f.Multi {
			c.Observed = append(c.Observed, diagnose.Observed{Finding: f.ID, State: f.States[0].ID})
		}
	}
	return c
}

// BenchmarkPhoneAnswer is one full answer (likelihoods, for and against, next checks) of a zone with fourteen findings in a
// browser whose processor is slowed four times. ms/answer is the median once the page has been idle; ms/first is the first
// answer of a page, with all that has to be made ready for it. Both are the median over all rounds: a slowed processor is one
// that is stopped and let go again, and a single round sees where the stops happen to fall.
func BenchmarkPhoneAnswer(b *testing.B) {
	know, err := knowledge.Load()
	if err != nil {
		b.Fatal(err)
	}
	given, err := json.Marshal(map[string]any{"bundle": know.Bundle, "case": fourteen(b, know)})
	if err != nil {
		b.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/", http.FileServerFS(static.FS))
	mux.HandleFunc("/given.json", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write(given) })
	srv := httptest.NewServer(mux)
	defer srv.Close()
	tb := startBrowser(b, b.TempDir(), "").open(390, 844, false, srv.URL+"/given.json")
	tb.do("slow down", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
		return chromedp.Void{}, err
	})
	var firsts, medians []float64
	for b.Loop() {
		var got struct{ First, Median float64 }
		tb.eval(`(async () => {
const {makeEngine} = await import("/js/diagnose.js"), given = await (await fetch("/given.json")).json();
const took = (f) => { const t = performance.now(); f(); return performance.now() - t; };
let engine;
const first = took(() => { engine = makeEngine(given.bundle); engine.diagnose(given.case); });
while (engine.warm(given.case)); // as the page does in idle moments
const times = Array.from({length: 60}, () => took(() => engine.diagnose(given.case))).sort((a, b) => a - b);
return {First: first, Median: times[30]};
})()`, &got)
		firsts, medians = append(firsts, got.First), append(medians, got.Median)
	}
	slices.Sort(firsts)
	slices.Sort(medians)
	b.ReportMetric(firsts[len(firsts)/2], "ms/first")
	b.ReportMetric(medians[len(medians)/2], "ms/answer")
}
