package intake

import (
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"swardbook/store"
)

// Reply answers a push. Its JSON has one fixed shape; nothing in it is ever null.
type Reply struct {
	Epoch         string
	Through       int64 // every operation of the device up to here is durable
	Seq           int64
	Now           time.Time
	Attention     []Attention
	Clash         []int64
	PhotosMissing []string
	Hole          bool // the run begins behind Through + 1; nothing was stored
	Fork          bool // a number is used again with another id; nothing was stored
}

// Attention is one thing set aside.
type Attention struct {
	N     int64  `json:"n"`
	ID    string `json:"id"`
	Code  string `json:"code"`
	Say   string `json:"say"`
	Check string `json:"check"`
	Zone  string `json:"zone"`
	Visit string `json:"visit"`
}

func newReply(res store.PushResult, now time.Time) Reply {
	return Reply{
		Epoch: res.Epoch, Through: res.Through, Seq: res.Seq, Now: now.UTC(),
		Attention: []Attention{}, Clash: orEmpty(res.Clash), PhotosMissing: orEmpty(res.Missing),
		Hole: res.Hole, Fork: res.Fork,
	}
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// Status is the HTTP status that goes with the reply.
func (r Reply) Status() int {
	if r.Hole || r.Fork {
		return http.StatusConflict
	}
	return http.StatusOK
}

// MarshalJSON writes the whole reply, whatever the status; a fork says so besides.
func (r Reply) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Epoch         string      `json:"epoch"`
		Through       int64       `json:"through"`
		Seq           int64       `json:"seq"`
		Now           string      `json:"now"`
		Attention     []Attention `json:"attention"`
		Clash         []int64     `json:"clash"`
		PhotosMissing []string    `json:"photos_missing"`
		Fork          bool        `json:"fork,omitempty"`
	}{
		r.Epoch, r.Through, r.Seq, r.Now.UTC().Format(wireTime),
		orEmpty(r.Attention), orEmpty(r.Clash), orEmpty(r.PhotosMissing), r.Fork,
	})
}

const wireTime = "2006-01-02T15:04:05.000Z07:00"

// attention lists what of this push is set aside and not settled. It asks the database and not the judge: an operation may
// have come before, and be decided by now; and a visit may have been signed off since it was judged.
func (s *Service) attention(ctx context.Context, b store.Batch, res store.PushResult) ([]Attention, error) {
	list := []Attention{}
	if !res.Aside {
		return list, nil
	}
	asides, err := s.store.Asides(ctx, store.AsideFilter{Device: b.Device, Open: true})
	if err != nil {
		return nil, err
	}
	open := make(map[string]store.Aside, len(asides))
	for _, a := range asides {
		open[a.ID] = a
	}
	for _, it := range b.Items {
		if a, ok := open[it.ID]; ok && !slices.Contains(res.Clash, it.N) {
			list = append(list, attentionOf(a))
		}
	}
	return list, nil
}

// Attention lists what a person recorded that is set aside and not settled, oldest first.
func (s *Service) Attention(ctx context.Context, personID string) ([]Attention, error) {
	asides, err := s.store.Asides(ctx, store.AsideFilter{Author: personID, Open: true})
	if err != nil {
		return nil, err
	}
	list := make([]Attention, 0, len(asides))
	for _, a := range asides {
		list = append(list, attentionOf(a))
	}
	return list, nil
}

func attentionOf(a store.Aside) Attention {
	return Attention{N: a.N, ID: a.ID, Code: a.Reason, Say: a.Detail, Check: a.Check, Zone: a.Zone, Visit: a.Visit}
}
