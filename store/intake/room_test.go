package intake

import (
	"bytes"
	"errors"
	"net/http"
	"testing"

	"swardbook/store"
)

// TestD4NearlyFullDisk: photos stop first, then records; what asks only is always answered.
func TestD4NearlyFullDisk(t *testing.T) {
	free := uint64(RoomForPhotos)
	room := Room(func() (uint64, error) { return free, nil })
	p, _, _ := newPhotos(t)
	p.Within(room)
	raw, sha := picture(1, 100)
	free--
	read := &countingReader{bytes.NewReader(raw), 0}
	if code, _ := status(func() error { _, err := p.Append(t.Context(), sha, 0, 100, "image/jpeg", read); return err }()); code != http.StatusInsufficientStorage || read.n > 0 {
		t.Errorf("status %d, %d bytes read", code, read.n)
	}
	s := &Service{room: room}
	some := Request{Ops: []Op{{}}}
	if err := s.noRoom(some); err != nil {
		t.Errorf("records have room: %v", err)
	}
	free = RoomForRecords - 1
	if err := s.noRoom(some); store.KindOf(err) != store.Busy {
		t.Errorf("no room: %v", err)
	}
	if err := s.noRoom(Request{}); err != nil {
		t.Errorf("asking: %v", err)
	}
	free = RoomForPhotos
	if got, err := p.Append(t.Context(), sha, 0, 100, "image/jpeg", bytes.NewReader(raw)); err != nil || !got.Complete {
		t.Errorf("with room again: %+v, %v", got, err)
	}
	if !(Room(func() (uint64, error) { return 0, errors.New("not told") })).left(1) || !(Room(nil)).left(1<<60) {
		t.Error("what can't be told counts as room")
	}
}

type countingReader struct {
	*bytes.Reader
	n int
}

func (c *countingReader) Read(b []byte) (int, error) {
	n, err := c.Reader.Read(b)
	c.n += n
	return n, err
}
