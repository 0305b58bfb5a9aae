package intake

import (
	"context"
	"encoding/json"
	"time"
	"unicode/utf8"

	"swardbook/store"
)

// future is how far a record may lie ahead of the phone's own clock at sending.
const future = 5 * time.Minute

// wire is an operation as phones write it.
type wire struct {
	head
	Op     string      `json:"op"`
	Entity string      `json:"entity"`
	Base   int64       `json:"base"`
	Form   string      `json:"form"`
	Author string      `json:"author"`
	HLC    string      `json:"hlc"`
	At     string      `json:"at"`
	Body   *wireBody   `json:"body"`
	Photos []wirePhoto `json:"photos"`

	broken bool // some of it is not of its form
}

// readWire reads as much of an operation as can be read.
func readWire(raw json.RawMessage) *wire {
	w := &wire{}
	w.broken = json.Unmarshal(raw, w) != nil || w.Body == nil
	if w.Body == nil {
		w.Body = &wireBody{}
	}
	return w
}

// bodyOf is the body of an operation in its own bytes, for the forms that have one of their own.
func bodyOf(raw json.RawMessage) json.RawMessage {
	var op struct {
		Body json.RawMessage `json:"body"`
	}
	_ = json.Unmarshal(raw, &op) // it was read before
	return op.Body
}

type wirePhoto struct {
	SHA  string `json:"sha"`
	Size int64  `json:"size"`
	Type string `json:"type"`
}

// wireBody is what an operation says; which fields count depends on its form.
type wireBody struct {
	Visit    string      `json:"visit"`
	Zone     *string     `json:"zone"` // "" is the whole visit; missing is a mistake
	Check    string      `json:"check"`
	Typed    string      `json:"typed"`
	Edition  string      `json:"edition"`
	Property string      `json:"property"`
	Name     string      `json:"name"`
	AreaSqFt json.Number `json:"area_sqft"`
	State    string      `json:"state"`
}

func (b wireBody) zone() string {
	if b.Zone == nil {
		return ""
	}
	return *b.Zone
}

// judge decides for each operation of one push what it does, or why it is set aside. It remembers what it looked up.
type judge struct {
	*Service
	ctx       context.Context
	from      Sender
	req       Request
	sent      time.Time
	received  time.Time
	zones     map[string]string // zone → property, those made in this push too
	people    map[string]*store.Person
	visits    map[string]*store.Visit
	had       map[string]*bool               // visit and person
	applied   map[string][]store.Application // property → records of this push
	materials map[string]*store.Material
	users     map[string]bool // who sent from this device so far; nil before it is needed
}

func (s *Service) newJudge(ctx context.Context, from Sender, req Request) *judge {
	j := &judge{
		Service: s, ctx: ctx, from: from, req: req, sent: req.Sent, received: s.now(),
		zones: map[string]string{}, people: map[string]*store.Person{}, had: map[string]*bool{}, visits: map[string]*store.Visit{},
		applied: map[string][]store.Application{}, materials: map[string]*store.Material{},
	}
	if j.sent.IsZero() {
		j.sent = j.received
	}
	return j
}

// aside is why an operation is set aside. It is an error only to travel; it never leaves the package.
type aside struct {
	code  string
	words map[string]string
}

func (a *aside) Error() string { return a.code }

func because(code string) error { return &aside{code: code} }

// item turns an operation into what it does. Only a fault of the database is an error.
func (j *judge) item(op Op) (store.Item, error) {
	w := op.said
	if w == nil {
		w = readWire(op.Raw)
	}
	b := w.Body
	it := store.Item{
		Op: store.Op{
			ID: op.ID, Device: j.req.Device, N: op.N, Kind: clip(w.Form, 40), Entity: clip(w.Entity, maxName), Base: w.Base,
			Edition: clip(b.Edition, maxName), Author: clip(w.Author, maxName), HLC: clip(w.HLC, maxName), At: clip(w.At, maxName),
			Raw: op.Raw, SentBy: j.from.Person.ID, Received: j.received,
		},
		About:  store.Place{Visit: clip(b.Visit, maxName), Zone: clip(b.zone(), maxName), Check: clip(b.Check, maxName), Typed: b.Typed},
		Photos: readablePhotos(w.Photos),
	}
	err := j.decide(&it, w)
	if a, ok := err.(*aside); ok {
		it.Nothing()
		it.Aside, it.Detail = a.code, say(a.code, a.words)
		return it, nil
	}
	return it, err
}

func (j *judge) decide(it *store.Item, w *wire) error {
	if w.broken || w.Base < 0 || !isHLC(w.HLC) || w.Author == "" || !plain(w) {
		return because(Malformed)
	}
	form := forms[w.Form]
	work := w.Form == "application" || w.Form == "calibration"
	if form == nil && !work || w.Op != "" && w.Op != "create" && w.Op != "edit" {
		return because(UnknownKind)
	}
	if err := j.when(w.At); err != nil {
		return err
	}
	author, err := j.author(w.Author)
	if err != nil {
		return err
	}
	switch w.Form {
	case "application":
		return j.application(it, bodyOf(it.Raw), author)
	case "calibration":
		return j.calibration(it, bodyOf(it.Raw))
	}
	visit, err := j.visit(w.Body.Visit, author)
	if err != nil {
		return err
	}
	return form(j, it, *w.Body, visit)
}

// forms are those that belong to one open visit.
var forms = map[string]func(*judge, *store.Item, wireBody, store.Visit) error{
	"reading": (*judge).reading, "zone": (*judge).zone, "visit": (*judge).visitState,
}

// plain reports whether the short texts of w are whole: one that had to be clipped was not made by our pages.
func plain(w *wire) bool {
	for _, s := range [...]string{w.Entity, w.Author, w.At} {
		if utf8.RuneCountInString(s) > maxName {
			return false
		}
	}
	return true
}

// when refuses a time that is still to come. The phone's own clock at sending is the measure, so that one that is hours
// off sets nothing aside.
func (j *judge) when(at string) error {
	t, err := time.Parse(time.RFC3339, at)
	if err != nil {
		return because(Malformed)
	}
	if t.After(j.sent.Add(future)) {
		return because(Future)
	}
	return nil
}

// author must be known, and be the sender or someone who used this phone before.
func (j *judge) author(id string) (store.Person, error) {
	if id == j.from.Person.ID {
		return j.from.Person, nil
	}
	p, err := lookUp(j.people, id, func() (store.Person, error) { return j.store.Person(j.ctx, id) })
	if err != nil {
		return store.Person{}, err
	}
	if p == nil {
		return store.Person{}, because(Author)
	}
	used, err := j.used(id)
	used = used || j.from.Vouches
	if err != nil {
		return store.Person{}, err
	}
	if !used {
		return store.Person{}, because(Author)
	}
	return *p, nil
}

// used reports whether a person sent from this device before.
func (j *judge) used(id string) (bool, error) {
	if j.users == nil {
		devices, err := j.store.Devices(j.ctx)
		if err != nil {
			return false, err
		}
		j.users = map[string]bool{}
		for _, d := range devices {
			for _, person := range d.People {
				j.users[person] = j.users[person] || d.ID == j.req.Device
			}
		}
	}
	return j.users[id], nil
}

// theirs reports whether an author may write to a visit: it is theirs, or was when their phone last had signal; managers write to any.
func (j *judge) theirs(v store.Visit, author store.Person) (bool, error) {
	if v.Crew == author.ID || author.Role.May(store.Manager) {
		return true, nil
	}
	had, err := lookUp(j.had, v.ID+" "+author.ID, func() (bool, error) { return j.store.HadVisit(j.ctx, v.ID, author.ID) })
	return err == nil && *had, err
}

// visit must be known, open, and the author's own; managers may write to any.
func (j *judge) visit(id string, author store.Person) (store.Visit, error) {
	v, err := lookUp(j.visits, id, func() (store.Visit, error) { return j.store.Visit(j.ctx, id) })
	switch {
	case err != nil:
		return store.Visit{}, err
	case v == nil:
		return store.Visit{}, because(UnknownVisit)
	}
	theirs, err := j.theirs(*v, author)
	switch {
	case err != nil:
		return store.Visit{}, err
	case !theirs:
		return store.Visit{}, because(NotYours)
	case v.State == store.SignedOff:
		return store.Visit{}, because(SignedOff)
	}
	return *v, nil
}

// lookUp remembers what find returns, nil for what is not found.
func lookUp[T any](seen map[string]*T, id string, find func() (T, error)) (*T, error) {
	if v, ok := seen[id]; ok {
		return v, nil
	}
	v, err := find()
	switch {
	case err == nil:
		seen[id] = &v
	case store.KindOf(err) == store.NotFound:
		seen[id] = nil
	default:
		return nil, err
	}
	return seen[id], nil
}

// isHLC reports whether s is a hybrid clock as phones write it: 12, 4 and 4 hex digits.
func isHLC(s string) bool {
	if len(s) != 22 || s[12] != '-' || s[17] != '-' {
		return false
	}
	for i := range len(s) {
		if c := s[i]; i != 12 && i != 17 && (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}
