package intake

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/store/shelf"
)

// Store is what the door needs of the database.
type Store interface {
	Person(ctx context.Context, id string) (store.Person, error)
	Visit(ctx context.Context, id string) (store.Visit, error)
	HadVisit(ctx context.Context, visit, person string) (bool, error)
	Visits(ctx context.Context, f store.VisitFilter) ([]store.Visit, error)
	Property(ctx context.Context, id string) (store.Property, error)
	Zone(ctx context.Context, id string) (store.Zone, error)
	Zones(ctx context.Context, property string) ([]store.Zone, error)
	Readings(ctx context.Context, visit string) ([]store.Reading, error)
	Push(ctx context.Context, b store.Batch) (store.PushResult, error)
	Here(ctx context.Context, ids []string) (int, error)
	Devices(ctx context.Context) ([]store.Device, error)
	Asides(ctx context.Context, f store.AsideFilter) ([]store.Aside, error)
	LatestDiagnoses(ctx context.Context, visit string) ([]store.Diagnosis, error)
	SaveDiagnosis(ctx context.Context, d store.Diagnosis) error
	DiagnosesBefore(ctx context.Context, property, day string) ([]store.Diagnosis, error)
	Diagnosis(ctx context.Context, id string) (store.Diagnosis, error)
	Reviews(ctx context.Context, visit string) ([]store.Review, error)
	Plans(ctx context.Context, property string) ([]store.Plan, error)
	Changed(marks ...store.Mark) int64
	workStore
}

// workStore is what records of work done need.
type workStore interface {
	Epoch(ctx context.Context) (string, error)
	Through(ctx context.Context, device string) (int64, error)
	Material(ctx context.Context, id string, version int64) (store.Material, error)
	Applications(ctx context.Context, f store.ApplicationFilter) ([]store.Application, error)
	Setting(ctx context.Context, name string, v any) error
}

// Engine weighs one case.
type Engine interface {
	Diagnose(c diagnose.Case) (diagnose.Answer, error)
	Rank(c diagnose.Case) (diagnose.Answer, error)
	Paths(c diagnose.Case) (diagnose.Paths, error)
}

// Knowing gives the knowledge that counts now and the engine made of it. It may give others later: what is weighed carries
// the edition it was weighed with.
type Knowing func() (*knowledge.Loaded, Engine)

// Options are what a service is run with; the zero value is fine.
type Options struct {
	Now func() time.Time // the office's clock; time.Now when nil
	Log *slog.Logger     // for faults behind a request; slog.Default when nil

	Room Room // where records are kept; nil is without end
}

// Service is the door. It is safe for use by many requests at once.
type Service struct {
	store   Store
	knowing Knowing
	now     func() time.Time
	log     *slog.Logger
	queue   *queue
	calm    calm // phones go first
	room    Room
	book    *record.Book
	before  shelf.Shelf[map[string]diagnose.Course]
	visits  shelf.Shelf[[]store.Visit] // of a property
	desk    sync.Mutex                 // one record from a desk at a time: its number follows the last
}

// New opens the door and starts diagnosing behind it. Close ends that.
func New(s Store, knowing Knowing, o Options) *Service {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.Default()
	}
	svc := &Service{store: s, knowing: knowing, now: o.Now, log: o.Log, room: o.Room, book: record.Shipped()}
	svc.before.Now, svc.visits.Now = o.Now, o.Now
	svc.queue = newQueue(func(ctx context.Context, j job) {
		svc.calm.wait(ctx)
		svc.diagnose(ctx, j)
	})
	return svc
}

// Sender is who sends: the person whose session it is, and the browser.
type Sender struct {
	Person  store.Person
	Agent   string
	Vouches bool // for the authors of what is sent, though they never used this phone: a saved copy handed in at the desk
}

func (s *Service) know() *knowledge.Loaded {
	know, _ := s.knowing()
	return know
}

// Push takes in what a phone recorded. It returns after everything is durable. A hole or a fork is a Reply too.
func (s *Service) Push(ctx context.Context, from Sender, req Request) (Reply, error) {
	if err := s.noRoom(req); err != nil {
		return Reply{}, err
	}
	defer s.calm.begin()()
	j := s.newJudge(ctx, from, req)
	batch := store.Batch{Device: req.Device, Epoch: req.Epoch, App: req.App, Agent: from.Agent, By: from.Person.ID, Sent: req.Sent, ByFile: from.Vouches, Unsent: max(0, req.Unsent-len(req.Ops))}
	batch.Items = make([]store.Item, 0, len(req.Ops))
	for _, op := range req.Ops {
		item, err := j.item(op)
		if err != nil {
			return Reply{}, err
		}
		batch.Items = append(batch.Items, item)
	}
	res, err := s.store.Push(ctx, batch)
	if err != nil {
		return Reply{}, err
	}
	reply := newReply(res, s.now())
	if res.Hole || res.Fork {
		return reply, nil
	}
	s.queueFresh(batch.Items, res.Fresh)
	reply.Attention, err = s.attention(ctx, batch, res)
	return reply, err
}

// queueFresh asks for a diagnosis of every zone that got something new.
func (s *Service) queueFresh(items []store.Item, fresh []string) {
	isFresh := setOf(fresh)
	for _, it := range items {
		if it.Reading != nil && isFresh[it.ID] {
			s.Queue(it.Reading.Visit, it.Reading.Zone)
		}
	}
}

// Queue asks for a diagnosis of a zone of a visit, of all its zones when zone is empty. It returns at once.
func (s *Service) Queue(visit, zone string) { s.queue.add(job{visit: visit, zone: zone}) }

// Wait returns when everything asked for so far is diagnosed, or ctx ends.
func (s *Service) Wait(ctx context.Context) error { return s.queue.wait(ctx) }

// Close ends the diagnosing after the zone at hand; CatchUp of the next start finds the rest.
func (s *Service) Close() { s.queue.close() }

func setOf(ids []string) map[string]bool {
	set := make(map[string]bool, len(ids))
	for _, id := range ids {
		set[id] = true
	}
	return set
}
