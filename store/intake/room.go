package intake

import (
	"errors"
	"net/http"

	"swardbook/store"
)

// Below these many free bytes the office takes no more photos, and then no more records: a disk that is full to the last byte
// can't even be put in order.
const (
	RoomForPhotos  = 500 << 20
	RoomForRecords = 100 << 20
)

// Room tells how many bytes are free where the office keeps things. Nil is room without end.
type Room func() (free uint64, err error)

// left reports whether there is room; one that can't be told is taken for enough, since the disk itself says no in the end.
func (r Room) left(least uint64) bool {
	if r == nil {
		return true
	}
	free, err := r()
	return err != nil || free >= least
}

var errNoRoom = errors.New("less is free than is kept in reserve")

// Within sets where the free room is looked up. It is called before the photos are shared.
func (p *Photos) Within(r Room) *Photos {
	p.room = r
	return p
}

// noRoom refuses a photo before any of it is read.
func (p *Photos) noRoom() error {
	if p.room.left(RoomForPhotos) {
		return nil
	}
	return uploadError(http.StatusInsufficientStorage, -1, store.Busy, "The office has no room for photos now. This one is still kept on the phone.", errNoRoom)
}

// noRoom refuses records before any of them is stored. Asking how far the office is needs no room.
func (s *Service) noRoom(req Request) error {
	if len(req.Ops) == 0 || s.room.left(RoomForRecords) {
		return nil
	}
	return &store.Error{Kind: store.Busy, Say: "The office has no room left. Everything is still kept on the phone and is sent later.", Err: errNoRoom}
}
