// Package simulate tries the engine on visits whose truth is known, because they are made up from the network itself: causes from their
// rates and drives without a limit on their number, findings from their chances under those causes, numbers within
// their bands with the measuring error. So it shows what the engine makes of a number of checks, and what the choice of
// checks is worth, if the knowledge were true. It says nothing about whether the knowledge is true: for that see
// diagnose/learn and the scores of signed-off visits.
package simulate

import (
	"context"
	"errors"
	"math/rand/v2"
	"runtime"
	"sync"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/score"
)

// Config says what is tried. The same one gives the same result on any machine.
type Config struct {
	Visits   int
	Seed     uint64
	Season   string            // "": all months alike
	Context  map[string]string // known of every visit beforehand
	Checks   []int             // numbers of checks after which answers are compared, rising
	Most     int               // checks after which a visit ends
	Enough   float64           // likelihood of one answer at which nobody needs to look further
	Progress func(done int)    // called after each visit, from one goroutine at a time; may be nil
}

// Result is how it went.
type Result struct {
	Edition    string   `json:"edition"`
	Visits     int      `json:"visits"`
	Seed       uint64   `json:"seed"`
	Season     string   `json:"season"`
	Unanswered int      `json:"unanswered"` // visits left out since their findings can't be weighed
	Active     float64  `json:"active"`     // mean number of active causes
	Beyond     float64  `json:"beyond"`     // share of visits with more active causes than the engine takes together
	Enough     float64  `json:"enough"`
	Most       int      `json:"most"`
	Policies   []Policy `json:"policies"`
}

// Policy is one way to choose the next check.
type Policy struct {
	Policy  string  `json:"policy"`
	At      []At    `json:"at"`
	Reached float64 `json:"reached"` // share of visits in which one answer became likely enough
	Mean    float64 `json:"mean"`    // checks up to there; a visit that never got there counts with all its checks
	Right   float64 `json:"right"`   // share of the answers that became likely enough that were right
	Minutes float64 `json:"minutes"` // of work up to there
}

// At is what the answers are worth after a number of checks.
type At struct {
	Checks int         `json:"checks"`
	Top1   float64     `json:"top1"` // share of visits in which what is named first is so
	Top3   float64     `json:"top3"` // one of the first three
	Score  score.Score `json:"score"`
}

// The policies.
const (
	NextBest = "next best"
	Fixed    = "fixed order"
	Random   = "random order"
)

var policies = []string{NextBest, Fixed, Random}

// bins of the reliability tables.
const bins = 10

// Run tries the engine made of k. It uses all cores and ends early with ctx.
func Run(ctx context.Context, k *knowledge.Loaded, e *diagnose.Engine, c Config) (Result, error) {
	w := NewWorld(&k.Bundle, e)
	trials := make([]*trial, c.Visits)
	errs := make([]error, c.Visits)
	var done int
	var lock sync.Mutex
	each(c.Visits, func(i int) {
		if ctx.Err() != nil {
			return
		}
		trials[i], errs[i] = w.try(c, i)
		lock.Lock()
		defer lock.Unlock()
		done++
		if c.Progress != nil {
			c.Progress(done)
		}
	})
	if err := errors.Join(append(errs, ctx.Err())...); err != nil {
		return Result{}, err
	}
	return sum(k, c, trials), nil
}

// each calls do with 0 to n-1, several at a time.
func each(n int, do func(i int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// try makes up visit i and walks it by every policy. It is nil when its findings can't be weighed.
func (w *World) try(c Config, i int) (*trial, error) {
	r := rand.New(rand.NewPCG(c.Seed, uint64(i)))
	v, err := w.Draw(c.Season, c.Context, r)
	if err != nil {
		return nil, err
	}
	t := &trial{active: len(v.Active)}
	order := r.Perm(len(w.know.Checks))
	for _, p := range policies {
		walked, err := w.walk(c, &v, p, order)
		var no *diagnose.Contradiction
		switch {
		case errors.As(err, &no):
			return nil, nil
		case err != nil:
			return nil, err
		}
		t.walks = append(t.walks, walked)
	}
	return t, nil
}
