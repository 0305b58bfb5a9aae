package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store/record"
)

// badly is what is typed into everything on the phone. None of it is a number that any control takes; as words all but the long ones are meant.
// A lone half of a character is written as a JavaScript escape, since no Go string holds one.
var badly = []string{
	`much`, `-70000`, `70000000000`, `1e400`, `2,5,5`, `7 apples`, `1/0`, `99999999999999999999`, `<b>7</b>`, `🌱`, `7\ud800`, `7\u0007`, `7\u200b`,
	strings.TrimSuffix(strings.Repeat("1;", 61), ";") + `;x`, strings.Repeat("9", 20000), strings.Repeat("🌱", 10000),
}

// kindOfControl says what a control takes: words of at most so many characters, or (0) a number; and a good text for it, where the catalogue has none.
type kindOfControl struct {
	words int
	good  string
}

// kindsOfControls are all kinds of controls of a zone's form that something is typed into. One that is not named here fails the test.
var kindsOfControls = map[string]kindOfControl{
	"check note": {words: 4000, good: "a gate"}, "check measure": {}, "check repeated": {}, "check count": {}, "check mix": {good: "2,5"},
	"aid frame wide": {good: "10,5"}, "aid frame long": {good: "12"},
	"aid cans cans": {good: "0,5"}, "aid cans wide": {good: "3"}, "aid cans minutes": {good: "20"}, "aid cans across": {good: "8,4"}, "aid cans water": {good: "0.5"},
	"aid sun height": {good: "20"}, "aid sun tall": {good: "30"}, "aid sun away": {good: "40 1/2"}, "aid sun latitude": {good: "40,7"},
	"aid wetting water": {good: "0,5"},
	"zone name":         {words: 80, good: "Behind the shed"}, "zone area": {good: "1200"}, "tape length": {good: "20"}, "tape width": {good: "12 1/2"},
	"apply name": {words: 200, good: "Lime from the yard"}, "apply reg_no": {words: 60, good: "1-2"}, "apply amount": {good: "3"}, "apply area": {good: "1000"},
	"calibrate equipment": {words: 4000, good: "Rotary one"}, "calibrate setting": {words: 4000, good: "H"}, "calibrate note": {words: 4000, good: "new plate"},
	"calibrate width": {good: "5"}, "calibrate length": {good: "10,5"}, "calibrate collected": {good: "0,5"}, "calibrate want": {good: "9"},
}

// typedInto finds the controls of the page that are typed into, and their state.
const typedInto = `(() => {
const kindOf = (e) => {
	const aid = e.closest("[data-aid]"), box = e.closest("fieldset.check"), page = document.querySelector("[data-page]").dataset.page;
	if (aid) return "aid " + aid.dataset.aid + " " + e.dataset.field;
	if (box) return "check " + box.dataset.kind;
	if (e.closest("[data-tape]")) return "tape " + e.dataset.field;
	if (e.closest("[data-add]")) return "zone " + e.name;
	return page + " " + (e.dataset.field || e.name);
};
const nameOf = (e) => e.closest("fieldset.check")?.dataset.check + " " + (e.dataset.share ?? "") + (e.closest("[data-aid]")?.dataset.for ?? "") + (e.closest("[data-zone]")?.dataset.zone ?? "");
globalThis.bad = {
	all: () => [...document.querySelectorAll("input, textarea")].filter((e) => !["radio", "checkbox", "file", "date", "time", "hidden"].includes(e.type)),
	list: () => bad.all().map((e) => ({ kind: kindOf(e), name: nameOf(e), seen: e.checkVisibility(), most: e.maxLength, check: e.closest("fieldset.check")?.dataset.check ?? "" })),
	type: async (texts) => { for (const [i, e] of bad.all().entries()) { if (!e.checkVisibility()) continue; e.focus(); e.select(); document.execCommand("delete"); document.execCommand("insertText", false, texts[i]);
		if (e.value !== texts[i]) { e.value = texts[i]; e.dispatchEvent(new Event("input", { bubbles: true })); e.dispatchEvent(new Event("change", { bubbles: true })); }
		e.blur(); await new Promise((r) => setTimeout(r, 0)); } },
	state: () => bad.all().map((e) => ({ same: "", value: e.value.toWellFormed(), invalid: e.getAttribute("aria-invalid") ?? "",
		says: (e.getAttribute("aria-describedby") ?? "").split(" ").filter(Boolean).map((id) => document.getElementById(id)).filter((h) => h?.checkVisibility()).flatMap((h) => h.querySelector("span") ? [...h.querySelectorAll("span")].map((s) => s.textContent) : [h.textContent]) })),
	kept: async () => { const open = indexedDB.open("swardbook"); await new Promise((r) => { open.onsuccess = r; }); const tx = open.result.transaction(["drafts", "meta", "ops"]);
		const get = (name) => new Promise((r) => { const all = tx.objectStore(name).getAll(); all.onsuccess = () => r(all.result); });
		const out = (await Promise.all(["drafts", "meta", "ops"].map(get))).flat(); open.result.close(); return JSON.stringify(out); },
};
})()`

type controlSeen struct {
	Kind, Name, Check string
	Seen              bool
	Most              int
}

type controlSays struct {
	Value, Invalid string
	Says           []string
}

// phoneForm is one page of the phone with something to type into: how it is opened, and what opens all of its controls.
type phoneForm struct {
	name, path, prepare, ready string
}

// tongue knows a language's sentences about wrong input.
type tongue struct{ own, other []*regexp.Regexp }

func sentencesOf(t *testing.T, lang string) []*regexp.Regexp {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(root(t), "static", "text", lang+".field.json"))
	if err != nil {
		t.Fatal(err)
	}
	var texts map[string]string
	if err := json.Unmarshal(raw, &texts); err != nil {
		t.Fatal(err)
	}
	var out []*regexp.Regexp
	place := regexp.MustCompile(`\\\{[a-z_]+\\\}`)
	for key, text := range texts {
		for _, family := range []string{"problem.", "visit.", "tape.", "apply.", "calibrate.", "photo.", "sun."} {
			if strings.HasPrefix(key, family) && len(text) > 12 {
				out = append(out, regexp.MustCompile(`(?s)^`+place.ReplaceAllString(regexp.QuoteMeta(text), `.*`)+`$`))
			}
		}
	}
	return out
}

func (l tongue) says(text string) bool {
	in := func(list []*regexp.Regexp) bool {
		return slices.ContainsFunc(list, func(r *regexp.Regexp) bool { return r.MatchString(text) })
	}
	return in(l.own) && !in(l.other) && utf8.RuneCountInString(text) > 12 && utf8.RuneCountInString(text) < 250
}

// goodTexts are texts in the middle of what is usual for each check and each item of a record, with a decimal comma.
func goodTexts(t *testing.T) map[string]string {
	t.Helper()
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	book, err := record.Load()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	add := func(c checks.Check) {
		if c.Usual != nil {
			out[c.ID] = strings.Replace(fmt.Sprintf("%.2f", c.Usual.Low+(c.Usual.High-c.Usual.Low)/4), ".", ",", 1)
		}
	}
	for _, c := range know.Bundle.Checks {
		add(c)
	}
	for _, it := range book.Items {
		if it.Check != nil {
			add(*it.Check)
		}
	}
	return out
}

// sloppy types badly into the pages of a phone.
type sloppy struct {
	t     *testing.T
	phone *tab
	says  tongue
	good  map[string]string
	met   map[string]bool
}

func (s *sloppy) open(f phoneForm) []controlSeen {
	s.t.Helper()
	s.phone.waitUntil(f.name, f.ready)
	s.phone.eval(`(async () => { document.querySelectorAll("details").forEach((d) => { d.open = true; }); })()`, nil)
	s.phone.waitUntil("every aid of "+f.name, `[...document.querySelectorAll("[data-aid]")].every((a) => a.querySelector("[data-body]").children.length > 0)`)
	if f.prepare != "" {
		s.phone.eval(f.prepare, nil)
	}
	s.phone.eval(typedInto, nil)
	var list []controlSeen
	s.phone.eval(`bad.list()`, &list)
	for _, c := range list {
		kind, known := kindsOfControls[c.Kind]
		switch {
		case !known && c.Seen:
			s.t.Errorf("%s: a control of the kind %q (%s), for which this test has no wrong input", f.name, c.Kind, c.Name)
		case c.Seen && c.Most >= 0:
			s.t.Errorf("%s: %s %s cuts what is pasted at %d characters without a word", f.name, c.Kind, c.Name, c.Most)
		case c.Seen:
			s.met[c.Kind] = true
			if kind.words == 0 && kind.good == "" && s.good[c.Check] == "" {
				s.t.Errorf("%s: no good text for %s %s", f.name, c.Kind, c.Name)
			}
		}
	}
	return list
}

// wants is whether a text must be refused at a control.
func wants(kind kindOfControl, text string) bool {
	if kind.words == 0 {
		return true
	}
	return utf8.RuneCountInString(text) > kind.words
}

// faults compares what stands at the controls with what was typed.
func (s *sloppy) faults(list []controlSeen, texts []string) []string {
	var now []controlSays
	if err := s.phone.try(`bad.state()`, &now); err != nil || len(now) != len(list) {
		return []string{fmt.Sprintf("%d controls of %d: %v", len(now), len(list), err)}
	}
	var out []string
	for i, c := range list {
		if !c.Seen {
			continue
		}
		name := fmt.Sprintf("%s %s, %.24q", c.Kind, c.Name, texts[i])
		var typed string
		if json.Unmarshal([]byte(`"`+strings.ReplaceAll(texts[i], `"`, `\"`)+`"`), &typed) != nil {
			panic(texts[i])
		}
		if now[i].Value != typed {
			out = append(out, fmt.Sprintf("%s: %.40q is left", name, now[i].Value))
		}
		refuse := wants(kindsOfControls[c.Kind], texts[i])
		switch {
		case refuse && now[i].Invalid != "true":
			out = append(out, name+": not refused")
		case refuse && (len(now[i].Says) == 0 || slices.ContainsFunc(now[i].Says, func(text string) bool { return !s.says.says(text) })):
			out = append(out, fmt.Sprintf("%s: says %.300q", name, now[i].Says))
		case !refuse && now[i].Invalid != "":
			out = append(out, fmt.Sprintf("%s: refused with %q", name, now[i].Says))
		}
	}
	return out
}

// settles waits until nothing is wrong with the controls, or fails with what is.
func (s *sloppy) settles(f phoneForm, when string, list []controlSeen, texts []string) {
	s.t.Helper()
	var last []string
	for range 100 {
		if last = s.faults(list, texts); len(last) == 0 {
			return
		}
		s.phone.eval(`new Promise((r) => setTimeout(r, 50))`, nil)
	}
	for _, text := range last[:min(len(last), 12)] {
		s.t.Errorf("%s, %s: %s", f.name, when, text)
	}
	if s.t.Failed() {
		s.t.FailNow()
	}
}

func (s *sloppy) typeAll(texts []string) {
	s.t.Helper()
	quoted := make([]string, len(texts))
	for i, text := range texts {
		quoted[i] = `"` + text + `"`
	}
	s.phone.eval(`bad.type([`+strings.Join(quoted, ",")+`])`, nil)
}

// reload loads the page anew once everything typed is on the disk.
func (s *sloppy) reload(f phoneForm, list []controlSeen, texts []string) []controlSeen {
	s.t.Helper()
	need := map[string]int{}
	for i, c := range list {
		if c.Seen {
			need[texts[i]]++
		}
	}
	for text, n := range need {
		s.phone.waitUntil(fmt.Sprintf("%d times %.20q on the disk", n, text), fmt.Sprintf(`(async () => (await bad.kept()).split(JSON.stringify("%s").slice(1, -1)).length > %d)()`, text, n))
	}
	s.phone.eval(`new Promise((r) => setTimeout(r, 600))`, nil) // what another page left on the disk may hold the same texts: a draft is kept within 300 ms
	s.phone.goTo(f.path)
	return s.open(f)
}

func all(n int, text string) []string { return slices.Repeat([]string{text}, n) }

// misuse types every bad text into every control of a page, loads it anew now and then, and mends everything in the end.
func (s *sloppy) misuse(f phoneForm) {
	s.t.Helper()
	s.phone.goTo(f.path)
	list := s.open(f)
	for i, text := range badly {
		texts := all(len(list), text)
		s.typeAll(texts)
		s.settles(f, "typed", list, texts)
		if i%5 == 1 || i == len(badly)-1 {
			list = s.reload(f, list, texts)
			s.settles(f, "loaded anew", list, texts)
		}
	}
}

// mend types a good text into every control.
func (s *sloppy) mend(f phoneForm, list []controlSeen) {
	s.t.Helper()
	texts := make([]string, len(list))
	for i, c := range list {
		texts[i] = kindsOfControls[c.Kind].good
		if texts[i] == "" {
			texts[i] = s.good[c.Check]
		}
	}
	s.typeAll(texts)
	s.phone.waitUntil("nothing wrong any more on "+f.name, `!document.querySelector("[aria-invalid]") && [...document.querySelectorAll(".problem")].every((p) => !p.checkVisibility() || p.classList.contains("ask"))`)
}

// TestBadInputAtEveryControlOfThePhone types wrong things into every control of a zone's form and its aids, of a new zone, an application and a calibration, without an office, in both languages: a
// sentence in the person's language stands at the place, tied to it; nothing typed is lost, also when the page is loaded anew; mended, it is kept.
func TestBadInputAtEveryControlOfThePhone(t *testing.T) {
	findChromium(t)
	o := buildOffice(t)
	b := startBrowser(t, t.TempDir(), august)
	sentences := map[string][]*regexp.Regexp{"en": sentencesOf(t, "en"), "es": sentencesOf(t, "es")}
	met := map[string]bool{}
	o.start()
	phone := b.open(390, 844, false, o.url("/sign-in?next=/field/"))
	phone.signIn("Jonah", "meadow-walk-3")
	phone.holds("14 Alder Rise")
	phone.waitUntil("the worker and its cache", `(async () => (await navigator.serviceWorker.getRegistration("/field/"))?.active && (await caches.keys()).length > 0)()`)
	o.stop()
	for _, v := range []struct{ lang, other, at string }{{"en", "es", "14 Alder Rise"}, {"es", "en", "3 Wren Hollow"}} {
		t.Run(v.lang, func(t *testing.T) {
			phone.t = t
			phone.goTo(o.url("/field/"))
			if v.lang == "es" {
				phone.click("[data-speak=es]")
				phone.waitUntil("Spanish", `document.documentElement.lang === "es"`)
			}
			s := &sloppy{t: t, phone: phone, says: tongue{sentences[v.lang], sentences[v.other]}, good: goodTexts(t), met: met}
			s.walk(o, v.at)
		})
	}
	for kind := range kindsOfControls {
		if !met[kind] {
			t.Errorf("no page has a control of the kind %q", kind)
		}
	}
}

func (s *sloppy) walk(o *office, at string) {
	s.t.Helper()
	phone := s.phone
	phone.press("a.row-link", at)
	phone.click("[data-side] .go")
	phone.waitUntil("the zones", `document.querySelector("[data-zones] a.row-link")`)
	var visit, zone string
	phone.eval(`location.search`, &visit)
	phone.eval(`new URL(document.querySelector("[data-zones] a.row-link").href).search`, &zone)
	inForm := `document.querySelector("[data-form]") && !document.querySelector("[data-form]").inert && !document.querySelector("[data-form]").hidden`
	pick := func(selector, value string) string {
		return fmt.Sprintf(`[...document.querySelectorAll(%q)].forEach((e) => { if (![...e.options].some((o) => o.value === %q)) return; e.value = %q; e.dispatchEvent(new Event("change", { bubbles: true })); })`, selector, value, value)
	}
	form := phoneForm{name: "zone", path: o.url("/field/zone" + zone), ready: inForm, prepare: `[` + pick("[data-aid=frame] select", "own") + `, ` + pick("[data-aid=cans] select", "mL") + `]`}
	s.misuse(form)
	s.zone(form)
	adding := phoneForm{name: "visit", path: o.url("/field/visit" + visit), ready: `document.querySelector("[data-zones] a.row-link") && document.querySelector("[data-tape] [data-field]")`}
	s.misuse(adding)
	s.zone(adding)
	working := phoneForm{name: "application", path: o.url("/field/apply" + visit), ready: inForm, prepare: `(() => { const other = document.querySelector("[name=material][value=other]"); if (!other.checked) other.click(); })()`}
	s.misuse(working)
	s.zone(working)
	calibrating := phoneForm{name: "calibration", path: o.url("/field/calibrate"), ready: inForm}
	s.misuse(calibrating)
	s.zone(calibrating)
}

// zone mends the form of a zone and does wrong what is pressed and not typed.
func (s *sloppy) zone(f phoneForm) {
	s.t.Helper()
	s.phone.goTo(f.path)
	s.mend(f, s.open(f))
}
