package knowledge

// Weights says how many cases of belief a number of the bundle is worth when a firm's own cases are counted: by kind of number
// ("rate", "link", "drive") and status of its source.
type Weights map[string]map[string]float64

// Of is the weight of a number of a kind that rests on the sources named: that of the best known of them.
func (w Weights) Of(k *Loaded, kind, named string) float64 {
	var most float64
	for _, key := range SourceKeys(named) {
		if s, ok := k.Source(key); ok {
			most = max(most, w[kind][s.Status])
		}
	}
	return max(most, w[kind]["judgement"])
}

func (l *loader) readWeights() {
	statuses := []string{"judgement", "practice", "memory", "part", "read"}
	l.weights = Weights{}
	last := pos{"weights.csv", 1}
	for _, r := range l.table("weights.csv", "kind", "judgement", "practice", "memory", "part", "read", "source") {
		last = r.at
		l.source(r.at, r.cells["source"])
		kind := r.cells["kind"]
		if _, twice := l.weights[kind]; twice {
			l.fail(r.at, "%q is already given", kind)
		}
		l.weights[kind] = map[string]float64{}
		for _, s := range statuses {
			l.weights[kind][s] = l.number(r, s, 1, 1e6)
		}
	}
	for _, kind := range []string{"rate", "link", "drive"} {
		if l.weights[kind] == nil {
			l.fail(last, "no weights for a %s", kind)
		}
	}
	if len(l.weights) > 3 {
		l.fail(last, "a kind is rate, link or drive")
	}
}
