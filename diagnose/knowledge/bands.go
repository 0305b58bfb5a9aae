package knowledge

import (
	"slices"
	"strings"
)

// BandsBy are other bands of a measured finding, for where another finding shows one of some states: fine fescue lives on less
// sun than bluegrass does.
type BandsBy struct {
	Other       string   `json:"other"`
	OtherStates []string `json:"other_states"`
	Bands       []Band   `json:"bands"`
}

// BandsWith returns the bands that hold when other findings show what shown says of them; "" is not looked at.
func (f *Finding) BandsWith(shown func(finding string) string) []Band {
	for i := range f.BandsBy {
		by := &f.BandsBy[i]
		if s := shown(by.Other); s != "" && slices.Contains(by.OtherStates, s) {
			return by.Bands
		}
	}
	return f.Bands
}

func (l *loader) readBands() {
	lastOf := map[*Finding]pos{}
	for _, r := range l.table("bands.csv", "finding", "state", "low", "high", "source") {
		l.source(r.at, r.cells["source"])
		f, _ := l.findingOf(r)
		if f == nil {
			continue
		}
		lastOf[f] = culprit(lastOf[f], r.at)
		f.Bands = l.band(r, lastOf[f], f.ID, f.Bands)
	}
	l.wantBands()
	for f, at := range lastOf {
		l.wantEvery(at, f, f.Bands)
	}
	l.readBandsBy()
}

// band adds a row's band to those before it, which it must follow without a gap.
func (l *loader) band(r row, at pos, finding string, before []Band) []Band {
	b := Band{r.cells["state"], l.number(r, "low", -1e9, 1e9), l.number(r, "high", -1e9, 1e9)}
	if b.Low >= b.High {
		l.fail(r.at, "low must be under high")
	}
	if n := len(before); n > 0 && before[n-1].High != b.Low {
		l.fail(at, "%s: the band must begin where the last one ends, at %v", finding, before[n-1].High)
	}
	for _, other := range before {
		if other.State == b.State {
			l.fail(r.at, "%s %s has two bands", finding, b.State)
		}
	}
	return append(before, b)
}

func (l *loader) wantEvery(at pos, f *Finding, bands []Band) {
	if len(bands) != len(f.States) {
		l.fail(at, "%s: %d bands for %d states", f.ID, len(bands), len(f.States))
	}
}

// wantBands complains of a finding that numbers speak to and that has no limits.
func (l *loader) wantBands() {
	for id, is := range l.numeric {
		if f := l.states[id]; is && f != nil && len(f.Bands) == 0 {
			l.fail(l.findingAt[id], "no bands for %s, which is measured", id)
		}
	}
}

// readBandsBy reads bands that hold under a condition. The rows of one finding and condition stand for all of its bands.
func (l *loader) readBandsBy() {
	type place struct {
		f  *Finding
		at int
	}
	lastOf := map[place]pos{}
	for _, r := range l.table("bands_by.csv", "finding", "other", "other_states", "state", "low", "high", "source") {
		l.source(r.at, r.cells["source"])
		f, _ := l.findingOf(r)
		if f == nil {
			continue
		}
		states := strings.Fields(r.cells["other_states"])
		if len(f.Bands) == 0 || len(states) == 0 {
			l.fail(r.at, "%s: bands of its own and other_states are wanted", f.ID)
			continue
		}
		l.wantChoice(r.at, r.cells["other"], states)
		p := place{f, slices.IndexFunc(f.BandsBy, func(by BandsBy) bool {
			return by.Other == r.cells["other"] && slices.Equal(by.OtherStates, states)
		})}
		if p.at < 0 {
			p.at = len(f.BandsBy)
			l.overlap(r.at, f, r.cells["other"], states)
			f.BandsBy = append(f.BandsBy, BandsBy{Other: r.cells["other"], OtherStates: states})
		}
		lastOf[p] = culprit(lastOf[p], r.at)
		f.BandsBy[p.at].Bands = l.band(r, lastOf[p], f.ID, f.BandsBy[p.at].Bands)
	}
	for p, at := range lastOf {
		l.wantEvery(at, p.f, p.f.BandsBy[p.at].Bands)
	}
}

// wantChoice wants a finding that is looked at and shows one of its states: what it shows must not hang on bands in turn.
func (l *loader) wantChoice(at pos, other string, states []string) {
	l.wantStates(at, other, states)
	if f := l.states[other]; f != nil && (f.Multi || len(f.Bands) > 0) {
		l.fail(at, "%s is measured or has several signs; limits can depend only on a finding that shows one state", other)
	}
}

// overlap complains when two sets of bands would hold at once.
func (l *loader) overlap(at pos, f *Finding, other string, states []string) {
	for _, by := range f.BandsBy {
		if by.Other != other || slices.ContainsFunc(states, func(s string) bool { return slices.Contains(by.OtherStates, s) }) {
			l.fail(at, "%s: two sets of bands may hold at once, by %s and by %s", f.ID, by.Other, other)
		}
	}
}
