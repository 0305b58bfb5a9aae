package intake

import (
	"context"
	"encoding/json"
	"runtime"
	"sync"

	"swardbook/diagnose"
	"swardbook/store"
)

// Weighed is one zone of one visit weighed anew by the knowledge that counts now.
type Weighed struct {
	Visit, Zone string
	Was, Now    string // the cause that leads, "" when none does; Was is of the newest stored answer
	Refused     bool   // its findings can't all be true
	Saved       bool
}

// Again weighs every zone of every stored visit anew, on all cores, and tells of each in no particular order, one at a time.
// With save a diagnosis that rests on something else than the newest one is stored as a further one; none is ever replaced.
// It ends at the first error that is not the engine's word on the findings.
func (s *Service) Again(ctx context.Context, save bool, tell func(Weighed)) error {
	visits, err := s.store.Visits(ctx, store.VisitFilter{})
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	work := make(chan store.Visit)
	var told sync.Mutex
	var all sync.WaitGroup
	for range runtime.NumCPU() {
		all.Go(func() {
			for v := range work {
				if err := s.visitAgain(ctx, v.ID, save, func(w Weighed) {
					told.Lock()
					defer told.Unlock()
					tell(w)
				}); err != nil {
					stop(err)
					return
				}
			}
		})
	}
feed:
	for _, v := range visits {
		select {
		case work <- v:
		case <-ctx.Done():
			break feed
		}
	}
	close(work)
	all.Wait()
	return context.Cause(ctx)
}

func (s *Service) visitAgain(ctx context.Context, visit string, save bool, tell func(Weighed)) error {
	m, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	for _, zone := range m.zones("") {
		w := Weighed{Visit: visit, Zone: zone, Was: leadOf(m.latest[zone].Answer)}
		a, err := m.engine.Rank(m.caseOf(zone))
		if w.Refused = err != nil; err == nil {
			w.Now = Leading(a)
		}
		if save {
			before := m.latest[zone].InputHash
			if err := s.diagnoseZone(ctx, m, zone); err != nil {
				return err
			}
			hash, err := inputHash(m.caseOf(zone), m.know.Edition)
			if err != nil {
				return err
			}
			w.Saved = hash != before
		}
		tell(w)
	}
	return nil
}

// Leading is the cause that a person should read first; "" when the engine can't tell or finds nothing wrong.
func Leading(a diagnose.Answer) string {
	if len(a.Causes) == 0 {
		return ""
	}
	return leads(a.Verdict, a.Causes[0].ID)
}

func leads(verdict, first string) string {
	if verdict != diagnose.ACause {
		return ""
	}
	return first
}

// leadOf is Leading of a stored answer; the rest of it is not read.
func leadOf(answer []byte) string {
	var a struct {
		Verdict string `json:"verdict"`
		Causes  []struct {
			ID string `json:"id"`
		} `json:"causes"`
	}
	if json.Unmarshal(answer, &a) != nil || len(a.Causes) == 0 {
		return ""
	}
	return leads(a.Verdict, a.Causes[0].ID)
}
