package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
	"time"

	"swardbook/store"
)

// Limits of one transaction. More only wait for the next one.
const (
	maxBatches = 64
	maxItems   = 4000
)

// When the log is copied into the database: after so long without a push, and after so many operations without such a rest.
const (
	restAfter = 500 * time.Millisecond
	restAt    = 3000
)

// pushJob is a batch that waits, with the place for its answer.
type pushJob struct {
	ctx    context.Context
	batch  store.Batch
	answer chan pushAnswer // holds one, so that nobody waits for a caller who left
}

type pushAnswer struct {
	res store.PushResult
	err error
}

// pushQueue folds the batches that wait into one transaction, so that one wait for the disk serves all of them.
type pushQueue struct {
	db      *DB
	jobs    chan *pushJob
	quit    chan struct{}
	ended   chan struct{}
	closing sync.Once
	stmts   statements
	behind  int   // operations stored since the log was last copied into the database
	version int64 // of the file, as another program's writes move it
}

func newPushQueue(ctx context.Context, db *DB) (*pushQueue, error) {
	q := &pushQueue{db: db, jobs: make(chan *pushJob), quit: make(chan struct{}), ended: make(chan struct{})}
	if err := q.stmts.prepare(ctx, db.writer); err != nil {
		return nil, err
	}
	q.outside()
	go q.work()
	return q, nil
}

func (q *pushQueue) close() {
	q.closing.Do(func() { close(q.quit) })
	<-q.ended
	q.stmts.close()
}

// Push takes in what one phone sent, by the rule that every number of a phone up to Through is durable when it returns.
func (db *DB) Push(ctx context.Context, b store.Batch) (res store.PushResult, err error) {
	defer wrap(&err, "Push(%s)", b.Device)
	if err := checkBatch(b); err != nil {
		return res, err
	}
	j := &pushJob{ctx: ctx, batch: b, answer: make(chan pushAnswer, 1)}
	closed := store.Errorf(store.Busy, "The office is closing. Everything is still kept on the phone.")
	select {
	case db.pushes.jobs <- j:
	case <-db.pushes.quit:
		return res, closed
	case <-ctx.Done():
		return res, ctx.Err()
	}
	select {
	case a := <-j.answer:
		return a.res, a.err
	case <-ctx.Done(): // it may become durable yet; the phone sends it again
		return res, ctx.Err()
	}
}

// checkBatch holds what a batch is by definition: a run without holes of one device.
func checkBatch(b store.Batch) error {
	if b.Device == "" {
		return store.Errorf(store.Invalid, "The phone did not say which one it is.")
	}
	for i, it := range b.Items {
		if it.N != b.Items[0].N+int64(i) || it.N < 1 || it.ID == "" {
			return store.Errorf(store.Invalid, "What the phone sent is not numbered in one run.")
		}
	}
	return nil
}

func (q *pushQueue) work() {
	defer close(q.ended)
	idle := time.NewTimer(restAfter)
	defer idle.Stop()
	look := time.NewTicker(lookOutside)
	defer look.Stop()
	for {
		select {
		case j := <-q.jobs:
			q.commit(q.gather(j))
			if q.behind >= restAt {
				q.checkpoint()
			}
			idle.Reset(restAfter)
		case <-idle.C:
			q.rest()
		case <-look.C:
			q.outside()
		case <-q.quit:
			return
		}
	}
}

// rest does what phones need not wait for.
func (q *pushQueue) rest() {
	if q.behind == 0 {
		return
	}
	q.checkpoint()
	_ = q.db.noteAll(context.Background()) // whoever looks for a note does it again, and hears why it failed
}

// checkpoint copies the write-ahead log into the database after everybody was answered. What was acknowledged is durable in the log
// already, so nothing rests on it; a disk that fails here is noted all the same.
func (q *pushQueue) checkpoint() {
	q.behind = 0
	var busy, size, copied int
	q.db.broken.note(q.db.writer.QueryRow(`PRAGMA wal_checkpoint(PASSIVE)`).Scan(&busy, &size, &copied))
}

// gather takes everyone who waits now, up to the limits.
func (q *pushQueue) gather(first *pushJob) []*pushJob {
	group, items := []*pushJob{first}, len(first.batch.Items)
	for len(group) < maxBatches && items < maxItems {
		select {
		case j := <-q.jobs:
			group, items = append(group, j), items+len(j.batch.Items)
		default:
			return group
		}
	}
	return group
}

// commit stores a group in one transaction and answers only after it is durable. It runs under no caller's context: one who
// left must not undo what the others sent.
func (q *pushQueue) commit(group []*pushJob) {
	answers := make([]pushAnswer, len(group))
	for _, j := range group {
		q.behind += len(j.batch.Items)
	}
	err := q.db.broken.err()
	if err == nil {
		err = q.db.write(context.Background(), func(t *tx) error {
			t.concerns() // each item says more
			s := q.stmts.in(t)
			for i, j := range group {
				if err := q.one(s, j, &answers[i]); err != nil {
					return err
				}
			}
			return nil
		})
	}
	for i, j := range group {
		if err != nil {
			answers[i] = pushAnswer{err: err}
		}
		j.answer <- answers[i]
	}
}

const (
	beginBatch = `SAVEPOINT batch`
	undoBatch  = `ROLLBACK TO batch`
	endBatch   = `RELEASE batch`
	forked     = `UPDATE devices SET unsent = 0 WHERE id = $1`
)

// one stores a batch behind a savepoint of its own. Only an error that ends the whole transaction is returned.
func (q *pushQueue) one(s *session, j *pushJob, a *pushAnswer) error {
	if a.err = j.ctx.Err(); a.err != nil {
		return nil
	}
	if a.err = s.mayPush(j.batch); a.err != nil {
		return nil
	}
	if err := s.exec(beginBatch); err != nil {
		return err
	}
	a.res, a.err = s.push(j.batch)
	if a.err != nil || a.res.Hole || a.res.Fork {
		if err := s.exec(undoBatch); err != nil {
			return errors.Join(a.err, err)
		}
	}
	if a.err == nil && a.res.Fork { // the phone takes what it keeps along under another name
		if err := s.exec(forked, j.batch.Device); err != nil {
			return err
		}
	}
	return s.exec(endBatch)
}

// statements are prepared once for the writer's connection.
type statements struct {
	through, seen, seenBy, insertOp, insertOps, numberOf, rawOf, want, wantBy *sql.Stmt
}

func (st *statements) prepare(ctx context.Context, w *sql.DB) error {
	for stmt, text := range map[**sql.Stmt]string{
		&st.through: `SELECT d.through, coalesce((SELECT stamp FROM ops WHERE device = d.id ORDER BY n DESC LIMIT 1), '') FROM devices d WHERE d.id = $1`,
		&st.seen: `INSERT INTO devices (id, through, first_seen, last_seen, agent, app, skew_ms, unsent) VALUES ($1, $2, $3, $3, $4, $5, $6, $7)
			ON CONFLICT (id) DO UPDATE SET through = excluded.through, last_seen = excluded.last_seen, agent = excluded.agent,
			app = excluded.app, skew_ms = excluded.skew_ms, unsent = excluded.unsent`,
		&st.seenBy: `INSERT INTO device_people (device, person, first_seen, last_seen) SELECT $1, id, $3, $3 FROM people WHERE id = $2
			ON CONFLICT DO UPDATE SET last_seen = excluded.last_seen`,
		&st.insertOp:  `INSERT INTO ops (` + opColumns + `) VALUES (` + opPlaces + `) ON CONFLICT (id) DO NOTHING`,
		&st.insertOps: insertMany(),
		&st.numberOf:  `SELECT id FROM numbers WHERE device = $1 AND n = $2`,
		&st.rawOf:     `SELECT raw, aside FROM ops WHERE id = $1`,
		&st.want:      `INSERT INTO photos (sha, size, type, complete) VALUES ($1, $2, $3, 0) ON CONFLICT DO NOTHING`,
		&st.wantBy:    `INSERT INTO photo_wants (sha, device, n) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING`,
	} {
		var err error
		if *stmt, err = w.PrepareContext(ctx, text); err != nil {
			return fmt.Errorf("preparing %s: %w", text, err)
		}
	}
	return nil
}

func (st *statements) list() []**sql.Stmt {
	return []**sql.Stmt{&st.through, &st.seen, &st.seenBy, &st.insertOp, &st.insertOps, &st.numberOf, &st.rawOf, &st.want, &st.wantBy}
}

func (st *statements) close() {
	for _, s := range st.list() {
		_ = (*s).Close()
	}
}

// in binds the statements to a transaction.
func (st statements) in(t *tx) *session {
	s := &session{tx: t, statements: st}
	for _, p := range s.list() {
		*p = t.StmtContext(t.ctx, *p)
	}
	return s
}
