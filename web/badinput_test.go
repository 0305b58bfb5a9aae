package web

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"swardbook/store"
	"swardbook/web/route"
)

// badTexts are what nobody means: nothing, no number, too small and too big a number, a day that is none, far too much.
var badTexts = []string{"", "ten € or so", "-7", "1e400", "2026-02-31", "25:99", strings.Repeat("x", 5000)}

// onceOnly are forms that can be sent once: a field that they need stays empty, so that they can be sent again.
var onceOnly = map[string]string{"/desk/applications/{application}": "reason", "/desk/applications/{application}/seen": "why", "/desk/visits/{visit}/send-back": "reason", "/desk/aside/{op}": "why"}

// pressed are routes that are buttons, boxes to tick and lists to pick from, or that take a file; the test of what each does is its own. The second
// factor's codes are tried in its own tests, behind the limit of tries.
var pressed = []string{
	"/desk/visits/{visit}/sign-off", "/desk/visits/{visit}/choose", "/desk/visits/{visit}/plan/sign", "/desk/aside/{op}/place", "/desk/silent/{device}", "/desk/copy", "/desk/import",
	"/desk/learning/accept", "/desk/learning/undo", "/desk/people/{person}/passcode", "/desk/people/{person}/second-off", "/desk/me/second/confirm", "/desk/me/second/recovery", "/desk/me/second/off",
	"/desk/clients/{client}/links", "/desk/clients/{client}/links/{link}/revoke", "/desk/clients/{client}/archive", "/desk/properties/{property}/archive", "/desk/zones/{zone}/archive",
	"/desk/calendar", "/desk/people/{person}/calendar", "/desk/house/phones/{device}", "/desk/people/{person}/code", "/desk/people/{person}/sign-out", "/desk/people/{person}/active",
}

// deskForm is a form of the desk, as its page shows it.
type deskForm struct {
	page, action, pattern string
	upload                bool
	values                url.Values
	fields                []string // what a person types or picks
}

// isTyped reports whether a person fills an element in.
func isTyped(e *html.Node) bool {
	kind := value(e, "type")
	return value(e, "name") != "" && (e.Data == "textarea" || e.Data == "input" && !slices.Contains([]string{"hidden", "checkbox", "radio", "file", "submit"}, kind))
}

// patternOf is the route that an action belongs to.
func patternOf(routes []route.Route, path string) string {
	for _, r := range routes {
		at := regexp.MustCompile("^" + regexp.MustCompile(`\\\{[a-z]+\\\}`).ReplaceAllString(regexp.QuoteMeta(r.Pattern), "[^/]+") + "$")
		if r.Method == http.MethodPost && (r.Pattern == path || at.MatchString(path)) {
			return r.Pattern
		}
	}
	return ""
}

// deskForms walks the desk from its first page and gathers a form for each route that something is typed into.
func deskForms(b *browser, routes []route.Route, from ...string) map[string]deskForm {
	out, seen := map[string]deskForm{}, map[string]bool{}
	for queue := from; len(queue) > 0 && len(seen) < 150; queue = queue[1:] {
		path := queue[0]
		if seen[path] {
			continue
		}
		seen[path] = true
		answer := b.get(path)
		if answer.StatusCode != http.StatusOK || !strings.HasPrefix(answer.Header.Get("Content-Type"), "text/html") {
			continue
		}
		doc := parsed(b.h.t, answer)
		for _, a := range every(doc, "a") {
			if to, _, _ := strings.Cut(value(a, "href"), "#"); strings.HasPrefix(to, "/desk/") && !strings.Contains(to, ".") {
				queue = append(queue, to)
			}
		}
		for _, e := range every(doc, "form", "method=post") {
			f := deskForm{page: path, action: value(e, "action"), upload: value(e, "enctype") == "multipart/form-data", values: typed(e)}
			f.pattern = patternOf(routes, f.action)
			for _, x := range every(e, "") {
				if isTyped(x) {
					f.fields = append(f.fields, value(x, "name"))
				}
			}
			for _, x := range every(e, "button") {
				if name := value(x, "name"); name != "" && f.values.Get(name) == "" && len(f.fields) > 0 {
					f.values.Set(name, value(x, "value"))
				}
			}
			if old, known := out[f.pattern]; f.pattern != "" && (!known || len(old.fields) < len(f.fields)) {
				out[f.pattern] = f
			}
		}
	}
	return out
}

// refuses posts a form with one bad text and says whether it was refused, with a sentence in the form and everything else as it was typed.
func (f deskForm) refuses(t *testing.T, b *browser, field, bad string) bool {
	t.Helper()
	sent := clone(f.values)
	sent.Set(field, bad)
	var answer *http.Response
	if f.upload {
		fields := map[string]string{}
		for name := range sent {
			fields[name] = sent.Get(name)
		}
		answer = b.upload(f.action, fields)
	} else {
		answer = b.post(f.action, sent)
	}
	name := f.pattern + ", " + field + " “" + bad[:min(len(bad), 20)] + "”"
	switch answer.StatusCode {
	case http.StatusOK, http.StatusSeeOther: // it is a name, a note: whatever is typed is meant
		return false
	case http.StatusUnprocessableEntity:
	default:
		t.Errorf("%s: %d %s", name, answer.StatusCode, textOf(parsed(t, answer)))
		return false
	}
	doc := parsed(t, answer)
	var back *html.Node
	said := ""
	for _, e := range every(doc, "form", "action="+f.action) {
		if wrong := first(e, "", "class=wrong"); textOf(wrong) != "" {
			back, said = e, textOf(wrong)
		}
	}
	if back == nil {
		t.Errorf("%s: refused, and the form does not say why: %s", name, textOf(first(doc, "main")))
		return true
	}
	if len(said) < 10 || strings.Contains(said, "{") {
		t.Errorf("%s: says %q", name, said)
	}
	kept := typed(back)
	for _, e := range every(back, "") {
		key := value(e, "name")
		if want := strings.TrimSpace(strings.Join(strings.Fields(sent.Get(key)), " ")); isTyped(e) && value(e, "type") != "password" && want != strings.Join(strings.Fields(kept.Get(key)), " ") {
			t.Errorf("%s: %s is lost: %.60q, typed %.60q", name, key, kept.Get(key), want)
		}
	}
	return true
}

// TestBadInputAtEveryForm: whatever is typed into a form of the desk is either meant, or refused with a sentence at its place, and nothing
// that was typed is lost.
func TestBadInputAtEveryForm(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	h.signedSteps(h.lawn("Birch", "Verge"))
	m := h.material(store.Material{ID: "tri", Kind: "insecticide", Name: "Trichlorfon 6.2 %", Unit: "lb", RegNo: "9-9", Uses: []string{"grub_curative"}, Rate: 3, Stock: 4, StockDay: "2026-08-01",
		Licence: true, Tools: []string{"spreader"}, Actives: []store.Active{{Name: "trichlorfon", Percent: 6.2, OnceLbA: 8.2}}})
	id := h.phone(store.Crew, "phone-7").applied(l, m, "9", map[string]string{"applicator": "Crew"}, "2026-08-28T08:00:00-04:00")
	h.phone(store.Crew, "phone-8").reading(l.visit, l.zones[0], "grubs_sqft", "about two", "2026-08-27T12:30:00-04:00")
	lone := store.Client{ID: "c-lone", Name: "Household Elm", Created: h.now} // with no visit open, so that it may be erased
	if err := h.db.AddClient(t.Context(), lone); err != nil {
		t.Fatal(err)
	}
	b := h.as(store.Owner)
	routes := h.routes()
	forms := deskForms(b, routes, "/desk/", "/desk/visits/"+l.visit.ID, "/desk/visits/"+l.visit.ID+"/plan", "/desk/plans/plan", "/desk/applications/"+id, "/desk/properties/"+l.property.ID+"/map",
		"/desk/materials/new", "/desk/materials/tri", "/desk/clients/new", "/desk/clients/"+l.client.ID, "/desk/clients/"+l.client.ID+"/data", "/desk/clients/"+l.client.ID+"/links", "/desk/import", "/desk/weather", "/desk/me", "/desk/people", "/desk/house", "/desk/aside", "/desk/clients/c-lone/data", "/desk/properties/"+l.property.ID)
	refused := map[string]int{}
	for _, r := range routes {
		f, found := forms[r.Pattern]
		if !found || len(f.fields) == 0 {
			if r.Method == http.MethodPost && strings.HasPrefix(r.Pattern, "/desk/") && !slices.Contains(pressed, r.Pattern) {
				t.Errorf("%s: no page leads to its form", r.Pattern)
			}
			continue
		}
		if blank := onceOnly[r.Pattern]; blank != "" {
			f.values.Set(blank, "")
		}
		for _, field := range f.fields {
			for _, bad := range badTexts {
				if onceOnly[r.Pattern] == field && bad != "" {
					continue
				}
				if f.refuses(t, b, field, bad) {
					refused[r.Pattern]++
				}
			}
		}
	}
	t.Log(len(refused), "forms refused something:", refused)
	if len(refused) < 25 {
		t.Errorf("only %d forms refuse anything", len(refused))
	}
}
