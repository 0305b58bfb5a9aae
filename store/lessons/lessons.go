// Package lessons turns signed-off visits into what can be learned from them: labelled cases that change the knowledge when a manager
// accepts it, and scores of what the engine said at the time. Nothing here changes a reading or a diagnosis that was made.
package lessons

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"log/slog"
	"sync"
	"time"

	"github.com/google/uuid"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/learn"
	"swardbook/store"
)

// Store is what learning needs of the database.
type Store interface {
	Visits(ctx context.Context, f store.VisitFilter) ([]store.Visit, error)
	Property(ctx context.Context, id string) (store.Property, error)
	Readings(ctx context.Context, visit string) ([]store.Reading, error)
	Reviews(ctx context.Context, visit string) ([]store.Review, error)
	Diagnoses(ctx context.Context, visit string) ([]store.Diagnosis, error)
	Learned(ctx context.Context) ([]store.Learned, error)
	AcceptLearned(ctx context.Context, l store.Learned, after string) error
	UndoLearned(ctx context.Context, id, by string, at time.Time) error
}

// Service learns. It is safe for use by many requests at once.
type Service struct {
	store Store
	base  fs.FS
	ours  *knowledge.Loaded
	held  *diagnose.Held
	now   func() time.Time
	log   *slog.Logger

	lock   sync.Mutex // held while a report is made, accepted or undone
	last   Proposal   // the report made last: the same cases and knowledge need no other
	broken string     // why what was accepted is not in force, "" when it is
}

// New learns over base, the files that held began with.
func New(s Store, base fs.FS, held *diagnose.Held, now func() time.Time, log *slog.Logger) *Service {
	return &Service{store: s, base: base, ours: held.Know(), held: held, now: now, log: log}
}

// Restore lets what was accepted last, and not undone, count. Knowledge that it can't be laid over any more, as after a new release
// of ours, counts without it: that is logged, and Standing says it.
func (s *Service) Restore(ctx context.Context) error {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.restore(ctx)
}

func (s *Service) restore(ctx context.Context) error {
	l, ok, err := s.inForce(ctx)
	if err != nil {
		return err
	}
	s.broken = ""
	if !ok {
		return s.ourOwn()
	}
	know, err := s.applied(l.Overlay)
	if err == nil {
		err = s.held.Swap(know)
	}
	if err != nil {
		s.broken = err.Error()
		s.log.Error("what was learned can't be laid over the knowledge any more; it counts without", "learned", l.ID, "error", err)
		return s.ourOwn()
	}
	return nil
}

// ourOwn lets our knowledge count as it is.
func (s *Service) ourOwn() error {
	if s.held.Know() == s.ours {
		return nil
	}
	return s.held.Swap(s.ours)
}

func (s *Service) applied(overlay []byte) (*knowledge.Loaded, error) {
	var over knowledge.Texts
	if err := json.Unmarshal(overlay, &over); err != nil {
		return nil, err
	}
	return learn.Apply(s.base, over)
}

// inForce is what was accepted last and stands.
func (s *Service) inForce(ctx context.Context) (l store.Learned, ok bool, err error) {
	list, err := s.store.Learned(ctx)
	for _, x := range list {
		if x.Stands() {
			l, ok = x, true
		}
	}
	return l, ok, err
}

// Proposal is a report that waits for a person, with the knowledge it was made of.
type Proposal struct {
	Token  string // names the cases and the knowledge: only what was seen can be accepted
	Report learn.Report
}

// Propose says what all signed-off cases change in the knowledge in force.
func (s *Service) Propose(ctx context.Context) (Proposal, error) {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.propose(ctx)
}

func (s *Service) propose(ctx context.Context) (Proposal, error) {
	cases, err := s.cases(ctx)
	if err != nil {
		return Proposal{}, err
	}
	now := s.held.Know()
	token, err := tokenOf(cases, s.ours.Edition, now.Edition)
	if err != nil || token == s.last.Token {
		return s.last, err
	}
	report, err := learn.Learn(s.ours, now, cases)
	if err != nil {
		return Proposal{}, err
	}
	s.last = Proposal{Token: token, Report: report}
	return s.last, nil
}

func tokenOf(cases []learn.Case, editions ...string) (string, error) {
	text, err := json.Marshal([]any{cases, editions})
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:12]), err
}

// Accept lets the report with this token count from now on.
func (s *Service) Accept(ctx context.Context, token, by string) error {
	s.lock.Lock()
	defer s.lock.Unlock()
	p, err := s.propose(ctx)
	if err != nil {
		return err
	}
	if p.Token != token || len(p.Report.Changes) == 0 {
		return store.Errorf(store.Conflict, "Cases or the knowledge changed since this report was made. Look at the new one.")
	}
	over := p.Report.Overlay(s.ours, s.held.Know())
	next, err := s.checked(over)
	if err != nil {
		return err
	}
	l := store.Learned{ID: uuid.NewString(), Base: s.ours.Edition, Edition: next.Edition, By: by, At: s.now()}
	if l.Overlay, err = json.Marshal(over); err != nil {
		return err
	}
	if l.Report, err = json.Marshal(p.Report); err != nil {
		return err
	}
	before, _, err := s.inForce(ctx)
	if err != nil {
		return err
	}
	if err := s.store.AcceptLearned(ctx, l, before.ID); err != nil {
		return err
	}
	return s.held.Swap(next)
}

// checked is our knowledge with an overlay, ready to weigh with. Files that were edited since the start are not let in by the back door.
func (s *Service) checked(over knowledge.Texts) (*knowledge.Loaded, error) {
	ours, err := knowledge.LoadFS(s.base)
	if err != nil {
		return nil, err
	}
	if ours.Edition != s.ours.Edition {
		return nil, store.Errorf(store.Conflict, "The knowledge files were edited since the program started. Start it again first.")
	}
	next, err := learn.Apply(s.base, over)
	if err != nil {
		return nil, err
	}
	_, err = diagnose.New(&next.Bundle)
	return next, err
}

// Undo takes back what was accepted last; the knowledge before it counts again, byte for byte.
func (s *Service) Undo(ctx context.Context, id, by string) error {
	s.lock.Lock()
	defer s.lock.Unlock()
	if err := s.store.UndoLearned(ctx, id, by, s.now()); err != nil {
		return err
	}
	return s.restore(ctx)
}

// Standing is what was ever accepted, and what counts now.
type Standing struct {
	All     []store.Learned // oldest first
	InForce string          // id of the last that stands, "" for none
	Ours    string          // edition without it
	Now     string          // edition that counts
	Broken  string          // why what stands does not count, "" when it does
	Stale   bool            // ours has changed since what stands was accepted
}

// Standing lists what was accepted.
func (s *Service) Standing(ctx context.Context) (Standing, error) {
	s.lock.Lock()
	defer s.lock.Unlock()
	list, err := s.store.Learned(ctx)
	st := Standing{All: list, Ours: s.ours.Edition, Now: s.held.Know().Edition, Broken: s.broken}
	for _, l := range list {
		if l.Stands() {
			st.InForce, st.Stale = l.ID, l.Base != s.ours.Edition
		}
	}
	return st, err
}
