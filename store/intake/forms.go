package intake

import (
	"encoding/json"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"swardbook/diagnose/checks"
	"swardbook/store"
)

func (j *judge) reading(it *store.Item, b wireBody, visit store.Visit) error {
	if err := j.inZone(b.Zone, visit); err != nil {
		return err
	}
	check, ok := j.know().Check(b.Check)
	if !ok {
		return because(checks.UnknownCheck)
	}
	value, problems := checks.Read(check, b.Typed)
	for _, p := range problems {
		if !p.Ask {
			return &aside{code: p.Code, words: wordsOf(check, b.Typed, p)}
		}
	}
	if value.SHA != "" {
		it.Photos = withPhoto(it.Photos, value.SHA)
	}
	it.Reading = &store.Reading{
		ID: it.ID, Visit: b.Visit, Zone: b.zone(), Check: b.Check, Typed: b.Typed, Edition: b.Edition,
		Author: it.Author, Device: it.Device, At: it.At, Base: it.Base,
	}
	return nil
}

func wordsOf(check checks.Check, typed string, p checks.Problem) map[string]string {
	words := map[string]string{"text": typed}
	for k, v := range p.Params {
		words[k] = v
	}
	words["check"] = check.Label.EN
	return words
}

// inZone takes a zone of the visit's property, or the whole visit.
func (j *judge) inZone(zone *string, visit store.Visit) error {
	if zone == nil {
		return because(UnknownZone)
	}
	if *zone == "" {
		return nil
	}
	property, err := j.propertyOf(*zone)
	if err == nil && property != visit.Property {
		err = because(UnknownZone)
	}
	return err
}

// propertyOf returns the property of a zone, "" when there is no such zone.
func (j *judge) propertyOf(zone string) (string, error) {
	if property, known := j.zones[zone]; known {
		return property, nil
	}
	z, err := j.store.Zone(j.ctx, zone)
	if err != nil && store.KindOf(err) != store.NotFound {
		return "", err
	}
	j.zones[zone] = z.Property
	return z.Property, nil
}

const (
	maxZoneName = 80
	maxArea     = 1e8 // square feet; some 2,300 acres
)

func (j *judge) zone(it *store.Item, b wireBody, visit store.Visit) error {
	if strings.TrimSpace(b.Name) == "" || utf8.RuneCountInString(b.Name) > maxZoneName {
		return because(Malformed)
	}
	if b.Property != "" && b.Property != visit.Property {
		return because(Malformed)
	}
	area, err := areaOf(b.AreaSqFt)
	if err != nil {
		return err
	}
	it.About.Zone = it.ID
	j.zones[it.ID] = visit.Property
	it.Zone = &store.Zone{ID: it.ID, Property: visit.Property, Name: b.Name, AreaSqFt: area, Made: it.ID, Created: j.received}
	return nil
}

func areaOf(n json.Number) (float64, error) {
	if n == "" {
		return 0, nil
	}
	area, err := strconv.ParseFloat(string(n), 64)
	if err != nil || !(area >= 0 && area <= maxArea) {
		return 0, because(Malformed)
	}
	return area, nil
}

func (j *judge) visitState(it *store.Item, b wireBody, _ store.Visit) error {
	state := store.VisitState(b.State)
	if state != store.UnderWay && state != store.HandedIn {
		return because(Malformed)
	}
	at, err := time.Parse(time.RFC3339, it.At)
	if err != nil {
		return because(Malformed)
	}
	it.Visit = &store.VisitChange{Visit: b.Visit, State: state, At: at.UTC()}
	return nil
}

// readablePhotos keeps the photos whose bytes can be asked for.
func readablePhotos(named []wirePhoto) []store.Photo {
	var list []store.Photo
	for _, p := range named {
		if isSHA(p.SHA) && p.Size >= 0 && p.Size <= MaxPhoto && (p.Type == "" || photoType(p.Type)) {
			list = append(list, store.Photo{SHA: p.SHA, Size: p.Size, Type: p.Type})
		}
	}
	return list
}

func withPhoto(list []store.Photo, sha string) []store.Photo {
	for _, p := range list {
		if p.SHA == sha {
			return list
		}
	}
	return append(list, store.Photo{SHA: sha})
}
