package knowledge

import (
	"reflect"
	"testing"
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
	if got := len(k.Bundle.Findings); got != 45 {
		t.Errorf("%d findings, want 45", got)
	}
	if rows < 1070 {
		t.Errorf("%d link rows, want at least 1070", rows)
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
	if !reflect.DeepEqual(k, again) {
		t.Error("the decoded bundle differs from the loaded one")
	}
}
