package agronomy

// Formula is one entry of the registry: everything a page, a command or a check needs to offer it.
type Formula struct {
	Name    string // as checks name it: "run_time"
	Does    string // one sentence
	Source  string // where it is published
	Inputs  []Input
	Outputs []Output
	Ways    []Way // alternatives, best first; every way whose needs are given runs
	ByName  bool  // found by its name only, never by the inputs that are given
}

// Output is one thing a formula gives.
type Output struct {
	Name string
	Also []string // further names it may be asked for by
	Unit string   // as it is usually given; the result itself says what it is in
	Says string
}

// Way is one road from some of a formula's inputs to some of its outputs.
type Way struct {
	Needs []string // all of these are given
	May   []string // these are used when given
	Run   func(v Values) (Results, error)
}
