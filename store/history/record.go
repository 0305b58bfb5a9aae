package history

import (
	"time"

	"swardbook/diagnose/checks"
	"swardbook/store"
)

// Record is everything about one client in one year. Every number that a season page or file shows comes from it.
type Record struct {
	Client     store.Client
	Year       int
	Metric     bool             // the firm works in metric units, and so do the tables
	Properties []PropertyRecord // by address
}

// PropertyRecord is one property of the client with its visits of the year.
type PropertyRecord struct {
	Property  store.Property
	Visits    []VisitRecord       // by day
	Elsewhere []ApplicationRecord // put down on visits of another year
	Totals    []ZoneSum           // what each zone got in the year
	Outcomes  []OutcomeRecord     // what became of each zone that was diagnosed
	Audits    []AuditRecord       // how evenly the sprinklers water, measured with catch cans
	Pairs     []PhotoPair         // each zone's first and last photo of the year; none when the client doesn't want them outside the firm
	Next      []NextStep          // signed steps that are still open, soonest first
}

// VisitRecord is one visit with what was seen, thought and decided.
type VisitRecord struct {
	Visit    store.Visit
	Crew     string // name, "" when nobody was assigned
	Zones    []ZoneRecord
	Applied  []ApplicationRecord // in the order they reached the office
	Asides   []AsideRecord
	Reviews  []ReviewRecord // sign-offs and send-backs, oldest first
	Editions []string       // of the diagnoses, sorted, each once
}

// ZoneRecord is one zone on one visit.
type ZoneRecord struct {
	Zone      store.Zone
	Readings  []ReadingRecord // in the catalogue's order, then oldest first
	Causes    []CauseRecord   // the likely ones and those a manager spoke of, in the engine's order
	Verdict   string          // as the engine has it; "" before any diagnosis
	CantSay   string          // why the engine had no answer, else ""
	Edition   string          // knowledge behind the newest diagnosis
	Diagnosed time.Time
	All       map[string]float64 // likelihood of every cause, by id
	Overrules []ReviewRecord
	Choices   []ReviewRecord
}

// Photos are the zone's photos by the SHA-256 of their bytes, oldest first, those taken back left out.
func (z ZoneRecord) Photos() []ReadingRecord {
	var list []ReadingRecord
	for _, r := range z.Readings {
		if r.SHA != "" && r.Current {
			list = append(list, r)
		}
	}
	return list
}

// The states a reading can be in, as a record shows them.
const (
	Current    = "current"
	Superseded = "superseded"
	Disputed   = "disputed" // current, while somebody else, without knowing of it, found otherwise
	Otherwise  = "superseded, disputed"
	SetAside   = "set aside"
)

// ReadingRecord is one reading with what it means.
type ReadingRecord struct {
	store.Reading
	Label  string   // of the check
	By     string   // name of the author
	Number *float64 // in the check's own unit, the mean of several; nil when it is not a number
	Count  int      // how many numbers
	Unit   string   // label of the check's own unit
	State  string   // what was seen, in words; "" for numbers and notes
	Blank  bool     // an earlier answer taken back
	SHA    string   // of a photo
	Status string
	metric checks.Unit // in which a metric firm reads the number; the zero Unit when it has no other
}

// CauseRecord is one cause as the engine saw it.
type CauseRecord struct {
	ID         string
	Label      string
	Likelihood float64
	Percent    Percent
	Role       string // "primary", "secondary" or ""
	Judgement  string // of the last overruling, "" when there is none
}

// ReviewRecord is what a manager decided.
type ReviewRecord struct {
	store.Review
	Name    string         // of the manager
	Label   string         // of the cause, or of the check of a chosen reading
	Percent Percent        // what the engine thought of the cause then
	Chosen  *ReadingRecord // of a choice between two readings
}

// The kinds of reviews.
const (
	Overrule = "overrule"
	SignOff  = "sign off"
	SendBack = "send back"
	Choose   = "choose"
)

// AsideRecord is what was recorded and not counted.
type AsideRecord struct {
	store.Aside
	Name  string // of the author
	Label string // of the check
	Zone  string // name, "" when it is not known
}

// Percent is a likelihood in the steps that are shown; the knowledge is not finer than that.
type Percent struct {
	Steps int  // 0, 5, … 100
	Under bool // under 5 %
	Over  bool // over 95 %
}

// PercentOf rounds a likelihood to steps of 5 %.
func PercentOf(p float64) Percent {
	return Percent{Steps: int(p*20+0.5) * 5, Under: p < 0.05, Over: p > 0.95}
}

// Cell is the percentage in a table: a number, or what it is under or over.
func (p Percent) Cell() Cell {
	switch {
	case p.Under:
		return Str("under 5")
	case p.Over:
		return Str("over 95")
	}
	return Num(float64(p.Steps))
}
