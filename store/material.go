package store

import "time"

// Material is something a firm puts down, as its label has it. Amounts are in Unit, rates in Unit per 1000 sq ft. A limit of 0
// is one that the label does not name. A change makes a further version; records name the version they were made with.
type Material struct {
	ID          string    `json:"id"`
	Version     int64     `json:"version"`
	Kind        string    `json:"kind"` // one of the kinds in store/record
	Name        string    `json:"name"` // generic: what it is, not who sells it
	Formulation string    `json:"formulation"`
	RegNo       string    `json:"reg_no"`  // registration number on the label
	Unit        string    `json:"unit"`    // a unit of store/record: "lb", "fl oz", …
	Density     float64   `json:"density"` // lb per gallon, for a liquid fertilizer; 0 not known
	Uses        []string  `json:"uses"`    // what it serves for in a plan: ids of the knowledge's uses
	Grade       Grade     `json:"grade"`
	Seed        []SeedLot `json:"seed"` // of seed: the grasses of the blend
	CCE         float64   `json:"cce"`  // of lime: calcium carbonate equivalent, % by weight
	Actives     []Active  `json:"actives"`
	Rate        float64   `json:"rate"` // usual, in Unit per 1000 sq ft; 0 not known
	Limits      Limits    `json:"limits"`
	Restricted  bool      `json:"restricted"` // restricted-use
	Licence     bool      `json:"licence"`    // only a licensed applicator puts it down
	Tools       []string  `json:"tools"`      // what a crew needs to put it down
	UnitCost    float64   `json:"unit_cost"`  // money for one Unit; 0 not known
	Stock       float64   `json:"stock"`      // in Unit, counted on StockDay
	StockDay    string    `json:"stock_day"`  // "2026-03-02"; "" never counted
	Source      string    `json:"source"`     // what the numbers rest on
	Retired     bool      `json:"retired"`    // no longer offered
	// Given holds numbers as they were typed, by the form's names, where that was another unit than the one above.
	Given   map[string]string `json:"given,omitempty"`
	Changed *time.Time        `json:"changed,omitempty"`
}

// Grade is a fertilizer's analysis in percent of its weight.
type Grade struct {
	N     float64 `json:"n"`
	P2O5  float64 `json:"p2o5"`
	K2O   float64 `json:"k2o"`
	SlowN float64 `json:"slow_n"` // the part of N that is slowly available, in percent of the product
}

// Active is an active ingredient. One of Percent (of weight) and LbPerGal says how much there is of it.
type Active struct {
	Name     string  `json:"name"`
	Percent  float64 `json:"percent"`
	LbPerGal float64 `json:"lb_per_gal"`
	YearLbA  float64 `json:"year_lb_a"` // most in a year, lb per acre; 0 the label names none
	OnceLbA  float64 `json:"once_lb_a"` // most at once, lb per acre
}

// SeedLot is one grass of a blend, by weight.
type SeedLot struct {
	Grass       string  `json:"grass"`       // an id of the knowledge's grasses
	Share       float64 `json:"share"`       // % of the blend
	Purity      float64 `json:"purity"`      // %
	Germination float64 `json:"germination"` // %
}

// Limits are what a label allows; 0 and "" where it names nothing.
type Limits struct {
	Once         float64 `json:"once"`              // Unit per 1000 sq ft in one application
	Year         float64 `json:"year"`              // Unit per 1000 sq ft in a year
	Times        int     `json:"times"`             // applications in a year
	Rolling      bool    `json:"rolling,omitempty"` // a year of this label, of its actives too, is any 365 days, not the calendar's
	IntervalDays int     `json:"interval_days"`     // days between applications
	ReentryHours float64 `json:"reentry_hours"`
	ReentrySay   string  `json:"reentry_say"` // such as "until the spray has dried"
	WindLow      float64 `json:"wind_low"`    // mi/h
	WindHigh     float64 `json:"wind_high"`   // mi/h
	TempLow      float64 `json:"temp_low"`    // °F
	TempHigh     float64 `json:"temp_high"`   // °F
	SeedAfter    int     `json:"seed_after"`  // days from an application to seeding
	SeedBefore   int     `json:"seed_before"` // days from seeding to an application
}
