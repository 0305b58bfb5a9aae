package shelf_test

import (
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"swardbook/store/shelf"
)

func TestAShelfKeepsUntilSomethingIsWritten(t *testing.T) {
	now := time.Date(2026, 8, 27, 9, 0, 0, 0, time.UTC)
	s := shelf.Shelf[int]{Now: func() time.Time { return now }, Most: 3}
	worked := 0
	get := func(name string, mark int64) int {
		v, err := s.Get(name, mark, func() (int, error) { worked++; return worked, nil })
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, step := range []struct {
		name string
		mark int64
		wait time.Duration
		want int
	}{
		{"a", 0, 0, 1}, {"a", 0, 0, 1}, {"b", 0, 0, 2}, {"a", 1, 0, 3}, {"a", 1, 59 * time.Minute, 3}, {"a", 1, time.Minute, 4},
		{"c", 1, 0, 5}, {"d", 1, 0, 6}, {"a", 1, 0, 7}, // full: all that was kept went
	} {
		now = now.Add(step.wait)
		if got := get(step.name, step.mark); got != step.want {
			t.Errorf("%+v: %d", step, got)
		}
	}
	fails := errors.New("no")
	if _, err := s.Get("e", 1, func() (int, error) { return 9, fails }); !errors.Is(err, fails) {
		t.Error(err)
	}
	if got := get("e", 1); got == 9 {
		t.Error("an error was kept")
	}
}

func TestEqualQuestionsAreAnsweredOnce(t *testing.T) {
	var s shelf.Shelf[int]
	var worked atomic.Int64
	var all sync.WaitGroup
	for range 50 {
		all.Go(func() {
			v, err := s.Get("a", 1, func() (int, error) { time.Sleep(5 * time.Millisecond); return int(worked.Add(1)), nil })
			if v != 1 || err != nil {
				t.Error(v, err)
			}
		})
	}
	all.Wait()
}
