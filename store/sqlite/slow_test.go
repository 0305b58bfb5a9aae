package sqlite_test

import (
	"context"
	"slices"
	"sync"
	"testing"
	"time"

	"swardbook/store"
)

func TestWhatTookLongIsNamedByItsMethod(t *testing.T) {
	h := newHouse(t)
	var mu sync.Mutex
	var named []string
	h.DB.NoteSlow(time.Nanosecond, func(_ context.Context, what string, took time.Duration) {
		mu.Lock()
		defer mu.Unlock()
		if took < time.Nanosecond {
			t.Error("it took no time")
		}
		named = append(named, what)
	})
	h.readings()
	h.must(h.DB.SaveSetting(t.Context(), "x", 1))
	h.must(h.DB.SetVisitState(t.Context(), h.visit, store.UnderWay, ""))
	_, err := h.DB.Session(t.Context(), []byte("none"))
	wantKind(t, err, store.NotFound)
	p := h.Phone("d1", "Jonah")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	h.DB.NoteSlow(time.Hour, func(context.Context, string, time.Duration) { t.Error("an hour went by") })
	h.readings()
	if want := []string{"Readings", "SaveSetting", "SetVisitState", "Session", "Through", "Push"}; !slices.Equal(named, want) {
		t.Errorf("%v, want %v", named, want)
	}
}
