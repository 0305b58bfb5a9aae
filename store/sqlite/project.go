package sqlite

import (
	"errors"
	"time"

	"swardbook/store"
)

// judge sets an item aside that the state of the database forbids by now, though nothing did when it was read: a visit may
// be signed off in between. What would break the database's own rules is set aside too, so that the rows behind it go on.
func (k *taking) judge(it *store.Item) error {
	if it.Aside != "" {
		it.Nothing()
		return nil
	}
	reason, err := k.against(*it)
	if err != nil || reason == "" {
		return err
	}
	it.Nothing()
	it.Aside, it.Detail = reason, asideSentences[reason]
	return nil
}

// asideSentences are for the person whose record was set aside here and not at the door.
var asideSentences = map[string]string{
	"signed_off":    "The visit was signed off before this arrived. It is kept, and the office can take it in.",
	"unknown_visit": "The office does not know this visit. What you recorded is kept.",
	"unknown_zone":  "The office does not know this part of the lawn. What you recorded is kept.",
}

const (
	propertyThere = `SELECT EXISTS (SELECT 1 FROM properties WHERE id = $1)`
	zoneThere     = `SELECT EXISTS (SELECT 1 FROM zones WHERE id = $1)`
)

// against is why an item can't be taken in, "" when it can.
func (k *taking) against(it store.Item) (string, error) {
	switch {
	case it.Reading != nil:
		return k.againstReading(*it.Reading)
	case it.Visit != nil:
		return k.againstVisit(it.Visit.Visit)
	case it.Application != nil:
		return k.againstApplication(*it.Application)
	case it.Zone != nil:
		return k.unless("unknown_visit", propertyThere, it.Zone.Property)
	}
	return "", nil
}

func (k *taking) againstReading(r store.Reading) (string, error) {
	reason, err := k.againstVisit(r.Visit)
	if err != nil || reason != "" || r.Zone == "" || k.zones[r.Zone] {
		return reason, err
	}
	reason, err = k.unless("unknown_zone", zoneThere, r.Zone)
	k.zones[r.Zone] = err == nil && reason == "" // one that is missing may be made further on in the batch
	return reason, err
}

// againstApplication takes the record of a signed off visit too: what was put down was put down.
func (k *taking) againstApplication(a store.Application) (string, error) {
	v, err := k.visitOf(a.Visit)
	if err == nil && v == nil {
		return "unknown_visit", nil
	}
	return "", err
}

func (k *taking) againstVisit(id string) (string, error) {
	v, err := k.visitOf(id)
	switch {
	case err != nil:
		return "", err
	case v == nil:
		return "unknown_visit", nil
	case v.State == store.SignedOff:
		return "signed_off", nil
	}
	return "", nil
}

func (k *taking) unless(reason, query, id string) (string, error) {
	var there bool
	err := k.row(query, id).Scan(&there)
	if there {
		reason = ""
	}
	return reason, err
}

// visitOf remembers the visits of a batch; nil is one that is not there.
func (k *taking) visitOf(id string) (*store.Visit, error) {
	if v, ok := k.visits[id]; ok {
		return v, nil
	}
	v, err := k.visit(id)
	var e *store.Error
	switch {
	case errors.As(err, &e) && e.Kind == store.NotFound:
		k.visits[id] = nil
	case err != nil:
		return nil, err
	default:
		k.visits[id] = &v
	}
	return k.visits[id], nil
}

// project does what a stored operation says.
func (k *taking) project(it store.Item) error {
	if err := k.wants(it); err != nil {
		return err
	}
	switch {
	case it.Reading != nil: // the log shows it
		k.concerns(store.VisitMark(it.Reading.Visit))
	case it.Zone != nil:
		z := *it.Zone
		k.concerns(store.PropertyMark(z.Property), store.MarkApplications)
		if err := k.exec(insertZone+` ON CONFLICT (id) DO NOTHING`, z.ID, z.Property, z.Name, z.AreaSqFt, z.Made, orNow(z.Created, k.now)); err != nil {
			return err
		}
	case it.Visit != nil:
		if err := k.advance(*it.Visit, it.Stamp); err != nil {
			return err
		}
	default:
		if err := k.projectWork(it); err != nil {
			return err
		}
	}
	if it.Aside == "" {
		k.res.Fresh = append(k.res.Fresh, it.ID)
	}
	return nil
}

// projectWork keeps the records of work done.
func (k *taking) projectWork(it store.Item) error {
	switch {
	case it.Application != nil:
		a := *it.Application
		a.Seq, a.ID, a.Device, a.Stamp = it.Seq, it.ID, k.batch.Device, it.Stamp
		k.concerns(store.MarkApplications, store.VisitMark(a.Visit), store.PropertyMark(a.Property))
		return k.addApplication(a, it.N)
	case it.Calibration != nil:
		c := *it.Calibration
		c.Seq, c.ID, c.Device, c.Stamp = it.Seq, it.ID, k.batch.Device, it.Stamp
		k.concerns(store.MarkCalibrations)
		return k.addCalibration(c, it.N)
	}
	return nil
}

// wants notes the photos that an item names.
func (k *taking) wants(it store.Item) error {
	for _, p := range it.Photos {
		if _, err := k.want.ExecContext(k.ctx, p.SHA, p.Size, p.Type); err != nil {
			return err
		}
		if _, err := k.wantBy.ExecContext(k.ctx, p.SHA, k.batch.Device, it.N); err != nil {
			return err
		}
	}
	return nil
}

// steps orders the states that phones can bring about. A visit that was sent back goes on like one under way.
var steps = map[store.VisitState]int{store.Planned: 1, store.SentBack: 1, store.UnderWay: 2, store.HandedIn: 3}

// advance moves a visit on, never back: an older tap may arrive late. What was tapped before a visit was sent back does not
// take that back.
func (k *taking) advance(c store.VisitChange, stamp string) error {
	v, err := k.visitOf(c.Visit)
	if err != nil {
		return err
	}
	if steps[c.State] <= steps[v.State] || v.State == store.SentBack && stamp < stampAt(v.Changed) {
		return nil
	}
	k.concerns(store.MarkVisits, store.VisitMark(v.ID), store.PropertyMark(v.Property))
	if err := k.moveVisit(*v, c.State, "", k.truly(c.At)); err != nil {
		return err
	}
	delete(k.visits, c.Visit)
	return nil
}

// truly is a moment of the phone's clock by ours, and never later than now.
func (k *taking) truly(at time.Time) time.Time {
	if at = at.Add(k.skew); at.After(k.now) {
		return k.now
	}
	return at
}
