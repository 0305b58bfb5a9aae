// Package diagnose weighs findings into ranked causes: exact inference over sets of at most K causes of a noisy-OR
// network, with what speaks for and against each cause and the next best check. It has no clock, no I/O, no database.
// static/js/diagnose.js is the same engine for the phone; testdata/vectors holds both to 1e-9.
package diagnose

// Number is a measured finding in the finding's unit.
type Number struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"` // spread of the repeated measurements (sample standard deviation), 0 for one
	N    int     `json:"n"`
	Unit string  `json:"unit,omitempty"` // a unit id of a check that yields the finding; "" is the finding's own unit
}

// Observed is what is known of one finding. Exactly one of State, Number, or Present/Absent is set.
type Observed struct {
	Finding string   `json:"finding"`
	State   string   `json:"state,omitempty"`
	Number  *Number  `json:"number,omitempty"`
	Present []string `json:"present,omitempty"` // multi findings
	Absent  []string `json:"absent,omitempty"`  // multi findings: looked for and not there

	values []float64 // behind Number, where they were listed
}

// Case is one zone at one time. Season wins over Month when both are given.
type Case struct {
	ID       string            `json:"id"`
	Season   string            `json:"season"`
	Month    int               `json:"month"`   // 1..12, 0 unknown
	Context  map[string]string `json:"context"` // keys of knowledge.Adjust.When without "finding:"
	Observed []Observed        `json:"observed"`
	Before   []Earlier         `json:"before,omitempty"` // what the last visit left
	Done     []Done            `json:"done,omitempty"`   // steps that may still be at work
}

// Weight is one finding that speaks for or against a cause: the change of the cause's log-odds when it is left out.
type Weight struct {
	Finding string  `json:"finding"`
	State   string  `json:"state"`  // the state it shows, or the likeliest state of a number
	Weight  float64 `json:"weight"` // natural log-odds, positive
}

// Likelihood is one cause with what speaks for and against it.
type Likelihood struct {
	ID         string   `json:"id"`
	Likelihood float64  `json:"likelihood"`
	Carried    float64  `json:"carried"`   // likelihood without the site's facts, which the next visit will weigh again: Earlier.Likelihood
	Role       string   `json:"role"`      // "primary", "secondary" or ""
	DrivenBy   []string `json:"driven_by"` // likely causes that drive it
	For        []Weight `json:"for"`       // strongest first
	Against    []Weight `json:"against"`
}

// Next is an undone check with what it is worth.
type Next struct {
	Check   string   `json:"check"`
	Minutes float64  `json:"minutes"`
	Gain    float64  `json:"gain"`  // expected drop in entropy over plans, bits
	Apart   []string `json:"apart"` // the causes it would tell apart, likeliest first
}

// Answer is the diagnosis of one case. Verdict: "cause", "cant_tell" or "nothing_wrong".
type Answer struct {
	ID           string       `json:"id"`
	Edition      string       `json:"edition"`
	Season       string       `json:"season"`
	Causes       []Likelihood `json:"causes"` // in the order a person should read them; every cause is listed
	NothingWrong float64      `json:"nothing_wrong"`
	Next         []Next       `json:"next"` // best first
	Verdict      string       `json:"verdict"`
	Ignored      []string     `json:"ignored"` // findings that do not count in this context
	Counted      int          `json:"counted"` // findings that do
}
