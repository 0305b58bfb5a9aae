package intake

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/google/uuid"

	"swardbook/store"
)

// Record takes in what somebody recorded at the desk, through the same door as from a phone: the desk of each person is a
// device with numbers of its own. It returns the record's id, and what stands in the way when it was set aside.
func (s *Service) Record(ctx context.Context, from Sender, form string, body any) (id, aside string, err error) {
	return s.RecordFor(ctx, from, from.Person.ID, s.now().Format(atDesk), form, body)
}

// atDesk is how a desk writes the time of a record.
const atDesk = "2006-01-02T15:04:05.000Z07:00"

// RecordFor is Record for something that another person recorded at another time, and that the sender now says where it belongs.
func (s *Service) RecordFor(ctx context.Context, from Sender, author, at, form string, body any) (id, aside string, err error) {
	from.Vouches = true
	s.desk.Lock()
	defer s.desk.Unlock()
	device := "desk-" + from.Person.ID
	through, err := s.store.Through(ctx, device)
	if err != nil {
		return "", "", err
	}
	now := s.now()
	id = uuid.Must(uuid.NewV7()).String()
	raw, err := json.Marshal(map[string]any{
		"n": through + 1, "id": id, "op": "create", "entity": id, "base": 0, "form": form, "fver": 1, "author": author,
		"hlc": fmt.Sprintf("%012x-%04x-%s", now.UnixMilli(), 0, deskTail), "at": at, "body": body,
	})
	if err != nil {
		return "", "", err
	}
	epoch, err := s.store.Epoch(ctx)
	if err != nil {
		return "", "", err
	}
	reply, err := s.Push(ctx, from, Request{Proto: Proto, App: "desk", Device: clip(device, maxName), Epoch: epoch, Sent: now, Ops: []Op{{N: through + 1, ID: id, Raw: raw}}})
	switch {
	case err != nil:
		return "", "", err
	case reply.Hole || reply.Fork:
		return "", "", store.Errorf(store.Conflict, "Somebody else recorded at this desk at the same moment. Press again.")
	case len(reply.Attention) > 0:
		return id, reply.Attention[0].Say, nil
	}
	return id, "", nil
}

// deskTail ends the clock of a desk, as a phone's ends with its name's last digits.
const deskTail = "de5c"
