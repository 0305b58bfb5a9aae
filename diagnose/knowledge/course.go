package knowledge

import "slices"

// readCourse reads how causes go on between visits: how long they last by themselves, what the zones of a property share
// that brings them about, and what steps do to them.
func (l *loader) readCourse(b *Bundle) {
	l.readPersistence(b)
	l.readShared()
	l.readEffects(b)
}

// usuallyLasts is how many days a cause without a line lasts (judgement).
const usuallyLasts = 60

func (l *loader) readPersistence(b *Bundle) {
	seen := map[string]pos{}
	for _, r := range l.table("persistence.csv", "cause", "days", "source") {
		c := l.causes[r.cells["cause"]]
		if l.unknown(c == nil, r.at, "cause", r.cells["cause"]) || !l.once(seen, c.ID, r.at) {
			continue
		}
		l.source(r.at, r.cells["source"])
		c.Lasts = l.number(r, "days", 1, 36500)
	}
	for i := range b.Causes {
		if b.Causes[i].Lasts == 0 {
			b.Causes[i].Lasts = usuallyLasts
		}
	}
}

// common is what zones of one property can have in common.
var common = []string{"water", "mower", "soil", "feeding", "spraying", "seed", "builder", "weather"}

func (l *loader) readShared() {
	seen := map[string]pos{}
	for _, r := range l.table("shared.csv", "cause", "shared", "source") {
		c := l.causes[r.cells["cause"]]
		if l.unknown(c == nil, r.at, "cause", r.cells["cause"]) || !l.once(seen, c.ID, r.at) {
			continue
		}
		l.source(r.at, r.cells["source"])
		if c.Shared = r.cells["shared"]; !slices.Contains(common, c.Shared) {
			l.fail(r.at, "%q is nothing that zones share", c.Shared)
		}
	}
}

// readEffects wants the actions to be read already.
func (l *loader) readEffects(b *Bundle) {
	seen := map[string]pos{}
	b.Effects = []Effect{}
	for _, r := range l.table("effects.csv", "action", "cause", "left", "days", "source") {
		e := Effect{
			Action: r.cells["action"], Cause: r.cells["cause"], Left: l.number(r, "left", 0, 1),
			Days: l.number(r, "days", 1, 3650), Source: l.source(r.at, r.cells["source"]),
		}
		known := slices.ContainsFunc(b.Actions, func(a Action) bool { return a.ID == e.Action })
		bad := l.unknown(!known, r.at, "action", e.Action)
		bad = l.unknown(l.causes[e.Cause] == nil, r.at, "cause", e.Cause) || bad
		if !bad && l.once(seen, e.Action+","+e.Cause, r.at) {
			b.Effects = append(b.Effects, e)
		}
	}
}
