// Package shelf keeps what was worked out until something it rests on is written.
package shelf

import (
	"sync"
	"time"
)

// longest is how long a value stands with nothing written.
const longest = time.Hour

// Shelf keeps values by name. The zero value is an empty shelf; it is safe for use by many goroutines at once.
type Shelf[V any] struct {
	Now  func() time.Time // time.Now when nil
	Most int              // values kept at most, 1000 when 0

	mu sync.Mutex
	of map[string]*kept[V]
}

type kept[V any] struct {
	mu    sync.Mutex // held while the value is worked out: equal questions are answered once
	mark  int64
	until time.Time
	value V
}

// Get returns the value of a name as of a mark, which counts what was written, and works it out when there is none. The mark must be
// asked for before. An error is not kept. Whoever gets a value must not change it.
func (s *Shelf[V]) Get(name string, mark int64, work func() (V, error)) (V, error) {
	k := s.place(name)
	k.mu.Lock()
	defer k.mu.Unlock()
	now := s.now()
	if k.mark == mark && now.Before(k.until) {
		return k.value, nil
	}
	value, err := work()
	if err == nil {
		k.mark, k.until, k.value = mark, now.Add(longest), value
	}
	return value, err
}

func (s *Shelf[V]) now() time.Time {
	if s.Now == nil {
		return time.Now()
	}
	return s.Now()
}

// place is where a name is kept. A full shelf is emptied: what is asked for often is soon back.
func (s *Shelf[V]) place(name string) *kept[V] {
	s.mu.Lock()
	defer s.mu.Unlock()
	if k, ok := s.of[name]; ok {
		return k
	}
	most := s.Most
	if most == 0 {
		most = 1000
	}
	if s.of == nil || len(s.of) >= most {
		s.of = map[string]*kept[V]{}
	}
	k := &kept[V]{mark: -1}
	s.of[name] = k
	return k
}
