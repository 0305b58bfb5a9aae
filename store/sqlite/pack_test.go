package sqlite_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"swardbook/store"
)

// TestAnswersArePackedAndOldOnesRead: an answer comes back byte for byte, takes less room, and one that was stored as it stands is read.
func TestAnswersArePackedAndOldOnesRead(t *testing.T) {
	h := newHouse(t)
	long := []byte(`{"causes":[` + strings.Repeat(`{"likelihood":0.25,"for":[],"against":[]},`, 300) + `{}]}`)
	h.must(h.DB.SaveDiagnosis(t.Context(), store.Diagnosis{ID: "a", Visit: h.visit, Zone: h.front, Answer: long}))
	h.must(h.DB.Exec(t.Context(), `INSERT INTO diagnoses (id, visit, zone, edition, input_hash, made, answer) VALUES ('b', $1, $2, '', '', '', $3)`, h.visit, h.back, long))
	list, err := h.DB.DiagnosesOfProperty(t.Context(), h.property.ID)
	h.must(err)
	if len(list) != 2 || !bytes.Equal(list[0].Answer, long) || !bytes.Equal(list[1].Answer, long) {
		t.Error("an answer came back changed")
	}
	if sizes := fmt.Sprint(h.texts(`SELECT length(answer) < $1 FROM diagnoses ORDER BY id`, len(long)/4)); sizes != "[1 0]" {
		t.Error(sizes)
	}
	h.must(h.DB.Exec(t.Context(), `INSERT INTO diagnoses (id, visit, zone, edition, input_hash, made, answer) VALUES ('c', $1, '', '', '', '', X'1f8b00')`, h.visit))
	if _, err := h.DB.LatestDiagnoses(t.Context(), h.visit); err == nil {
		t.Error("a damaged answer was read")
	}
}
