package web

import (
	"bytes"
	"io"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"swardbook/store"
	"swardbook/store/record"
)

// typed is a form as its page shows it, to be changed and posted.
func typed(form *html.Node) url.Values {
	out := url.Values{}
	for _, e := range every(form, "") {
		name := value(e, "name")
		_, checked := attr(e, "checked")
		kind := value(e, "type")
		switch {
		case name == "" || e.Data == "button" || (kind == "checkbox" || kind == "radio") && !checked:
		case e.Data == "textarea":
			out.Add(name, textOf(e))
		case e.Data == "select":
			for _, o := range every(e, "option", "selected") {
				out.Add(name, value(o, "value"))
			}
		case e.Data == "input":
			out.Add(name, value(e, "value"))
		}
	}
	return out
}

func formTo(doc *html.Node, action string) *html.Node { return first(doc, "form", "action="+action) }

// material puts something on the firm's list.
func (h *house) material(m store.Material) store.Material {
	h.t.Helper()
	var err error
	if m.Version, err = h.db.SaveMaterial(h.t.Context(), m, "id-manager"); err != nil {
		h.t.Fatal(err)
	}
	return m
}

func TestMaterialsFromAnExample(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	list := b.page("/desk/materials")
	if !strings.Contains(textOf(list), "No materials yet.") {
		t.Fatal("a firm begins with materials that nobody put there")
	}
	doc := b.page("/desk/materials/new?example=ex-three-way")
	form := typed(formTo(doc, "/desk/materials/new"))
	if form.Get("wind_high") != "10" || form.Get("active.1") != "mcpp" || len(form["tools"]) == 0 {
		t.Fatalf("the example is not in the form: %v", form)
	}
	wrong := clone(form)
	wrong.Set("rate", "2")
	wrong.Set("temp_high", "warm")
	wrong.Set("active.0", "")
	answer := parsed(t, want(t, b.post("/desk/materials/new", wrong), http.StatusUnprocessableEntity))
	for _, name := range []string{"rate", "temp_high", "active.0"} {
		if value(first(answer, "", "name="+name), "aria-invalid") != "true" {
			t.Errorf("nothing is said at %s", name)
		}
	}
	if value(first(answer, "", "name=temp_high"), "value") != "warm" {
		t.Error("what was typed is lost")
	}
	form.Set("reg_no", "12-34")
	form.Set("stock", "128")
	doc = b.follow("/desk/materials/new", form)
	if text := textOf(doc); !strings.Contains(text, "128 fl oz") || !strings.Contains(text, "at most 1.5 fl oz on 1000 sq ft at once") {
		t.Errorf("the list: %s", text)
	}
	all, err := h.db.Materials(t.Context())
	if err != nil || len(all) != 1 || all[0].RegNo != "12-34" || len(all[0].Actives) != 3 || all[0].Limits.SeedAfter != 28 || all[0].StockDay != "2026-08-28" {
		t.Fatalf("kept %+v, %v", all, err)
	}
	form.Set("once", "1.2")
	form.Set("rate", "1.2")
	b.follow("/desk/materials/"+all[0].ID, form)
	if old, err := h.db.Material(t.Context(), all[0].ID, all[0].Version); err != nil || old.Limits.Once != 1.5 {
		t.Errorf("the version before changed: %+v, %v", old.Limits, err)
	}
}

func clone(v url.Values) url.Values {
	out := url.Values{}
	for k, list := range v {
		out[k] = append([]string{}, list...)
	}
	return out
}

func TestRulesOfTheRecord(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	b.follow("/desk/materials/rules", url.Values{"rules": {"delaware", "firm", "nonsense"}, "n_once": {"0.9"}, "n_year": {""}})
	var f record.Firm
	if err := h.db.Setting(t.Context(), record.SettingName, &f); err != nil || len(f.Rules) != 1 || f.Rules[0] != "delaware" || f.NOnce != 0.9 || f.NYear != 0 {
		t.Errorf("kept %+v, %v", f, err)
	}
	want(t, b.post("/desk/materials/rules", url.Values{"n_once": {"much"}}), http.StatusUnprocessableEntity)
}

// applied records a fertilizer on the first zone as a phone does.
func (p *phone) applied(l lawn, m store.Material, amount string, items map[string]string, at string) string {
	return p.record("application", "", map[string]any{
		"visit": l.visit.ID, "material": m.ID, "version": m.Version, "name": m.Name, "reg_no": m.RegNo, "unit": m.Unit, "start": at, "end": at, "items": items,
		"zones": []any{map[string]any{"zone": l.zones[0].ID, "typed": amount, "area_sqft": l.zones[0].AreaSqFt}},
	}, at)
}

func TestIncompleteRecordsWaitAndAreCompleted(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	m := h.material(store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}, Limits: store.Limits{ReentryHours: 48}})
	p := h.phone(store.Crew, "phone-1")
	id := p.applied(l, m, "6.45", map[string]string{"applicator": "Crew"}, "2026-08-28T08:00:00-04:00")
	b := h.as(store.Manager)
	if text := textOf(b.page("/desk/")); !strings.Contains(text, "1 record of something put down needs a look") || !strings.Contains(text, "missing: Equipment") || !strings.Contains(text, "Needs you (1)") {
		t.Errorf("the first page: %s", text)
	}
	doc := b.page("/desk/applications/" + id)
	form := typed(formTo(doc, "/desk/applications/"+id))
	form.Set("item.equipment", "Rotary one")
	want(t, b.post("/desk/applications/"+id, form), http.StatusUnprocessableEntity) // no reason
	form.Set("reason", "It was the rotary.")
	bad := clone(form)
	bad.Set("amount.0", "a hopper")
	want(t, b.post("/desk/applications/"+id, bad), http.StatusUnprocessableEntity)
	doc = b.follow("/desk/applications/"+id, form)
	if text := textOf(doc); !strings.Contains(text, "complete") || !strings.Contains(text, "6.45 lb in all. Back lawn: 6.45 lb") || !strings.Contains(text, "6.45 lb ÷ 2150 sq ft = 3 lb on 1000 sq ft") {
		t.Errorf("the correction: %s", text)
	}
	if text := textOf(b.page("/desk/")); strings.Contains(text, "put down needs a look") {
		t.Error("the completed record still waits")
	}
	text := textOf(b.page("/desk/properties/" + l.property.ID + "/work"))
	for _, want := range []string{"0.72 lb on 1000 sq ft", "corrected since", "6.45 lb × 24 % ÷ 2150 sq ft = 0.72 lb on 1000 sq ft", "Back lawn: 24-0-11, until 30 Aug, 08:00"} {
		if !strings.Contains(text, want) {
			t.Errorf("what was put down lacks %q: %s", want, text)
		}
	}
	if text := textOf(b.page("/desk/clients/" + l.client.ID + "/season/2026")); !strings.Contains(text, "N: 0.72 lb on 1000 sq ft") || !strings.Contains(text, "replaced later") {
		t.Errorf("the season: %s", text)
	}
}

func TestAManagerSaysWhatIsKnownOfALimit(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	m := h.material(store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}})
	p := h.phone(store.Crew, "phone-1")
	id := p.applied(l, m, "20", map[string]string{"applicator": "Crew", "equipment": "One"}, "2026-08-28T08:00:00-04:00")
	b := h.as(store.Manager)
	if text := textOf(b.page("/desk/")); !strings.Contains(text, "nitrogen, 2.233 lb on 1000 sq ft; the firm's limit is 1 lb on 1000 sq ft at once") {
		t.Errorf("the first page: %s", text)
	}
	want(t, b.post("/desk/applications/"+id+"/seen", url.Values{}), http.StatusUnprocessableEntity)
	if text := textOf(b.follow("/desk/applications/"+id+"/seen", url.Values{"why": {"Gate was open; client told."}})); !strings.Contains(text, "Looked at by manager: Gate was open; client told.") {
		t.Errorf("the record: %s", text)
	}
	if text := textOf(b.page("/desk/")); strings.Contains(text, "needs a look") {
		t.Error("what was looked at still waits")
	}
	want(t, b.post("/desk/applications/"+id+"/seen", url.Values{"why": {"Again."}}), http.StatusConflict)
}

func TestWeatherIsLookedAtFirst(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	good := "date,tmin (F),tmax (F),rain (in)\n2026-08-01,60,85,0\n2026-08-02,61,88,0.5\n"
	answer := want(t, b.upload("/desk/weather", map[string]string{"text": good}), http.StatusOK)
	if text := textOf(parsed(t, answer)); !strings.Contains(text, "2 days, 1 Aug 2026 to 2 Aug 2026") || !strings.Contains(text, "88 °F") || !strings.Contains(text, "0.50 in") || !strings.Contains(text, "This file has no soil temperature.") {
		t.Errorf("what it holds: %s", text)
	}
	if days, err := h.db.Weather(t.Context(), "", ""); err != nil || len(days) != 0 {
		t.Fatalf("kept before anybody said so: %v, %v", days, err)
	}
	bad := "date,tmin (F),tmax (F),rain (in)\n2026-08-01,60,85,0\n2026-08-02,99,88,0\n2026-08-03,x,88,0\n"
	doc := parsed(t, want(t, b.upload("/desk/weather", map[string]string{"text": bad, "keep": "yes"}), http.StatusUnprocessableEntity))
	if text := textOf(doc); !strings.Contains(text, "Line 3:") || !strings.Contains(text, "Line 4:") || !strings.Contains(text, "2026-08-03,x,88,0") {
		t.Errorf("bad rows are not named, or the text is lost: %s", text)
	}
	if answer := b.upload("/desk/weather", map[string]string{"text": good, "keep": "yes"}); answer.StatusCode != http.StatusSeeOther {
		t.Fatalf("keeping: %d", answer.StatusCode)
	}
	days, err := h.db.Weather(t.Context(), "", "")
	if err != nil || len(days) != 2 || *days[1].Rain != 12.7 || days[0].Wind != nil {
		t.Errorf("kept %+v, %v", days, err)
	}
	probe := "date,soil temperature (F)\n2026-08-02,68\n"
	if text := textOf(parsed(t, want(t, b.upload("/desk/weather", map[string]string{"text": probe}), http.StatusOK))); !strings.Contains(text, "68 °F") || strings.Contains(text, "has no soil temperature") {
		t.Errorf("a probe's file: %s", text)
	}
	want(t, b.upload("/desk/weather", map[string]string{"text": probe, "keep": "yes"}), http.StatusSeeOther)
	if days, err = h.db.Weather(t.Context(), "", ""); err != nil || len(days) != 2 || math.Abs(*days[1].Soil-20) > 1e-9 || *days[1].Rain != 12.7 {
		t.Errorf("with the probe %+v, %v", days, err)
	}
}

// upload posts a form with parts.
func (b *browser) upload(path string, fields map[string]string) *http.Response {
	b.h.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name, text := range fields {
		part, err := w.CreateFormField(name)
		if err == nil {
			_, err = io.WriteString(part, text)
		}
		if err != nil {
			b.h.t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		b.h.t.Fatal(err)
	}
	return b.send("POST", path, &body, map[string]string{"Content-Type": w.FormDataContentType(), "Sec-Fetch-Site": "same-origin"})
}

// grubs is a handed in visit with grubs over their limit in the back lawn.
func (h *house) grubs() lawn {
	h.t.Helper()
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	p := h.phone(store.Crew, "phone-1")
	for i, r := range [][2]string{{"pattern", "irregular_patches"}, {"colour", "brown"}, {"animal_digging", "skunk_raccoon"}, {"grubs_sqft", "9; 14; 11"}, {"root_condition", "chewed_off"}, {"tug_test", "mat_lifts_no_roots"}, {"moisture_profile", "even_moist"}, {"species", "kbg"}} {
		p.reading(l.visit, l.zones[0], r[0], r[1], "2026-08-27T10:0"+string(rune('0'+i))+":00-04:00")
	}
	p.handIn(l.visit, "2026-08-27T11:00:00-04:00")
	return l
}

// TestAPlanIsChangedAgainstItsLimitsAndSigned: an amount over the label is shown with its rule and can't be signed or set
// aside; taken back it can, and its steps are visits, load and the packet of the phone.
func TestAPlanIsChangedAgainstItsLimitsAndSigned(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	h.material(store.Material{ID: "tri", Kind: "insecticide", Name: "Trichlorfon 6.2 %", Unit: "lb", RegNo: "9-9", Uses: []string{"grub_curative"}, Rate: 3, UnitCost: 2, Stock: 4, StockDay: "2026-08-01",
		Licence: true, Tools: []string{"spreader", "gloves"}, Actives: []store.Active{{Name: "trichlorfon", Percent: 6.2, OnceLbA: 8.2}}, Limits: store.Limits{ReentrySay: "until dry"}})
	b := h.as(store.Manager)
	at := "/desk/visits/" + l.visit.ID + "/plan"
	doc := b.page(at)
	step := stepWith(t, doc, "Trichlorfon")
	if text := textOf(step); !strings.Contains(text, "6.45 lb") || !strings.Contains(textOf(doc), "2.45 lb missing from stock") {
		t.Fatalf("the step: %s", text)
	}
	if signButton(doc) == nil {
		t.Fatalf("a plan that breaks nothing can't be signed: %s", textOf(doc))
	}
	stale := typed(formTo(doc, at+"/sign"))
	form := typed(formTo(step, at))
	name := ""
	for key := range form {
		if strings.HasPrefix(key, "t.") {
			name = key
		}
	}
	form.Set("do", "adjust")
	form.Set(name, "much")
	if answer := parsed(t, want(t, b.post(at, form), http.StatusUnprocessableEntity)); value(first(answer, "input", "name="+name), "value") != "much" {
		t.Error("what was typed is lost")
	}
	form.Set(name, "10")
	doc = b.followed(at, form)
	step = stepWith(t, doc, "Trichlorfon")
	if text := textOf(step); !strings.Contains(text, "Label:") || !strings.Contains(text, "21.5 lb") || !strings.Contains(text, "A label or a law is never set aside") || signButton(doc) != nil {
		t.Fatalf("over the label: %s", text)
	}
	want(t, b.post(at+"/sign", url.Values{"seen": stale["seen"]}), http.StatusUnprocessableEntity)
	id := form.Get("step")
	for _, rule := range []string{"active_once", "label", ""} {
		want(t, b.post(at, url.Values{"do": {"overrule"}, "rule": {rule}, "step": {id}, "zone": {l.zones[0].ID}, "why": {"I know better."}}), http.StatusUnprocessableEntity)
	}
	doc = b.followed(at, url.Values{"do": {"reset"}})
	want(t, b.post(at+"/sign", url.Values{"seen": {"of yesterday"}}), http.StatusUnprocessableEntity)
	sign := typed(formTo(doc, at+"/sign"))
	sign.Set("crew", "id-crew")
	doc = b.follow(at+"/sign", sign)
	if text := textOf(doc); !strings.Contains(text, "Its steps are visits now") || !strings.Contains(text, "signed") {
		t.Fatalf("signed: %s", text)
	}
	if text := textOf(b.page("/desk/load?day=2026-08-28")); !strings.Contains(text, "6.45 lb") || !strings.Contains(text, "Spreader") || !strings.Contains(text, "crew") {
		t.Errorf("the load list: %s", text)
	}
	pack, err := io.ReadAll(h.as(store.Crew).get("/api/v1/pack").Body)
	if err != nil || !strings.Contains(string(pack), `"value":6.45`) || !strings.Contains(string(pack), `"steps":[{"id":`) {
		t.Errorf("the packet lacks the step (%v)", err)
	}
	h.now = h.now.AddDate(0, 0, 3)
	if text := textOf(b.page("/desk/")); !strings.Contains(text, "past its day") {
		t.Errorf("three days later: %s", text)
	}
	h.now = h.now.AddDate(0, 0, 60)
	if text := textOf(b.page("/desk/")); !strings.Contains(text, "past its window, which ended 30 Sep 2026") {
		t.Errorf("two months later: %s", text)
	}
	plan := stepForm(doc)
	want(t, b.post(plan, url.Values{"state": {"dropped"}}), http.StatusUnprocessableEntity)
	if text := textOf(b.follow(plan, url.Values{"state": {"dropped"}, "why": {"The client declined."}})); !strings.Contains(text, "The client declined.") {
		t.Errorf("a dropped step: %s", text)
	}
}

// stepForm is where a change of the first open step is posted.
func stepForm(doc *html.Node) string {
	for _, f := range every(doc, "form") {
		if a := value(f, "action"); strings.Contains(a, "/steps/") {
			return a
		}
	}
	return ""
}

// followed posts a change of a plan and gets the plan again.
func (b *browser) followed(path string, form url.Values) *html.Node {
	b.h.t.Helper()
	answer := want(b.h.t, b.post(path, form), http.StatusSeeOther)
	to, _, _ := strings.Cut(answer.Header.Get("Location"), "#")
	return b.page(to)
}

func stepWith(t *testing.T, doc *html.Node, words string) *html.Node {
	t.Helper()
	for _, e := range every(doc, "article", "class=planned") {
		if strings.Contains(textOf(e), words) {
			return e
		}
	}
	t.Fatalf("no step holds %q: %s", words, textOf(doc))
	return nil
}

func signButton(doc *html.Node) *html.Node {
	if all := every(doc, "button", "data-key=s"); len(all) > 0 {
		return all[0]
	}
	return nil
}

// TestARuleOfPracticeIsSetAsideWithAReason: who and why stay beside the step, on the signed plan too.
func TestARuleOfPracticeIsSetAsideWithAReason(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	b := h.as(store.Manager)
	at := "/desk/visits/" + l.visit.ID + "/plan"
	doc := b.page(at)
	var form url.Values
	for _, f := range every(doc, "form") {
		if v := typed(f); v.Get("rule") != "" {
			form = v
			break
		}
	}
	if form == nil {
		t.Fatalf("nothing can be set aside: %s", textOf(doc))
	}
	form.Set("do", "overrule")
	want(t, b.post(at, form), http.StatusUnprocessableEntity)
	form.Set("why", "Seen it here every year.")
	if text := textOf(b.followed(at, form)); !strings.Contains(text, "Set aside by manager: Seen it here every year.") {
		t.Errorf("set aside: %s", text)
	}
}

func TestWhatIsKnownOfAPlaceCountsInThePlan(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	b := h.as(store.Manager)
	at := "/desk/visits/" + l.visit.ID
	if text := textOf(b.page(at + "/plan")); !strings.Contains(text, "No state is given") {
		t.Fatalf("the basis: %s", text)
	}
	form := url.Values{"state": {"Ohio"}, "region": {"transition"}, "first_frost": {"October"}}
	want(t, b.post(at+"/lawn", form), http.StatusUnprocessableEntity)
	form.Set("first_frost", "10-20")
	form.Set("grass."+l.zones[0].ID, "kbg")
	form.Set("fact."+l.zones[0].ID+".soil_ph", "6.4")
	doc := b.follow(at+"/lawn", form)
	if text := textOf(doc); strings.Contains(text, "No state is given") {
		t.Errorf("the basis: %s", text)
	}
	if value(first(doc, "input", "name=fact."+l.zones[0].ID+".soil_ph"), "value") != "6.4" {
		t.Error("the soil test is not in the form")
	}
}
