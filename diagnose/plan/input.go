package plan

import (
	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
)

// Input is everything a plan rests on. Days are written 2006-01-02.
type Input struct {
	Day       string     `json:"day"` // the day the plan is made
	Place     Place      `json:"place"`
	Zones     []Zone     `json:"zones"`
	Materials []Material `json:"materials"` // on the firm's list
	Applied   []Applied  `json:"applied"`   // what was put down or done here, this season and before
	Limits    []Limit    `json:"limits"`    // the firm's own
	Overruled []Overrule `json:"overruled"`
	Wishes    []Wish     `json:"wishes"`
	Weather   Weather    `json:"-"` // nil: the month and the frost dates serve
}

// Place is where the property lies: what decides laws and the calendar.
type Place struct {
	Region     string `json:"region"`      // as a case's region: "transition", "northeast" …
	State      string `json:"state"`       // in full, as the rows of laws spell it: "New Jersey"
	LastFrost  string `json:"last_frost"`  // of spring, as 01-02; "" when the firm has not said
	FirstFrost string `json:"first_frost"` // of autumn, as 01-02
}

// Zone is a part of the lawn with what is thought of it and what is known of it.
type Zone struct {
	ID     string             `json:"id"`
	Name   string             `json:"name"`
	Area   agronomy.Quantity  `json:"area"`
	Slope  *agronomy.Quantity `json:"slope,omitempty"` // rise over run, %
	Soil   string             `json:"soil,omitempty"`  // texture: "clay loam"; "" when not known
	Grass  string             `json:"grass,omitempty"` // the grass that is wanted, an id of knowledge.Grass; "" when nobody said
	Answer diagnose.Answer    `json:"answer"`
	Judged map[string]string  `json:"judged,omitempty"` // a manager's judgement by cause: Confirmed or RuledOut
	Facts  []Fact             `json:"facts,omitempty"`  // sun, counts, soil tests and all else that was found
}

// Fact is one thing known of a zone: a finding, or one of the facts that only a plan asks for (knowledge.Fact), such as a
// soil test. State and Value may stand together. A later fact of the same name stands in for an earlier one.
type Fact struct {
	Name    string             `json:"name"`
	State   string             `json:"state,omitempty"`
	Value   *agronomy.Quantity `json:"value,omitempty"`
	Present []string           `json:"present,omitempty"` // of findings with several signs
	Absent  []string           `json:"absent,omitempty"`
	Day     string             `json:"day"`
}

// Facts turns what was observed on a day into facts. unit gives the unit of a measured finding.
func Facts(seen []diagnose.Observed, day string, unit func(finding string) string) []Fact {
	out := make([]Fact, 0, len(seen))
	for _, o := range seen {
		f := Fact{Name: o.Finding, State: o.State, Present: o.Present, Absent: o.Absent, Day: day}
		if o.Number != nil {
			u := o.Number.Unit
			if u == "" {
				u = unit(o.Finding)
			}
			f.Value = &agronomy.Quantity{Value: o.Number.Mean, Unit: u}
		}
		out = append(out, f)
	}
	return out
}

// Material is something the firm puts down, as a plan needs to know it. A quantity with an empty unit is not stated.
type Material struct {
	ID           string             `json:"id"`
	Version      int                `json:"version,omitempty"`
	Name         string             `json:"name"`
	Uses         []string           `json:"uses"` // what it serves for: ids of knowledge.Use ("fertilizer", "seed", "pre_emergent" …)
	Formulation  string             `json:"formulation,omitempty"`
	Registration string             `json:"registration,omitempty"`
	Grade        *Grade             `json:"grade,omitempty"`   // fertilizers
	Actives      []Active           `json:"actives,omitempty"` // pesticides
	Seed         *Seed              `json:"seed,omitempty"`
	CCE          float64            `json:"cce,omitempty"` // liming materials: calcium carbonate equivalent, % by weight
	Rate         *agronomy.Quantity `json:"rate,omitempty"`
	Label        Label              `json:"label"`
	Cost         *Price             `json:"cost,omitempty"`
	Stock        *agronomy.Quantity `json:"stock,omitempty"` // nil: nobody counted
}

// Grade is a fertilizer's grade in percent by weight: N, P2O5, K2O, and how much of the product is slowly available N.
type Grade struct {
	N     float64 `json:"n"`
	P2O5  float64 `json:"p2o5"`
	K2O   float64 `json:"k2o"`
	SlowN float64 `json:"slow_n"`          // percent of the product, at most N
	Urea  bool    `json:"urea,omitempty"`  // holds urea or ammonium: not on one day with lime
	Fe    float64 `json:"fe,omitempty"`    // iron
	Yield float64 `json:"yield,omitempty"` // lb of product in a gallon, liquids only
}

// Active is one active ingredient with its share of the product: by weight, or by weight in volume.
type Active struct {
	Name    string             `json:"name"`               // generic, lower case: an id of knowledge.Wait where it is listed
	Percent float64            `json:"percent,omitempty"`  // by weight
	Density *agronomy.Quantity `json:"density,omitempty"`  // "lb/gal"
	MaxOnce *agronomy.Quantity `json:"max_once,omitempty"` // of the active in one application: "lb/acre"
	MaxYear *agronomy.Quantity `json:"max_year,omitempty"` // of the active in a year, over all products that hold it
}

// Seed is a lot of seed or a blend.
type Seed struct {
	Shares      []Share `json:"shares"`
	Purity      float64 `json:"purity"`      // fraction
	Germination float64 `json:"germination"` // fraction
}

// Share is one grass of a blend by weight.
type Share struct {
	Grass string  `json:"grass"`
	Share float64 `json:"share"` // fraction
}

// Label is what the label allows. What it doesn't state is left out.
type Label struct {
	MaxRate     *agronomy.Quantity `json:"max_rate,omitempty"`      // product in one application
	MaxYear     *agronomy.Quantity `json:"max_year,omitempty"`      // product in a year
	Rolling     bool               `json:"rolling,omitempty"`       // the year is 365 days, not the calendar's
	MaxTimes    int                `json:"max_times,omitempty"`     // applications in a year
	Interval    int                `json:"interval,omitempty"`      // days between applications
	ToSeeding   *int               `json:"to_seeding,omitempty"`    // days from an application to seeding
	FromSeeding *int               `json:"from_seeding,omitempty"`  // days from seeding to an application
	AtSeeding   bool               `json:"at_seeding,omitempty"`    // may be put down with the seed
	WaterIn     *agronomy.Quantity `json:"water_in,omitempty"`      // to be watered in with this
	KeepDry     *agronomy.Quantity `json:"keep_dry,omitempty"`      // no water for this long
	ReEntry     string             `json:"re_entry,omitempty"`      // as the label says it
	ReEntryTime *agronomy.Quantity `json:"re_entry_time,omitempty"` // when it gives hours
	WindMin     *agronomy.Quantity `json:"wind_min,omitempty"`
	WindMax     *agronomy.Quantity `json:"wind_max,omitempty"`
	TempMin     *agronomy.Quantity `json:"temp_min,omitempty"`
	TempMax     *agronomy.Quantity `json:"temp_max,omitempty"`
}

// Price is what a pack costs.
type Price struct {
	Cents int64             `json:"cents"`
	Pack  agronomy.Quantity `json:"pack"`
}

// Applied is one thing that was put down or done. Rate is product per area; one that nobody knows counts as the most the
// label allows. Without a material it is work alone.
type Applied struct {
	ID       string             `json:"id"`
	Day      string             `json:"day"`
	Zones    []string           `json:"zones"`
	Works    []string           `json:"works,omitempty"` // kinds of work, ids of knowledge.Work; those of the material's uses are added
	Material *Material          `json:"material,omitempty"`
	Rate     *agronomy.Quantity `json:"rate,omitempty"`
}

// What a limit counts in.
const (
	PerApplication = "application"
	PerYear        = "year"
)

// Limit is a limit the firm has set itself: of a nutrient ("N", "P2O5", "K2O"), of an active by name, or of a material by id.
type Limit struct {
	Of  string            `json:"of"`
	Per string            `json:"per"` // PerApplication or PerYear
	Max agronomy.Quantity `json:"max"`
	Why string            `json:"why,omitempty"`
}

// Overrule is a manager's decision that a rule does not hold for a step. Label and law are never overruled.
type Overrule struct {
	Rule string `json:"rule"`
	Step string `json:"step"`           // Step.ID or Refused.Step
	Zone string `json:"zone,omitempty"` // "" in all zones
	By   string `json:"by"`             // person id
	Why  string `json:"why"`
	At   string `json:"at,omitempty"`
}

// Wish asks for a step on another day, with another amount or material, or not at all. A day that a rule forbids moves to
// the next one that will do, or drops the step; Step.Moved and Plan.Refused say why. An amount over a limit is cut to it.
type Wish struct {
	Step     string             `json:"step"`
	Zone     string             `json:"zone,omitempty"` // "" in all its zones
	Day      string             `json:"day,omitempty"`
	Drop     bool               `json:"drop,omitempty"`
	Use      string             `json:"use,omitempty"`      // what the material or the amount is for; "" the first
	Material string             `json:"material,omitempty"` // this one of the list
	Target   *agronomy.Quantity `json:"target,omitempty"`   // this much: as Good.Target
	Why      string             `json:"why,omitempty"`
}

// Weather answers for days it knows.
type Weather interface {
	// Soil is the day's mean soil temperature at about 2 in, in F.
	Soil(day string) (f float64, ok bool)
	// Air is the day's highest air temperature in F.
	Air(day string) (f float64, ok bool)
	// DegreeDays sums day-degrees F over base from one day to another, both included.
	DegreeDays(baseF float64, from, to string) (sum float64, ok bool)
	// Last is the last day it knows.
	Last() string
	// Name says what it is: a station, measured or estimated soil.
	Name() string
}
