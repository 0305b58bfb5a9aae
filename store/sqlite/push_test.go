package sqlite_test

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

func TestPushStoresARunAndAnswers(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Reads(h.visit, h.front, "thatch_in", "2,5 cm").Edition = "e1"
	res := p.Sends()
	epoch, err := h.DB.Epoch(t.Context())
	h.must(err)
	want := store.PushResult{Epoch: epoch, Through: 2, Seq: 2, Fresh: []string{"d1-1", "d1-2"}, Missing: []string{}}
	if !reflect.DeepEqual(res, want) {
		t.Errorf("got %+v\nwant %+v", res, want)
	}
	ops, err := h.DB.Ops(t.Context(), store.OpFilter{Device: "d1"})
	h.must(err)
	for i, op := range ops {
		sent := p.Kept[i]
		if op.Seq != int64(i+1) || op.ID != sent.ID || op.N != sent.N || !bytes.Equal(op.Raw, sent.Raw) || op.SentBy != "jonah" || !op.Received.Equal(storetest.Morning) || op.Edition != sent.Edition {
			t.Errorf("kept %+v, sent %+v", op, sent)
		}
	}
	if list := h.readings(); len(list) != 2 || list[1].Typed != "2,5 cm" || !list[1].Current || list[1].Dispute || list[1].Seq != 2 {
		t.Errorf("readings %+v", list)
	}
}

func TestPushOfNothingAsks(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	if res := p.Sends(); res.Through != 0 || res.Hole || res.Fork {
		t.Errorf("a new phone: %+v", res)
	}
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	if res := p.Sends(); res.Through != 1 || len(res.Fresh) != 0 {
		t.Errorf("a known one: %+v", res)
	}
	if through, err := h.DB.Through(t.Context(), "never heard of"); err != nil || through != 0 {
		t.Errorf("unknown: %d, %v", through, err)
	}
}

func TestTheSamePushAgainIsNothing(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	for range 4 {
		p.Reads(h.visit, h.front, "tug_test", "firm")
	}
	p.Sends()
	for _, b := range []store.Batch{p.Batch(1, 4), p.Batch(2, 3), p.Batch(4, 4)} {
		res := h.push(b)
		if res.Through != 4 || res.Seq != 4 || len(res.Fresh)+len(res.Clash) != 0 || res.Hole || res.Fork {
			t.Errorf("again: %+v", res)
		}
	}
	p.Reads(h.visit, h.front, "tug_test", "firm")
	if res := h.push(p.Batch(3, 5)); res.Through != 5 || len(res.Fresh) != 1 {
		t.Errorf("overlapping: %+v", res)
	}
}

func TestAHoleStoresNothing(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	for range 4 {
		p.Reads(h.visit, h.front, "tug_test", "firm")
	}
	h.push(p.Batch(1, 1))
	res := h.push(p.Batch(3, 4))
	if !res.Hole || res.Through != 1 || res.Seq != 1 || res.Epoch == "" {
		t.Errorf("hole: %+v", res)
	}
	if n := len(h.readings()); n != 1 {
		t.Errorf("%d readings", n)
	}
}

func TestAForkStoresNothing(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	copied := h.Phone("d1", "Jonah")
	copied.Reads(h.visit, h.front, "tug_test", "firm").ID = "another"
	copied.Reads(h.visit, h.front, "crown_check", "alive")
	res := h.push(copied.Batch(1, 2))
	if !res.Fork || res.Through != 1 || res.Seq != 1 || len(res.Fresh) != 0 {
		t.Errorf("fork: %+v", res)
	}
	if n := h.texts(`SELECT count(*) FROM ops`); n[0] != "1" {
		t.Errorf("%s operations", n[0])
	}
}

func TestAForkIsSeenThroughAClashToo(t *testing.T) {
	h := newHouse(t)
	p, q := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	q.Reads(h.visit, h.front, "tug_test", "sod_piece_lifts").ID = "d1-1"
	q.Sends()
	again := h.Phone("d2", "Mirela")
	again.Reads(h.visit, h.front, "tug_test", "firm").ID = "third"
	if res := h.push(again.Batch(1, 1)); !res.Fork {
		t.Errorf("number 1 of d2 held another id: %+v", res)
	}
}

func TestSameIDOtherContentIsKeptTwice(t *testing.T) {
	h := newHouse(t)
	p, q := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	q.Reads(h.visit, h.front, "tug_test", "sod_piece_lifts").ID = "d1-1"
	q.Reads(h.visit, h.front, "crown_check", "alive")
	for range 3 { // the reply is lost, and lost again
		res := h.push(q.Batch(1, 2))
		if res.Through != 2 || !reflect.DeepEqual(res.Clash, []int64{1}) {
			t.Errorf("clash: %+v", res)
		}
	}
	if h.current("tug_test") != "firm" || h.current("crown_check") != "alive" {
		t.Errorf("readings %+v", h.readings())
	}
	list, err := h.DB.Asides(t.Context(), store.AsideFilter{Open: true})
	h.must(err)
	if len(list) != 1 || list[0].ID != "d1-1~2" || list[0].Reason != "clash" || list[0].Typed != "sod_piece_lifts" || list[0].Device != "d2" || !bytes.Equal(list[0].Raw, q.Kept[0].Raw) {
		t.Errorf("asides %+v", list)
	}
	h.must(h.DB.SettleAside(t.Context(), "d1-1~2", "taken", "tamsin", "both pulled"))
	if got := h.disputed("tug_test"); !reflect.DeepEqual(got, []string{"firm", "sod_piece_lifts"}) {
		t.Errorf("after it was taken in: %v", got)
	}
}

func TestTheSameRowFromAnotherPhoneIsTheSameRow(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	photo := store.Photo{SHA: strings.Repeat("9c", 32), Size: 812345, Type: "image/jpeg"}
	p.Reads(h.visit, h.front, "tug_test", "firm").Photos = []store.Photo{photo}
	p.Sends()
	q := h.Phone("d2", "Jonah") // a saved copy, sent in from another browser
	q.Reads(h.visit, h.front, "crown_check", "alive")
	q.Sends()
	copied := q.Reads(h.visit, h.front, "tug_test", "firm")
	*copied = p.Kept[0]
	copied.N = 2
	for range 2 { // the reply is lost
		res := h.push(q.Batch(2, 2))
		if res.Through != 2 || len(res.Clash)+len(res.Fresh) != 0 || res.Fork {
			t.Errorf("%+v", res)
		}
		if !reflect.DeepEqual(res.Missing, []string{photo.SHA}) {
			t.Errorf("the other browser is asked for %v", res.Missing)
		}
	}
	if got := h.texts(`SELECT device || n FROM numbers WHERE id = 'd1-1' ORDER BY device`); !reflect.DeepEqual(got, []string{"d11", "d22"}) {
		t.Errorf("numbers %v", got)
	}
}

// TestA10ARowUnderAnotherNumberIsTheSameRow: a phone that took another name numbers what it keeps anew.
func TestA10ARowUnderAnotherNumberIsTheSameRow(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	for range 4 {
		p.Reads(h.visit, h.front, "tug_test", "firm")
	}
	p.Sends()
	q := h.Phone("d2", "Jonah")
	q.Kept = append(q.Kept, p.Kept[2:]...)
	for i := range q.Kept {
		q.Kept[i].N = int64(i + 1)
		q.Kept[i].Raw = bytes.Replace(q.Kept[i].Raw, []byte(fmt.Sprintf(`"n":%d`, i+3)), []byte(fmt.Sprintf(`"n":%d`, i+1)), 1)
	}
	if res := h.push(q.Batch(1, 2)); res.Through != 2 || len(res.Clash)+len(res.Fresh) != 0 || res.Fork {
		t.Errorf("%+v", res)
	}
	q.Kept[1].Raw = bytes.Replace(q.Kept[1].Raw, []byte("firm"), []byte("lifts"), 1)
	if res := h.push(q.Batch(2, 2)); !reflect.DeepEqual(res.Clash, []int64{2}) {
		t.Errorf("other content: %+v", res)
	}
}

func TestSameContent(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{`{"n":1,"id":"x"}`, `{"n":1,"id":"x"}`, true},
		{`{"n":1,"id":"x"}`, `{"n":2,"id":"x"}`, true},
		{`{"n":1,"id":"x"}`, `{"id":"x","n":7}`, true},
		{`{"n":1,"id":"x"}`, `{"n":1,"id":"x","op":""}`, false},
		{`{"n":1,"v":9007199254740993}`, `{"n":1,"v":9007199254740992}`, false},
		{`{"n":1,"v":"\ud800"}`, `{"n":1,"v":"\ufffd"}`, false},
		{`odd`, `odd`, true},
		{`odd`, `{"n":1}`, false},
		{`null`, `{"n":1}`, false},
	} {
		if got := sqlite.SameContent([]byte(c.a), []byte(c.b)); got != c.same {
			t.Errorf("%s and %s: %t", c.a, c.b, got)
		}
	}
}

func TestABatchThatIsNoRunIsInvalid(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Reads(h.visit, h.front, "tug_test", "firm").N = 3
	_, err := h.DB.Push(t.Context(), p.Batch(1, 2))
	wantKind(t, err, store.Invalid)
	_, err = h.DB.Push(t.Context(), store.Batch{})
	wantKind(t, err, store.Invalid)
}

func TestWhatIsSetAsideIsKeptAndSettled(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	p := h.Phone("d1", "Jonah")
	odd := p.Reads(h.visit, h.front, "thatch_in", "lots")
	odd.Aside, odd.Detail, odd.Reading = "unreadable", "not a number", nil
	odd2 := p.Reads(h.visit, h.back, "thatch_in", "lots")
	odd2.Aside, odd2.Detail = "unreadable", "not a number"
	odd = &p.Kept[0]
	res := p.Sends()
	if res.Through != 2 || len(res.Fresh) != 0 || len(h.readings()) != 0 {
		t.Errorf("%+v, readings %v", res, h.readings())
	}
	for _, f := range []store.AsideFilter{{}, {Device: "d1"}, {Author: "jonah"}, {Visit: h.visit}, {Open: true}} {
		list, err := h.DB.Asides(ctx, f)
		h.must(err)
		if len(list) != 2 || list[0].Reason != "unreadable" || list[0].Detail != "not a number" || list[0].Check != "thatch_in" || list[0].Zone != h.front || list[0].Typed != "lots" {
			t.Errorf("%+v: %+v", f, list)
		}
	}
	if list, err := h.DB.Asides(ctx, store.AsideFilter{Author: "mirela"}); err != nil || len(list) != 0 {
		t.Errorf("Mirela's: %v, %v", list, err)
	}
	h.must(h.DB.SettleAside(ctx, odd.ID, "taken", "tamsin", "he told me"))
	h.must(h.DB.SettleAside(ctx, odd2.ID, "left", "tamsin", "no"))
	wantKind(t, h.DB.SettleAside(ctx, odd.ID, "left", "tamsin", "no"), store.Conflict)
	if h.current("thatch_in") != "lots" || len(h.readings()) != 1 {
		t.Errorf("readings %+v", h.readings())
	}
	if list, err := h.DB.Asides(ctx, store.AsideFilter{Open: true}); err != nil || len(list) != 0 {
		t.Errorf("still open: %v, %v", list, err)
	}
	list, err := h.DB.Asides(ctx, store.AsideFilter{})
	h.must(err)
	if len(list) != 2 || list[0].Settled != "taken" || list[1].Settled != "left" {
		t.Errorf("settled: %+v", list)
	}
}

func TestOnlyAReadingWithAPlaceCanBeTaken(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	for _, it := range []*store.Item{p.Reads("no such visit", h.front, "tug_test", "firm"), p.Reads(h.visit, "no such zone", "tug_test", "firm"), p.Moves("no such visit", store.UnderWay)} {
		it.Base = 0
	}
	p.Sends()
	list, err := h.DB.Asides(t.Context(), store.AsideFilter{Open: true})
	h.must(err)
	var reasons []string
	for _, a := range list {
		reasons = append(reasons, a.Reason)
		if a.Detail == "" {
			t.Errorf("%s has no sentence", a.Reason)
		}
		wantKind(t, h.DB.SettleAside(t.Context(), a.ID, "taken", "tamsin", "why"), store.Invalid)
	}
	if !reflect.DeepEqual(reasons, []string{"unknown_visit", "unknown_zone", "unknown_visit"}) {
		t.Errorf("reasons %v", reasons)
	}
}

func TestVisitsMoveForwardOnly(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	move := func(to, want store.VisitState) {
		t.Helper()
		h.clock.Pass(time.Minute)
		p.Clock.Pass(time.Minute)
		p.Moves(h.visit, to)
		p.Sends()
		if got := h.state(h.visit); got != want {
			t.Errorf("%s: now %s, want %s", to, got, want)
		}
	}
	move(store.UnderWay, store.UnderWay)
	late := h.Phone("d2", "Jonah")
	late.Clock.Pass(time.Minute)
	late.Moves(h.visit, store.HandedIn)
	move(store.HandedIn, store.HandedIn)
	move(store.UnderWay, store.HandedIn)
	if v, err := h.DB.Visit(t.Context(), h.visit); err != nil || !v.HandedIn.Equal(storetest.Morning.Add(2*time.Minute)) {
		t.Errorf("handed in at %v, %v", v.HandedIn, err)
	}
	back := review(h, "back", "send back")
	back.Reason = "the back lawn is missing"
	h.must(h.DB.AddReview(t.Context(), back))
	if v, err := h.DB.Visit(t.Context(), h.visit); err != nil || v.State != store.SentBack || v.SentWhy != back.Reason {
		t.Errorf("sent back: %+v, %v", v, err)
	}
	h.clock.Pass(time.Minute)
	late.Clock.Pass(4 * time.Minute)
	late.Sends()
	if got := h.state(h.visit); got != store.SentBack {
		t.Errorf("a tap from before the sending back made it %s", got)
	}
	p.Clock.Pass(time.Minute)
	move(store.UnderWay, store.UnderWay)
	move(store.HandedIn, store.HandedIn)
	if v, err := h.DB.Visit(t.Context(), h.visit); err != nil || v.SentWhy != "" {
		t.Errorf("handed in again: %+v, %v", v, err)
	}
	h.must(h.DB.AddReview(t.Context(), review(h, "done", "sign off")))
	move(store.UnderWay, store.SignedOff)
	p.Reads(h.visit, h.front, "tug_test", "firm")
	if res := p.Sends(); len(res.Fresh) != 0 || res.Through != int64(len(p.Kept)) {
		t.Errorf("after the sign-off: %+v", res)
	}
	list, err := h.DB.Asides(t.Context(), store.AsideFilter{Open: true})
	h.must(err)
	if len(list) != 2 || list[0].Reason != "signed_off" || list[1].Reason != "signed_off" {
		t.Errorf("set aside: %+v", list)
	}
	for _, kind := range []string{"sign off", "send back"} {
		wantKind(t, h.DB.AddReview(t.Context(), review(h, "again", kind)), store.Conflict)
	}
	wantKind(t, h.DB.SetVisitState(t.Context(), h.visit, store.Planned, ""), store.Conflict)
}

func TestZonesAreMadeOnce(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	zone := p.Finds(h.visit, h.property.ID, "Behind the shed").ID
	p.Reads(h.visit, zone, "tug_test", "firm")
	again := p.Finds(h.visit, h.property.ID, "Renamed")
	again.Zone.ID = zone
	if res := p.Sends(); len(res.Fresh) != 3 {
		t.Errorf("%+v", res)
	}
	if z, err := h.DB.Zone(t.Context(), zone); err != nil || z.Name != "Behind the shed" || z.Made != zone {
		t.Errorf("zone %+v, %v", z, err)
	}
}

func TestPhonesAreKnown(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Ahead = 3 * time.Hour
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	h.clock.Pass(time.Hour)
	p.Clock.Pass(time.Hour)
	p.Person = "mirela"
	p.Sends()
	h.Phone("d0", "Jonah").Sends()
	list, err := h.DB.Devices(t.Context())
	h.must(err)
	if len(list) != 2 || list[0].ID != "d0" {
		t.Fatalf("devices %+v", list)
	}
	d := list[1]
	if d.Through != 1 || d.Skew != -3*time.Hour || !d.First.Equal(storetest.Morning) || !d.Last.Equal(storetest.Morning.Add(time.Hour)) || d.Agent != "test" || d.App != "test" ||
		!reflect.DeepEqual(d.People, []string{"jonah", "mirela"}) {
		t.Errorf("device %+v", d)
	}
}

// TestA3WhatAPhoneStillKeepsIsKnown: it said so at the last contact.
func TestA3WhatAPhoneStillKeepsIsKnown(t *testing.T) {
	h := newHouse(t)
	unsent := func() (int, bool) {
		t.Helper()
		list, err := h.DB.Devices(t.Context())
		h.must(err)
		return list[0].Unsent, list[0].GivenUp.IsZero()
	}
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	b := p.Batch(1, 1)
	b.Unsent = 11
	_, err := h.DB.Push(t.Context(), b)
	h.must(err)
	if n, waited := unsent(); n != 11 || !waited {
		t.Error(n, waited)
	}
	b = p.Batch(1, 1) // asked again, the phone keeps other numbers by now
	b.Unsent = 7
	_, err = h.DB.Push(t.Context(), b)
	h.must(err)
	if n, _ := unsent(); n != 7 {
		t.Errorf("%d kept by what it said last, want 7", n)
	}
	h.must(h.DB.GiveUp(t.Context(), "d1"))
	if _, waited := unsent(); waited {
		t.Error("the office still waits")
	}
	other := h.Phone("d1", "Jonah") // a copied profile
	it := other.Reads(h.visit, h.front, "tug_test", "lifts")
	it.ID = "another"
	if res, err := h.DB.Push(t.Context(), other.Batch(1, 1)); err != nil || !res.Fork {
		t.Fatal(res, err)
	}
	if n, _ := unsent(); n != 0 {
		t.Errorf("%d kept under a name that was given up", n)
	}
	if err := h.DB.GiveUp(t.Context(), "nobody"); store.KindOf(err) != store.NotFound {
		t.Error(err)
	}
}

func TestStamp(t *testing.T) {
	at := time.UnixMilli(0x1000).UTC()
	for name, c := range map[string]struct {
		hlc  string
		skew time.Duration
		want string
	}{
		"as it is":            {"000000000800-0002-3f9a", 0, "000000000800-0002-3f9a"},
		"slow by 256 ms":      {"000000000800-0002-3f9a", 0x100 * time.Millisecond, "000000000900-0002-3f9a"},
		"fast by 256 ms":      {"000000000800-0002-3f9a", -0x100 * time.Millisecond, "000000000700-0002-3f9a"},
		"never after receipt": {"0fffffffffff-0002-3f9a", 0, "000000001000-0002-3f9a"},
		"never before zero":   {"000000000001-0002-3f9a", -time.Hour, "000000000000-0002-3f9a"},
		"garbled":             {"noon", 0, "000000001000-0000-0000"},
		"capitals":            {"00000000080A-0002-3f9a", 0, "000000001000-0000-0000"},
		"no dashes":           {"000000000800a0002a3f9a", 0, "000000001000-0000-0000"},
		"missing":             {"", 0, "000000001000-0000-0000"},
	} {
		if got := sqlite.StampOf(c.hlc, c.skew, at); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

// TestStampsOfAPhoneFollowItsNumbers: a push that was long on the way has a larger skew than the next one.
func TestStampsOfAPhoneFollowItsNumbers(t *testing.T) {
	h := newHouse(t)
	made := storetest.Morning.Add(-time.Minute).UnixMilli()
	p := h.Phone("d1", "Jonah")
	for i, ahead := range []int64{0, 1, 2, 3, 3, 3600_000, 3600_001, 4, 0} {
		p.Reads(h.visit, h.front, "core_depth_in", fmt.Sprint(i+1)).HLC = fmt.Sprintf("%012x-%04x-3f9a", made+ahead, 9-i)
	}
	for i, late := range []time.Duration{2 * time.Second, 0, time.Second, 0} {
		b := p.Batch(2*i+1, 2*i+2+i/3)
		b.Sent = storetest.Morning.Add(-late)
		h.push(b)
	}
	ops, err := h.DB.Ops(t.Context(), store.OpFilter{Device: "d1"})
	h.must(err)
	if len(ops) != 9 {
		t.Fatal(len(ops))
	}
	for i := 1; i < len(ops); i++ {
		if ops[i].Stamp <= ops[i-1].Stamp || ops[i].N <= ops[i-1].N {
			t.Errorf("number %d has stamp %s after %s", ops[i].N, ops[i].Stamp, ops[i-1].Stamp)
		}
	}
	if most := fmt.Sprintf("%012x-ffff", storetest.Morning.UnixMilli()); ops[8].Stamp > most {
		t.Errorf("stamp %s is after the receipt %s", ops[8].Stamp, most)
	}
}
