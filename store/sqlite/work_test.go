package sqlite_test

import (
	"encoding/json"
	"strings"
	"testing"

	"swardbook/store"
	"swardbook/store/storetest"
)

// shed is a house with a material, and a phone that records what was put down.
type shed struct {
	*house
	material store.Material
}

func newShed(t *testing.T) *shed {
	s := &shed{house: newHouse(t), material: store.Material{ID: "urea", Name: "Urea", Unit: "lb", Grade: store.Grade{N: 46}}}
	var err error
	s.material.Version, err = s.DB.SaveMaterial(t.Context(), s.material, "tamsin")
	s.must(err)
	return s
}

// puts records an application and returns its item.
func (s *shed) puts(p *storetest.Phone, change func(*store.Application)) *store.Item {
	it := p.Reads(s.visit, "", "", "")
	it.Kind, it.Reading = "application", nil
	a := store.Application{
		ID: it.ID, Visit: s.visit, Property: "14-alder-rise", Author: p.Person, At: it.At, Day: "2026-08-27", Material: "urea", Version: s.material.Version, Name: "Urea", Unit: "lb",
		Zones: []store.AppliedZone{{Zone: s.front, Typed: "2", Amount: 2, AreaSqFt: 1000}},
	}
	if change != nil {
		change(&a)
	}
	it.Application = &a
	return it
}

func (s *shed) applications(f store.ApplicationFilter) []store.Application {
	s.t.Helper()
	list, err := s.DB.Applications(s.t.Context(), f)
	s.must(err)
	return list
}

func TestMaterialsKeepTheirVersions(t *testing.T) {
	s := newShed(t)
	second := s.material
	second.Name, second.Stock = "Urea, the other bag", 50
	version, err := s.DB.SaveMaterial(t.Context(), second, "tamsin")
	s.must(err)
	list, err := s.DB.Materials(t.Context())
	if err != nil || len(list) != 1 || list[0].Version != version || list[0].Name != second.Name || list[0].Changed == nil {
		t.Errorf("materials %+v, %v", list, err)
	}
	old, err := s.DB.Material(t.Context(), "urea", s.material.Version)
	if err != nil || old.Name != "Urea" || old.Grade.N != 46 {
		t.Errorf("the first version is %+v, %v", old, err)
	}
	if now, err := s.DB.Material(t.Context(), "urea", 0); err != nil || now.Version != version {
		t.Errorf("version 0 is %+v, %v", now, err)
	}
	if _, err := s.DB.Material(t.Context(), "urea", 99); store.KindOf(err) != store.NotFound {
		t.Errorf("a version that is not there: %v", err)
	}
	if all, err := s.DB.MaterialVersions(t.Context()); err != nil || len(all) != 2 {
		t.Errorf("%d versions, %v", len(all), err)
	}
}

func TestApplicationsAreKeptAndFiltered(t *testing.T) {
	s := newShed(t)
	p := s.Phone("d1", "Jonah")
	whole := s.puts(p, nil)
	lacking := s.puts(p, func(a *store.Application) { a.Day, a.Missing = "2026-06-01", []string{"start"} })
	over := s.puts(p, func(a *store.Application) {
		a.Flags = []store.Flag{{Code: "once", Zone: s.front, Words: map[string]string{"value": "2"}}}
	})
	p.Sends()
	all := s.applications(store.ApplicationFilter{Property: "14-alder-rise"})
	if len(all) != 3 || all[0].ID != whole.ID || all[0].Zones[0].Amount != 2 || all[0].Device != "d1" || all[0].Seq == 0 || all[0].Stamp == "" || all[2].Flags[0].Words["value"] != "2" {
		t.Fatalf("records %+v", all)
	}
	if got := s.applications(store.ApplicationFilter{FromDay: "2026-08-01", ToDay: "2026-08-31"}); len(got) != 2 {
		t.Errorf("%d records in August", len(got))
	}
	wanting := func() (ids []string) {
		for _, a := range s.applications(store.ApplicationFilter{Wanting: true}) {
			ids = append(ids, a.ID)
		}
		return ids
	}
	if got := wanting(); len(got) != 2 || got[0] != lacking.ID || got[1] != over.ID {
		t.Errorf("%v wait for a manager", got)
	}
	s.must(s.DB.SeeApplication(t.Context(), over.ID, "tamsin", "asked"))
	if err := s.DB.SeeApplication(t.Context(), over.ID, "tamsin", "again"); store.KindOf(err) != store.Conflict {
		t.Errorf("said twice: %v", err)
	}
	if err := s.DB.SeeApplication(t.Context(), "none", "tamsin", "x"); store.KindOf(err) != store.NotFound {
		t.Errorf("of no record: %v", err)
	}
	s.puts(p, func(a *store.Application) { a.Corrects = lacking.ID })
	p.Sends()
	if got := wanting(); len(got) != 0 {
		t.Errorf("%v wait still", got)
	}
	if a, err := s.DB.Application(t.Context(), over.ID); err != nil || a.Seen == nil || a.Seen.Why != "asked" {
		t.Errorf("%+v, %v", a, err)
	}
}

// TestWhatWasPutDownIsTakenAfterSignOff: the record of a signed off visit counts; that of no visit is set aside.
func TestWhatWasPutDownIsTakenAfterSignOff(t *testing.T) {
	s := newShed(t)
	s.must(s.DB.AddReview(t.Context(), review(s.house, "one", "sign off")))
	p := s.Phone("d1", "Jonah")
	late := s.puts(p, nil)
	lost := s.puts(p, func(a *store.Application) { a.Visit = "nowhere" })
	res := p.Sends()
	if len(res.Fresh) != 1 || res.Fresh[0] != late.ID {
		t.Errorf("taken in: %v", res.Fresh)
	}
	asides, err := s.DB.Asides(t.Context(), store.AsideFilter{Open: true})
	if err != nil || len(asides) != 1 || asides[0].ID != lost.ID || asides[0].Reason != "unknown_visit" {
		t.Errorf("set aside: %+v, %v", asides, err)
	}
}

func TestRecordsOfWorkCanNotBeUnsaid(t *testing.T) {
	s := newShed(t)
	p := s.Phone("d1", "Jonah")
	a := s.puts(p, nil)
	c := p.Reads(s.visit, "", "", "")
	c.Reading, c.Calibration = nil, &store.Calibration{ID: c.ID, Equipment: "Rotary one", Kind: "spreader", Rate: 10}
	p.Sends()
	s.must(s.DB.SeeApplication(t.Context(), a.ID, "tamsin", "fine"))
	s.must(s.DB.SignPlan(t.Context(), store.Plan{ID: "plan", Property: "14-alder-rise", Visit: s.visit, By: "tamsin", Body: []byte(`{}`)}, nil))
	if list, err := s.DB.Calibrations(t.Context(), 0); err != nil || len(list) != 1 || list[0].Rate != 10 || list[0].Stamp == "" {
		t.Errorf("calibrations %+v, %v", list, err)
	}
	for _, table := range []string{"materials", "applications", "application_seen", "calibrations", "plans"} {
		for _, text := range []string{"UPDATE " + table + " SET at = 'x'", "DELETE FROM " + table, "INSERT OR REPLACE INTO " + table + " SELECT * FROM " + table} {
			if err := s.DB.Exec(t.Context(), text); err == nil {
				t.Errorf("%s went through", text)
			}
		}
	}
}

func TestSignedPlansAndTheirSteps(t *testing.T) {
	s := newShed(t)
	ctx := t.Context()
	s.must(s.DB.SaveDraft(ctx, store.PlanDraft{Visit: s.visit, By: "tamsin", Body: []byte(`{"edits": 1}`)}))
	s.must(s.DB.SaveDraft(ctx, store.PlanDraft{Visit: s.visit, By: "tamsin", Body: []byte(`{"edits": 2}`)}))
	if d, err := s.DB.Draft(ctx, s.visit); err != nil || string(d.Body) != `{"edits": 2}` {
		t.Errorf("draft %s, %v", d.Body, err)
	}
	visit := store.Visit{ID: "later", Property: "14-alder-rise", Crew: "jonah", Day: "2026-09-01", Why: "treatment"}
	plan := store.Plan{ID: "plan", Property: "14-alder-rise", Visit: s.visit, Edition: "e", By: "tamsin", Body: []byte(`{"steps":[{},{}]}`),
		Steps: []store.PlanStep{{N: 0, Day: "2026-09-01", Visit: "later"}, {N: 1}}}
	broken := plan
	broken.Steps = []store.PlanStep{{N: 0, Visit: "no visit"}}
	if err := s.DB.SignPlan(ctx, broken, []store.Visit{visit}); err == nil {
		t.Error("a step of no visit was signed")
	}
	if _, err := s.DB.Visit(ctx, "later"); store.KindOf(err) != store.NotFound {
		t.Errorf("half of a plan was kept: %v", err)
	}
	s.must(s.DB.SignPlan(ctx, plan, []store.Visit{visit}))
	if d, err := s.DB.Draft(ctx, s.visit); err != nil || len(d.Body) != 0 {
		t.Errorf("the draft is still there: %s, %v", d.Body, err)
	}
	s.must(s.DB.SetStep(ctx, "plan", 1, store.StepDropped, "no need"))
	if err := s.DB.SetStep(ctx, "plan", 7, store.StepDone, ""); store.KindOf(err) != store.NotFound {
		t.Errorf("a step that is not there: %v", err)
	}
	got, err := s.DB.Plan(ctx, "plan")
	if err != nil || len(got.Steps) != 2 || got.Steps[0].Visit != "later" || got.Steps[1].State != store.StepDropped || got.Steps[1].Why != "no need" || !json.Valid(got.Body) {
		t.Errorf("plan %+v, %v", got, err)
	}
	if due, err := s.DB.PlanSteps(ctx, "later"); err != nil || len(due) != 1 || due[0].Plan != "plan" {
		t.Errorf("steps of the visit %+v, %v", due, err)
	}
	if list, err := s.DB.Plans(ctx, "14-alder-rise"); err != nil || len(list) != 1 {
		t.Errorf("%d plans, %v", len(list), err)
	}
}

func TestWeatherAndSettings(t *testing.T) {
	s := newShed(t)
	ctx := t.Context()
	x, rain := 12.5, 0.0
	s.must(s.DB.SaveWeather(ctx, []store.WeatherDay{{Day: "2026-05-01", TMax: &x, Rain: &rain}, {Day: "2026-05-02", TMax: &x}}))
	y := 20.0
	s.must(s.DB.SaveWeather(ctx, []store.WeatherDay{{Day: "2026-05-02", TMax: &y, Soil: &x}}))
	list, err := s.DB.Weather(ctx, "2026-05-01", "2026-05-31")
	if err != nil || len(list) != 2 || *list[0].Rain != 0 || list[0].TMin != nil || *list[1].TMax != 20 || list[1].Rain != nil || *list[1].Soil != 12.5 {
		t.Errorf("weather %+v, %v", list, err)
	}
	s.must(s.DB.SaveWeather(ctx, []store.WeatherDay{{Day: "2026-05-02", TMax: &rain}})) // a station's file after the probe's
	if list, err := s.DB.Weather(ctx, "2026-05-02", "2026-05-02"); err != nil || len(list) != 1 || *list[0].TMax != 0 || list[0].Soil == nil || *list[0].Soil != 12.5 {
		t.Errorf("weather %+v, %v", list, err)
	}
	if err := s.DB.SaveWeather(ctx, []store.WeatherDay{{Day: "May"}}); store.KindOf(err) != store.Invalid {
		t.Errorf("a day without a date: %v", err)
	}
	v := map[string]int{"usual": 1}
	if err := s.DB.Setting(ctx, "unset", &v); err != nil || v["usual"] != 1 {
		t.Errorf("what was not decided became %v, %v", v, err)
	}
	s.must(s.DB.SaveSetting(ctx, "unset", map[string]int{"usual": 2}))
	if err := s.DB.Setting(ctx, "unset", &v); err != nil || v["usual"] != 2 {
		t.Errorf("decided: %v, %v", v, err)
	}
	if text := s.texts("SELECT value FROM settings"); !strings.Contains(text[0], "2") {
		t.Errorf("settings %v", text)
	}
}
