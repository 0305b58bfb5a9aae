package sqlite

import (
	"sync"
	"time"

	"swardbook/store"
)

// marks are the numbers of the last writes.
type marks struct {
	mu  sync.Mutex
	n   int64 // of the last write of all
	all int64 // of the last one that was about everything
	of  map[store.Mark]int64
}

// mostMarks bounds them; beyond it everything counts as written.
const mostMarks = 200_000

// Changed is the number of the last write that was about one of these marks or about everything: what was read after asking
// still stands while the number is the same. Writes of another program are noticed within a moment.
func (db *DB) Changed(marks ...store.Mark) int64 {
	m := &db.marks
	m.mu.Lock()
	defer m.mu.Unlock()
	last := m.all
	for _, mark := range marks {
		last = max(last, m.of[mark])
	}
	return last
}

// written counts a write that is durable now. None said is everything.
func (m *marks) written(said bool, list []store.Mark) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.n++
	if !said || len(m.of) > mostMarks {
		m.all, m.of = m.n, nil
		return
	}
	if m.of == nil {
		m.of = map[store.Mark]int64{}
	}
	for _, mark := range list {
		m.of[mark] = m.n
	}
}

// concerns says what a transaction is about; without a mark it is about nothing that is kept anywhere.
func (t *tx) concerns(marks ...store.Mark) {
	t.said = true
	t.about = append(t.about, marks...)
}

// lookOutside is how often the file is asked whether another program wrote to it, as a command does while the server runs.
const lookOutside = time.Second

// outside counts what another program wrote as a write about everything.
func (q *pushQueue) outside() {
	var version int64
	if q.db.writer.QueryRow(`PRAGMA data_version`).Scan(&version) != nil {
		return // whoever writes next hears why
	}
	if q.version != 0 && version != q.version {
		q.db.writes.Add(1)
		q.db.marks.written(false, nil)
	}
	q.version = version
}
