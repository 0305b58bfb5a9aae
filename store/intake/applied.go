package intake

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"swardbook/store"
	"swardbook/store/record"
)

// wireApplication is the body of a record of what was put down.
type wireApplication struct {
	Visit     string            `json:"visit"`
	Material  string            `json:"material"`
	Version   int64             `json:"version"`
	Name      string            `json:"name"`
	RegNo     string            `json:"reg_no"`
	Unit      string            `json:"unit"`
	Zones     []wireZone        `json:"zones"`
	Start     string            `json:"start"`
	End       string            `json:"end"`
	Items     map[string]string `json:"items"`
	Step      string            `json:"step"`
	Corrects  string            `json:"corrects"`
	Withdrawn bool              `json:"withdrawn"`
	Reason    string            `json:"reason"`
}

type wireZone struct {
	Zone     string      `json:"zone"`
	Typed    string      `json:"typed"`
	AreaSqFt json.Number `json:"area_sqft"`
	Area     string      `json:"area"`
}

// Bounds of a record: far beyond what anybody enters, so that one broken page can't fill the disk.
const (
	maxZones = 200
	maxItem  = 4000
)

// application takes in the record of something put down. It is never refused for what was done: a limit that was passed, a
// visit of somebody else's, a visit that was signed off meanwhile are noted beside it. Only what can't be placed is set aside.
func (j *judge) application(it *store.Item, raw json.RawMessage, author store.Person) error {
	var b wireApplication
	if json.Unmarshal(raw, &b) != nil || len(b.Zones) > maxZones || !short(b) {
		return because(Malformed)
	}
	visit, err := lookUp(j.visits, b.Visit, func() (store.Visit, error) { return j.store.Visit(j.ctx, b.Visit) })
	if err != nil {
		return err
	}
	if visit == nil {
		return because(UnknownVisit)
	}
	a := store.Application{
		ID: it.ID, Visit: b.Visit, Property: visit.Property, Author: it.Author, Device: it.Device, At: it.At,
		Day: dayOf(b.Start, it.At), Material: b.Material, Version: b.Version, Name: b.Name, RegNo: b.RegNo, Unit: b.Unit,
		Zones: []store.AppliedZone{}, Start: b.Start, End: b.End, Items: b.Items, Step: b.Step, Corrects: b.Corrects, Withdrawn: b.Withdrawn, Reason: b.Reason,
		Missing: []string{}, Flags: []store.Flag{},
	}
	for _, z := range b.Zones {
		if property, err := j.propertyOf(z.Zone); err != nil || property != visit.Property {
			return orBecause(err, UnknownZone)
		}
		area, err := areaOf(z.AreaSqFt)
		if err != nil {
			return err
		}
		amount, _ := j.book.Amount(b.Unit, z.Typed)
		a.Zones = append(a.Zones, store.AppliedZone{Zone: z.Zone, Typed: z.Typed, Amount: amount, AreaSqFt: area, Area: z.Area})
	}
	it.Application = &a
	if a.Withdrawn {
		return nil
	}
	return j.weighApplication(&a, *visit, author)
}

func orBecause(err error, code string) error {
	if err != nil {
		return err
	}
	return because(code)
}

// short reports whether no text of a record is longer than a page of ours lets anybody type.
func short(b wireApplication) bool {
	texts := []string{b.Name, b.RegNo, b.Unit, b.Start, b.End, b.Step, b.Corrects, b.Reason, b.Material}
	for id, text := range b.Items {
		texts = append(texts, id, text)
	}
	for _, z := range b.Zones {
		texts = append(texts, z.Typed, z.Area)
	}
	for _, t := range texts {
		if utf8.RuneCountInString(t) > maxItem {
			return false
		}
	}
	return len(b.Items) <= 100
}

// dayOf is the local day on which something began, as the phone wrote it.
func dayOf(times ...string) string {
	for _, text := range times {
		if t, err := time.Parse(time.RFC3339, text); err == nil {
			return t.Format(time.DateOnly)
		}
	}
	return ""
}

// weighApplication notes what a record lacks and which limits it passes, as far as the office knows by now.
func (j *judge) weighApplication(a *store.Application, visit store.Visit, author store.Person) error {
	before, err := j.before(a)
	if err != nil {
		return err
	}
	known := record.Known{Earlier: before, Firm: record.Usual}
	if err := j.store.Setting(j.ctx, record.SettingName, &known.Firm); err != nil {
		return err
	}
	if known.Material, err = j.materialsOf(append(before, *a)); err != nil {
		return err
	}
	m, _ := known.Material(a.Material, a.Version)
	same, err := j.sameDay(a)
	if err != nil {
		return err
	}
	a.Missing = j.book.Missing(*a, m, known.Firm, same)
	a.Flags = j.book.Judge(*a, known)
	theirs, err := j.theirs(visit, author)
	if err != nil {
		return err
	}
	if !theirs {
		a.Flags = append(a.Flags, store.Flag{Code: record.NotYours})
	}
	if visit.State == store.SignedOff {
		a.Flags = append(a.Flags, store.Flag{Code: record.SignedOff})
	}
	return nil
}

// before are the records of the property that stand, those of this push among them, without the one that a corrects.
func (j *judge) before(a *store.Application) ([]store.Application, error) {
	list, err := j.store.Applications(j.ctx, store.ApplicationFilter{Property: a.Property})
	if err != nil {
		return nil, err
	}
	list = append(list, j.applied[a.Property]...)
	j.applied[a.Property] = append(j.applied[a.Property], *a)
	var out []store.Application
	for _, e := range record.Current(list) {
		if e.ID != a.ID && (a.Corrects == "" || e.ID != a.Corrects && e.Corrects != a.Corrects) {
			out = append(out, e)
		}
	}
	return out, nil
}

// sameDay are the records of its day that stand, on whatever property, those of this push among them.
func (j *judge) sameDay(a *store.Application) ([]store.Application, error) {
	list, err := j.store.Applications(j.ctx, store.ApplicationFilter{FromDay: a.Day, ToDay: a.Day})
	if err != nil || a.Day == "" {
		return nil, err
	}
	for _, pushed := range j.applied {
		list = append(list, pushed...)
	}
	return record.Current(list), nil
}

// materialsOf looks up every material that records name.
func (j *judge) materialsOf(list []store.Application) (func(string, int64) (store.Material, bool), error) {
	known := map[string]store.Material{}
	for _, a := range list {
		if a.Material == "" {
			continue
		}
		key := fmt.Sprint(a.Material, " ", a.Version)
		m, err := lookUp(j.materials, key, func() (store.Material, error) { return j.store.Material(j.ctx, a.Material, a.Version) })
		if err != nil {
			return nil, err
		}
		if m != nil {
			known[key] = *m
		}
	}
	return func(id string, version int64) (store.Material, bool) {
		m, ok := known[fmt.Sprint(id, " ", version)]
		return m, ok
	}, nil
}

// wireCalibration is the body of a measurement of what a spreader or sprayer puts out.
type wireCalibration struct {
	Equipment string `json:"equipment"`
	Kind      string `json:"kind"`
	Material  string `json:"material"`
	Name      string `json:"name"`
	Setting   string `json:"setting"`
	Unit      string `json:"unit"`
	Collected string `json:"collected"`
	Catches   string `json:"catches"`
	Width     string `json:"width"`
	Length    string `json:"length"`
	Want      string `json:"want"`
	Note      string `json:"note"`
}

// calibration takes in a calibration; it belongs to no visit.
func (j *judge) calibration(it *store.Item, raw json.RawMessage) error {
	var b wireCalibration
	if json.Unmarshal(raw, &b) != nil || strings.TrimSpace(b.Equipment) == "" || b.Kind != "spreader" && b.Kind != "sprayer" {
		return because(Malformed)
	}
	for _, t := range []string{b.Equipment, b.Material, b.Name, b.Setting, b.Unit, b.Collected, b.Catches, b.Width, b.Length, b.Want, b.Note} {
		if utf8.RuneCountInString(t) > maxItem {
			return because(Malformed)
		}
	}
	c := store.Calibration{
		ID: it.ID, Author: it.Author, Device: it.Device, At: it.At, Equipment: b.Equipment, Kind: b.Kind, Material: b.Material, Name: b.Name,
		Setting: b.Setting, Unit: b.Unit, Collected: b.Collected, Catches: b.Catches, Width: b.Width, Length: b.Length, Want: b.Want, Note: b.Note,
	}
	c.Rate, _ = j.book.Rate(c)
	it.Calibration = &c
	return nil
}
