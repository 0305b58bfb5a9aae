package sqlite_test

import (
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"swardbook/store"
)

// TestEveryChangeLeavesALine makes each change once and looks for its line, who made it and what it was about.
func TestEveryChangeLeavesALine(t *testing.T) {
	h := newHouse(t)
	h.Phone("d1", "Jonah").Sends()
	ctx := store.WithActor(t.Context(), "iris")
	for _, c := range []struct {
		what, about string
		do          func() error
	}{
		{"firm.changed", "", func() error { return h.DB.SaveFirm(ctx, store.Firm{Name: "Q", Units: "us", Zone: "UTC"}) }},
		{"person.added", "wren", func() error {
			return h.DB.AddPerson(ctx, store.Person{ID: "wren", Name: "Wren", Role: store.Crew, Lang: "en", Active: true})
		}},
		{"person.passcode", "wren", func() error { return h.DB.SetPasscode(ctx, "wren", "x") }},
		{"person.signed-out", "wren", func() error { return h.DB.EndSessionsOf(ctx, "wren") }},
		{"person.code", "wren", func() error { return h.DB.AddCode(ctx, []byte("code"), "wren", time.Minute) }},
		{"person.second-on", "wren", func() error {
			return errors.Join(h.DB.BeginFactor(ctx, "wren", []byte("secret")), h.DB.ConfirmFactor(ctx, "wren", 1, [][]byte{[]byte("r")}))
		}},
		{"person.recovery-renewed", "wren", func() error { return h.DB.RenewRecovery(ctx, "wren", [][]byte{[]byte("s")}) }},
		{"person.second-off", "wren", func() error { return h.DB.DropFactor(ctx, "wren") }},
		{"person.left", "wren", func() error { return h.DB.SetActive(ctx, "wren", false) }},
		{"person.back", "wren", func() error { return h.DB.SetActive(ctx, "wren", true) }},
		{"client.added", "c", func() error { return h.DB.AddClient(ctx, store.Client{ID: "c", Name: "C"}) }},
		{"property.added", "p", func() error { return h.DB.AddProperty(ctx, store.Property{ID: "p", Client: "c", Address: "A"}) }},
		{"zone.added", "z", func() error { return h.DB.AddZone(ctx, store.Zone{ID: "z", Property: "p", Name: "Z"}) }},
		{"client.changed", "c", func() error { return h.DB.SaveClient(ctx, store.Client{ID: "c", Name: "D"}) }},
		{"client.archived", "c", func() error { return h.DB.ArchiveClient(ctx, "c", false) }},
		{"client.back", "c", func() error { return h.DB.ArchiveClient(ctx, "c", true) }},
		{"property.changed", "p", func() error { return h.DB.SaveProperty(ctx, store.Property{ID: "p", Address: "B"}) }},
		{"property.archived", "p", func() error { return h.DB.ArchiveProperty(ctx, "p", false) }},
		{"property.back", "p", func() error { return h.DB.ArchiveProperty(ctx, "p", true) }},
		{"property.sketched", "p", func() error { return h.DB.SaveSketch(ctx, "p", &store.LonLat{-74, 40}, nil) }},
		{"zone.changed", "z", func() error { return h.DB.SaveZone(ctx, store.Zone{ID: "z", Name: "Y", AreaSqFt: 10}) }},
		{"zone.archived", "z", func() error { return h.DB.ArchiveZone(ctx, "z", false) }},
		{"zone.back", "z", func() error { return h.DB.ArchiveZone(ctx, "z", true) }},
		{"person.changed", "wren", func() error {
			return h.DB.SavePerson(ctx, store.Person{ID: "wren", Name: "Wrenna", Role: store.Manager, Lang: "es"})
		}},
		{"calendar.made", "wren", func() error { return h.DB.SetCalendar(ctx, []byte("calendar"), "wren") }},
		{"calendar.ended", "wren", func() error { return h.DB.EndCalendar(ctx, "wren") }},
		{"clients.taken-in", "", func() error { return h.DB.TakeIn(ctx, []store.Client{{ID: "t", Name: "T"}}, nil, nil) }},
		{"visit.planned", "v", func() error { return h.DB.AddVisit(ctx, store.Visit{ID: "v", Property: "p", Day: "2026-08-28"}) }},
		{"visit.assigned", "v", func() error { return h.DB.MoveVisit(ctx, "v", "2026-08-29", "wren", 1) }},
		{"visit.moved", "v", func() error { return h.DB.SetVisitState(ctx, "v", store.UnderWay, "") }},
		{"visit.sign-off", "v", func() error {
			return h.DB.AddReview(ctx, store.Review{ID: "r", Visit: "v", Kind: "sign off", By: "iris"})
		}},
		{"visit.overrule", "v", func() error {
			return h.DB.AddReview(ctx, store.Review{ID: "r2", Visit: "v", Kind: "overrule", Cause: "x", Judgement: "ruled out", Reason: "Dug.", By: "iris"})
		}},
		{"material.saved", "m", func() error { _, err := h.DB.SaveMaterial(ctx, store.Material{Name: "M", ID: "m"}, "iris"); return err }},
		{"setting.saved", "limit", func() error { return h.DB.SaveSetting(ctx, "limit", 3) }},
		{"plan.drafted", "v", func() error { return h.DB.SaveDraft(ctx, store.PlanDraft{Visit: "v", Body: []byte("{}"), By: "iris"}) }},
		{"plan.signed", "v", func() error {
			return h.DB.SignPlan(ctx, store.Plan{ID: "pl", Property: "p", Visit: "v", By: "iris", Body: []byte("{}"), Steps: []store.PlanStep{{Plan: "pl", N: 1}}}, nil)
		}},
		{"plan.step", "pl", func() error { return h.DB.SetStep(ctx, "pl", 1, store.StepDropped, "Rain") }},
		{"knowledge.accepted", "l", func() error {
			return h.DB.AcceptLearned(ctx, store.Learned{ID: "l", Overlay: []byte("{}"), Report: []byte("{}"), By: "iris"}, "")
		}},
		{"knowledge.undone", "l", func() error { return h.DB.UndoLearned(ctx, "l", "iris", time.Time{}) }},
		{"weather.imported", "", func() error { return h.DB.SaveWeather(ctx, []store.WeatherDay{{Day: "2026-08-01"}}) }},
		{"phone.given-up", "d1", func() error { return h.DB.GiveUp(ctx, "d1") }},
		{"phone.withdrawn", "d1", func() error { return h.DB.Withdraw(ctx, "d1", false) }},
		{"phone.heard-again", "d1", func() error { return h.DB.Withdraw(ctx, "d1", true) }},
	} {
		before := h.audit(store.AuditFilter{Limit: 1})[0].Seq
		if err := c.do(); err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		line := h.audit(store.AuditFilter{Limit: 1})[0]
		if line.Seq != before+1 || line.What != c.what || line.About != c.about || line.By != "iris" || line.At.IsZero() {
			t.Errorf("%s: the line is %+v after %d", c.what, line, before)
		}
	}
	if first := h.audit(store.AuditFilter{What: "firm.created"}); len(first) != 1 || first[0].By != "iris" {
		t.Errorf("the firm's beginning: %+v", first)
	}
}

func (h *house) audit(f store.AuditFilter) []store.Change {
	h.t.Helper()
	list, err := h.DB.Audit(h.t.Context(), f)
	h.must(err)
	return list
}

func TestAChangeThatFailsLeavesNoLine(t *testing.T) {
	h := newHouse(t)
	before := h.audit(store.AuditFilter{})
	for _, err := range []error{
		h.DB.SetPasscode(t.Context(), "nobody", "x"), h.DB.SetActive(t.Context(), "iris", false), h.DB.AddPerson(t.Context(), store.Person{ID: "x", Name: "Jonah", Role: store.Crew, Active: true}),
		h.DB.AddReview(t.Context(), store.Review{ID: "r", Visit: "none", Kind: "sign off", By: "iris"}), h.DB.Withdraw(t.Context(), "none", false),
	} {
		if err == nil {
			t.Error("it went through")
		}
	}
	if after := h.audit(store.AuditFilter{}); len(after) != len(before) {
		t.Errorf("%+v", after[:len(after)-len(before)])
	}
}

func TestTheAuditLogCantBeAltered(t *testing.T) {
	h := newHouse(t)
	for _, text := range []string{"UPDATE audit SET by_person = 'x'", "DELETE FROM audit", "INSERT OR REPLACE INTO audit SELECT * FROM audit"} {
		if err := h.DB.Exec(t.Context(), text); err == nil {
			t.Errorf("%s went through", text)
		}
	}
}

func TestTheAuditLogIsFiltered(t *testing.T) {
	h := newHouse(t)
	for i := range 5 {
		h.must(h.DB.SaveSetting(store.WithActor(t.Context(), "tamsin"), fmt.Sprint("s", i), strings.Repeat("é", 2000)))
	}
	if list := h.audit(store.AuditFilter{By: "tamsin"}); len(list) != 5 || list[0].About != "s4" || len(list[0].Detail) > 2010 || !strings.HasSuffix(list[0].Detail, "…") {
		t.Errorf("%d lines, %.80s", len(list), list[0].Detail)
	}
	page := h.audit(store.AuditFilter{What: "setting.saved", Limit: 2})
	next := h.audit(store.AuditFilter{What: "setting.saved", Limit: 2, Before: page[1].Seq})
	if len(page) != 2 || len(next) != 2 || next[0].About != "s2" {
		t.Errorf("%+v, %+v", page, next)
	}
	if list := h.audit(store.AuditFilter{About: "s3", By: "iris"}); len(list) != 0 {
		t.Errorf("%+v", list)
	}
	if kinds, err := h.DB.AuditKinds(t.Context()); err != nil || !slices.Contains(kinds, "setting.saved") || !slices.IsSorted(kinds) {
		t.Errorf("%v %v", kinds, err)
	}
}

// quiet are the methods that write without a line of their own, and why.
var quiet = map[string]string{
	"change": "is how a line is written", "noteAll": "follows from the log", "commit": "what phones recorded is its own log", "AddSession": "signing in changes nobody's rights",
	"RenewSession": "a session that goes on", "EndSession": "somebody signs out", "UseCode": "writes its own line", "PhotoDone": "follows from the log",
	"PhotoGone": "follows from the disk", "SaveDiagnosis": "the engine's answer, kept as it is", "OpenLink": "a client looked; the link itself keeps when",
	"PhotoErased": "follows from the disk", "BeginFactor": "nothing is in force yet", "UseFactor": "somebody signs in",
	"OpenCalendar": "a calendar looked; its address keeps when",
}

// TestNobodyWritesPastTheAuditLog reads the package's source: every method that writes either leaves a line or stands in quiet.
func TestNobodyWritesPastTheAuditLog(t *testing.T) {
	files, err := os.ReadDir(".")
	must(t, err)
	function, seen := regexp.MustCompile(`^func (?:\([^)]*\) )?(\w+)\(`), map[string]bool{}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		text, err := os.ReadFile(f.Name())
		must(t, err)
		name := ""
		for line := range strings.Lines(string(text)) {
			if m := function.FindStringSubmatch(line); m != nil {
				name = m[1]
			}
			if !strings.Contains(line, "db.write(") {
				continue
			}
			seen[name] = true
			if quiet[name] == "" {
				t.Errorf("%s: %s writes without a line in the audit log", f.Name(), name)
			}
		}
	}
	for name := range quiet {
		if !seen[name] {
			t.Errorf("%s writes no more", name)
		}
	}
}

func TestACodeSignsInOnce(t *testing.T) {
	h := newHouse(t)
	h.must(h.DB.AddCode(t.Context(), []byte("first"), "jonah", 10*time.Minute))
	h.must(h.DB.AddCode(t.Context(), []byte("second"), "jonah", 10*time.Minute))
	_, err := h.DB.UseCode(t.Context(), []byte("first"))
	wantKind(t, err, store.SignIn)
	p, err := h.DB.UseCode(t.Context(), []byte("second"))
	if err != nil || p.ID != "jonah" || p.Role != store.Crew || p.Name != "Jonah" || !p.Active {
		t.Errorf("%+v %v", p, err)
	}
	_, err = h.DB.UseCode(t.Context(), []byte("second"))
	wantKind(t, err, store.SignIn)
	h.must(h.DB.AddCode(t.Context(), []byte("late"), "jonah", 10*time.Minute))
	h.clock.Pass(10 * time.Minute)
	_, err = h.DB.UseCode(t.Context(), []byte("late"))
	wantKind(t, err, store.SignIn)
	h.must(h.DB.AddCode(t.Context(), []byte("gone"), "mirela", 10*time.Minute))
	h.must(h.DB.SetActive(t.Context(), "mirela", false))
	_, err = h.DB.UseCode(t.Context(), []byte("gone"))
	wantKind(t, err, store.SignIn)
	wantKind(t, h.DB.AddCode(t.Context(), []byte("x"), "mirela", time.Minute), store.Conflict)
	wantKind(t, h.DB.AddCode(t.Context(), []byte("x"), "nobody", time.Minute), store.NotFound)
}

func TestAWithdrawnPhoneIsNotHeardButItsFileIs(t *testing.T) {
	h := newHouse(t)
	p, q := h.Phone("d1", "Jonah"), h.Phone("d2", "Mirela")
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
	q.Sends()
	for i, who := range []string{"jonah", "mirela"} {
		h.must(h.DB.AddSession(t.Context(), []byte{byte(i)}, who, "test", time.Hour))
	}
	h.must(h.DB.Withdraw(t.Context(), "d1", false))
	p.Reads(h.visit, h.front, "tug_test", "sod_piece_lifts")
	_, err := h.DB.Push(t.Context(), p.Batch(2, 2))
	wantKind(t, err, store.SignIn)
	_, err = h.DB.Session(t.Context(), []byte{0})
	wantKind(t, err, store.NotFound)
	if _, err := h.DB.Session(t.Context(), []byte{1}); err != nil {
		t.Errorf("somebody who never used it is signed out: %v", err)
	}
	q.Reads(h.other, h.front, "tug_test", "firm")
	q.Sends()
	if list, err := h.DB.Withdrawn(t.Context()); err != nil || len(list) != 1 || list["d1"].IsZero() {
		t.Errorf("%v %v", list, err)
	}
	byFile := p.Batch(2, 2)
	byFile.ByFile, byFile.By = true, "tamsin"
	if res := h.push(byFile); res.Through != 2 {
		t.Errorf("by file: %+v", res)
	}
	h.must(h.DB.Withdraw(t.Context(), "d1", true))
	p.Reads(h.visit, h.front, "tug_test", "firm")
	p.Sends()
}
