package intake

import (
	"context"
	"encoding/json"
	"net/http"
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

// attention lists what of this push is set aside: what was judged now, and for operations that came before, what the
// office said then and has not settled.
func (s *Service) attention(ctx context.Context, b store.Batch, res store.PushResult) ([]Attention, error) {
	list := []Attention{}
	fresh, clash := setOf(res.Fresh), map[int64]bool{}
	for _, n := range res.Clash {
		clash[n] = true
	}
	var before map[string]store.Aside
	for _, it := range b.Items {
		switch {
		case clash[it.N]:
		case fresh[it.ID]:
			if it.Aside != "" {
				list = append(list, attentionOf(store.Aside{
					Op: it.Op, Reason: it.Aside, Detail: it.Detail, Visit: it.About.Visit, Zone: it.About.Zone, Check: it.About.Check,
				}))
			}
		default:
			if before == nil {
				var err error
				if before, err = s.asidesOfDevice(ctx, b.Device); err != nil {
					return nil, err
				}
			}
			if a, open := before[it.ID]; open {
				list = append(list, attentionOf(a))
			}
		}
	}
	return list, nil
}

func (s *Service) asidesOfDevice(ctx context.Context, device string) (map[string]store.Aside, error) {
	asides, err := s.store.Asides(ctx, store.AsideFilter{Device: device, Open: true})
	if err != nil {
		return nil, err
	}
	byID := make(map[string]store.Aside, len(asides))
	for _, a := range asides {
		byID[a.ID] = a
	}
	return byID, nil
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
