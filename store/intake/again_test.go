package intake_test

import (
	"context"
	"errors"
	"testing"

	"swardbook/diagnose"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/store/sqlite"
)

func (h *house) again(save bool) []intake.Weighed {
	h.t.Helper()
	var out []intake.Weighed
	h.must(h.svc.Again(h.t.Context(), save, func(w intake.Weighed) { out = append(out, w) }))
	return out
}

func TestWeighingAgainTellsAndKeepsWhatWasSaid(t *testing.T) {
	h := openHouse(t)
	h.grubs()
	stored := len(h.all())
	got := h.again(false)
	if len(got) != 1 || got[0].Now != "white_grubs" || got[0].Was != "white_grubs" || got[0].Saved {
		t.Errorf("%+v", got)
	}
	if again := h.again(true); again[0].Saved || len(h.all()) != stored {
		t.Errorf("the same knowledge stores the same again: %+v", again)
	}

	other := *h.know
	other.Edition = "another"
	engine, err := engineOf()
	h.must(err)
	h.svc.Close()
	h.svc = intake.New(h.db, always(&other, engine), intake.Options{Now: h.clock.now, Log: quiet()})
	if got := h.again(false); got[0].Saved || len(h.all()) != stored {
		t.Errorf("weighing alone stores: %+v", got)
	}
	if got := h.again(true); !got[0].Saved || len(h.all()) != stored+1 {
		t.Errorf("a further answer is not stored: %+v", got)
	}
	first := h.all()[0]
	if first.Edition != h.know.Edition {
		t.Errorf("what was said is changed: %+v", first)
	}
}

// faulty is a store whose readings can't be read.
type faulty struct {
	*sqlite.DB
	err error
}

func (f faulty) Readings(context.Context, string) ([]store.Reading, error) { return nil, f.err }

func TestWeighingAgainEndsAtAFault(t *testing.T) {
	h := openHouse(t)
	h.grubs()
	broken := errors.New("disk on fire")
	engine, err := engineOf()
	h.must(err)
	svc := intake.New(faulty{h.db, broken}, always(h.know, engine), intake.Options{Now: h.clock.now, Log: quiet()})
	t.Cleanup(svc.Close)
	if err := svc.Again(t.Context(), false, func(intake.Weighed) {}); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
}

func TestLeading(t *testing.T) {
	for verdict, want := range map[string]string{diagnose.ACause: "a", diagnose.CantTell: "", diagnose.NothingWrong: ""} {
		if got := intake.Leading(diagnose.Answer{Verdict: verdict, Causes: []diagnose.Likelihood{{ID: "a"}}}); got != want {
			t.Errorf("%s: %q", verdict, got)
		}
	}
}
