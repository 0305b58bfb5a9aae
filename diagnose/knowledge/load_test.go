package knowledge

import (
	"reflect"
	"slices"
	"testing"
	"time"
)

func TestTheBuiltInKnowledgeLoads(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for _, f := range k.Bundle.Findings {
		rows += len(f.Rows)
	}
	if got := len(k.Bundle.Causes); got != 37 {
		t.Errorf("%d causes, want 36 and the unknown", got)
	}
	if got := len(k.Bundle.Findings); got < 45 {
		t.Errorf("%d findings, want 45 or more", got)
	}
	if rows < 1060 {
		t.Errorf("%d link rows, want at least 1060", rows)
	}
}

func TestDecodeGivesTheSameBack(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	again, err := Decode(k.JSON)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(k.Bundle, again.Bundle) || k.Edition != again.Edition {
		t.Error("the decoded bundle differs from the loaded one")
	}
}

func TestDecodeRefusesWhatIsNotCanonical(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string][]byte{
		"a blank more":     append([]byte(" "), k.JSON...),
		"cut short":        k.JSON[:len(k.JSON)-1],
		"an unknown field": append([]byte(`{"mood":1,`), k.JSON[1:]...),
	} {
		if _, err := Decode(text); err == nil {
			t.Errorf("%s: read without complaint", name)
		}
	}
}

func TestLookingUp(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range k.Bundle.Checks {
		if got, ok := k.Check(c.ID); !ok || got.ID != c.ID {
			t.Errorf("check %s is not found", c.ID)
		}
	}
	if _, ok := k.Cause("ghosts"); ok {
		t.Error("a cause that is not there is found")
	}
	for _, f := range k.Bundle.Findings {
		for _, r := range f.Rows {
			if _, ok := k.Source(r.Source); !ok {
				t.Errorf("%s %s %s: source %s is not found", f.ID, r.State, r.Cause, r.Source)
			}
		}
	}
}

func TestTheKnowledgeLoadsFast(t *testing.T) {
	var took []time.Duration
	for range 5 {
		start := time.Now()
		if _, err := LoadFS(Files()); err != nil {
			t.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	if best := slices.Min(took); best > 100*time.Millisecond {
		t.Errorf("loading takes %v at best", best)
	}
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := LoadFS(Files()); err != nil {
			b.Fatal(err)
		}
	}
}
