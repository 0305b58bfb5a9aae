package plan

import (
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// Plan is what to do on a property, in the order in which it helps. It is kept as JSON once it is signed.
type Plan struct {
	Format    int           `json:"format"` // 1
	Edition   string        `json:"edition,omitempty"`
	Day       string        `json:"day"`
	Basis     []checks.Text `json:"basis"` // what the dates rest on, and what was not known
	Steps     []Step        `json:"steps"`
	Refused   []Refused     `json:"refused"`
	Roads     []Road        `json:"roads"`
	Honest    []Honest      `json:"honest"`
	Loads     []Load        `json:"loads"` // over all steps, by material
	CostCents int64         `json:"cost_cents"`
	Conflicts []Conflict    `json:"conflicts"` // that stand now; those overruled carry who and why
}

// Step is one thing to do in one or more zones.
type Step struct {
	ID        string              `json:"id"` // the same whenever the plan is made anew
	Kind      Kind                `json:"kind"`
	Action    string              `json:"action,omitempty"` // of the leading cause
	Check     string              `json:"check,omitempty"`  // of a step that is a check
	Works     []string            `json:"works,omitempty"`  // kinds of work
	Causes    []string            `json:"causes"`           // what it is for, the leading one first
	Drives    []string            `json:"drives,omitempty"` // likely causes that the leading one drives: what it helps as well
	Order     int                 `json:"order"`            // as Action.Order; 0 stands before all
	Do        checks.Text         `json:"do"`
	Who       string              `json:"who"` // an id of knowledge.Who
	WhoSays   checks.Text         `json:"who_says"`
	Day       string              `json:"day"`             // "" when it has no day of its own
	Alone     string              `json:"alone,omitempty"` // the day it would be on by itself, where it was gathered with others
	Window    Window              `json:"window"`          // the days on which it may be done
	Moved     []Conflict          `json:"moved,omitempty"`
	Parts     []Part              `json:"parts"`           // one for each zone
	Goods     []Goods             `json:"goods,omitempty"` // what it takes over all zones, for the truck
	CostCents int64               `json:"cost_cents,omitempty"`
	Result    checks.Text         `json:"result"`
	ShowsFrom string              `json:"shows_from,omitempty"`
	ShowsBy   string              `json:"shows_by,omitempty"`
	Client    []checks.Text       `json:"client,omitempty"` // what the client does
	Tools     []checks.Text       `json:"tools,omitempty"`
	Cautions  []knowledge.Caution `json:"cautions,omitempty"`
	Avoid     checks.Text         `json:"avoid"`
	Licence   bool                `json:"licence,omitempty"`
	Dig       bool                `json:"dig,omitempty"`
	Source    string              `json:"source"`
}

// Window is when a step may be done.
type Window struct {
	Say   checks.Text `json:"say"`             // as the knowledge says it
	From  string      `json:"from,omitempty"`  // "" with To "": any time
	To    string      `json:"to,omitempty"`    // last day
	Rank  int         `json:"rank,omitempty"`  // 1 best, 2 second choice
	Basis string      `json:"basis,omitempty"` // "calendar", "soil" or "degree days"
	Note  checks.Text `json:"note"`            // what to look at before it begins
}

// Part is a step in one zone.
type Part struct {
	Zone    string            `json:"zone"`
	Name    string            `json:"name"`
	Area    agronomy.Quantity `json:"area"`
	Goods   []Good            `json:"goods,omitempty"`   // one for each use the step has, in the order of Step.Goods
	Figures []Figure          `json:"figures,omitempty"` // other numbers: run time, cycles, passes, water
}

// Good is what one zone takes for one use. Without a material on the list Target alone is said.
type Good struct {
	Use      string             `json:"use"`
	Material string             `json:"material,omitempty"`
	Target   *agronomy.Quantity `json:"target,omitempty"` // what is wanted: "lb N/1000 ft2", "lb PLS/1000 ft2", "in"; product rate for pesticides
	Rate     *agronomy.Quantity `json:"rate,omitempty"`   // of the product
	Amount   *agronomy.Quantity `json:"amount,omitempty"` // of the product
	Given    bool               `json:"given,omitempty"`  // Target is as a manager gave it, in the unit given
	Rest     *agronomy.Quantity `json:"rest,omitempty"`   // of a total that is given in parts: what is left for a later date
	Cents    int64              `json:"cost_cents,omitempty"`
	Note     checks.Text        `json:"note"` // why it is less than the rule gives, or what is missing
	Working  []agronomy.Working `json:"working,omitempty"`
}

// Goods is what a step takes for one use over all its zones.
type Goods struct {
	Use       string             `json:"use"`
	Says      checks.Text        `json:"says"` // what the use is called
	Material  string             `json:"material,omitempty"`
	Version   int                `json:"version,omitempty"`
	Name      string             `json:"name,omitempty"`
	Total     *agronomy.Quantity `json:"total,omitempty"`
	CostCents int64              `json:"cost_cents,omitempty"`
	Lacking   *checks.Text       `json:"lacking,omitempty"` // why there is no amount of a product
	Label     *Label             `json:"label,omitempty"`   // the material's limits, for the crew
}

// Figure is a number with its name and how it came about.
type Figure struct {
	Name    string            `json:"name"` // "run time", "cycles", "passes" …: the output's name of its formula
	Say     checks.Text       `json:"say"`
	Value   agronomy.Quantity `json:"value"`
	Working *agronomy.Working `json:"working,omitempty"`
}

// Refused is what would help and is not done, with every reason.
type Refused struct {
	Step      string      `json:"step"` // the id it would have as a step
	Action    string      `json:"action"`
	Zone      string      `json:"zone"`
	Causes    []string    `json:"causes"`
	Do        checks.Text `json:"do"`
	Conflicts []Conflict  `json:"conflicts"`
}

// Road is the way that was not taken, and when it would lead where.
type Road struct {
	Step   string      `json:"step"`  // the step that is planned
	Other  string      `json:"other"` // the step or action that stood against it
	Zone   string      `json:"zone"`
	Say    checks.Text `json:"say"`
	Source string      `json:"source"`
}

// Honest is what can't be mended at a fair price.
type Honest struct {
	Cause  string      `json:"cause"`
	Zone   string      `json:"zone"`
	Say    checks.Text `json:"say"`
	Source string      `json:"source"`
}

// Load is what goes onto the truck of one material.
type Load struct {
	Material  string             `json:"material"`
	Version   int                `json:"version,omitempty"`
	Name      string             `json:"name"`
	Total     agronomy.Quantity  `json:"total"`
	Packs     int                `json:"packs,omitempty"` // whole packs
	CostCents int64              `json:"cost_cents,omitempty"`
	Short     *agronomy.Quantity `json:"short,omitempty"` // missing from stock
	Steps     []string           `json:"steps"`
}

// What kind of rule a conflict breaks.
const (
	ByLabel    = "label"    // the label is the law: never overruled
	ByLaw      = "law"      // never overruled
	ByPractice = "practice" // a manager may overrule it with a reason
	ByFirm     = "firm"     // the firm's own limit: as practice
	ByWindow   = "window"   // outside its days: as practice
)

// Conflict is a rule that a step breaks.
type Conflict struct {
	Rule     string      `json:"rule"`
	Kind     string      `json:"kind"`
	Step     string      `json:"step"`
	With     string      `json:"with,omitempty"` // the other step, or what was applied
	Zone     string      `json:"zone,omitempty"`
	Day      string      `json:"day,omitempty"` // the day it was asked for
	Say      checks.Text `json:"say"`
	Source   string      `json:"source"`
	Until    string      `json:"until,omitempty"` // the first day on which it no longer holds
	Overrule *Overrule   `json:"overrule,omitempty"`
}

// CanOverrule says whether a manager may set it aside with a reason.
func (c Conflict) CanOverrule() bool { return c.Kind != ByLabel && c.Kind != ByLaw }

// Stands says whether it keeps the plan from being signed.
func (c Conflict) Stands() bool { return c.Overrule == nil || !c.CanOverrule() }
