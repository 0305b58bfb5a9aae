// Package store holds the nouns of the business and the kinds of errors. It does no I/O; store/sqlite keeps the nouns,
// store/intake lets readings in, store/history reads them back.
package store

import "time"

// Role is what a person may do. Each role may do what the ones before it may.
type Role string

// The roles, lowest first.
const (
	Crew    Role = "crew"
	Manager Role = "manager"
	Owner   Role = "owner"
)

// Rank orders roles: crew 1, manager 2, owner 3, anything else 0.
func (r Role) Rank() int {
	switch r {
	case Crew:
		return 1
	case Manager:
		return 2
	case Owner:
		return 3
	}
	return 0
}

// May reports whether r may do what need may do.
func (r Role) May(need Role) bool { return need.Rank() > 0 && r.Rank() >= need.Rank() }

// Firm is the one business this database belongs to.
type Firm struct {
	Name  string
	Units string // "us" or "metric"
	Zone  string // IANA time zone name
}

// Person signs in.
type Person struct {
	ID     string
	Name   string // unique among active people, compared without case
	Role   Role
	Lang   string // "en" or "es"
	Hash   string // argon2id PHC string
	Active bool
}

// Session is a signed-in browser.
type Session struct {
	Person  Person
	Started time.Time
	Seen    time.Time
	Expires time.Time
	Agent   string
}

// Client pays.
type Client struct {
	ID      string
	Name    string
	Phone   string
	Email   string
	Note    string
	Photos  Consent
	Created time.Time

	Archived time.Time // zero: at work
}

// Consent is what a client said of photos of the property.
type Consent string

// The answers a client can give.
const (
	NotAsked   Consent = ""
	PhotosYes  Consent = "yes"
	PhotosFirm Consent = "firm" // for the firm's own work: on no link and in no season record
	PhotosNo   Consent = "no"   // none are taken; those there are stay within the firm
)

// Consents are all answers.
var Consents = []Consent{NotAsked, PhotosYes, PhotosFirm, PhotosNo}

// Shown tells whether photos may be on what leaves the firm: the client's link and the season record in every form. A client who was never asked
// sees the photos of the own lawn.
func (c Consent) Shown() bool { return c == NotAsked || c == PhotosYes }

// Property is one address of a client. Cautions are read before a visit starts.
type Property struct {
	ID       string
	Client   string
	Address  string
	System   string // "present", "none" or "" (not known): an in-ground sprinkler system
	Region   string
	Cautions []string
	Created  time.Time
	Place    *LonLat // nil: nobody said where it is

	Archived time.Time // zero: at work
}

// LonLat is a point on the ellipsoid in degrees, longitude first as in GeoJSON.
type LonLat [2]float64

// Zone is a part of a lawn that is judged as one.
type Zone struct {
	ID       string
	Property string
	Name     string
	AreaSqFt float64 // 0 unknown
	Made     string  // op id when a phone made it, else ""
	Created  time.Time
	Outline  string // a JSON list of its corners as [longitude, latitude], the first not repeated; "": not drawn

	Archived time.Time // zero: at work
}

// VisitState is where a visit stands.
type VisitState string

// The states of a visit, in order; SentBack goes on like UnderWay.
const (
	Planned   VisitState = "planned"
	UnderWay  VisitState = "under way"
	HandedIn  VisitState = "handed in"
	SentBack  VisitState = "sent back"
	SignedOff VisitState = "signed off"
)

// Visit is one walk over one property.
type Visit struct {
	ID       string
	Property string
	Crew     string // person id, "" not assigned
	Day      string // "2026-08-27", the firm's local day
	Order    int    // place on the day sheet
	Why      string // "complaint" or "routine"
	Ask      string // what the client said
	State    VisitState
	SentWhy  string // the manager's sentence when sent back
	HandedIn time.Time
	Changed  time.Time
}

// Op is one thing a person recorded, as the phone sent it. Never changed.
type Op struct {
	Seq      int64  // feed number
	ID       string // UUIDv7 made on the phone
	Device   string
	N        int64
	Kind     string // "reading", "zone", "visit"
	Entity   string
	Base     int64
	Edition  string
	Author   string
	HLC      string
	At       string // as shown to the person
	Raw      []byte // the row's own JSON bytes
	SentBy   string // the person whose session sent it
	Received time.Time
	Stamp    string // merging stamp: the hybrid clock clamped to the receipt
	Aside    string // "" taken in; else the reason code why it was set aside
	Settled  string // "" open; "taken", "left" by the office
}

// Reading is one recorded answer to one check.
type Reading struct {
	Seq     int64
	ID      string
	Visit   string
	Zone    string
	Check   string
	Typed   string
	Edition string
	Author  string
	Device  string
	At      string
	Stamp   string
	Base    int64
	Current bool // the latest by stamp of its visit, zone and check
	Dispute bool // another reading, made without knowing this one, disagrees
}

// Aside is a recorded thing that could not be taken in as it stands.
type Aside struct {
	Op
	Reason string // a code: a checks problem code, "future", "not_yours", "clash", "unknown_visit", "unknown_zone", "unknown_kind", "author", "malformed"
	Detail string
	Visit  string
	Zone   string
	Check  string
	Typed  string
}

// Photo is a photo whose bytes the office has.
type Photo struct {
	SHA      string
	Size     int64
	Type     string
	Complete bool
}

// Diagnosis is one stored answer of the engine; never recomputed in place.
type Diagnosis struct {
	ID        string
	Visit     string
	Zone      string
	Edition   string
	InputHash string
	Made      time.Time
	Answer    []byte // JSON of diagnose.Answer
}

// Review is what a manager said of a visit. Kinds: "overrule" (Cause, Judgement "ruled out" or "confirmed", Reason), "sign off",
// "send back" (Reason), "choose" (Reading). Diagnosis is what the engine thought then.
type Review struct {
	ID        string
	Visit     string
	Zone      string
	Kind      string
	Cause     string
	Judgement string
	Reading   string
	Reason    string
	Diagnosis string
	Engine    float64 // the engine's likelihood at that time
	By        string  // person id
	At        time.Time
}
