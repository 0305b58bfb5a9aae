package lessons_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"math"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/learn"
	"swardbook/store"
	"swardbook/store/lessons"
	"swardbook/store/storetest"
)

// office is a firm whose visits are signed off one after the other, each with a reading in a new zone.
type office struct {
	t *testing.T
	*storetest.House
	clock    *storetest.Clock
	property *storetest.Property
	phone    *storetest.Phone
	held     *diagnose.Held
	svc      *lessons.Service
	zones    int
}

func open(t *testing.T) *office {
	t.Helper()
	clock := storetest.NewClock(storetest.Morning)
	clock.Step = time.Second
	o := &office{t: t, clock: clock, House: storetest.Firm(t, storetest.OpenAt(t, clock))}
	o.Owner("Iris").Manager("Tamsin").Crew("Jonah")
	o.property = o.Client("Odalys Fenwright").Property("14 Alder Rise")
	o.phone = o.Phone("d1", "Jonah")
	o.svc = o.start(knowledge.Files())
	return o
}

// start is what the program does at its start, over these files.
func (o *office) start(base fs.FS) *lessons.Service {
	o.t.Helper()
	know, err := knowledge.LoadFS(base)
	o.must(err)
	o.held, err = diagnose.Hold(know)
	o.must(err)
	svc := lessons.New(o.DB, base, o.held, o.clock.Now, slog.New(slog.NewTextHandler(io.Discard, nil)))
	o.must(svc.Restore(o.t.Context()))
	return svc
}

func (o *office) must(err error) {
	o.t.Helper()
	if err != nil {
		o.t.Fatal(err)
	}
}

// said is what people said of causes: true confirmed, false ruled out.
type said map[string]bool

// visit is a visit of one new zone that was read, weighed, spoken of and, when signed, signed off. It returns the answer's likelihoods.
func (o *office) visit(day, why string, signed bool, words said) map[string]float64 {
	o.t.Helper()
	o.zones++
	o.property.Zone(fmt.Sprint("Zone ", o.zones))
	zone := o.property.Zones[o.zones-1].ID
	v := store.Visit{ID: fmt.Sprint("visit-", o.zones), Property: o.property.ID, Crew: "jonah", Day: day, Order: 1, Why: why, State: store.Planned}
	o.must(o.DB.AddVisit(o.t.Context(), v))
	o.phone.Reads(v.ID, zone, "tug_test", "mat_lifts_no_roots")
	o.phone.Moves(v.ID, store.HandedIn)
	o.phone.Sends()
	like := o.weigh(v.ID, zone, diagnose.Case{Season: "fall", Observed: []diagnose.Observed{{Finding: "tug_test", State: "mat_lifts_no_roots"}}})
	for cause, is := range words {
		judgement := map[bool]string{true: "confirmed", false: "ruled out"}[is]
		o.review(store.Review{Visit: v.ID, Zone: zone, Kind: "overrule", Cause: cause, Judgement: judgement, Reason: "dug there"})
	}
	if signed {
		o.review(store.Review{Visit: v.ID, Kind: "sign off"})
	}
	return like
}

// weigh stores an answer of the engine that counts now.
func (o *office) weigh(visit, zone string, c diagnose.Case) map[string]float64 {
	o.t.Helper()
	answer, err := o.held.Engine().Diagnose(c)
	o.must(err)
	text, err := json.Marshal(answer)
	o.must(err)
	o.must(o.DB.SaveDiagnosis(o.t.Context(), store.Diagnosis{
		ID: fmt.Sprint(visit, zone, o.clock.Now().UnixNano()), Visit: visit, Zone: zone, Edition: answer.Edition, InputHash: "x", Made: o.clock.Now(), Answer: text,
	}))
	like := map[string]float64{}
	for _, l := range answer.Causes {
		like[l.ID] = l.Likelihood
	}
	return like
}

func (o *office) review(r store.Review) {
	o.t.Helper()
	r.At, r.By = o.clock.Now(), "tamsin"
	r.ID = fmt.Sprint("review-", r.At.UnixNano())
	o.must(o.DB.AddReview(o.t.Context(), r))
}

func (o *office) propose() lessons.Proposal {
	o.t.Helper()
	p, err := o.svc.Propose(o.t.Context())
	o.must(err)
	return p
}

func grubRate(k *knowledge.Loaded) float64 {
	c, _ := k.Cause("white_grubs")
	return c.Rates["fall"]
}

const day = "2026-09-10" // in fall

func (o *office) manyGrubs(n int) {
	for range n {
		o.visit(day, "complaint", true, said{"white_grubs": true, "unrooted_sod": false})
	}
}

func TestAcceptedCasesCountAndAreUndoneByteForByte(t *testing.T) {
	o := open(t)
	before := o.held.Know()
	o.manyGrubs(12)
	p := o.propose()
	if p.Report.Cases != 12 || p.Report.Spoken != 12 || len(p.Report.Changes) == 0 {
		t.Fatalf("%+v", p.Report)
	}
	if o.held.Know() != before {
		t.Fatal("a report that nobody accepted changed the knowledge")
	}
	o.must(o.svc.Accept(t.Context(), p.Token, "tamsin"))
	after := o.held.Know()
	if after.Edition == before.Edition || grubRate(after) <= grubRate(before) {
		t.Fatalf("rate %v, edition %s", grubRate(after), after.Edition)
	}
	if o.held.Engine().Edition != after.Edition {
		t.Error("the engine weighs by another edition")
	}
	o.svc = o.start(knowledge.Files()) // the next start
	if !bytes.Equal(o.held.Know().JSON, after.JSON) {
		t.Error("after a restart other knowledge counts")
	}
	standing, err := o.svc.Standing(t.Context())
	o.must(err)
	if len(standing.All) != 1 || standing.InForce != standing.All[0].ID || standing.Now != after.Edition || standing.Ours != before.Edition || standing.Broken != "" {
		t.Errorf("standing %+v", standing)
	}
	var kept learn.Report
	o.must(json.Unmarshal(standing.All[0].Report, &kept))
	if len(kept.Changes) != len(p.Report.Changes) || standing.All[0].By != "tamsin" || standing.All[0].Edition != after.Edition {
		t.Errorf("kept %+v", kept)
	}
	o.must(o.svc.Undo(t.Context(), standing.InForce, "iris"))
	if !bytes.Equal(o.held.Know().JSON, before.JSON) {
		t.Error("undone, the knowledge is not byte for byte what it was")
	}
	if err := o.svc.Undo(t.Context(), standing.InForce, "iris"); store.KindOf(err) != store.Conflict {
		t.Errorf("undone twice: %v", err)
	}
}

func TestTheSameCasesAreNotLearnedTwice(t *testing.T) {
	o := open(t)
	o.manyGrubs(12)
	for range 4 {
		p := o.propose()
		if len(p.Report.Changes) == 0 {
			break
		}
		o.must(o.svc.Accept(t.Context(), p.Token, "tamsin"))
	}
	if p := o.propose(); len(p.Report.Changes) != 0 {
		t.Errorf("there is no end to what 12 cases change: %+v", p.Report.Changes)
	}
	if got := grubRate(o.held.Know()); got > (40*0.1+12)/52+1e-4 {
		t.Errorf("the rate is %v, more than if every case counted in full", got)
	}
}

func TestOnlyWhatWasSeenIsAccepted(t *testing.T) {
	o := open(t)
	o.manyGrubs(6)
	p := o.propose()
	if again := o.propose(); again.Token != p.Token {
		t.Error("the same cases have another token")
	}
	o.manyGrubs(1)
	if err := o.svc.Accept(t.Context(), p.Token, "tamsin"); store.KindOf(err) != store.Conflict {
		t.Errorf("a report of fewer cases: %v", err)
	}
	o.must(o.svc.Accept(t.Context(), o.propose().Token, "tamsin"))
	if err := o.svc.Accept(t.Context(), p.Token, "tamsin"); store.KindOf(err) != store.Conflict {
		t.Errorf("accepted twice: %v", err)
	}
}

func TestOnlySignedOffVisitsCount(t *testing.T) {
	o := open(t)
	for range 10 {
		o.visit(day, "complaint", false, said{"white_grubs": true})
	}
	if p := o.propose(); p.Report.Cases != 0 || len(p.Report.Changes) != 0 {
		t.Errorf("%+v", p.Report)
	}
	s, err := o.svc.Scores(t.Context())
	o.must(err)
	if s.Visits != 0 || s.All.N != 0 {
		t.Errorf("%+v", s)
	}
}

func TestKnowledgeThatNoLongerFitsCountsWithoutWhatWasLearned(t *testing.T) {
	o := open(t)
	o.manyGrubs(12)
	o.must(o.svc.Accept(t.Context(), o.propose().Token, "tamsin"))
	list, err := o.DB.Learned(t.Context())
	o.must(err)
	bad := list[0]
	bad.ID, bad.Overlay = "bad", []byte(`{"rates.csv":"cause,spring,summer,fall,winter,source\ngone,0.1,0.1,0.1,0.1,EJ\n"}`)
	o.must(o.DB.AcceptLearned(t.Context(), bad, list[0].ID))
	o.svc = o.start(knowledge.Files())
	standing, err := o.svc.Standing(t.Context())
	o.must(err)
	if standing.Broken == "" || standing.Now != standing.Ours {
		t.Errorf("%+v", standing)
	}
	o.must(o.svc.Undo(t.Context(), "bad", "iris"))
	if standing, _ = o.svc.Standing(t.Context()); standing.Broken != "" || standing.Now != list[0].Edition {
		t.Errorf("after undoing: %+v", standing)
	}
}

// TestScoresGoByWhatWasSaidThen holds that neither a later diagnosis nor later knowledge changes a score.
func TestScoresGoByWhatWasSaidThen(t *testing.T) {
	o := open(t)
	first := o.visit(day, "complaint", true, said{"white_grubs": true, "unrooted_sod": false})
	o.visit(day, "complaint", true, nil) // nobody said a word
	o.must(o.DB.AddReview(t.Context(), store.Review{
		ID: "late", Visit: "visit-1", Zone: o.property.Zones[0].ID, Kind: "overrule", Cause: "rust", Judgement: "ruled out", Reason: "looked again", By: "tamsin", At: o.clock.Now(),
	}))
	o.weigh("visit-1", o.property.Zones[0].ID, diagnose.Case{Season: "fall"}) // after the sign-off
	s, err := o.svc.Scores(t.Context())
	o.must(err)
	want := (sq(first["white_grubs"]-1) + sq(first["unrooted_sod"]) + sq(first["rust"])) / 3
	if s.Visits != 2 || s.Zones != 2 || s.Spoken != 1 || s.All.N != 3 || s.All.True != 1 || math.Abs(s.All.Brier-want) > 1e-12 {
		t.Errorf("%+v, want a Brier score of %v", s, want)
	}
	if len(s.Causes) != 3 || s.Causes[0].Cause != "rust" || s.Causes[2].Cause != "white_grubs" || math.Abs(s.Causes[2].Brier-sq(first["white_grubs"]-1)) > 1e-12 {
		t.Errorf("by cause %+v", s.Causes)
	}
}

func TestTheLastWordCounts(t *testing.T) {
	o := open(t)
	o.visit(day, "complaint", false, said{"white_grubs": true})
	zone := o.property.Zones[0].ID
	o.review(store.Review{Visit: "visit-1", Zone: zone, Kind: "overrule", Cause: "white_grubs", Judgement: "ruled out", Reason: "dug again"})
	o.review(store.Review{Visit: "visit-1", Kind: "sign off"})
	s, err := o.svc.Scores(t.Context())
	o.must(err)
	if s.All.N != 1 || s.All.True != 0 {
		t.Errorf("%+v", s.All)
	}
}

func sq(x float64) float64 { return x * x }

// TestNewNumbersOfOursAreSaid starts with other files than those that were learned over.
func TestNewNumbersOfOursAreSaid(t *testing.T) {
	o := open(t)
	o.manyGrubs(12)
	o.must(o.svc.Accept(t.Context(), o.propose().Token, "tamsin"))
	learned := grubRate(o.held.Know())
	newer := knowledge.Overlay(knowledge.Files(), knowledge.Texts{"rates.csv": "cause,spring,summer,fall,winter,source\nrust,0.01,0.04,0.2,0.001,EJ\n"}, "newer")
	o.svc = o.start(newer)
	standing, err := o.svc.Standing(t.Context())
	o.must(err)
	rust, _ := o.held.Know().Cause("rust")
	if !standing.Stale || standing.Broken != "" || rust.Rates["fall"] != 0.2 || grubRate(o.held.Know()) != learned {
		t.Errorf("%+v, rates %v and %v", standing, rust.Rates["fall"], grubRate(o.held.Know()))
	}
}

func TestEditedFilesAreNotLetInByTheBackDoor(t *testing.T) {
	o := open(t)
	files := knowledge.Texts{}
	o.svc = o.start(knowledge.Overlay(knowledge.Files(), files, "firm"))
	o.manyGrubs(12)
	p := o.propose()
	files["rates.csv"] = "cause,spring,summer,fall,winter,source\nrust,0.01,0.04,0.2,0.001,EJ\n" // edited while the program runs
	if err := o.svc.Accept(t.Context(), p.Token, "tamsin"); store.KindOf(err) != store.Conflict {
		t.Errorf("accepted over edited files: %v", err)
	}
}
