package plan_test

import "testing"

func BenchmarkMake(b *testing.B) {
	pl, _ := planner(b)
	c := load(b, "../../testdata/plan/grubs-over-the-limit-august.json")
	for b.Loop() {
		if _, err := pl.Make(c.Input); err != nil {
			b.Fatal(err)
		}
	}
}
