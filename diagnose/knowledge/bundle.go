// Package knowledge holds what the engine and the forms know (checks, findings, causes, links, rates, steps, cautions and their
// sources) as reviewable rows under data/, and the strict loader that makes them one bundle with one edition.
package knowledge

import "swardbook/diagnose/checks"

// Bundle is everything the engine and the forms know, as one value. Its canonical JSON is what the phone gets and what
// the server uses, byte for byte; Edition is the first 16 hex digits of the SHA-256 of those bytes.
type Bundle struct {
	Format   int            `json:"format"`    // 1
	Seasons  []string       `json:"seasons"`   // "spring","summer","fall","winter"
	SeasonOf []string       `json:"season_of"` // 12 entries, January first
	Sections []Section      `json:"sections"`
	Checks   []checks.Check `json:"checks"`
	Findings []Finding      `json:"findings"`
	Causes   []Cause        `json:"causes"`
	Drives   []Drive        `json:"drives"`
	Adjust   []Adjust       `json:"adjust"`
	Groups   [][]string     `json:"groups"` // findings that say one thing twice
	Ignore   []Ignore       `json:"ignore"`
	Actions  []Action       `json:"actions"`
	Planning Planning       `json:"planning"`
	Effects  []Effect       `json:"effects"` // what steps do to causes
	Cautions []Caution      `json:"cautions"`
	Sources  []Source       `json:"sources"`
	Settings Settings       `json:"settings"`
}

// Settings are the engine's few numbers.
type Settings struct {
	MaxSet      int     `json:"max_set"`     // K, 3
	Likely      float64 `json:"likely"`      // from here a cause counts as likely (role)
	CantTell    float64 `json:"cant_tell"`   // below this for the leading cause: "can't tell yet"
	Sure        float64 `json:"sure"`        // from here it is named whatever was thought of it before; 0: from cant_tell
	Strong      float64 `json:"strong"`      // below sure it is named only when what was found multiplied its odds by so much
	GroupShare  float64 `json:"group_share"` // weight of the lesser members of a group, 1/3
	Other       string  `json:"other"`       // the cause that stands for everything this bundle does not know
	SourceOther float64 `json:"other_rate"`  // its rate in every season, 0.10
}

// Section is a part of the walk, in the order a person meets it.
type Section struct {
	ID    string      `json:"id"`
	Label checks.Text `json:"label"`
}

// Finding is what a reading means for the diagnosis.
type Finding struct {
	ID      string               `json:"id"`
	Kind    string               `json:"kind"` // look water soil plant pest site
	Multi   bool                 `json:"multi,omitempty"`
	Label   checks.Text          `json:"label"`
	States  []State              `json:"states"`
	Bands   []Band               `json:"bands,omitempty"`    // numeric findings: one per state, rising
	BandsBy []BandsBy            `json:"bands_by,omitempty"` // other bands, by what another finding shows; see BandsWith
	ErrAbs  float64              `json:"err_abs,omitempty"`  // measuring error, standard deviation = ErrAbs + ErrRel·|mean|
	ErrRel  float64              `json:"err_rel,omitempty"`
	Base    map[string][]float64 `json:"base"` // season or "all" → share of each state (multi: chance of each sign), States order
	Rows    []Row                `json:"rows"`
	Source  string               `json:"source"`
}

// State is one state of a finding. Say is the phrase used in a sentence ("short cores").
type State struct {
	ID     string      `json:"id"`
	Plural bool        `json:"plural,omitempty"` // Say.EN is a plural: short cores speak, dense grass speaks
	Say    checks.Text `json:"say"`
}

// Band is a half-open range [Low, High) of a numeric finding's state.
type Band struct {
	State string  `json:"state"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Row is p(finding = state | only this cause is active).
type Row struct {
	State  string  `json:"state"`
	Cause  string  `json:"cause"`
	P      float64 `json:"p"`
	Word   string  `json:"word"`
	Source string  `json:"source"`
}

// Cause is a thing that can be wrong.
type Cause struct {
	ID          string             `json:"id"`
	Label       checks.Text        `json:"label"`   // what a person reads first: "Sprinklers miss part of the lawn"
	What        checks.Text        `json:"what"`    // two sentences
	Confirm     checks.Text        `json:"confirm"` // how to be sure
	Season      checks.Text        `json:"season"`
	Severity    float64            `json:"severity"`              // 0..1, what is lost if it is left alone
	Plan        string             `json:"plan"`                  // causes with one plan are one thing to decide
	Consequence bool               `json:"consequence,omitempty"` // nearly always the result of something else
	Refer       checks.Text        `json:"refer"`
	Expect      checks.Text        `json:"expect"`           // honest recovery
	Rates       map[string]float64 `json:"rates"`            // season → base rate
	Lasts       float64            `json:"lasts"`            // days until 1/e of what was known of it still counts
	Shared      string             `json:"shared,omitempty"` // what zones have in common that brings it to all: "water", "mower" …
	Source      string             `json:"source"`
}

// Effect is what a step does to a cause: Left is the share of the cause's chance that is left when the step has worked, which
// takes Days.
type Effect struct {
	Action string  `json:"action"`
	Cause  string  `json:"cause"`
	Left   float64 `json:"left"`
	Days   float64 `json:"days"`
	Source string  `json:"source"`
}

// Drive is a link: P = chance that active Parent alone brings Child about.
type Drive struct {
	Parent string  `json:"parent"`
	Child  string  `json:"child"`
	P      float64 `json:"p"`
	Source string  `json:"source"`
}

// Adjust changes base rates in a context, before any evidence. All of When must hold; rows apply in the bundle's order.
// Keys of When: "visit" (complaint, routine), "system" (none, present), "rain" (week, none), "seed" (new), "region",
// "season" (the season the case is judged in), "month" ("8", or a list "1,2,3"), or "finding:<id>" with a state observed
// with certainty. Exactly one of Factor, AtMost and Set is given.
type Adjust struct {
	When   map[string]string `json:"when"`
	Cause  string            `json:"cause"` // "*" for all
	Except []string          `json:"except,omitempty"`
	Factor float64           `json:"factor,omitempty"` // rate × Factor
	AtMost float64           `json:"at_most,omitempty"`
	Set    float64           `json:"set,omitempty"`
	Source string            `json:"source"`
}

// Ignore is a reading that does not count in context: Finding in State (empty: any) when Other is in one of OtherStates.
type Ignore struct {
	Finding     string   `json:"finding"`
	State       string   `json:"state,omitempty"`
	Other       string   `json:"other"`
	OtherStates []string `json:"other_states"`
	Source      string   `json:"source"`
}

// Action is one step that a cause leads to.
type Action struct {
	ID      string      `json:"id"`
	Cause   string      `json:"cause"`
	Order   int         `json:"order"` // 1 stop harm, 2 water and light, 3 soil, 4 treat, 5 repair, 6 re-check
	Do      checks.Text `json:"do"`
	Window  checks.Text `json:"window"`
	Licence bool        `json:"licence,omitempty"` // a pesticide: label and licensed applicator first
	Dig     bool        `json:"dig,omitempty"`     // buried lines first
	Avoid   checks.Text `json:"avoid"`
	Source  string      `json:"source"`
}

// Caution is a safety sentence, shown where the risk is. Where is a list of "dig","pesticide","slope","heat","always", or check ids.
type Caution struct {
	ID     string      `json:"id"`
	Where  []string    `json:"where"`
	Say    checks.Text `json:"say"`
	Source string      `json:"source"`
}

// Source is what a number rests on. Status: "read", "part", "memory", "practice" (common practice, no source),
// "judgement", or "own" (counted on the firm's own signed-off visits).
type Source struct {
	Key    string `json:"key"`
	Title  string `json:"title"`
	By     string `json:"by"`
	Year   string `json:"year"`
	Status string `json:"status"`
}
