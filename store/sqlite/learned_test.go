package sqlite_test

import (
	"testing"

	"swardbook/store"
)

func learned(h *house, id, edition string) store.Learned {
	return store.Learned{
		ID: id, Base: "base", Edition: edition, Overlay: []byte(`{"rates.csv":"x"}`), Report: []byte(`{"changes":[]}`), By: "tamsin", At: h.clock.Now(),
	}
}

func TestWhatWasLearnedIsAcceptedAndUndoneInTurn(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	h.must(h.DB.AcceptLearned(ctx, learned(h, "one", "e1"), ""))
	wantKind(t, h.DB.AcceptLearned(ctx, learned(h, "late", "e9"), ""), store.Conflict) // made of what is not in force any more
	h.must(h.DB.AcceptLearned(ctx, learned(h, "two", "e2"), "one"))
	wantKind(t, h.DB.UndoLearned(ctx, "one", "iris", h.clock.Now()), store.Conflict) // not the last
	at := h.clock.Now()
	h.must(h.DB.UndoLearned(ctx, "two", "iris", at))
	wantKind(t, h.DB.UndoLearned(ctx, "two", "iris", at), store.Conflict)
	h.must(h.DB.AcceptLearned(ctx, learned(h, "three", "e3"), "one"))
	list, err := h.DB.Learned(ctx)
	h.must(err)
	if len(list) != 3 || !list[0].Stands() || list[1].Stands() || list[1].UndoneBy != "iris" || !list[1].UndoneAt.Equal(at) || !list[2].Stands() {
		t.Fatalf("learned %+v", list)
	}
	first := list[0]
	if first.Edition != "e1" || first.By != "tamsin" || string(first.Overlay) != `{"rates.csv":"x"}` || first.At.IsZero() || !first.UndoneAt.IsZero() {
		t.Errorf("%+v", first)
	}
	wantKind(t, h.DB.AcceptLearned(ctx, learned(h, "one", "e1"), "three"), store.Conflict)
	bad := learned(h, "four", "e4")
	bad.By = "nobody"
	wantKind(t, h.DB.AcceptLearned(ctx, bad, "three"), store.NotFound)
}

func TestAllDiagnosesOfAVisit(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	for _, d := range []store.Diagnosis{diagnosis(h, "one", h.front), diagnosis(h, "two", h.back), diagnosis(h, "three", h.front)} {
		h.must(h.DB.SaveDiagnosis(ctx, d))
	}
	list, err := h.DB.Diagnoses(ctx, h.visit)
	h.must(err)
	if len(list) != 3 || list[0].ID != "one" || list[2].ID != "three" {
		t.Errorf("diagnoses %+v", list)
	}
	if other, err := h.DB.Diagnoses(ctx, h.other); err != nil || len(other) != 0 {
		t.Errorf("of another visit: %+v, %v", other, err)
	}
}
