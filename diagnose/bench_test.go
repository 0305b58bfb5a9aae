package diagnose_test

import (
	"testing"

	"swardbook/diagnose"
)

// fourteen is a worked case filled up to fourteen findings with what a sound lawn shows.
func fourteen(b testing.TB) diagnose.Case {
	c := workedCases(b)[0].Case
	for _, id := range []string{"ground_cover_pct", "time_course", "penetration", "mow_height_in"} {
		for _, f := range loaded(b).Bundle.Findings {
			if f.ID == id {
				c.Observed = append(c.Observed, diagnose.Observed{Finding: id, State: f.States[0].ID})
			}
		}
	}
	if len(c.Observed) != 14 {
		b.Fatalf("%d findings", len(c.Observed))
	}
	return c
}

func BenchmarkDiagnose(b *testing.B) {
	e, c := engine(b), fourteen(b)
	for b.Loop() {
		if _, err := e.Diagnose(c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNew(b *testing.B) {
	l := loaded(b)
	for b.Loop() {
		if _, err := diagnose.New(&l.Bundle); err != nil {
			b.Fatal(err)
		}
	}
}
