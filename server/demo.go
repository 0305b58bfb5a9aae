package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/diagnose"
	"swardbook/store"
	"swardbook/store/geo"
	"swardbook/store/intake"
	"swardbook/store/record"
	"swardbook/web"
)

// demoText is the invented scenario: data only, so that no check is named in code.
//
//go:embed demo.json
var demoText []byte

// sign is how one invented person signs in.
type sign struct {
	role           store.Role
	name, passcode string
}

type scenario struct {
	About    string `json:"about"`
	Firm     struct{ Name, Units, Zone string }
	People   []struct{ Key, Name, Role, Passcode string }
	Clients  []scenarioClient
	Put      map[string]string // the items of what was put down in the seasons before
	Planned  []string          // properties whose plan is signed
	Visits   []scenarioVisit
	Overrule struct{ Property, Zone, Judgement, Reason string }

	Materials []scenarioMaterial
}

type scenarioClient struct {
	Name, Phone, Note string
	Properties        []scenarioProperty
}

type scenarioProperty struct {
	Key, Address, System string
	Cautions             []string
	Undrawn              bool // nobody drew its zones yet
	Zones                []struct {
		Key, Name, Story string
		Area             float64
	}
}

// scenarioApplied is something put down on a visit: a typed amount by zone, and the items of its record.
type scenarioApplied struct {
	Example string
	Zones   map[string]string
	Items   map[string]string
}

// scenarioMaterial takes over one of the generic examples, with what the invented firm pays for it and has of it.
type scenarioMaterial struct {
	Example, RegNo string
	Cost, Stock    float64
}

type scenarioVisit struct {
	Property, Crew  string
	Day, Order      int
	Why, Ask, State string
	Photo           []string
	Readings        [][3]string
	Applied         []scenarioApplied
	Plan            string // "signed": on the day after, as it stands; "begun": and what was to be done on that day was done
	Second          *struct {
		Crew     string
		Readings [][3]string
	}
}

// fillDemo fills an empty database with the scenario, through the same doors that a real firm uses, and returns how its
// people sign in. A database that holds the scenario already is left alone; one of a real firm is refused.
func (h *house) fillDemo(ctx context.Context) ([]sign, error) {
	var sc scenario
	if err := json.Unmarshal(demoText, &sc); err != nil {
		return nil, err
	}
	var signs []sign
	for _, p := range sc.People {
		if role := store.Role(p.Role); p.Key != "mirela" {
			signs = append(signs, sign{role, p.Name, p.Passcode})
		}
	}
	empty, err := h.db.Empty(ctx)
	if err != nil {
		return nil, err
	}
	if !empty {
		firm, err := h.db.Firm(ctx)
		if err == nil && firm.Name != sc.Firm.Name {
			err = fmt.Errorf("this database belongs to %q: start without -demo, or choose another -data folder", firm.Name)
		}
		return signs, err
	}
	f := &filler{house: h, sc: sc, ids: map[string]string{}, devices: map[string]*demoPhone{}}
	return signs, f.fill(ctx)
}

// filler carries the ids of what was made, by the scenario's keys.
type filler struct {
	*house
	sc      scenario
	ids     map[string]string
	devices map[string]*demoPhone
}

func (f *filler) fill(ctx context.Context) error {
	steps := []func(context.Context) error{f.people, f.materials, f.clients, f.past, f.visits, f.wait, f.plans}
	for _, step := range steps {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// id is the same for the same thing each time the scenario is filled in.
func (f *filler) id(of ...string) string {
	return uuid.NewSHA1(uuid.NameSpaceURL, []byte(strings.Join(of, "/"))).String()
}

func (f *filler) wait(ctx context.Context) error { return f.intake.Wait(ctx) }

func (f *filler) people(ctx context.Context) error {
	firm := store.Firm{Name: f.sc.Firm.Name, Units: f.sc.Firm.Units, Zone: f.sc.Firm.Zone}
	for i, p := range f.sc.People {
		hash, err := web.HashPasscode(p.Passcode)
		if err != nil {
			return err
		}
		person := store.Person{ID: f.id("person", p.Key), Name: p.Name, Role: store.Role(p.Role), Lang: "en", Hash: hash, Active: true}
		f.ids["person "+p.Key] = person.ID
		if i == 0 {
			err = f.db.CreateFirm(ctx, firm, person)
		} else {
			err = f.db.AddPerson(ctx, person)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// materials puts the firm's list together from the generic examples.
func (f *filler) materials(ctx context.Context) error {
	examples, err := record.Examples()
	if err != nil {
		return err
	}
	for _, m := range f.sc.Materials {
		at := slices.IndexFunc(examples, func(e store.Material) bool { return e.ID == m.Example })
		if at < 0 {
			return fmt.Errorf("the demo's material %q is no example", m.Example)
		}
		own := examples[at]
		own.ID, own.RegNo, own.UnitCost, own.Stock, own.StockDay = f.id("material", m.Example), m.RegNo, m.Cost, m.Stock, f.now().Format(time.DateOnly)
		f.ids["material "+m.Example] = own.ID
		if _, err := f.db.SaveMaterial(ctx, own, f.ids["person tamsin"]); err != nil {
			return err
		}
	}
	return nil
}

func (f *filler) clients(ctx context.Context) error { return f.addClients(ctx, f.sc.Clients) }

func (f *filler) addClients(ctx context.Context, clients []scenarioClient) error {
	for _, c := range clients {
		client := store.Client{ID: f.id("client", c.Name), Name: c.Name, Phone: c.Phone, Note: c.Note, Created: f.now()}
		if err := f.db.AddClient(ctx, client); err != nil {
			return err
		}
		for _, p := range c.Properties {
			property := store.Property{ID: f.id("property", p.Key), Client: client.ID, Address: p.Address, System: p.System, Cautions: p.Cautions, Created: f.now()}
			f.ids["property "+p.Key] = property.ID
			if err := f.db.AddProperty(ctx, property); err != nil {
				return err
			}
			outlines := p.outlines(len(f.ids))
			for i, z := range p.Zones {
				zone := store.Zone{ID: f.id("zone", p.Key, z.Key), Property: property.ID, Name: z.Name, AreaSqFt: z.Area, Created: f.now(), Outline: outlines[i].String()}
				f.ids["zone "+p.Key+" "+z.Key] = zone.ID
				if err := f.db.AddZone(ctx, zone); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// outlines are rectangles of the zones' areas around an invented house, each property at a place of its own: the first zone before the house, the
// second behind it, then one at either side and one behind all.
func (p scenarioProperty) outlines(n int) []geo.Ring {
	plane := geo.NewPlane(store.LonLat{-75.1 - float64(n)/1000, 41.2})
	out := make([]geo.Ring, len(p.Zones))
	if p.Undrawn {
		return out
	}
	const house, path = 6.0, 1.5 // half of its depth, and what lies between, in metres
	reach, behind := 0.0, house
	for i, z := range p.Zones {
		metres := z.Area * 0.3048 * 0.3048
		long := math.Sqrt(metres * 1.6)
		short := metres / long
		var west, south, wide, deep float64
		switch i {
		case 0:
			west, south, wide, deep = -long/2, -house-short, long, short
		case 2:
			west, south, wide, deep = reach+path, -long/2, short, long
		case 3:
			west, south, wide, deep = -reach-path-short, -long/2, short, long
		default:
			west, south, wide, deep = -long/2, behind, long, short
			behind += short + path
		}
		if i < 2 {
			reach = max(reach, long/2)
		}
		out[i] = geo.Ring{plane.At(west, south), plane.At(west+wide, south), plane.At(west+wide, south+deep), plane.At(west, south+deep)}
	}
	return out
}

func (f *filler) visits(ctx context.Context) error {
	zone, err := time.LoadLocation(f.sc.Firm.Zone)
	if err != nil {
		return err
	}
	for i, v := range f.sc.Visits {
		day := f.now().In(zone).AddDate(0, 0, v.Day)
		visit := store.Visit{ID: f.id("visit", v.Property, "now", strconv.Itoa(i)), Property: f.ids["property "+v.Property], Crew: f.ids["person "+v.Crew], Day: day.Format(time.DateOnly),
			Order: v.Order, Why: v.Why, Ask: v.Ask, State: store.Planned, Changed: f.now()}
		if err := f.db.AddVisit(ctx, visit); err != nil {
			return err
		}
		if err := f.walk(ctx, v, visit, day); err != nil {
			return fmt.Errorf("visit to %s: %w", v.Property, err)
		}
		if store.VisitState(v.State) != store.SignedOff {
			continue
		}
		if err := f.lookedOver(ctx, v, visit, day.AddDate(0, 0, 1)); err != nil {
			return fmt.Errorf("visit to %s, looked over: %w", v.Property, err)
		}
	}
	return nil
}

// lookedOver lets the manager judge a visit and sign it off, and on the day after its plan.
func (f *filler) lookedOver(ctx context.Context, v scenarioVisit, visit store.Visit, next time.Time) error {
	if err := f.wait(ctx); err != nil {
		return err
	}
	if err := f.judge(ctx, v.Property, visit.ID); err != nil {
		return err
	}
	if err := f.signOff(ctx, visit.ID); err != nil || v.Plan == "" {
		return err
	}
	d, err := f.desk(func() time.Time { return next })
	if err != nil {
		return err
	}
	who, err := f.db.Person(ctx, f.ids["person tamsin"])
	if err != nil {
		return err
	}
	if err := d.SignAsItStands(ctx, who, visit.ID, f.ids["person "+v.Crew]); err != nil || v.Plan == "signed" {
		return err
	}
	day := next.Format(time.DateOnly)
	steps, err := f.db.Visits(ctx, store.VisitFilter{Property: visit.Property, FromDay: day, ToDay: day, States: []store.VisitState{store.Planned}})
	if err != nil {
		return err
	}
	phone := f.phone(v.Crew)
	for _, step := range steps {
		for i, state := range []store.VisitState{store.UnderWay, store.HandedIn} {
			phone.record(next.Add(time.Duration(i)*time.Hour), "visit", map[string]any{"visit": step.ID, "state": string(state)}, step.ID, nil)
		}
		if err := f.send(ctx, phone); err != nil {
			return err
		}
		if err := f.signOff(ctx, step.ID); err != nil {
			return err
		}
	}
	return nil
}

func (f *filler) signOff(ctx context.Context, visit string) error {
	return f.db.AddReview(ctx, store.Review{ID: f.id("sign off", visit), Visit: visit, Kind: "sign off", By: f.ids["person tamsin"], At: f.now()})
}

// walk records a visit's readings as its crew member's phone would have.
func (f *filler) walk(ctx context.Context, v scenarioVisit, visit store.Visit, day time.Time) error {
	if len(v.Readings) == 0 {
		return nil
	}
	phone := f.phone(v.Crew)
	at := day.Add(-2 * time.Hour)
	phone.record(at, "visit", map[string]any{"visit": visit.ID, "state": string(store.UnderWay)}, visit.ID, nil)
	for i, r := range v.Readings {
		f.record(phone, at.Add(time.Duration(i)*40*time.Second), v.Property, visit.ID, r)
	}
	for i, x := range v.Applied {
		if err := f.applied(ctx, phone, at.Add(40*time.Minute+time.Duration(i)*time.Minute), v.Property, visit.ID, x); err != nil {
			return err
		}
	}
	for _, zone := range v.Photo {
		if err := f.photo(phone, at.Add(30*time.Minute), visit.ID, f.ids["zone "+v.Property+" "+zone]); err != nil {
			return err
		}
	}
	if s := v.Second; s != nil {
		other := f.phone(s.Crew)
		for i, r := range s.Readings {
			f.record(other, at.Add(20*time.Minute+time.Duration(i)*time.Minute), v.Property, visit.ID, r)
		}
		if err := f.send(ctx, other); err != nil {
			return err
		}
	}
	phone.record(at.Add(time.Hour), "visit", map[string]any{"visit": visit.ID, "state": string(store.HandedIn)}, visit.ID, nil)
	return f.send(ctx, phone)
}

func (f *filler) record(p *demoPhone, at time.Time, property, visit string, r [3]string) {
	body := map[string]any{"visit": visit, "zone": f.ids["zone "+property+" "+r[0]], "check": r[1], "typed": r[2], "edition": f.held.Know().Edition}
	p.record(at, "reading", body, "", nil)
}

// applied records something put down as a phone does.
func (f *filler) applied(ctx context.Context, p *demoPhone, at time.Time, property, visit string, x scenarioApplied) error {
	m, err := f.db.Material(ctx, f.ids["material "+x.Example], 0)
	if err != nil {
		return err
	}
	zones := []map[string]any{}
	for _, key := range slices.Sorted(maps.Keys(x.Zones)) {
		zone, err := f.db.Zone(ctx, f.ids["zone "+property+" "+key])
		if err != nil {
			return err
		}
		zones = append(zones, map[string]any{"zone": zone.ID, "typed": x.Zones[key], "area_sqft": zone.AreaSqFt})
	}
	p.record(at, "application", map[string]any{
		"visit": visit, "material": m.ID, "version": m.Version, "name": m.Name, "reg_no": m.RegNo, "unit": m.Unit, "zones": zones, "items": x.Items,
		"start": at.Add(-20 * time.Minute).Format(time.RFC3339), "end": at.Add(-5 * time.Minute).Format(time.RFC3339),
	}, "", nil)
	return nil
}

// photo draws an invented picture and hands it in like a phone does.
func (f *filler) photo(p *demoPhone, at time.Time, visit, zone string) error {
	raw, err := lawnPicture()
	if err != nil {
		return err
	}
	f.picture(p, at, visit, zone, raw)
	return nil
}

// lawnPicture draws grass with a torn-up brown patch.
func lawnPicture() ([]byte, error) {
	const w, h = 960, 640
	rng := rand.New(rand.NewPCG(7, 11))
	im := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			dx, dy := float64(x-560)/230, float64(y-360)/130
			wobble := float64((x*7+y*13)%97)/97*0.5 + rng.Float64()*0.3
			shade := uint8(rng.IntN(46))
			c := color.RGBA{46 + shade/2, 96 + shade, 40 + shade/3, 255}
			if dx*dx+dy*dy < 0.7+wobble {
				c = color.RGBA{146 + shade, 112 + shade, 62 + shade/2, 255}
			}
			im.SetRGBA(x, y, c)
		}
	}
	var out bytes.Buffer
	err := jpeg.Encode(&out, im, &jpeg.Options{Quality: 70})
	return out.Bytes(), err
}

// judge lets the manager overrule in the visit to the one property that the scenario names.
func (f *filler) judge(ctx context.Context, property, visit string) error {
	o := f.sc.Overrule
	if o.Property != property {
		return nil
	}
	zone := f.ids["zone "+o.Property+" "+o.Zone]
	all, err := f.db.LatestDiagnoses(ctx, visit)
	if err != nil {
		return err
	}
	for _, d := range all {
		if d.Zone != zone {
			continue
		}
		var answer diagnose.Answer
		if err := json.Unmarshal(d.Answer, &answer); err != nil || len(answer.Causes) == 0 {
			return errors.Join(err, errors.New("the demo's zone has no causes"))
		}
		lead := answer.Causes[0]
		return f.db.AddReview(ctx, store.Review{ID: f.id("overrule", visit, zone), Visit: visit, Zone: zone, Kind: "overrule", Cause: lead.ID, Judgement: o.Judgement,
			Reason: o.Reason, Diagnosis: d.ID, Engine: lead.Likelihood, By: f.ids["person tamsin"], At: f.now()})
	}
	return errors.New("the demo's visit was not diagnosed")
}

// demoPhone is an invented phone: a device with its numbers and what it has not sent.
type demoPhone struct {
	author, device string
	n              int64
	unsent         []json.RawMessage
	pictures       [][]byte
}

func (f *filler) phone(crew string) *demoPhone {
	if f.devices[crew] == nil {
		f.devices[crew] = &demoPhone{author: f.ids["person "+crew], device: uuid.NewString()}
	}
	return f.devices[crew]
}

func (p *demoPhone) record(at time.Time, form string, body map[string]any, entity string, photos []map[string]any) {
	p.n++
	id := uuid.Must(uuid.NewV7()).String()
	if photos == nil {
		photos = []map[string]any{}
	}
	op := map[string]any{"n": p.n, "id": id, "op": "create", "entity": or(entity, id), "base": 0, "form": form, "fver": 1, "author": p.author,
		"hlc": fmt.Sprintf("%012x-%04x-%s", at.UnixMilli(), p.n, p.device[len(p.device)-4:]), "at": at.Format("2006-01-02T15:04:05.000Z07:00"), "body": body, "photos": photos}
	raw, err := json.Marshal(op)
	if err != nil {
		panic(err) // maps of strings and numbers always marshal
	}
	p.unsent = append(p.unsent, raw)
}

// send hands in everything the phone has, as its author.
func (f *filler) send(ctx context.Context, p *demoPhone) error {
	epoch, err := f.db.Epoch(ctx)
	if err != nil {
		return err
	}
	person, err := f.db.Person(ctx, p.author)
	if err != nil {
		return err
	}
	body, err := json.Marshal(map[string]any{"proto": 1, "app": "demo", "device": p.device, "epoch": epoch,
		"sent": f.now().UTC().Format("2006-01-02T15:04:05.000Z07:00"), "ops": p.unsent})
	if err != nil {
		return err
	}
	request, err := intake.Decode(bytes.NewReader(body), 1<<23)
	if err != nil {
		return err
	}
	reply, err := f.intake.Push(ctx, intake.Sender{Person: person, Agent: "demo"}, request)
	if err != nil {
		return err
	}
	if len(reply.Attention) > 0 {
		return fmt.Errorf("the demo's own reading was set aside: %+v", reply.Attention[0])
	}
	p.unsent = nil
	for _, raw := range p.pictures {
		sum := sha256.Sum256(raw)
		if _, err := f.photos.Append(ctx, hex.EncodeToString(sum[:]), 0, int64(len(raw)), "image/jpeg", bytes.NewReader(raw)); err != nil {
			return err
		}
	}
	p.pictures = nil
	return nil
}
