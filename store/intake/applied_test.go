package intake_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/store/record"
)

// shelf puts two materials on the firm's list and returns their versions.
func (h *house) shelf() (feed, spray store.Material) {
	h.t.Helper()
	feed = store.Material{ID: "feed", Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24, K2O: 11}}
	spray = store.Material{ID: "spray", Kind: "herbicide_post", Name: "Three-way", RegNo: "1-2", Unit: "fl oz", Licence: true,
		Actives: []store.Active{{Name: "2,4-d", LbPerGal: 2.44, YearLbA: 2}}, Limits: store.Limits{Once: 1.5, WindHigh: 10}}
	for _, m := range []*store.Material{&feed, &spray} {
		var err error
		m.Version, err = h.db.SaveMaterial(h.t.Context(), *m, "owner")
		h.must(err)
	}
	return feed, spray
}

// body is a whole record of a material on the front lawn; changes replace its fields.
func body(m store.Material, amount string, changes map[string]any) map[string]any {
	b := map[string]any{
		"visit": "visit", "material": m.ID, "version": m.Version, "name": m.Name, "reg_no": m.RegNo, "unit": m.Unit,
		"zones": []any{map[string]any{"zone": "front", "typed": amount, "area_sqft": 1000}},
		"start": "2026-08-27T08:00:00+00:00", "end": "2026-08-27T08:20:00+00:00",
		"items": map[string]string{"applicator": "Ana", "equipment": "Rotary one", "certified": "Olga", "certificate": "C-1", "target": "clover", "method": "spray_broadcast", "wind": "5", "temperature": "70"},
	}
	for k, v := range changes {
		b[k] = v
	}
	return b
}

func (h *house) applications() map[string]store.Application {
	h.t.Helper()
	list, err := h.db.Applications(h.t.Context(), store.ApplicationFilter{})
	h.must(err)
	out := map[string]store.Application{}
	for _, a := range list {
		out[a.ID] = a
	}
	return out
}

func flagCodes(a store.Application) []string {
	out := []string{}
	for _, f := range a.Flags {
		out = append(out, f.Code)
	}
	return out
}

// TestWhatWasPutDownIsNeverRefused: whatever passed a limit or is missing is stored, with what is wrong beside it.
func TestWhatWasPutDownIsNeverRefused(t *testing.T) {
	h := openHouse(t)
	feed, spray := h.shelf()
	p := h.phone("d1", h.ana)
	for _, c := range []struct {
		name    string
		body    map[string]any
		missing []string
		flags   []string
	}{
		{"a whole record", body(feed, "3 1/8", nil), nil, nil},
		{"a pesticide with all of it", body(spray, "1.2", nil), nil, nil},
		{"without a certificate, in wind", body(spray, "0.1", map[string]any{"items": map[string]string{"applicator": "Ana", "equipment": "Gun", "certified": "Olga", "target": "clover", "method": "spray_broadcast", "wind": "14", "temperature": "70"}}),
			[]string{"certificate"}, []string{record.WindHigh}},
		{"above the label, the year's sum too", body(spray, "2", nil), nil, []string{record.Once, record.ActiveYear}},
		{"an amount that can't be read", body(feed, "a hopper full", nil), []string{"amounts"}, nil},
		{"something that is not on the list", body(store.Material{Name: "Something green", Unit: "lb"}, "4", nil), nil, []string{record.Unlisted}},
		{"on somebody else's visit", body(feed, "0.5", map[string]any{"visit": "bens"}), nil, []string{record.NotYours}},
		{"on a visit that is signed off", body(feed, "0.25", map[string]any{"visit": "done"}), nil, []string{record.SignedOff}},
		{"nothing at all", map[string]any{"visit": "visit"}, []string{"name", "amounts", "areas", "start", "end", "applicator", "equipment"}, []string{record.Unlisted}},
	} {
		id := p.op("application", c.body)
		if r := p.send(); len(r.Attention) != 0 {
			t.Errorf("%s: set aside: %+v", c.name, r.Attention)
			continue
		}
		got := h.applications()[id]
		if !reflect.DeepEqual(append([]string{}, got.Missing...), append([]string{}, c.missing...)) || !reflect.DeepEqual(flagCodes(got), append([]string{}, c.flags...)) {
			t.Errorf("%s: missing %v, flags %v; want %v, %v", c.name, got.Missing, flagCodes(got), c.missing, c.flags)
		}
	}
}

// TestLimitsSeeThisPush: two records that come together count for each other, whatever the order of the rows in the database.
func TestLimitsSeeThisPush(t *testing.T) {
	h := openHouse(t)
	feed, _ := h.shelf()
	h.must(h.db.SaveSetting(t.Context(), record.SettingName, record.Firm{Rules: []string{}, NYear: 1}))
	p := h.phone("d1", h.ana)
	first, second := p.op("application", body(feed, "3", nil)), p.op("application", body(feed, "3", nil))
	p.send()
	all := h.applications()
	if len(all[first].Flags) != 0 || len(all[second].Flags) != 1 || all[second].Flags[0].Code != record.NYear || all[second].Flags[0].Words["value"] != "1.44" {
		t.Errorf("first %v, second %+v", flagCodes(all[first]), all[second].Flags)
	}
	third := p.op("application", body(feed, "1", map[string]any{"corrects": second, "reason": "half of it"}))
	p.send()
	if got := h.applications()[third]; len(got.Flags) != 0 || got.Corrects != second {
		t.Errorf("the correction counts beside what it corrects: %+v", got)
	}
}

func TestRecordsThatCanNotBePlacedAreSetAside(t *testing.T) {
	h := openHouse(t)
	feed, _ := h.shelf()
	p := h.phone("d1", h.ana)
	want := map[string]string{
		p.op("application", body(feed, "1", map[string]any{"visit": "nowhere"})):                                                             intake.UnknownVisit,
		p.op("application", body(feed, "1", map[string]any{"zones": []any{map[string]any{"zone": "far", "typed": "1", "area_sqft": 10}}})):   intake.UnknownZone,
		p.op("application", body(feed, "1", map[string]any{"zones": "front"})):                                                               intake.Malformed,
		p.op("application", body(feed, "1", map[string]any{"name": strings.Repeat("x", 5000)})):                                              intake.Malformed,
		p.op("application", body(feed, "1", map[string]any{"zones": []any{map[string]any{"zone": "front", "typed": "1", "area_sqft": -4}}})): intake.Malformed,
		p.op("calibration", map[string]any{"equipment": " ", "kind": "spreader"}):                                                            intake.Malformed,
		p.op("calibration", map[string]any{"equipment": "One", "kind": "bucket"}):                                                            intake.Malformed,
		p.op("application", body(feed, "1", nil), "at", h.clock.now().Add(time.Hour).Format(time.RFC3339), "author", "ana"):                  intake.Future,
	}
	if got := codes(p.send()); !reflect.DeepEqual(got, want) {
		t.Errorf("set aside %v, want %v", got, want)
	}
}

func TestCalibrationBelongsToNoVisit(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	id := p.op("calibration", map[string]any{"equipment": "Rotary one", "kind": "spreader", "unit": "lb", "collected": "8 oz", "width": "5 ft", "length": "10"})
	if r := p.send(); len(r.Attention) != 0 {
		t.Fatalf("%+v", r.Attention)
	}
	list, err := h.db.Calibrations(t.Context(), 0)
	if err != nil || len(list) != 1 || list[0].ID != id || list[0].Rate != 10 || list[0].Author != "ana" {
		t.Errorf("%+v, %v", list, err)
	}
}

// TestTheDeskRecordsThroughTheSameDoor: what the office completes is a further record in the log, numbered like a phone's.
func TestTheDeskRecordsThroughTheSameDoor(t *testing.T) {
	h := openHouse(t)
	feed, _ := h.shelf()
	p := h.phone("d1", h.ana)
	first := p.op("application", body(feed, "3", map[string]any{"end": ""}))
	p.send()
	from := intake.Sender{Person: h.owner, Agent: "desk"}
	for n := range 3 {
		id, aside, err := h.svc.Record(t.Context(), from, "application", body(feed, "3", map[string]any{"corrects": first, "reason": "the end added"}))
		if err != nil || aside != "" {
			t.Fatalf("%s %v", aside, err)
		}
		if a := h.applications()[id]; a.Device != "desk-owner" || a.Author != "owner" || len(a.Missing) != 0 {
			t.Errorf("record %d: %+v", n, a)
		}
	}
	if through, err := h.db.Through(t.Context(), "desk-owner"); err != nil || through != 3 {
		t.Errorf("through %d, %v", through, err)
	}
	if _, aside, err := h.svc.Record(t.Context(), from, "application", body(feed, "3", map[string]any{"visit": "nowhere"})); err != nil || aside == "" {
		t.Errorf("a record of no visit: %q, %v", aside, err)
	}
}

// TestSumsOfAnyRecordsAgree: however a season's amount is split over records and corrected, the zone's total is that of the
// records that stand.
func TestSumsOfAnyRecordsAgree(t *testing.T) {
	feed := store.Material{ID: "feed", Version: 1, Kind: "fertilizer", Name: "24-0-11", Unit: "lb", Grade: store.Grade{N: 24}}
	material := func(id string, _ int64) (store.Material, bool) { return feed, id == "feed" }
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "records")
		var list []store.Application
		want := 0.0
		for i := range n {
			amount := float64(rapid.IntRange(0, 4000).Draw(t, "hundredths")) / 100
			a := store.Application{ID: string(rune('a' + i)), Day: "2026-05-01", Material: "feed", Version: 1, Unit: "lb", Stamp: string(rune('a' + i)),
				Zones: []store.AppliedZone{{Zone: "front", Amount: amount, AreaSqFt: 1000}}}
			list = append(list, a)
			switch rapid.IntRange(0, 3).Draw(t, "fate") {
			case 0: // withdrawn
				list = append(list, store.Application{ID: a.ID + "-w", Corrects: a.ID, Withdrawn: true, Day: a.Day, Stamp: "z" + a.ID})
			case 1: // corrected twice; the later one stands
				for k, by := range []float64{2, 0.5} {
					c := a
					c.ID, c.Corrects, c.Stamp = a.ID+string(rune('0'+k)), a.ID, "y"+string(rune('0'+k))
					c.Zones = []store.AppliedZone{{Zone: "front", Amount: amount * by, AreaSqFt: 1000}}
					list = append(list, c)
				}
				want += amount * 0.5 * 0.24
			default:
				want += amount * 0.24
			}
		}
		shuffled := rapid.Permutation(list).Draw(t, "order")
		got := 0.0
		for _, total := range record.Shipped().Totals("2026", record.Current(shuffled), material) {
			got += total.Sum.N
		}
		if got < want-1e-9 || got > want+1e-9 {
			t.Fatalf("the zone got %v, want %v", got, want)
		}
	})
}

// TestAnyBodyIsTakenOrSetAside: whatever stands in the body of a record, the door answers, and the run behind it goes on.
func TestAnyBodyIsTakenOrSetAside(t *testing.T) {
	h := openHouse(t)
	feed, _ := h.shelf()
	p := h.phone("d1", h.ana)
	value := func(t *rapid.T, label string) any {
		return rapid.OneOf(
			rapid.Just[any](nil), rapid.Map(rapid.Float64(), func(x float64) any {
				if x != x || x > 1e300 || x < -1e300 { // JSON has no word for these
					return 0.0
				}
				return x
			}), rapid.Map(rapid.String(), func(s string) any { return s }), rapid.Just[any](true),
			rapid.Just[any]([]any{}), rapid.Just[any](map[string]any{"zone": "front"}), rapid.Just[any]([]any{map[string]any{"zone": "front", "typed": "½ lb", "area_sqft": "12"}}),
		).Draw(t, label)
	}
	rapid.Check(t, func(t *rapid.T) {
		b := body(feed, "1", nil)
		for _, key := range rapid.SliceOfN(rapid.SampledFrom([]string{"visit", "material", "version", "name", "unit", "zones", "start", "end", "items", "step", "corrects", "withdrawn", "reason"}), 0, 4).Draw(t, "keys") {
			b[key] = value(t, key)
		}
		p.op(rapid.SampledFrom([]string{"application", "calibration"}).Draw(t, "form"), b)
		reply := p.send()
		if reply.Through != p.n {
			t.Fatalf("through %d of %d", reply.Through, p.n)
		}
	})
	for id, a := range h.applications() {
		if a.Property != "home" || a.Missing == nil || a.Flags == nil {
			t.Errorf("%s: %+v", id, a)
		}
	}
}
