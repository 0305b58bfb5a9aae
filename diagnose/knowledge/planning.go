package knowledge

import "swardbook/diagnose/checks"

// Planning is what turns causes into dated steps with amounts: rows that a reviewer reads one by one. Rules speak of kinds
// of work and of what materials serve for, never of a single step.
type Planning struct {
	Works   []Work     `json:"works"`
	Uses    []Use      `json:"uses"`
	Who     []Who      `json:"who"`
	Grasses []Grass    `json:"grasses"`
	Facts   []PlanFact `json:"facts"`
	Deeds   []Deed     `json:"deeds"` // one for each action, in the actions' order
	Windows []Window   `json:"windows"`
	Amounts []Amount   `json:"amounts"`
	Rules   []Rule     `json:"rules"`
	Apart   []Apart    `json:"apart"`
	Sooner  []Sooner   `json:"sooner"`
	Waits   []Wait     `json:"waits"`
	Caps    []Cap      `json:"caps"`
	Honest  []Honest   `json:"honest"`
	Notes   []Note     `json:"notes"`
	Roles   []Role     `json:"roles"`
}

// Work is a kind of work: what rules speak of.
type Work struct {
	ID     string      `json:"id"`
	Label  checks.Text `json:"label"`
	Client checks.Text `json:"client"` // what the client does meanwhile
	Tools  checks.Text `json:"tools"`
	// Seeding says how it stands to seed: "is" it, or "waits" for it and makes it wait, as weed products do.
	Seeding string `json:"seeding,omitempty"`
	Source  string `json:"source"`
}

// Use is what a material serves for. A step with the use is also of its works.
type Use struct {
	ID      string      `json:"id"`
	Label   checks.Text `json:"label"`
	Works   []string    `json:"works"`
	Licence bool        `json:"licence,omitempty"` // a pesticide
	Source  string      `json:"source"`
}

// Who does a step.
type Who struct {
	ID     string      `json:"id"`
	Label  checks.Text `json:"label"`
	Source string      `json:"source"`
}

// Grass is a grass that may be wanted: rates of seed in lb of pure live seed on 1000 sq ft, nitrogen in lb N on 1000 sq ft a
// year, days to emerge in warm moist soil.
type Grass struct {
	ID         string      `json:"id"`
	Label      checks.Text `json:"label"`
	Species    string      `json:"species"` // as the tables of rates spell it
	SeedOver   float64     `json:"seed_over"`
	SeedNew    float64     `json:"seed_new"`
	NitrogenLo float64     `json:"nitrogen_low"`
	NitrogenHi float64     `json:"nitrogen_high"`
	EmergeLo   int         `json:"emerge_low"`
	EmergeHi   int         `json:"emerge_high"`
	Source     string      `json:"source"`
}

// PlanFact is a fact that only a plan asks for: no check yields it. Unit is empty for one that has states alone.
type PlanFact struct {
	ID     string      `json:"id"`
	Label  checks.Text `json:"label"`
	States []string    `json:"states"`
	Unit   string      `json:"unit,omitempty"`
	Source string      `json:"source"`
}

// Deed is what an action is made of.
type Deed struct {
	Action    string   `json:"action"`
	Works     []string `json:"works"`
	Uses      []string `json:"uses"`
	Who       string   `json:"who"`
	Merge     string   `json:"merge,omitempty"` // actions of one merge are one piece of work in a zone
	Pick      string   `json:"pick,omitempty"`  // of actions of one pick only one is done in a zone
	When      string   `json:"when,omitempty"`  // a condition (ParseWhen): not where it is known not to hold
	Sure      bool     `json:"sure,omitempty"`  // only where it is known to hold
	Grass     []string `json:"grass"`           // of seed: these instead of the grass that is wanted
	ShowsFrom int      `json:"shows_from"`      // days until it shows
	ShowsBy   int      `json:"shows_by"`        // 0: nothing to be seen of it
	Source    string   `json:"source"`
}

// Window is when an action may be done, as 01-02, both days included; one that ends before it begins runs over new year. An
// action without windows may be done at any time. Soil is a daily mean in F at about 2 in, degree days are in F over Base,
// counted from a day of the year; 0 and 0 mean nothing is said.
type Window struct {
	Action      string  `json:"action"`
	Rank        int     `json:"rank"` // 1 best, 2 second choice
	From        string  `json:"from"`
	To          string  `json:"to"`
	BeforeFrost int     `json:"before_frost,omitempty"` // it ends so many days before the first frost of autumn
	SoilLow     float64 `json:"soil_low,omitempty"`
	SoilHigh    float64 `json:"soil_high,omitempty"`
	Base        float64 `json:"base,omitempty"`
	CountFrom   string  `json:"count_from,omitempty"`
	DegreesLow  float64 `json:"degrees_low,omitempty"`
	DegreesHigh float64 `json:"degrees_high,omitempty"`
	Source      string  `json:"source"`
}

// Amount is how much an action takes of something: a way of reckoning (see diagnose/plan) with its rate. Use is "" for what
// takes no material, such as water.
type Amount struct {
	Action string  `json:"action"`
	Use    string  `json:"use"`
	By     string  `json:"by"` // way of reckoning
	Rate   float64 `json:"rate"`
	Unit   string  `json:"unit,omitempty"`
	Least  float64 `json:"least,omitempty"` // less than this is not worth the way
	Source string  `json:"source"`
}

// Kinds of rules.
const (
	RulePractice = "practice"
	RuleLabel    = "label"
	RuleLaw      = "law"
)

// Rule forbids works while When holds, unless Unless does. Both are conditions (ParseWhen); an empty When always holds, an
// empty Unless never. What is not known holds neither.
type Rule struct {
	ID     string      `json:"id"`
	Kind   string      `json:"kind"`
	Works  []string    `json:"works"` // any of these
	When   string      `json:"when,omitempty"`
	Unless string      `json:"unless,omitempty"`
	Fresh  int         `json:"fresh,omitempty"` // facts and causes count for so many days; 0: for good
	Say    checks.Text `json:"say"`
	Source string      `json:"source"`
}

// Apart keeps days between one kind of work and a later one in the same zone.
type Apart struct {
	ID     string      `json:"id"`
	Kind   string      `json:"kind"`
	First  string      `json:"first"`
	Then   string      `json:"then"`
	Days   int         `json:"days"`
	Say    checks.Text `json:"say"` // {days} stands for the number
	Source string      `json:"source"`
}

// Sooner says that of two kinds of work planned for one zone the first is done first.
type Sooner struct {
	First  string `json:"first"`
	Then   string `json:"then"`
	Source string `json:"source"`
}

// Wait is how long an active ingredient and seeding must lie apart, in days; -1 means nothing is known: find the label.
type Wait struct {
	Active      string `json:"active"`
	ToSeeding   int    `json:"to_seeding"`
	FromSeeding int    `json:"from_seeding"`
	AtSeeding   bool   `json:"at_seeding,omitempty"` // may go down with the seed
	Source      string `json:"source"`
}

// Cap is the most of a nutrient ("N", "soluble N", "P2O5", "K2O", "CCE") in one application or in a calendar year, in Unit. State
// "" is everywhere, Grass "" every grass.
type Cap struct {
	ID     string      `json:"id"`
	Kind   string      `json:"kind"`
	State  string      `json:"state,omitempty"`
	Of     string      `json:"of"`
	Per    string      `json:"per"` // "application" or "year"
	Grass  string      `json:"grass,omitempty"`
	Max    float64     `json:"max"`
	Unit   string      `json:"unit"`
	Say    checks.Text `json:"say"` // {max} stands for the number with its unit
	Source string      `json:"source"`
}

// Honest is what can't be mended at a fair price where a cause is acted upon and the condition holds.
type Honest struct {
	Cause  string      `json:"cause"`
	When   string      `json:"when,omitempty"`
	Say    checks.Text `json:"say"`
	Source string      `json:"source"`
}

// Note is a sentence that the planner itself says; {words} stand for what it fills in.
type Note struct {
	ID  string      `json:"id"`
	Say checks.Text `json:"say"`
}

// Role says which fact tells the planner what it reckons with: "uniformity", "rate" (of the sprinklers), "cover", "grass" (that
// stands there), "ph", "acidity".
type Role struct {
	ID     string `json:"id"`
	Fact   string `json:"fact"`
	Source string `json:"source"`
}
