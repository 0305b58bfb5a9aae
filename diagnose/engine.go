package diagnose

import (
	"slices"
	"strings"
	"sync"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// Engine weighs cases against one bundle. It is safe for use by several goroutines.
type Engine struct {
	// Edition is copied into every answer; set it before the first case.
	Edition string

	b        *knowledge.Bundle
	cause    map[string]int
	finding  map[string]int
	none     map[string]string // finding → the sign that means looked for all, found none
	sets     *sets
	links    []link
	children [][]int       // by cause: what it drives
	spared   [][][]float64 // by season, parent, child
	model    [][]*finding  // by season and finding
	mute     []bool        // causes that no finding speaks of
	groups   [][]int
	plans    []int // by cause: which plan it leads to
	nplans   int
	pool     sync.Pool // *scratch
}

const siteKind = "site"

// New makes the bundle ready: P(state | set) of every state and every set of at most Settings.MaxSet causes, by season.
func New(b *knowledge.Bundle) (*Engine, error) {
	e := &Engine{b: b, cause: map[string]int{}, finding: map[string]int{}, none: map[string]string{}}
	if err := e.index(); err != nil {
		return nil, err
	}
	if b.Settings.MaxSet < 1 {
		return nil, bundleError("max_set is %d", b.Settings.MaxSet)
	}
	var err error
	if e.sets, err = newSets(len(b.Causes), b.Settings.MaxSet); err != nil {
		return nil, err
	}
	if e.links, err = e.newLinks(); err != nil {
		return nil, err
	}
	e.sets.link(e.links)
	e.children = make([][]int, len(b.Causes))
	for _, l := range e.links {
		if !slices.Contains(e.children[l.parent], l.child) {
			e.children[l.parent] = append(e.children[l.parent], l.child)
		}
	}
	e.firsts()
	for _, s := range b.Seasons {
		e.spared = append(e.spared, e.holds(s))
	}
	if err := e.models(); err != nil {
		return nil, err
	}
	e.pool.New = func() any { return newScratch(e.sets.count, len(b.Causes)) }
	return e, nil
}

func (e *Engine) index() error {
	for i := range e.b.Causes {
		c := &e.b.Causes[i]
		if _, twice := e.cause[c.ID]; twice {
			return bundleError("cause %s stands twice", c.ID)
		}
		e.cause[c.ID] = i
		for _, s := range e.b.Seasons {
			if r := rateOf(c, s); !(r >= 0 && r <= 1) {
				return bundleError("cause %s has rate %v in %s", c.ID, r, s)
			}
		}
	}
	for i := range e.b.Findings {
		id := e.b.Findings[i].ID
		if _, twice := e.finding[id]; twice {
			return bundleError("finding %s stands twice", id)
		}
		e.finding[id] = i
		if bands := len(e.b.Findings[i].Bands); bands > 0 && bands != len(e.b.Findings[i].States) {
			return bundleError("finding %s has %d bands for %d states", id, bands, len(e.b.Findings[i].States))
		}
	}
	e.indexPlans()
	return e.indexRules()
}

// indexPlans numbers what there is to decide. A cause without a plan is a decision of its own; one that is nearly always
// the result of something else is none, as what to do about it follows from what drives it.
func (e *Engine) indexPlans() {
	seen := map[string]int{}
	e.plans = make([]int, len(e.b.Causes))
	for i := range e.b.Causes {
		c := &e.b.Causes[i]
		key := "plan " + c.Plan
		switch {
		case c.Consequence:
			e.plans[i] = -1
			continue
		case c.Plan == "":
			key = "cause " + c.ID
		}
		if _, ok := seen[key]; !ok {
			seen[key] = len(seen)
		}
		e.plans[i] = seen[key]
	}
	e.nplans = len(seen)
}

// firsts finds for every set what would be done first if it were the truth: the plan of the gravest cause that no other
// member drives.
func (e *Engine) firsts() {
	e.sets.first = make([]int32, e.sets.count)
	for i := range e.sets.first {
		e.sets.first[i] = int32(e.nplans)
		members, worst := e.sets.of(i), -1.0
		for _, c := range members {
			driven := slices.ContainsFunc(members, func(p int32) bool { return slices.Contains(e.children[p], int(c)) })
			if severity := e.b.Causes[c].Severity; e.plans[c] >= 0 && !driven && severity > worst {
				worst = severity
				e.sets.first[i] = int32(e.plans[c])
			}
		}
	}
}

// indexRules checks that rules name findings that exist, and finds the none signs.
func (e *Engine) indexRules() error {
	var named []string
	for i := range e.b.Adjust {
		for key := range e.b.Adjust[i].When {
			if id, ok := strings.CutPrefix(key, findingKey); ok {
				named = append(named, id)
			}
		}
	}
	for i := range e.b.Ignore {
		named = append(named, e.b.Ignore[i].Finding, e.b.Ignore[i].Other)
	}
	for _, group := range e.b.Groups {
		named = append(named, group...)
	}
	for i := range e.b.Checks {
		for _, y := range e.b.Checks[i].Yields {
			named = append(named, y.Finding)
			if e.b.Checks[i].Kind == checks.Signs && e.b.Checks[i].None != "" {
				e.none[y.Finding] = e.b.Checks[i].None
			}
		}
	}
	for _, id := range named {
		if _, ok := e.finding[id]; !ok {
			return bundleError("a rule, group or check names the unknown finding %q", id)
		}
	}
	for _, group := range e.b.Groups {
		ids := make([]int, len(group))
		for i, id := range group {
			ids[i] = e.finding[id]
		}
		slices.Sort(ids)
		e.groups = append(e.groups, ids)
	}
	return nil
}

// models builds every finding for every season; seasons that share a base share its tables.
func (e *Engine) models() error {
	e.mute = slices.Repeat([]bool{true}, len(e.b.Causes))
	e.model = make([][]*finding, len(e.b.Seasons))
	for i := range e.b.Findings {
		f := &e.b.Findings[i]
		built := map[string]*finding{}
		for s, season := range e.b.Seasons {
			_, key := baseOf(f, season)
			if built[key] == nil {
				m, err := e.build(f, season)
				if err != nil {
					return err
				}
				built[key] = m
			}
			e.model[s] = append(e.model[s], built[key])
		}
		for _, r := range f.Rows {
			e.mute[e.cause[r.Cause]] = false
		}
	}
	return nil
}

// season finds the case's season: as given, else by its month.
func (e *Engine) season(c *Case) (int, error) {
	id := c.Season
	if id == "" && c.Month >= 1 && c.Month <= len(e.b.SeasonOf) {
		id = e.b.SeasonOf[c.Month-1]
	}
	s := slices.Index(e.b.Seasons, id)
	switch {
	case id == "":
		return 0, &InputError{Case: c.ID, Kind: UnknownSeason, Say: "needs a season or a month"}
	case s < 0:
		return 0, &InputError{Case: c.ID, Kind: UnknownSeason, Say: "there is no season " + id}
	}
	return s, nil
}

// Diagnose weighs one case. Wrong input gives an *InputError, evidence that no set of causes explains a *Contradiction.
func (e *Engine) Diagnose(c Case) (Answer, error) {
	w := e.pool.Get().(*scratch)
	defer e.pool.Put(w)
	ignored, err := e.weigh(&c, w)
	if err != nil {
		return Answer{}, err
	}
	a := e.begin(&c, w, ignored)
	a.Causes = e.rank(e.explain(w), w)
	a.Verdict = e.verdict(&a, w)
	a.Next = e.next(w)
	return a, nil
}

// Rank is Diagnose without what speaks for and against, without what the next visit may start from and without the next checks:
// the same causes in the same order and the same verdict, for less than a fifth of the work.
func (e *Engine) Rank(c Case) (Answer, error) {
	w := e.pool.Get().(*scratch)
	defer e.pool.Put(w)
	ignored, err := e.weigh(&c, w)
	if err != nil {
		return Answer{}, err
	}
	a := e.begin(&c, w, ignored)
	a.Causes = e.rank(e.plain(w), w)
	a.Verdict = e.verdict(&a, w)
	return a, nil
}

// begin is an answer that names its case.
func (e *Engine) begin(c *Case, w *scratch, ignored []string) Answer {
	return Answer{
		ID: c.ID, Edition: e.Edition, Season: e.b.Seasons[w.season],
		NothingWrong: w.post[0], Ignored: ignored, Counted: len(w.counted), Next: []Next{},
	}
}

// plain lists every cause in catalogue order with its likelihood and no reasons.
func (e *Engine) plain(w *scratch) []Likelihood {
	out := make([]Likelihood, len(e.b.Causes))
	for c := range out {
		out[c] = Likelihood{ID: e.b.Causes[c].ID, Likelihood: w.like[c], DrivenBy: []string{}, For: []Weight{}, Against: []Weight{}}
	}
	return out
}

// Likelihoods weighs one case and returns each cause's likelihood in catalogue order, and that of nothing being wrong. It
// is Diagnose without the explanation and the next checks.
func (e *Engine) Likelihoods(c Case) (like []float64, nothing float64, err error) {
	w := e.pool.Get().(*scratch)
	defer e.pool.Put(w)
	if _, err := e.weigh(&c, w); err != nil {
		return nil, 0, err
	}
	return slices.Clone(w.like), w.post[0], nil
}
