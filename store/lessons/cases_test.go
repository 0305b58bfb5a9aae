package lessons

import (
	"testing"

	"swardbook/diagnose/knowledge"
)

func TestTheWinterOfADecemberIsThatOfTheJanuaryAfterIt(t *testing.T) {
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	s := &Service{ours: know}
	for day, want := range map[string]string{
		"2026-09-10": "2026 fall", "2026-11-30": "2026 fall", "2026-12-01": "2027 winter", "2027-01-15": "2027 winter", "2027-03-31": "2027 winter",
		"2027-04-01": "2027 spring", "2026-13-01": "2026-13-01", "soon": "soon",
	} {
		if got := s.seasonOf(day); got != want {
			t.Errorf("%s lies in %s, want %s", day, got, want)
		}
	}
}
