package sqlite_test

import (
	"reflect"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/storetest"
)

func diagnosis(h *house, id, zone string) store.Diagnosis {
	return store.Diagnosis{ID: id, Visit: h.visit, Zone: zone, Edition: "e1", InputHash: "hash of " + id, Made: storetest.Morning, Answer: []byte(`{"verdict":"` + id + `"}`)}
}

func review(h *house, id, kind string) store.Review {
	return store.Review{ID: id, Visit: h.visit, Kind: kind, By: "tamsin", At: h.clock.Now()}
}

func (h *house) choose(id, reading string) {
	h.t.Helper()
	r := review(h, id, "choose")
	r.Reading, r.Zone = reading, h.front
	h.must(h.DB.AddReview(h.t.Context(), r))
}

func TestALaterAnswerOfTheSamePhoneCounts(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Clock.Pass(-5 * time.Hour) // the phone's clock jumps back
	p.Reads(h.visit, h.front, "tug_test", "sod_piece_lifts")
	p.Sends()
	if got := h.current("tug_test"); got != "sod_piece_lifts" {
		t.Errorf("counts: %s", got)
	}
	if got := h.disputed("tug_test"); got != nil {
		t.Errorf("a phone disputes with itself: %v", got)
	}
}

func TestTheLaterPhoneCountsWhateverItsClock(t *testing.T) {
	for name, ahead := range map[string]time.Duration{"right": 0, "three years ahead": 3 * 365 * 24 * time.Hour, "five hours behind": -5 * time.Hour} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			h.clock.Pass(time.Hour)
			early, late := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
			early.Ahead = ahead
			early.Reads(h.visit, h.front, "tug_test", "early")
			late.Clock.Pass(10 * time.Minute)
			late.Reads(h.visit, h.front, "tug_test", "late")
			early.Clock.Pass(time.Hour)
			late.Clock.Pass(50 * time.Minute)
			late.Sends()
			early.Sends()
			if got := h.current("tug_test"); got != "late" {
				t.Errorf("counts: %s of %+v", got, h.readings())
			}
			if got := h.disputed("tug_test"); !reflect.DeepEqual(got, []string{"late", "early"}) {
				t.Errorf("in dispute: %v", got)
			}
		})
	}
}

func TestWhoHasSeenAnAnswerSupersedesIt(t *testing.T) {
	h := newHouse(t)
	p, q := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	seen := p.Sends().Seq
	q.Clock.Pass(-time.Hour) // a clock that the skew of its push does not explain
	q.Reads(h.visit, h.front, "tug_test", "sod_piece_lifts").Base = seen
	q.Clock.Pass(time.Hour)
	q.Sends()
	if got := h.current("tug_test"); got != "sod_piece_lifts" {
		t.Errorf("counts: %s", got)
	}
	if got := h.disputed("tug_test"); got != nil {
		t.Errorf("in dispute: %v", got)
	}
}

func TestABaseThatCannotBeSaysNothing(t *testing.T) {
	h := newHouse(t)
	p, q := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
	p.Reads(h.visit, h.front, "tug_test", "firm").Base = 1 << 40
	q.Reads(h.visit, h.front, "tug_test", "firm").Base = 1 << 40
	p.Sends()
	q.Sends()
	if h.current("tug_test") != "firm" {
		t.Errorf("readings %+v", h.readings())
	}
}

func TestTheSameAnswerTwiceIsNoDispute(t *testing.T) {
	h := newHouse(t)
	for _, device := range []string{"d1", "d2"} {
		p := h.Phone(device, "Jonah")
		p.Reads(h.visit, h.front, "tug_test", "firm")
		p.Sends()
	}
	if got := h.disputed("tug_test"); got != nil {
		t.Errorf("in dispute: %v", got)
	}
}

func TestDifferBySaysWhatDiffers(t *testing.T) {
	h := newHouse(t)
	var asked []string
	h.DB.DifferBy(func(check, a, b string) bool {
		asked = append(asked, check)
		return len(a) != len(b)
	})
	for device, typed := range map[string]string{"d1": "2 in", "d2": "3 in"} {
		p := h.Phone(device, "Jonah")
		p.Reads(h.visit, h.front, "thatch_in", typed)
		p.Reads(h.visit, h.front, "note", device+typed+device)
		p.Sends()
	}
	p := h.Phone("d3", "Jonah")
	p.Reads(h.visit, h.front, "note", "x")
	p.Sends()
	if h.disputed("thatch_in") != nil || len(h.disputed("note")) != 3 || len(asked) == 0 {
		t.Errorf("in dispute: %v, %v; asked %v", h.disputed("thatch_in"), h.disputed("note"), asked)
	}
}

func TestAChoiceSettlesADispute(t *testing.T) {
	h := newHouse(t)
	for device, typed := range map[string]string{"d1": "firm", "d2": "sod_piece_lifts"} {
		p := h.Phone(device, "Jonah")
		p.Reads(h.visit, h.front, "tug_test", typed)
		p.Sends()
	}
	if len(h.disputed("tug_test")) != 2 {
		t.Fatalf("readings %+v", h.readings())
	}
	for i, want := range []struct{ id, typed string }{{"d1-1", "firm"}, {"d2-1", "sod_piece_lifts"}, {"d1-1", "firm"}} {
		h.choose(string(rune('a'+i)), want.id)
		if h.current("tug_test") != want.typed || h.disputed("tug_test") != nil {
			t.Errorf("after %s was chosen: %+v", want.id, h.readings())
		}
	}
	q := h.Phone("d3", "Mirela")
	q.Clock.Pass(time.Minute)
	h.clock.Pass(time.Minute)
	q.Reads(h.visit, h.front, "tug_test", "mat_lifts_no_roots")
	q.Sends()
	if got := h.disputed("tug_test"); !reflect.DeepEqual(sorted(got), []string{"firm", "mat_lifts_no_roots"}) {
		t.Errorf("a further answer disputes with the chosen one: %v", got)
	}
	bad := review(h, "bad", "choose")
	bad.Reading = "no such reading"
	wantKind(t, h.DB.AddReview(t.Context(), bad), store.NotFound)
}

func TestCellsAreApart(t *testing.T) {
	h := newHouse(t)
	p, q := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
	p.Reads(h.visit, h.front, "tug_test", "a")
	q.Reads(h.visit, h.back, "tug_test", "b")
	q.Reads(h.visit, "", "tug_test", "c")
	q.Reads(h.visit, h.front, "crown_check", "d")
	q.Reads(h.other, h.front, "tug_test", "e")
	p.Sends()
	q.Sends()
	list, err := h.DB.ReadingsOfProperty(t.Context(), h.property.ID)
	h.must(err)
	for _, r := range list {
		if !r.Current || r.Dispute {
			t.Errorf("%+v", r)
		}
	}
	if len(list) != 5 || len(h.readings()) != 4 {
		t.Errorf("%d of the property, %d of the visit", len(list), len(h.readings()))
	}
}

func TestDiagnosesAddUp(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	for _, d := range []store.Diagnosis{diagnosis(h, "one", h.front), diagnosis(h, "two", h.back), diagnosis(h, "three", h.front)} {
		h.must(h.DB.SaveDiagnosis(ctx, d))
	}
	wantKind(t, h.DB.SaveDiagnosis(ctx, diagnosis(h, "one", h.front)), store.Conflict)
	latest, err := h.DB.LatestDiagnoses(ctx, h.visit)
	h.must(err)
	if want := []store.Diagnosis{diagnosis(h, "two", h.back), diagnosis(h, "three", h.front)}; !reflect.DeepEqual(latest, want) {
		t.Errorf("latest %+v", latest)
	}
	every, err := h.DB.DiagnosesOfProperty(ctx, h.property.ID)
	h.must(err)
	if len(every) != 3 || every[0].ID != "one" {
		t.Errorf("all %+v", every)
	}
	v, err := h.DB.Visit(ctx, h.visit)
	h.must(err)
	for day, want := range map[string][]string{v.Day: nil, "9999-01-01": {"three", "two", "one"}} {
		before, err := h.DB.DiagnosesBefore(ctx, h.property.ID, day)
		h.must(err)
		var ids []string
		for _, d := range before {
			ids = append(ids, d.ID)
		}
		if !reflect.DeepEqual(ids, want) {
			t.Errorf("before %s: %v, want %v", day, ids, want)
		}
	}
	two, err := h.DB.Diagnosis(ctx, "two")
	h.must(err)
	if want := diagnosis(h, "two", h.back); !reflect.DeepEqual(two, want) {
		t.Errorf("one %+v", two)
	}
	_, err = h.DB.Diagnosis(ctx, "four")
	wantKind(t, err, store.NotFound)
}

func TestReviewsComeBackInOrder(t *testing.T) {
	h := newHouse(t)
	over := store.Review{ID: "z", Visit: h.visit, Zone: h.front, Kind: "overrule", Cause: "a cause", Judgement: "ruled out", Reason: "dug there", Diagnosis: "d", Engine: 0.625, By: "tamsin", At: h.clock.Now()}
	h.must(h.DB.AddReview(t.Context(), over))
	h.must(h.DB.AddReview(t.Context(), review(h, "a", "sign off")))
	list, err := h.DB.Reviews(t.Context(), h.visit)
	h.must(err)
	if len(list) != 2 || list[0] != over || list[1].Kind != "sign off" || h.state(h.visit) != store.SignedOff {
		t.Errorf("reviews %+v", list)
	}
	wantKind(t, h.DB.AddReview(t.Context(), review(h, "b", "applaud")), store.Invalid)
	other := review(h, "c", "overrule")
	other.By = "nobody"
	wantKind(t, h.DB.AddReview(t.Context(), other), store.NotFound)
}
