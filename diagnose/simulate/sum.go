package simulate

import (
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/score"
)

// sum adds up trials in their order, so that a result depends on nothing else.
func sum(k *knowledge.Loaded, c Config, trials []*trial) Result {
	r := Result{Edition: k.Edition, Visits: c.Visits, Seed: c.Seed, Season: c.Season, Enough: c.Enough, Most: c.Most}
	kept := trials[:0:0]
	for _, t := range trials {
		if t == nil {
			r.Unanswered++
			continue
		}
		kept = append(kept, t)
		r.Active += float64(t.active)
		if t.active > k.Bundle.Settings.MaxSet {
			r.Beyond++
		}
	}
	r.Active, r.Beyond = mean(r.Active, len(kept)), mean(r.Beyond, len(kept))
	for i, name := range policies {
		walks := make([]*walk, len(kept))
		for j, t := range kept {
			walks[j] = t.walks[i]
		}
		r.Policies = append(r.Policies, summed(name, c, walks))
	}
	return r
}

func summed(name string, c Config, walks []*walk) Policy {
	p := Policy{Policy: name}
	reached := 0
	for _, w := range walks {
		p.Mean += float64(w.checks)
		p.Minutes += w.minutes
		if w.reached {
			reached++
		}
		if w.right {
			p.Right++
		}
	}
	p.Right = mean(p.Right, reached)
	p.Mean, p.Minutes, p.Reached = mean(p.Mean, len(walks)), mean(p.Minutes, len(walks)), mean(float64(reached), len(walks))
	for i, n := range c.Checks {
		p.At = append(p.At, at(n, i, walks))
	}
	return p
}

func at(checks, i int, walks []*walk) At {
	a := At{Checks: checks}
	var said []score.Said
	for _, w := range walks {
		m := w.at[i]
		if m.top1 {
			a.Top1++
		}
		if m.top3 {
			a.Top3++
		}
		said = append(said, m.said...)
	}
	a.Top1, a.Top3 = mean(a.Top1, len(walks)), mean(a.Top3, len(walks))
	a.Score = score.Of(said, bins)
	return a
}

func mean(sum float64, n int) float64 {
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}
