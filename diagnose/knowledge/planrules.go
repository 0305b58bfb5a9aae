package knowledge

import (
	"slices"
)

func (l *loader) readDeeds(b *Bundle, known *plans) {
	seen := map[string]pos{}
	p := &b.Planning
	by := map[string]Deed{}
	last := pos{"deeds.csv", 1}
	for _, r := range l.table("deeds.csv", "action", "works", "uses", "who", "merge", "pick", "when", "sure", "grass", "shows_from", "shows_by", "source") {
		last = r.at
		d := Deed{r.cells["action"], l.names(r, "works", "work", known.works), l.names(r, "uses", "use", known.uses), r.cells["who"], r.cells["merge"], r.cells["pick"],
			l.whenOf(r, "when", known), r.cells["sure"] == "yes", l.names(r, "grass", "grass", known.grasses), l.days(r, "shows_from"), l.days(r, "shows_by"), l.source(r.at, r.cells["source"])}
		l.once(seen, d.Action, r.at)
		l.unknown(!known.actions[d.Action], r.at, "action", d.Action)
		l.unknown(!known.who[d.Who], r.at, "who", d.Who)
		if len(d.Works) == 0 || d.ShowsFrom > d.ShowsBy {
			l.fail(r.at, "%s: works are wanted, and a result shows from a day to a later one", d.Action)
		}
		by[d.Action] = d
	}
	p.Deeds = []Deed{}
	for i := range b.Actions {
		d, ok := by[b.Actions[i].ID]
		switch {
		case !ok && b.Actions[i].Licence: // rules must know what it is
			l.fail(last, "no row for the action %s, which is a pesticide", b.Actions[i].ID)
		case !ok:
			d = Deed{Action: b.Actions[i].ID, Works: []string{}, Uses: []string{}, Grass: []string{}}
		}
		p.Deeds = append(p.Deeds, d)
	}
}

func (l *loader) readWindows(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Windows = []Window{}
	head := []string{"action", "rank", "from", "to", "before_frost", "soil_low", "soil_high", "base", "count_from", "degrees_low", "degrees_high", "source"}
	for _, r := range l.table("windows.csv", head...) {
		w := Window{r.cells["action"], l.days(r, "rank"), l.yearDay(r, "from", true), l.yearDay(r, "to", true), l.days(r, "before_frost"),
			l.amountOr(r, "soil_low", 120), l.amountOr(r, "soil_high", 120), l.amountOr(r, "base", 100), l.yearDay(r, "count_from", false),
			l.amountOr(r, "degrees_low", 9000), l.amountOr(r, "degrees_high", 9000), l.source(r.at, r.cells["source"])}
		l.once(seen, w.Action+" "+w.From, r.at)
		l.unknown(!known.actions[w.Action], r.at, "action", w.Action)
		if w.Rank < 1 || w.Rank > 2 {
			l.fail(r.at, "rank is 1 or 2")
		}
		if w.SoilHigh != 0 && w.SoilLow > w.SoilHigh || w.DegreesLow > w.DegreesHigh || (w.DegreesHigh > 0) != (w.CountFrom != "" && w.Base > 0) {
			l.fail(r.at, "%s: the limits of soil or degree days are out of order or not whole", w.Action)
		}
		p.Windows = append(p.Windows, w)
	}
}

// ways are the ways of reckoning an amount that diagnose/plan knows.
var ways = []string{"nitrogen", "phosphate", "potash", "seed", "seed_new", "label", "depth", "lime", "passes", "water", "soak", "run_factor", "area"}

func (l *loader) readAmounts(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Amounts = []Amount{}
	for _, r := range l.table("amounts.csv", "action", "use", "by", "rate", "unit", "least", "source") {
		a := Amount{r.cells["action"], r.cells["use"], r.cells["by"], l.amountOr(r, "rate", 1e6), r.cells["unit"], l.amountOr(r, "least", 1e6), l.source(r.at, r.cells["source"])}
		l.once(seen, a.Action+" "+a.Use+" "+a.By, r.at)
		l.unknown(!known.actions[a.Action], r.at, "action", a.Action)
		l.unknown(a.Use != "" && !known.uses[a.Use], r.at, "use", a.Use)
		l.unknown(!slices.Contains(ways, a.By), r.at, "way of reckoning", a.By)
		if (a.Rate == 0) != (a.Unit == "") {
			l.fail(r.at, "a rate has a unit")
		}
		p.Amounts = append(p.Amounts, a)
	}
}

func (l *loader) readRules(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Rules = []Rule{}
	for _, r := range l.table("rules.csv", "rule", "kind", "works", "when", "unless", "fresh", "en", "es", "source") {
		u := Rule{r.cells["rule"], l.kindOfRule(r), l.names(r, "works", "work", known.works), l.whenOf(r, "when", known), l.whenOf(r, "unless", known),
			l.days(r, "fresh"), l.text(r, "en", "es", true), l.source(r.at, r.cells["source"])}
		l.once(seen, u.ID, r.at)
		if len(u.Works) == 0 || u.When == "" && u.Unless == "" {
			l.fail(r.at, "%s: a rule speaks of works, when or unless something holds", u.ID)
		}
		p.Rules = append(p.Rules, u)
	}
}

func (l *loader) readApart(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Apart = []Apart{}
	for _, r := range l.table("apart.csv", "rule", "kind", "first", "then", "days", "en", "es", "source") {
		a := Apart{r.cells["rule"], l.kindOfRule(r), r.cells["first"], r.cells["then"], l.days(r, "days"), l.text(r, "en", "es", true), l.source(r.at, r.cells["source"])}
		l.once(seen, a.ID, r.at)
		l.unknown(!known.works[a.First], r.at, "work", a.First)
		l.unknown(!known.works[a.Then], r.at, "work", a.Then)
		if a.Days < 1 {
			l.fail(r.at, "%s: days are wanted", a.ID)
		}
		p.Apart = append(p.Apart, a)
	}
}

func (l *loader) readSooner(p *Planning, known *plans) {
	p.Sooner = []Sooner{}
	for _, r := range l.table("sooner.csv", "first", "then", "source") {
		s := Sooner{r.cells["first"], r.cells["then"], l.source(r.at, r.cells["source"])}
		l.unknown(!known.works[s.First], r.at, "work", s.First)
		l.unknown(!known.works[s.Then], r.at, "work", s.Then)
		p.Sooner = append(p.Sooner, s)
	}
}

func (l *loader) readWaits(p *Planning) {
	seen := map[string]pos{}
	p.Waits = []Wait{}
	for _, r := range l.table("waits.csv", "active", "to_seeding", "from_seeding", "at_seeding", "source") {
		w := Wait{r.cells["active"], l.wait(r, "to_seeding"), l.wait(r, "from_seeding"), r.cells["at_seeding"] == "yes", l.source(r.at, r.cells["source"])}
		l.once(seen, w.Active, r.at)
		p.Waits = append(p.Waits, w)
	}
}

// wait is a number of days, or -1 for an empty cell: nobody knows.
func (l *loader) wait(r row, column string) int {
	if r.cells[column] == "" {
		return -1
	}
	return l.days(r, column)
}

func (l *loader) readCaps(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Caps = []Cap{}
	for _, r := range l.table("caps.csv", "rule", "kind", "state", "of", "per", "grass", "max", "unit", "en", "es", "source") {
		c := Cap{r.cells["rule"], l.kindOfRule(r), r.cells["state"], r.cells["of"], r.cells["per"], r.cells["grass"], l.number(r, "max", 0, 1000), r.cells["unit"],
			l.text(r, "en", "es", true), l.source(r.at, r.cells["source"])}
		l.once(seen, c.ID, r.at)
		l.unknown(c.Grass != "" && !known.grasses[c.Grass], r.at, "grass", c.Grass)
		l.unknown(c.Per != "application" && c.Per != "year", r.at, "span", c.Per)
		l.unknown(!slices.Contains([]string{"N", "soluble N", "P2O5", "K2O", "CCE"}, c.Of), r.at, "nutrient", c.Of)
		p.Caps = append(p.Caps, c)
	}
}

func (l *loader) readHonest(p *Planning, known *plans) {
	p.Honest = []Honest{}
	for _, r := range l.table("honest.csv", "cause", "when", "en", "es", "source") {
		h := Honest{r.cells["cause"], l.whenOf(r, "when", known), l.text(r, "en", "es", true), l.source(r.at, r.cells["source"])}
		l.unknown(l.causes[h.Cause] == nil, r.at, "cause", h.Cause)
		p.Honest = append(p.Honest, h)
	}
}

func (l *loader) readNotes(p *Planning) {
	seen := map[string]pos{}
	p.Notes = []Note{}
	for _, r := range l.table("notes.csv", "note", "en", "es") {
		l.once(seen, r.cells["note"], r.at)
		p.Notes = append(p.Notes, Note{r.cells["note"], l.text(r, "en", "es", true)})
	}
}

func (l *loader) readRoles(p *Planning, known *plans) {
	seen := map[string]pos{}
	p.Roles = []Role{}
	for _, r := range l.table("roles.csv", "role", "fact", "source") {
		o := Role{r.cells["role"], r.cells["fact"], l.source(r.at, r.cells["source"])}
		l.once(seen, o.ID, r.at)
		l.unknown(l.states[o.Fact] == nil && known.facts[o.Fact] == nil, r.at, "fact", o.Fact)
		p.Roles = append(p.Roles, o)
	}
}
