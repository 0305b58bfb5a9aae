package knowledge

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"swardbook/diagnose/checks"
)

// plans is what the readers of planning rows hold each other to.
type plans struct {
	works, uses, who, grasses map[string]bool
	facts                     map[string]*PlanFact
	actions                   map[string]bool
}

func (l *loader) readPlanning(b *Bundle) {
	p := &b.Planning
	known := &plans{map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]*PlanFact{}, map[string]bool{}}
	for i := range b.Actions {
		known.actions[b.Actions[i].ID] = true
	}
	l.readWorks(p, known)
	l.readUses(p, known)
	l.readWho(p, known)
	l.readGrasses(p, known)
	l.readPlanFacts(p, known)
	l.readDeeds(b, known)
	l.readWindows(p, known)
	l.readAmounts(p, known)
	l.readRules(p, known)
	l.readApart(p, known)
	l.readSooner(p, known)
	l.readWaits(p)
	l.readCaps(p, known)
	l.readHonest(p, known)
	l.readNotes(p)
	l.readRoles(p, known)
}

// text reads a text in both languages from two columns; need says that it must be there.
func (l *loader) text(r row, en, es string, need bool) checks.Text {
	t := checks.Text{EN: r.cells[en], ES: r.cells[es]}
	if need && t.EN == "" || (t.EN == "") != (t.ES == "") {
		l.fail(r.at, "%s, %s: a text is wanted in both languages", en, es)
	}
	return t
}

// names reads ids parted by blanks and holds them to those known.
func (l *loader) names(r row, column, what string, known map[string]bool) []string {
	list := strings.Fields(r.cells[column])
	for _, id := range list {
		l.unknown(!known[id], r.at, what, id)
	}
	if list == nil {
		list = []string{}
	}
	return list
}

// whenOf reads a condition and holds its names to those known.
func (l *loader) whenOf(r row, column string, known *plans) string {
	groups, err := ParseWhen(r.cells[column])
	if err != nil {
		l.fail(r.at, "%s: %v", column, err)
	}
	for _, g := range groups {
		for _, t := range g {
			l.term(r.at, t, known)
		}
	}
	return r.cells[column]
}

func (l *loader) term(at pos, t Term, known *plans) {
	switch t.Key {
	case "fact":
		l.factTerm(at, t, known)
	case "cause", "for":
		l.unknown(l.causes[t.Name] == nil, at, "cause", t.Name)
	case "with":
		l.unknown(!known.works[t.Name], at, "work", t.Name)
	case "grass":
		for _, g := range t.Values {
			l.unknown(!known.grasses[g], at, "grass", g)
		}
	}
}

func (l *loader) factTerm(at pos, t Term, known *plans) {
	f, own := l.states[t.Name], known.facts[t.Name]
	if f == nil && own == nil {
		l.unknown(true, at, "fact", t.Name)
		return
	}
	for _, s := range t.Values {
		if own != nil {
			l.unknown(!slices.Contains(own.States, s), at, "state", t.Name+" "+s)
		} else {
			l.unknown(stateIndex(f, s) < 0, at, "state", t.Name+" "+s)
		}
	}
	if own == nil && (t.Op == "~") != f.Multi {
		l.fail(at, "%s: ~ asks for a sign, and only of findings with several signs", t.Name)
	}
}

// days reads a whole number of days, 0 when the cell is empty.
func (l *loader) days(r row, column string) int {
	if r.cells[column] == "" {
		return 0
	}
	n, err := strconv.Atoi(r.cells[column])
	if err != nil || n < 0 || n > 4000 {
		l.fail(r.at, "%s: %q is no number of days", column, r.cells[column])
	}
	return n
}

// amountOr reads a number, 0 when the cell is empty.
func (l *loader) amountOr(r row, column string, high float64) float64 {
	if r.cells[column] == "" {
		return 0
	}
	return l.number(r, column, 0, high)
}

var dayOfYear = regexp.MustCompile(`^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$`)

func (l *loader) yearDay(r row, column string, need bool) string {
	if s := r.cells[column]; s != "" && !dayOfYear.MatchString(s) || need && s == "" {
		l.fail(r.at, "%s: %q is no day of a year, as 08-15", column, s)
	}
	return r.cells[column]
}

func (l *loader) kindOfRule(r row) string {
	k := r.cells["kind"]
	l.unknown(!slices.Contains([]string{RulePractice, RuleLabel, RuleLaw}, k), r.at, "kind of rule", k)
	return k
}

func (l *loader) readWorks(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Works = []Work{}
	for _, r := range l.table("works.csv", "work", "en", "es", "client_en", "client_es", "tools_en", "tools_es", "seeding", "source") {
		w := Work{r.cells["work"], l.text(r, "en", "es", true), l.text(r, "client_en", "client_es", false), l.text(r, "tools_en", "tools_es", false), r.cells["seeding"], l.source(r.at, r.cells["source"])}
		l.once(seen, w.ID, r.at)
		l.unknown(!slices.Contains([]string{"", "is", "waits"}, w.Seeding), r.at, "stand to seed", w.Seeding)
		known.works[w.ID] = true
		p.Works = append(p.Works, w)
	}
}

func (l *loader) readUses(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Uses = []Use{}
	for _, r := range l.table("uses.csv", "use", "en", "es", "works", "licence", "source") {
		u := Use{r.cells["use"], l.text(r, "en", "es", true), l.names(r, "works", "work", known.works), r.cells["licence"] == "yes", l.source(r.at, r.cells["source"])}
		l.once(seen, u.ID, r.at)
		known.uses[u.ID] = true
		p.Uses = append(p.Uses, u)
	}
}

func (l *loader) readWho(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Who = []Who{}
	for _, r := range l.table("who.csv", "who", "en", "es", "source") {
		w := Who{r.cells["who"], l.text(r, "en", "es", true), l.source(r.at, r.cells["source"])}
		l.once(seen, w.ID, r.at)
		known.who[w.ID] = true
		p.Who = append(p.Who, w)
	}
}

func (l *loader) readGrasses(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Grasses = []Grass{}
	for _, r := range l.table("grasses.csv", "grass", "en", "es", "species", "seed_over", "seed_new", "nitrogen_low", "nitrogen_high", "emerge_low", "emerge_high", "source") {
		g := Grass{r.cells["grass"], l.text(r, "en", "es", true), r.cells["species"], l.number(r, "seed_over", 0.1, 20), l.number(r, "seed_new", 0.1, 20),
			l.number(r, "nitrogen_low", 0, 10), l.number(r, "nitrogen_high", 0.1, 10), l.days(r, "emerge_low"), l.days(r, "emerge_high"), l.source(r.at, r.cells["source"])}
		l.once(seen, g.ID, r.at)
		if g.SeedOver > g.SeedNew || g.NitrogenLo > g.NitrogenHi || g.EmergeLo > g.EmergeHi {
			l.fail(r.at, "%s: a low number is above its high one", g.ID)
		}
		known.grasses[g.ID] = true
		p.Grasses = append(p.Grasses, g)
	}
}

func (l *loader) readPlanFacts(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Facts = []PlanFact{}
	for _, r := range l.table("facts.csv", "fact", "en", "es", "states", "unit", "source") {
		f := PlanFact{r.cells["fact"], l.text(r, "en", "es", true), strings.Fields(r.cells["states"]), r.cells["unit"], l.source(r.at, r.cells["source"])}
		l.once(seen, f.ID, r.at)
		if l.states[f.ID] != nil {
			l.fail(r.at, "%s is a finding already", f.ID)
		}
		if f.States == nil {
			f.States = []string{}
		}
		p.Facts = append(p.Facts, f)
	}
	for i := range p.Facts {
		known.facts[p.Facts[i].ID] = &p.Facts[i]
	}
}
