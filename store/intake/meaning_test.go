package intake

import (
	"errors"
	"strings"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

func known(t testing.TB) *knowledge.Loaded {
	t.Helper()
	know, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	return know
}

func TestEveryCodeHasItsSentence(t *testing.T) {
	for _, code := range []string{
		checks.Unreadable, checks.WrongUnit, checks.OutOfBounds, checks.UnknownCheck, checks.UnknownOption, checks.TooLong, checks.TooMuch,
		Malformed, UnknownKind, UnknownVisit, UnknownZone, NotYours, SignedOff, Future, Author,
	} {
		s, ok := asideSentences[code]
		if !ok || !strings.Contains(s, "kept") {
			t.Errorf("%s: %q does not say that the record is kept", code, s)
		}
		if said := say(code, nil); strings.ContainsAny(said, "{}") {
			t.Errorf("%s: left unfilled: %s", code, said)
		}
	}
}

func TestSayFillsAndClips(t *testing.T) {
	got := say(checks.OutOfBounds, map[string]string{"text": strings.Repeat("9", 200), "check": "Thatch", "low": "0", "high": "8 in"})
	if !strings.Contains(got, "Thatch (0 to 8 in)") || strings.Contains(got, strings.Repeat("9", 81)) {
		t.Error(got)
	}
}

func TestDisagree(t *testing.T) {
	know := known(t)
	thatch, _ := know.Finding("thatch_in")
	near := 2 * 1.41 * (thatch.ErrAbs + thatch.ErrRel*1)
	if near <= 0 {
		t.Fatalf("thatch has no measuring error: %+v", thatch)
	}
	for _, c := range []struct {
		check, a, b string
		want        bool
	}{
		{"tug_test", "firm", "firm", false},
		{"tug_test", "firm", "mat_lifts_no_roots", true},
		{"thatch_in", "1 in", "2.54 cm", false},
		{"thatch_in", "1 in", "1.02 in", false},
		{"thatch_in", "0.5 in", "4 in", true},
		{"thatch_in", "0.9; 1.1 in", "1; 1", false},
		{"ring_sign", "mushrooms", "dark_green_band", false},
		{"ring_sign", "mushrooms", "-mushrooms", true},
		{"ring_sign", "mushrooms", "none", true},
		{"ring_sign", "none", "-mushrooms", false},
		{"tug_test", "firm", "-", true},
		{"tug_test", "", "-", false},
		{"tug_test", "firm", "nonsense", true},
		{"note", "dry here", "wet here", false},
		{"no_such_check", "1", "1", false},
		{"no_such_check", "1", "2", true},
	} {
		if got := Disagree(know, c.check, c.a, c.b); got != c.want {
			t.Errorf("%s %q against %q: %v", c.check, c.a, c.b, got)
		}
		if Disagree(know, c.check, c.b, c.a) != c.want {
			t.Errorf("%s %q against %q: depends on who comes first", c.check, c.a, c.b)
		}
	}
}

func TestCase(t *testing.T) {
	know := known(t)
	visit := store.Visit{ID: "v", Day: "2026-08-27", Why: "complaint"}
	property := store.Property{System: "present"}
	readings := []store.Reading{
		{Zone: "front", Check: "tug_test", Typed: "firm", Current: true},
		{Zone: "front", Check: "tug_test", Typed: "mat_lifts_no_roots"},             // superseded
		{Zone: "back", Check: "penetration", Typed: "hard", Current: true},          // of another zone
		{Zone: "front", Check: "crown_check", Typed: "-", Current: true},            // taken back
		{Zone: "front", Check: "thatch_in", Typed: "lots", Current: true},           // can't be read
		{Zone: "", Check: "recent_weather", Typed: "hot_dry", Current: true},        // of the whole visit
		{Zone: "", Check: "tug_test", Typed: "sod_piece_lifts", Current: true},      // the zone has its own
		{Zone: "front", Check: "core_depth_in", Typed: "3; 4; 5 in", Current: true}, // three numbers
		{Zone: "front", Check: "note", Typed: "along the drive", Current: true},     // says nothing to the engine
	}
	c := Case(know, visit, property, "front", readings, diagnose.Course{})
	if c.Month != 8 || c.Context["visit"] != "complaint" || c.Context["system"] != "present" || len(c.Context) != 2 {
		t.Errorf("case %+v", c)
	}
	seen := map[string]diagnose.Observed{}
	for _, o := range c.Observed {
		seen[o.Finding] = o
	}
	if len(seen) != 3 || seen["tug_test"].State != "firm" || seen["recent_weather"].State != "hot_dry" {
		t.Errorf("observed %+v", c.Observed)
	}
	if n := seen["core_depth_in"].Number; n == nil || n.Mean != 4 || n.N != 3 {
		t.Errorf("cores %+v", n)
	}
	one, _ := inputHash(c, "e1")
	other, _ := inputHash(c, "e2")
	again, _ := inputHash(Case(know, visit, property, "front", readings, diagnose.Course{}), "e1")
	if one == other || one != again || len(one) != 64 {
		t.Errorf("hashes %s %s %s", one, other, again)
	}
}

func TestMonthOf(t *testing.T) {
	for day, want := range map[string]int{"2026-01-31": 1, "2026-12-01": 12, "2026-13-01": 0, "2026-00-01": 0, "": 0, "soon": 0, "a-b-c": 0} {
		if got := monthOf(day); got != want {
			t.Errorf("%q: %d, want %d", day, got, want)
		}
	}
}

func TestReasonNamesTheFindings(t *testing.T) {
	know := known(t)
	s := &Service{knowing: func() (*knowledge.Loaded, Engine) { return know, nil }}
	label := func(id string) string { f, _ := know.Finding(id); return f.Label.EN }
	got := s.reason(&diagnose.Contradiction{Findings: []string{"tug_test", "crown_check"}})
	if !strings.Contains(got, label("tug_test")) || !strings.Contains(got, label("crown_check")) {
		t.Error(got)
	}
	if got := s.reason(&diagnose.Contradiction{Findings: []string{"tug_test"}}); !strings.Contains(got, label("tug_test")) {
		t.Error(got)
	}
	if got := s.reason(errors.New("no season")); !strings.Contains(got, "no season") {
		t.Error(got)
	}
}

func TestIsHLC(t *testing.T) {
	for s, want := range map[string]bool{
		"0199b2c4d5e6-0000-3f9a": true, "0199b2c4d5e6-0000-3f9A": false, "0199b2c4d5e6-0000": false,
		"0199b2c4d5e6x0000-3f9a": false, "": false, "0199b2c4d5eg-0000-3f9a": false,
	} {
		if isHLC(s) != want {
			t.Errorf("%q: %v", s, !want)
		}
	}
}
