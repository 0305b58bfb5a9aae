// Package record holds the rules of the legal record: which items a record of an application must hold and by which rule,
// which limits of a label or of the firm it passed, what it adds to a zone's season, and when people may go back. Items, rules,
// kinds of materials, units and tools are data; static/js/record.js applies the same data on the phone, and
// testdata/vectors/record.json holds both to one meaning. It does no I/O.
package record

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"slices"
	"sync"

	"swardbook/diagnose/checks"
	"swardbook/store"
)

//go:embed data
var files embed.FS

// Where an item's answer stands in a record.
const (
	GivenItems   = "items"   // in Items, under the item's id
	GivenOffice  = "office"  // the office has it with the visit: client, place, day
	GivenName    = "name"    // of the material
	GivenRegNo   = "reg_no"  // of the material
	GivenAmounts = "amounts" // one on each zone
	GivenAreas   = "areas"   // one of each zone
	GivenStart   = "start"
	GivenEnd     = "end"
	GivenActive  = "active"  // with the material
	GivenReentry = "reentry" // with the material
)

// Items that limits are held against.
const (
	Wind        = "wind"        // mi/h
	Temperature = "temperature" // °F
)

// Item is one thing that a record may have to hold. Check says how it is asked and read, for those a person answers.
type Item struct {
	ID      string        `json:"id"`
	Given   string        `json:"given"`
	Group   string        `json:"group,omitempty"`
	Label   checks.Text   `json:"label"`
	Check   *checks.Check `json:"check,omitempty"`
	Answers []string      `json:"answers"` // the words that rules have for it
}

// Rule is somebody's list of what a record must hold.
type Rule struct {
	ID      string   `json:"id"`
	Label   string   `json:"label"`
	Law     string   `json:"law,omitempty"` // its name among the laws of package agronomy/records
	Applies string   `json:"applies"`       // "all", "pesticide" or "restricted"
	Always  bool     `json:"always"`        // holds whatever the firm chose
	Items   []string `json:"items"`
	Keep    int      `json:"keep_years"`
	Due     int      `json:"due_days"`
	Source  string   `json:"source"`
	Spot    *Spot    `json:"spot,omitempty"` // what will do where little ground was treated
}

// Kind is a kind of material.
type Kind struct {
	ID        string      `json:"id"`
	Label     checks.Text `json:"label"`
	Pesticide bool        `json:"pesticide"`
	Seed      bool        `json:"seed"`
	Tools     []string    `json:"tools"`
}

// Tool is something a crew loads.
type Tool struct {
	ID    string      `json:"id"`
	Label checks.Text `json:"label"`
}

// Unit is a unit that amounts are measured in: pounds for a mass, gallons for a volume = amount × Mul ÷ Div.
type Unit struct {
	ID    string      `json:"id"`
	Label checks.Text `json:"label"`
	Of    string      `json:"of"` // "mass" or "volume"
	Mul   float64     `json:"mul"`
	Div   float64     `json:"div"`
}

// Book is all of the data.
type Book struct {
	Items []Item `json:"items"`
	Rules []Rule `json:"rules"`
	Kinds []Kind `json:"kinds"`
	Tools []Tool `json:"tools"`
	Units []Unit `json:"units"`
}

// Load reads the data that comes with the program and refuses what does not hang together.
func Load() (*Book, error) {
	raw, err := files.ReadFile("data/book.json")
	if err != nil {
		return nil, err
	}
	var b Book
	if err := strictly(raw, &b); err != nil {
		return nil, fmt.Errorf("record: book.json: %w", err)
	}
	return &b, b.check()
}

// Shipped is the data that comes with the program. It is read once; that it loads is under test.
var Shipped = sync.OnceValue(func() *Book {
	b, err := Load()
	if err != nil {
		panic(err)
	}
	return b
})

// Examples are generic materials to begin with. They are nobody's stock; a firm takes over what it uses and sets it right by
// the label in hand.
func Examples() ([]store.Material, error) {
	raw, err := files.ReadFile("data/examples.json")
	if err != nil {
		return nil, err
	}
	var list []store.Material
	if err := strictly(raw, &list); err != nil {
		return nil, fmt.Errorf("record: examples.json: %w", err)
	}
	return list, nil
}

func strictly(raw []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	return d.Decode(into)
}

func (b *Book) check() error {
	seen := map[string]bool{}
	for _, it := range b.Items {
		if seen[it.ID] || (it.Given == GivenItems) != (it.Check != nil) || it.Check != nil && it.Check.ID != it.ID {
			return fmt.Errorf("record: item %q is twice, or its check is not its own", it.ID)
		}
		seen[it.ID] = true
	}
	for _, r := range b.Rules {
		for _, id := range r.Items {
			if !seen[id] {
				return fmt.Errorf("record: rule %q asks for %q, which is no item", r.ID, id)
			}
		}
		if !slices.Contains([]string{"all", "pesticide", "restricted"}, r.Applies) || r.Source == "" {
			return fmt.Errorf("record: rule %q has no source, or applies to nothing", r.ID)
		}
		if r.Spot != nil && !r.Spot.fits(b) {
			return fmt.Errorf("record: the shorter record of rule %q has no source, or asks for what is no item", r.ID)
		}
	}
	return nil
}

// Item returns an item by its id.
func (b *Book) Item(id string) (Item, bool) {
	return find(b.Items, id, func(x Item) string { return x.ID })
}

// Kind returns a kind of material.
func (b *Book) Kind(id string) (Kind, bool) {
	return find(b.Kinds, id, func(x Kind) string { return x.ID })
}

// Unit returns a unit.
func (b *Book) Unit(id string) (Unit, bool) {
	return find(b.Units, id, func(x Unit) string { return x.ID })
}

// Tool returns a tool.
func (b *Book) Tool(id string) (Tool, bool) {
	return find(b.Tools, id, func(x Tool) string { return x.ID })
}

func find[T any](list []T, id string, name func(T) string) (none T, ok bool) {
	for _, x := range list {
		if name(x) == id {
			return x, true
		}
	}
	return none, false
}

// Firm is what a firm decided about its records, as its settings hold it.
type Firm struct {
	Rules []string `json:"rules"`  // of the states it works in, by rule id
	NOnce float64  `json:"n_once"` // most nitrogen at once, lb per 1000 sq ft; 0 no limit of its own
	NYear float64  `json:"n_year"` // most nitrogen in a calendar year, lb per 1000 sq ft; 0 none

	Given map[string]string `json:"given,omitempty"` // the two as they were typed, where that was another unit
}

// SettingName is the name under which the firm's settings hold Firm.
const SettingName = "records"

// Usual is a firm that decided nothing yet: at most a pound of nitrogen at once, common practice without a source.
var Usual = Firm{Rules: []string{}, NOnce: 1}

// RulesFor lists the rules that a record of a material comes under.
func (b *Book) RulesFor(m store.Material, f Firm) []Rule {
	kind, _ := b.Kind(m.Kind)
	var out []Rule
	for _, r := range b.Rules {
		applies := r.Applies == "all" || r.Applies == "pesticide" && kind.Pesticide || r.Applies == "restricted" && m.Restricted
		if applies && (r.Always || slices.Contains(f.Rules, r.ID)) {
			out = append(out, r)
		}
	}
	return out
}
