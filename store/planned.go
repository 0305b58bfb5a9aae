package store

import "time"

// Plan is a plan as a manager signed it. Body is what was signed, whole, as JSON; it is never reckoned anew.
type Plan struct {
	ID       string
	Property string
	Visit    string // whose findings it rests on
	Edition  string // of the knowledge behind it
	By       string // person id
	At       time.Time
	Body     []byte
	Steps    []PlanStep
}

// StepState is what became of a signed step.
type StepState string

// The states of a signed step.
const (
	StepPlanned StepState = "planned"
	StepDone    StepState = "done"
	StepDropped StepState = "dropped"
)

// PlanStep is where a signed step stands.
type PlanStep struct {
	Plan    string
	N       int    // place in the plan's body, from 0
	Day     string // when it is to be done; "" without a day
	Visit   string // the visit it turned into; "" none
	State   StepState
	Why     string // why it was dropped
	Changed time.Time
}

// PlanDraft is what a manager changed in a plan that is not signed yet.
type PlanDraft struct {
	Visit string
	By    string
	At    time.Time
	Body  []byte // JSON
}

// WeatherDay is one day of the firm's weather station, metric. nil is what the file did not say.
type WeatherDay struct {
	Day      string
	TMin     *float64 // °C
	TMax     *float64 // °C
	Rain     *float64 // mm
	Wind     *float64 // m/s, mean of the day
	Humidity *float64 // %, mean of the day
	Sun      *float64 // hours of sunshine
	Solar    *float64 // MJ/m²
	Soil     *float64 // °C, mean of the day, by a probe
}
