package diagnose_test

import (
	"sync"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

func changedRates(t testing.TB) *knowledge.Loaded {
	t.Helper()
	k := loaded(t)
	next := *k
	next.Edition = "another"
	next.Bundle.Causes = append([]knowledge.Cause(nil), k.Bundle.Causes...)
	rates := map[string]float64{}
	for _, s := range k.Bundle.Seasons {
		rates[s] = 0.6
	}
	next.Bundle.Causes[0].Rates = rates
	return &next
}

func TestHeldKnowledgeChangesForAllWhoAskNext(t *testing.T) {
	held, err := diagnose.Hold(loaded(t))
	if err != nil {
		t.Fatal(err)
	}
	c := diagnose.Case{Season: "summer"}
	first := held.Engine()
	before, err := first.Diagnose(c)
	if err != nil || before.Edition != loaded(t).Edition {
		t.Fatal(before.Edition, err)
	}
	next := changedRates(t)
	if err := held.Swap(next); err != nil {
		t.Fatal(err)
	}
	after, err := held.Engine().Diagnose(c)
	if err != nil || after.Edition != next.Edition || held.Know() != next {
		t.Fatal(after.Edition, err)
	}
	if likelihood(after, next.Bundle.Causes[0].ID) <= likelihood(before, next.Bundle.Causes[0].ID) {
		t.Error("the new rate does not count")
	}
	again, err := first.Diagnose(c)
	if err != nil || again.Edition != before.Edition || again.NothingWrong != before.NothingWrong {
		t.Error("who took the engine before does not finish with it")
	}
}

func TestBrokenKnowledgeIsNotHeld(t *testing.T) {
	held, err := diagnose.Hold(loaded(t))
	if err != nil {
		t.Fatal(err)
	}
	bad := changedRates(t)
	bad.Bundle.Causes[0].Rates["summer"] = 2
	if err := held.Swap(bad); err == nil || held.Know() != loaded(t) {
		t.Error("knowledge that can't be weighed by is held")
	}
}

func TestHeldKnowledgeIsOneWithItsEngine(t *testing.T) {
	a, b := loaded(t), changedRates(t)
	held, err := diagnose.Hold(a)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	wg.Go(func() {
		for i := range 6 {
			if err := held.Swap([]*knowledge.Loaded{b, a}[i%2]); err != nil {
				t.Error(err)
			}
		}
	})
	wg.Go(func() {
		for range 10000 {
			if know, engine := held.Now(); engine.Edition != know.Edition {
				t.Error("an engine of other knowledge")
				return
			}
		}
	})
	wg.Wait()
}
