package web

import (
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"swardbook/store"
	"swardbook/store/record"
)

// metric makes the house's firm one that works in metric units.
func (h *house) metric() {
	h.t.Helper()
	if err := h.db.SaveFirm(h.t.Context(), store.Firm{Name: "Example Lawns", Units: "metric", Zone: "America/New_York"}); err != nil {
		h.t.Fatal(err)
	}
}

// holds fails for every text that a page lacks, and for every customary unit that it shows.
func holds(t *testing.T, name, text string, want ...string) {
	t.Helper()
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("%s lacks %q: %s", name, w, text)
		}
	}
	for _, unit := range []string{" lb on ", "on 1000 sq ft", "on an acre", "mph", "°F"} {
		if strings.Contains(text, unit) {
			t.Errorf("%s shows %q to a metric firm: %s", name, unit, text)
		}
	}
}

// opens fails unless a page has at least so many numbers that open their workings, and on paper each of them its number and its working.
func opens(t *testing.T, name string, doc *html.Node, least int) {
	t.Helper()
	refs, terms := every(doc, "sup", "class=paper"), every(first(doc, "section", "class=notes"), "dt")
	if len(refs) < least || len(refs) != len(terms) {
		t.Errorf("%s: %d numbers refer to %d workings on paper, want at least %d", name, len(refs), len(terms), least)
	}
	for i, ref := range refs {
		if !strings.HasPrefix(textOf(terms[i]), textOf(ref)) {
			t.Errorf("%s: %s refers to %s", name, textOf(ref), textOf(terms[i]))
		}
	}
}

// TestAMetricFirmSeesItsUnits: plan, load list, records, sums, season, calibrations, materials and weather are in the firm's
// units, and the plan is the same.
func TestAMetricFirmSeesItsUnits(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	m := h.material(store.Material{ID: "tri", Kind: "insecticide", Name: "Trichlorfon 6.2 %", Unit: "lb", RegNo: "9-9", Uses: []string{"grub_curative"}, Rate: 3, UnitCost: 2, Stock: 4, StockDay: "2026-08-01",
		Licence: true, Tools: []string{"spreader"}, Actives: []store.Active{{Name: "trichlorfon", Percent: 6.2, OnceLbA: 8.2}}, Limits: store.Limits{Once: 3, WindHigh: 10, TempHigh: 85, ReentrySay: "until dry"}})
	b := h.as(store.Manager)
	at := "/desk/visits/" + l.visit.ID + "/plan"
	before := stepWith(t, b.page(at), "Trichlorfon")
	h.metric()
	doc := b.page(at)
	step := stepWith(t, doc, "Trichlorfon")
	holds(t, "the step's table", textOf(first(step, "table")), "199.74 m²", "14.65 g / m²", "2.93 kg", "6.45 lb = 2.93 kg")
	if !strings.Contains(textOf(doc), "1.11 kg missing from stock") {
		t.Errorf("the load: %s", textOf(doc))
	}
	form, was := typed(formTo(step, at)), typed(formTo(before, at))
	if form.Get("step") != was.Get("step") || form.Get("day") != was.Get("day") {
		t.Errorf("the plan changed with the units: %v, %v", form, was)
	}
	sign := typed(formTo(doc, at+"/sign"))
	sign.Set("crew", "id-crew")
	holds(t, "the signed table", textOf(first(stepWith(t, b.follow(at+"/sign", sign), "Trichlorfon"), "table")), "14.65 g / m²", "2.93 kg")
	load := b.page("/desk/load?day=2026-08-28")
	holds(t, "the load list", textOf(load), "2.93 kg", "The sum of what the stops take", "amount = rate × area", "Source: ")
	opens(t, "the plan", doc, 4)
	opens(t, "the load list", load, 2)

	p := h.phone(store.Crew, "phone-2")
	p.record("application", "", map[string]any{
		"visit": l.visit.ID, "material": m.ID, "version": m.Version, "name": m.Name, "reg_no": m.RegNo, "unit": "lb", "start": "2026-08-28T08:00:00-04:00", "end": "2026-08-28T08:30:00-04:00",
		"items": map[string]string{"wind": "20 km/h", "temperature": "32 C"}, "zones": []any{map[string]any{"zone": l.zones[0].ID, "typed": "3 kg", "area_sqft": 2152.78, "area": "200 m²"}},
	}, "2026-08-28T08:31:00-04:00")
	text := textOf(b.page("/desk/"))
	holds(t, "the first page", text, "Wind 20 km/h; the label stops at 16.09 km/h.", "32 °C; the label stops at 29.44 °C.", "15 g on 1 m²; the label allows 14.65 g on 1 m² at once.")
	work := textOf(b.page("/desk/properties/" + l.property.ID + "/work"))
	holds(t, "what was put down", work, "9.3 kg on a hectare", "3 kg on 200 m²")
	all, err := h.db.Applications(t.Context(), store.ApplicationFilter{Visit: l.visit.ID})
	if err != nil || len(all) != 1 || all[0].Zones[0].Typed != "3 kg" || all[0].Zones[0].Area != "200 m²" || math.Abs(all[0].Zones[0].Amount-6.6138679) > 1e-6 {
		t.Fatalf("kept %+v, %v", all, err)
	}
	page := b.page("/desk/applications/" + all[0].ID)
	holds(t, "the record", textOf(page), "3 kg in all. Back lawn: 3 kg", "Back lawn: 15 g on 1 m²", "3 kg ÷ 200 m² = 15 g on 1 m²", "200 m²")
	form = typed(formTo(page, "/desk/applications/"+all[0].ID))
	if form.Get("amount.0") != "3 kg" || form.Get("area.0") != "200 m²" || form.Get("item.wind") != "20 km/h" {
		t.Errorf("what was given does not keep its unit: %v", form)
	}
	form.Set("item.temperature", "25")
	form.Set("amount.0", "6 lb")
	form.Set("area.0", "2100 sq ft")
	form.Set("reason", "Read again.")
	text = textOf(b.follow("/desk/applications/"+all[0].ID, form))
	if !strings.Contains(text, "2.72 kg (typed: 6 lb)") || !strings.Contains(text, "25 °C") {
		t.Errorf("the correction: %s", text)
	}
	season := b.page("/desk/clients/" + l.client.ID + "/season/2026")
	holds(t, "the season", textOf(season), "kg on a hectare", "2.72 kg ÷ ")
	opens(t, "the season", season, 2)
	p.record("calibration", "", map[string]any{"equipment": "Boom", "kind": "sprayer", "unit": "L", "catches": "1; 1; 1.3", "width": "1.5 m", "length": "50 m", "want": "4 L/100 m2"}, "2026-08-28T09:00:00-04:00")
	holds(t, "calibrations", textOf(b.page("/desk/calibrations")), "4.4 L on 100 m²", "10 % above the wanted 4 L on 100 m²", "worn Nozzle 3: 1.3 L, 18.18 % above the mean", "Mean of 3 nozzles: 1.1 L", "LSU AgCenter")
	holds(t, "weather", textOf(parsed(t, lookedAt(t, b, "date,tmin (F),tmax (F),rain (in)\n2026-08-01,50,86,1\n"))), "10 °C", "30 °C", "25.40 mm")
	want(t, b.get("/desk/materials"), http.StatusOK)
}

// lookedAt is the page of a weather file that is not kept yet.
func lookedAt(t *testing.T, b *browser, text string) *http.Response {
	t.Helper()
	return want(t, b.upload("/desk/weather", map[string]string{"text": text}), http.StatusOK)
}

// TestATargetIsGivenInEitherUnit: the same amount typed in either unit makes the same plan, shows as it was given, and limits
// hold it alike.
func TestATargetIsGivenInEitherUnit(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	h.material(store.Material{ID: "tri", Kind: "insecticide", Name: "Trichlorfon 6.2 %", Unit: "lb", RegNo: "9-9", Uses: []string{"grub_curative"}, Rate: 3,
		Licence: true, Actives: []store.Active{{Name: "trichlorfon", Percent: 6.2, OnceLbA: 8.2}}})
	b := h.as(store.Manager)
	at := "/desk/visits/" + l.visit.ID + "/plan"
	form := typed(formTo(stepWith(t, b.page(at), "Trichlorfon"), at))
	name := ""
	for key := range form {
		if strings.HasPrefix(key, "t.") {
			name = key
		}
	}
	form.Set("do", "adjust")
	for _, c := range []struct{ typed, shown, amount string }{{"2", "2", "4.3 lb"}, {"9.7648552 g/m2", "9.76", "4.3 lb"}, {"0.97648552 kg/100 m²", "0.98", "4.3 lb"}, {"1 1/2 lb per 1000 sq ft", "1.5", "3.23 lb"}} {
		form.Set(name, c.typed)
		step := stepWith(t, b.followed(at, form), "Trichlorfon")
		if got := value(first(step, "input", "name="+name), "value"); got != c.shown || !strings.Contains(textOf(step), c.amount) {
			t.Errorf("%q shows as %q: %s", c.typed, got, textOf(first(step, "table")))
		}
		b.followed(at, url.Values{"do": {"reset"}})
	}
	form.Set(name, "48.8 g/m2")
	if text := textOf(stepWith(t, b.followed(at, form), "Trichlorfon")); !strings.Contains(text, "Label:") || !strings.Contains(text, "g / m²") {
		t.Errorf("over the label in metric: %s", text)
	}
	for _, bad := range []string{"5 miles", "5 lb", "-2", "much"} {
		form.Set(name, bad)
		want(t, b.post(at, form), http.StatusUnprocessableEntity)
	}
}

// TestAMaterialKeepsTheUnitsItWasGivenIn: numbers of a form may be typed in either unit; the list shows the firm's.
func TestAMaterialKeepsTheUnitsItWasGivenIn(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	form := typed(formTo(b.page("/desk/materials/new?example=ex-three-way"), "/desk/materials/new"))
	form.Set("rate", "40 mL/100 m2")
	form.Set("wind_high", "15 km/h")
	form.Set("temp_high", "29 °C")
	form.Set("stock", "4 L")
	form.Set("active_year.0", "2 kg/ha")
	form.Set("rolling", "yes")
	text := textOf(b.follow("/desk/materials/new", form))
	for _, want := range []string{"1.26 fl oz on 1000 sq ft", "9.32 mph", "84.2 °F", "135.26 fl oz", "1.78 lb on an acre a year", "a year is any 365 days"} {
		if !strings.Contains(text, want) {
			t.Errorf("the list lacks %q: %s", want, text)
		}
	}
	list, err := h.db.Materials(t.Context())
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if !list[0].Limits.Rolling {
		t.Error("what the label means by a year was not kept")
	}
	again := typed(formTo(b.page("/desk/materials/"+list[0].ID), "/desk/materials/"+list[0].ID))
	for name, want := range map[string]string{"rate": "40 mL / 100 m²", "wind_high": "15 km/h", "temp_high": "29 °C", "stock": "4 L", "active_year.0": "2 kg/ha", "once": "1.5"} {
		if again.Get(name) != want {
			t.Errorf("%s is %q in the form, was given as %q", name, again.Get(name), want)
		}
	}
	b.follow("/desk/materials/"+list[0].ID, again)
	kept, err := h.db.Material(t.Context(), list[0].ID, 0)
	if err != nil || kept.Rate != list[0].Rate || kept.Limits != list[0].Limits || kept.Stock != list[0].Stock || kept.StockDay != list[0].StockDay {
		t.Errorf("saving unchanged changed it: %+v, %+v, %v", kept, list[0], err)
	}
	form.Set("rate", "3 km/h")
	want(t, b.post("/desk/materials/new", form), http.StatusUnprocessableEntity)

	h.metric()
	text = textOf(b.page("/desk/materials"))
	for _, want := range []string{"40 mL on 100 m²", "at most 47.75 mL on 100 m² at once", "15 km/h", "29 °C", "4 L", "2 kg on a hectare a year"} {
		if !strings.Contains(text, want) {
			t.Errorf("the metric list lacks %q: %s", want, text)
		}
	}
	if again = typed(formTo(b.page("/desk/materials/"+list[0].ID), "/desk/materials/"+list[0].ID)); again.Get("once") != "1.5 fl oz / 1000 sq ft" {
		t.Errorf("a number without its unit: %q", again.Get("once"))
	}
	b.follow("/desk/materials/"+list[0].ID, again)
	if kept, err = h.db.Material(t.Context(), list[0].ID, 0); err != nil || kept.Limits != list[0].Limits || kept.Rate != list[0].Rate {
		t.Errorf("saving unchanged in metric changed it: %+v, %v", kept, err)
	}
	b.follow("/desk/materials/rules", url.Values{"n_once": {"5"}, "n_year": {"3 lb N/1000 sq ft"}})
	var f record.Firm
	if err := h.db.Setting(t.Context(), record.SettingName, &f); err != nil || math.Abs(f.NOnce-1.02407) > 1e-4 || f.NYear != 3 {
		t.Errorf("kept %+v, %v", f, err)
	}
	rules := typed(formTo(b.page("/desk/materials"), "/desk/materials/rules"))
	if rules.Get("n_once") != "5 g N / m²" || rules.Get("n_year") != "3 lb N / 1000 sq ft" {
		t.Errorf("shown %v", rules)
	}
}
