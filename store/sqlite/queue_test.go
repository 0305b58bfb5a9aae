package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swardbook/store"
	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

func sorted(list []string) []string {
	list = slices.Clone(list)
	slices.Sort(list)
	return list
}

// checkNumbers holds the rule of the log: a device's numbers are exactly 1 to through, each id lies in the log once, and
// what is projected is what was stored.
func checkNumbers(t interface{ Errorf(string, ...any) }, db *sqlite.DB) {
	for what, query := range map[string]string{
		"a device's numbers are not 1 to through": `SELECT d.id FROM devices d WHERE
			(SELECT count(*) || ' ' || coalesce(min(n), 1) || ' ' || coalesce(max(n), 0) || ' ' || count(DISTINCT n) FROM numbers WHERE device = d.id)
			<> d.through || ' 1 ' || d.through || ' ' || d.through`,
		"numbers of an unknown device":     `SELECT device FROM numbers WHERE device NOT IN (SELECT id FROM devices)`,
		"an id twice":                      `SELECT id FROM ops GROUP BY id HAVING count(*) > 1`,
		"a reading lacks its projection":   `SELECT id FROM ops WHERE kind = 'reading' AND aside = '' AND id NOT IN (SELECT id FROM readings)`,
		"a projection without its reading": `SELECT id FROM readings WHERE id NOT IN (SELECT id FROM ops) AND id NOT IN (SELECT id FROM clashes)`,
		"a reading counts twice":           `SELECT id FROM readings GROUP BY id HAVING count(*) > 1`,
	} {
		list, err := db.Texts(context.Background(), query)
		if err != nil || len(list) > 0 {
			t.Errorf("%s: %v, %v", what, list, err)
		}
	}
}

// TestPushInAnyOrder sends random pieces of what two phones and a copy of one recorded, again and out of order.
func TestPushInAnyOrder(t *testing.T) {
	h := newHouse(t)
	round := 0
	rapid.Check(t, func(r *rapid.T) {
		round++
		phones := []*storetest.Phone{h.Phone(fmt.Sprint("a", round), "Jonah"), h.Phone(fmt.Sprint("b", round), "Mirela")}
		for range 12 {
			for _, p := range phones {
				p.Reads(h.visit, h.front, "tug_test", rapid.SampledFrom([]string{"firm", "loose"}).Draw(r, "typed"))
			}
		}
		if rapid.Bool().Draw(r, "an id of the other phone") {
			phones[1].Kept[5].ID = phones[0].Kept[3].ID
		}
		through := map[string]int64{}
		for range rapid.IntRange(1, 14).Draw(r, "pushes") {
			p := rapid.SampledFrom(phones).Draw(r, "phone")
			first := rapid.IntRange(1, 12).Draw(r, "first")
			last := rapid.IntRange(first, 12).Draw(r, "last")
			res, err := h.DB.Push(context.Background(), p.Batch(first, last))
			if err != nil {
				r.Fatal(err)
			}
			before := through[p.Device]
			if res.Hole != (int64(first) > before+1) || res.Fork {
				r.Fatalf("%s had %d and got %d to %d: %+v", p.Device, before, first, last, res)
			}
			if !res.Hole {
				through[p.Device] = max(before, int64(last))
			}
			if res.Through != through[p.Device] {
				r.Fatalf("%s is at %d, want %d", p.Device, res.Through, through[p.Device])
			}
		}
		for _, p := range phones { // whatever happened, sending everything ends the same way
			res, err := h.DB.Push(context.Background(), p.Batch(1, 12))
			if err != nil || res.Through != 12 || res.Hole || res.Fork {
				r.Fatalf("%+v, %v", res, err)
			}
			seq := res.Seq
			if res, err = h.DB.Push(context.Background(), p.Batch(1, 12)); err != nil || res.Seq != seq || len(res.Fresh) != 0 {
				r.Fatalf("again: %+v, %v", res, err)
			}
		}
	})
	checkNumbers(t, h.DB)
	for _, content := range h.texts(`SELECT typed FROM ops UNION ALL SELECT typed FROM clashes`) {
		if content != "firm" && content != "loose" {
			t.Errorf("kept %q", content)
		}
	}
}

// TestMergeIsTheSameInAnyOrder delivers what three phones recorded without knowing of each other in any order; what counts
// depends on the stamps alone.
func TestMergeIsTheSameInAnyOrder(t *testing.T) {
	h := newHouse(t)
	h.clock.Pass(24 * time.Hour)
	rapid.Check(t, func(r *rapid.T) {
		visit := h.property.Visit("2026-08-27", "Jonah").ID
		var phones []*storetest.Phone
		best, want := time.Duration(-1), ""
		for i := range 3 {
			p := h.Phone(fmt.Sprint(visit, i), "Jonah")
			at := time.Duration(rapid.IntRange(0, 479).Draw(r, "third minute of the day"))*3*time.Minute + time.Duration(i)*time.Minute
			p.Clock.Pass(at)
			p.Ahead = time.Duration(rapid.IntRange(-9, 9).Draw(r, "hours ahead")) * time.Hour
			p.Reads(visit, h.front, "tug_test", fmt.Sprint("first of ", i))
			p.Reads(visit, h.front, "tug_test", fmt.Sprint("last of ", i))
			if at > best {
				best, want = at, fmt.Sprint("last of ", i)
			}
			p.Clock.Pass(24*time.Hour - at)
			phones = append(phones, p)
		}
		for _, i := range rapid.Permutation([]int{0, 1, 2, 0, 1, 2}).Draw(r, "order") {
			phones[i].Sends()
		}
		list, err := h.DB.Readings(context.Background(), visit)
		if err != nil {
			r.Fatal(err)
		}
		disputes := 0
		for _, reading := range list {
			if reading.Current != (reading.Typed == want) {
				r.Fatalf("%s counts: %v, want %s", reading.Typed, reading.Current, want)
			}
			if reading.Dispute {
				disputes++
			}
		}
		if len(list) != 6 || disputes != 3 {
			r.Fatalf("%d readings, %d in dispute", len(list), disputes)
		}
	})
}

func TestEightPushersAtOnce(t *testing.T) {
	h := newHouse(t)
	const phones, rows = 8, 40
	var wg sync.WaitGroup
	for i := range phones {
		p := h.Phone(fmt.Sprint("d", i), "Jonah")
		for range rows {
			p.Reads(h.visit, h.front, "tug_test", "firm")
		}
		wg.Go(func() {
			for n := 1; n <= rows; n += 4 {
				for range 2 { // the first answer is lost
					if res, err := h.DB.Push(context.Background(), p.Batch(n, n+3)); err != nil || res.Through != int64(n+3) {
						t.Errorf("%+v, %v", res, err)
					}
				}
			}
		})
	}
	wg.Wait()
	checkNumbers(t, h.DB)
	if n := h.texts(`SELECT count(*) FROM ops`); n[0] != fmt.Sprint(phones*rows) {
		t.Errorf("%s operations", n[0])
	}
}

// TestReadersOfTheFeedMissNothing lets readers follow the feed while writers push: each must see every row once, in order.
func TestReadersOfTheFeedMissNothing(t *testing.T) {
	h := newHouse(t)
	const writers, rows, followers = 16, 24, 8
	var pushing, reading sync.WaitGroup
	var done atomic.Bool
	for i := range writers {
		p := h.Phone(fmt.Sprint("d", i), "Jonah")
		for range rows {
			p.Reads(h.visit, h.front, "tug_test", "firm")
		}
		pushing.Go(func() {
			for n := 1; n <= rows; n += 3 {
				if _, err := h.DB.Push(context.Background(), p.Batch(n, n+2)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	for i := range followers {
		reading.Go(func() {
			seen, last, since := map[string]bool{}, int64(0), int64(0)
			for {
				finished := done.Load()
				page, err := h.DB.Feed(context.Background(), since, 10+i, nil)
				if err != nil {
					t.Error(err)
					return
				}
				for _, row := range page.Rows {
					if seen[row.ID] || row.Seq <= last {
						t.Errorf("row %d comes after %d, seen %v", row.Seq, last, seen[row.ID])
					}
					seen[row.ID], last = true, row.Seq
				}
				since = page.Next
				if finished && !page.More {
					break
				}
			}
			if len(seen) != writers*rows {
				t.Errorf("a reader saw %d of %d rows", len(seen), writers*rows)
			}
		})
	}
	pushing.Wait()
	done.Store(true)
	reading.Wait()
}

func TestFeedIsNarrowedToVisits(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	p := h.Phone("d1", "Jonah")
	for i := range 6 {
		p.Reads([]string{h.visit, h.other}[i%2], h.front, "tug_test", "firm")
	}
	p.Kept[0].Aside, p.Kept[2].Aside = "unreadable", "unreadable"
	p.Sends()
	h.must(h.DB.SettleAside(ctx, p.Kept[2].ID, "taken", "tamsin", "why"))
	page, err := h.DB.Feed(ctx, 0, 2, []string{h.visit})
	h.must(err)
	if len(page.Rows) != 2 || page.Next != 3 || !page.More || !page.Rows[0].Aside || page.Rows[1].Aside || string(page.Rows[0].Raw) != string(p.Kept[0].Raw) || page.Rows[0].Stamp == "" {
		t.Errorf("first page %+v", page)
	}
	page, err = h.DB.Feed(ctx, page.Next, 2, []string{h.visit})
	h.must(err)
	if len(page.Rows) != 1 || page.Rows[0].Seq != 5 || page.Next != 6 || page.More {
		t.Errorf("last page %+v", page)
	}
	for name, c := range map[string]struct {
		since  int64
		visits []string
		rows   int
		next   int64
	}{"all": {0, nil, 6, 6}, "none": {0, []string{}, 0, 6}, "the end": {6, nil, 0, 6}, "beyond the end": {99, nil, 0, 99}} {
		page, err := h.DB.Feed(ctx, c.since, 100, c.visits)
		if err != nil || page.Rows == nil || len(page.Rows) != c.rows || page.Next != c.next || page.More {
			t.Errorf("%s: %+v, %v", name, page, err)
		}
	}
	if seq, err := h.DB.Seq(ctx); err != nil || seq != 6 {
		t.Errorf("seq %d, %v", seq, err)
	}
}

// TestABatchThatFailsTakesNobodyWithIt piles batches up behind a held writer, so that they share one transaction.
func TestABatchThatFailsTakesNobodyWithIt(t *testing.T) {
	h := newHouse(t)
	release, err := h.DB.HoldWriter(t.Context())
	h.must(err)
	good, hole, bad := h.Phone("good", "Jonah"), h.Phone("hole", "Jonah"), h.Phone("bad", "Jonah")
	for _, p := range []*storetest.Phone{good, hole, bad} {
		p.Reads(h.visit, h.front, "tug_test", "firm")
		p.Reads(h.visit, h.front, "tug_test", "firm")
	}
	bad.Kept[1].Photos = []store.Photo{{SHA: "too short to be a name"}}
	gone, cancel := context.WithCancel(t.Context())
	var wg sync.WaitGroup
	var results [3]store.PushResult
	var errs [4]error
	for i, b := range []store.Batch{good.Batch(1, 2), hole.Batch(2, 2), bad.Batch(1, 2)} {
		wg.Go(func() { results[i], errs[i] = h.DB.Push(context.Background(), b) })
	}
	wg.Go(func() { _, errs[3] = h.DB.Push(gone, h.Phone("gone", "Jonah").Batch(1, 0)) })
	time.Sleep(30 * time.Millisecond)
	cancel()
	time.Sleep(10 * time.Millisecond)
	release()
	wg.Wait()
	if errs[0] != nil || results[0].Through != 2 || !results[1].Hole || errs[1] != nil {
		t.Errorf("good %+v, %v; hole %+v, %v", results[0], errs[0], results[1], errs[1])
	}
	wantKind(t, errs[2], store.Invalid)
	if !errors.Is(errs[3], context.Canceled) {
		t.Errorf("who left: %v", errs[3])
	}
	if got := h.texts(`SELECT DISTINCT device FROM ops`); len(got) != 1 || got[0] != "good" {
		t.Errorf("stored of %v", got)
	}
	checkNumbers(t, h.DB)
}

func TestAfterClosePushesAreBusy(t *testing.T) {
	db, err := reopen(t, tempFile(t))
	must(t, err)
	must(t, db.Close())
	_, err = db.Push(t.Context(), store.Batch{Device: "d"})
	wantKind(t, err, store.Busy)
}

func TestAFullDiskIsBusyAndLosesNothing(t *testing.T) {
	h := newHouse(t)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "note", "short")
	p.Sends()
	pages := h.texts(`SELECT page_count + 4 FROM pragma_page_count`)[0]
	h.must(h.DB.Exec(t.Context(), `PRAGMA max_page_count = `+pages))
	p.Reads(h.visit, h.front, "note", strings.Repeat("long ", 40000))
	_, err := h.DB.Push(t.Context(), p.Batch(2, 2))
	wantKind(t, err, store.Busy)
	select {
	case <-h.DB.Broken():
		t.Error("a full disk is not a broken one")
	default:
	}
	h.must(h.DB.Exec(t.Context(), `PRAGMA max_page_count = 1000000`))
	if res := p.Sends(); res.Through != 2 || h.current("note") == "short" {
		t.Errorf("with room again: %+v", res)
	}
	checkNumbers(t, h.DB)
}
