package intake

import (
	"context"
	"encoding/json"
	"fmt"
	"runtime/debug"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// NoAnswer is stored in place of an answer when the findings of a zone can't all be true.
type NoAnswer struct {
	Error string `json:"error"`
}

// diagnose works off one job. A fault is logged and not tried again: the next reading of the zone, or the next start, is.
func (s *Service) diagnose(ctx context.Context, j job) {
	defer func() {
		if p := recover(); p != nil {
			s.log.Error("diagnosis panicked", "visit", j.visit, "zone", j.zone, "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
		}
	}()
	if err := s.diagnoseVisit(ctx, j); err != nil && ctx.Err() == nil {
		s.log.Error("diagnosis failed", "visit", j.visit, "zone", j.zone, "err", err)
	}
}

func (s *Service) diagnoseVisit(ctx context.Context, j job) error {
	v, err := s.loadVisit(ctx, j.visit)
	if err != nil {
		return err
	}
	for _, zone := range v.zones(j.zone) {
		if err := s.diagnoseZone(ctx, v, zone); err != nil {
			return err
		}
	}
	return nil
}

// material is everything that the diagnoses of one visit rest on.
type material struct {
	know     *knowledge.Loaded
	engine   Engine
	visit    store.Visit
	property store.Property
	readings []store.Reading
	latest   map[string]store.Diagnosis
	courses  map[string]diagnose.Course
}

func (s *Service) loadVisit(ctx context.Context, id string) (m material, err error) {
	m.know, m.engine = s.knowing()
	if m.visit, err = s.store.Visit(ctx, id); err != nil {
		return m, err
	}
	if m.property, err = s.store.Property(ctx, m.visit.Property); err != nil {
		return m, err
	}
	if m.readings, err = s.store.Readings(ctx, id); err != nil {
		return m, err
	}
	if m.courses, err = s.Courses(ctx, m.visit); err != nil {
		return m, err
	}
	newest, err := s.store.LatestDiagnoses(ctx, id)
	m.latest = make(map[string]store.Diagnosis, len(newest))
	for _, d := range newest {
		m.latest[d.Zone] = d
	}
	return m, err
}

// zones are the zone asked for, or all with a reading, in the order they were first read.
func (m material) zones(only string) []string {
	if only != "" {
		return []string{only}
	}
	var all []string
	seen := map[string]bool{"": true}
	for _, r := range m.readings {
		if !seen[r.Zone] {
			seen[r.Zone] = true
			all = append(all, r.Zone)
		}
	}
	return all
}

func (m material) caseOf(zone string) diagnose.Case {
	return Case(m.know, m.visit, m.property, zone, m.readings, m.courses[zone])
}

// diagnoseZone stores a further diagnosis, unless the newest one rests on the same.
func (s *Service) diagnoseZone(ctx context.Context, m material, zone string) error {
	c := m.caseOf(zone)
	hash, err := inputHash(c, m.know.Edition)
	if err != nil {
		return err
	}
	if m.latest[zone].InputHash == hash {
		return nil
	}
	answer, err := s.answer(m.engine, c)
	if err != nil {
		return err
	}
	return s.store.SaveDiagnosis(ctx, store.Diagnosis{
		ID: newID(), Visit: m.visit.ID, Zone: zone, Edition: m.know.Edition, InputHash: hash, Made: s.now().UTC(), Answer: answer,
	})
}

// answer asks the engine. What the engine can't weigh is an answer too, kept with its reason.
func (s *Service) answer(engine Engine, c diagnose.Case) ([]byte, error) {
	got, err := engine.Diagnose(c)
	if err != nil {
		return json.Marshal(NoAnswer{Error: s.reason(err)})
	}
	return json.Marshal(got)
}

// Paths tells how an answer that is stored came about. false: what the answer rests on, readings, what went before or the knowledge,
// is no longer as it was then, so that its way can't be shown any more.
func (s *Service) Paths(ctx context.Context, answered store.Diagnosis, visit store.Visit, property store.Property, readings []store.Reading) (diagnose.Paths, bool, error) {
	know, engine := s.knowing()
	if know.Edition != answered.Edition {
		return diagnose.Paths{}, false, nil
	}
	courses, err := s.Courses(ctx, visit)
	if err != nil {
		return diagnose.Paths{}, false, err
	}
	c := Case(know, visit, property, answered.Zone, readings, courses[answered.Zone])
	if hash, err := inputHash(c, know.Edition); err != nil || hash != answered.InputHash {
		return diagnose.Paths{}, false, err
	}
	paths, err := engine.Paths(c)
	return paths, err == nil, err
}

// CatchUp asks for a diagnosis of every zone that got readings after its newest one, as after a crash. It goes by what a
// diagnosis rests on, so a new edition of the knowledge alone changes nothing that was said.
func (s *Service) CatchUp(ctx context.Context) error {
	open := []store.VisitState{store.Planned, store.UnderWay, store.HandedIn, store.SentBack}
	visits, err := s.store.Visits(ctx, store.VisitFilter{States: open})
	if err != nil {
		return err
	}
	for _, v := range visits {
		m, err := s.loadVisit(ctx, v.ID)
		if err != nil {
			return err
		}
		for _, zone := range m.zones("") {
			behind, err := s.behind(m, zone)
			if err != nil {
				return err
			}
			if behind {
				s.Queue(v.ID, zone)
			}
		}
	}
	return nil
}

func (s *Service) behind(m material, zone string) (bool, error) {
	newest := m.latest[zone]
	hash, err := inputHash(m.caseOf(zone), newest.Edition)
	return hash != newest.InputHash, err
}
