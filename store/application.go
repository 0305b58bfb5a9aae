package store

import "time"

// Application is one record of what was put down on one visit: one material, on some zones. It is never changed; a correction
// is a further record that names the first one in Corrects.
type Application struct {
	ID        string            `json:"id"`
	Seq       int64             `json:"seq"` // feed number
	Visit     string            `json:"visit"`
	Property  string            `json:"property"`
	Author    string            `json:"author"` // person id
	Device    string            `json:"device"`
	At        string            `json:"at"`    // when it was recorded, as the phone showed it
	Stamp     string            `json:"stamp"` // merging stamp
	Day       string            `json:"day"`   // local day it began, "2026-08-27"
	Material  string            `json:"material"`
	Version   int64             `json:"version"` // of the material
	Name      string            `json:"name"`    // of the material, as the phone showed it
	RegNo     string            `json:"reg_no"`
	Unit      string            `json:"unit"`
	Zones     []AppliedZone     `json:"zones"`
	Start     string            `json:"start"` // RFC 3339 with the phone's offset; "" not said
	End       string            `json:"end"`
	Items     map[string]string `json:"items"` // typed text by item of store/record; blank ones left out
	Step      string            `json:"step"`  // the plan's step it fulfils, "plan/n"; "" none
	Corrects  string            `json:"corrects"`
	Withdrawn bool              `json:"withdrawn"` // this correction says: it never took place
	Reason    string            `json:"reason"`    // why it is corrected or withdrawn
	Missing   []string          `json:"missing"`   // items that were missing when it reached the office
	Flags     []Flag            `json:"flags"`     // limits that it passed, as far as known then
	Seen      *Seen             `json:"seen,omitempty"`
}

// AppliedZone is what went onto one zone.
type AppliedZone struct {
	Zone     string  `json:"zone"`
	Typed    string  `json:"typed"`          // as typed
	Amount   float64 `json:"amount"`         // in the record's unit; read from Typed
	AreaSqFt float64 `json:"area_sqft"`      // that was treated; 0 not known
	Area     string  `json:"area,omitempty"` // the same as typed, where that was another unit
}

// Flag is a limit that was passed. Words fill the sentence "flag.<code>".
type Flag struct {
	Code  string            `json:"code"`
	Zone  string            `json:"zone,omitempty"`
	Words map[string]string `json:"words,omitempty"`
}

// Seen is what a manager said of a record that lacks an item or passed a limit.
type Seen struct {
	By  string    `json:"by"`
	Why string    `json:"why"`
	At  time.Time `json:"at"`
}

// ApplicationFilter says which applications are meant; what is empty does not narrow.
type ApplicationFilter struct {
	Property string
	Visit    string
	FromDay  string // both included
	ToDay    string
	Wanting  bool // only those that lack an item or passed a limit, that no manager has seen and nothing corrects
}

// Calibration is one measurement of what a spreader or sprayer puts out. It is never changed.
type Calibration struct {
	ID        string  `json:"id"`
	Seq       int64   `json:"seq"`
	Author    string  `json:"author"`
	Device    string  `json:"device"`
	At        string  `json:"at"`
	Stamp     string  `json:"stamp"`
	Equipment string  `json:"equipment"`         // what the firm calls it
	Kind      string  `json:"kind"`              // "spreader" or "sprayer"
	Material  string  `json:"material"`          // what was put out; "" water
	Name      string  `json:"name"`              // of the material
	Setting   string  `json:"setting"`           // of the gate, or nozzle and pressure
	Unit      string  `json:"unit"`              // of Collected
	Collected string  `json:"collected"`         // as typed; "" when the nozzles were caught one by one
	Catches   string  `json:"catches,omitempty"` // of each nozzle in one time, as typed: "14; 15; 13 fl oz"
	Width     string  `json:"width"`             // effective, feet unless said, as typed
	Length    string  `json:"length"`            // feet unless said, as typed
	Want      string  `json:"want"`              // wanted, Unit per 1000 sq ft unless said, as typed; "" none
	Note      string  `json:"note"`
	Rate      float64 `json:"rate"` // Unit per 1000 sq ft, reckoned by the office; 0 when it can't be
}
