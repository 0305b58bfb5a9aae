package history

import (
	"cmp"
	"slices"

	"swardbook/store"
)

// paper is all that was written about one visit.
type paper struct {
	readings  []ReadingRecord
	asides    []store.Aside
	diagnoses map[string]store.Diagnosis
	reviews   []store.Review
}

func (p paper) reading(id string) (ReadingRecord, bool) {
	i := slices.IndexFunc(p.readings, func(r ReadingRecord) bool { return r.ID == id && id != "" })
	if i < 0 {
		return ReadingRecord{}, false
	}
	return p.readings[i], true
}

func (r *reader) paper(visit string) (p paper, err error) {
	readings, err := r.store.Readings(r.ctx, visit)
	if err != nil {
		return p, err
	}
	if p.readings, err = r.readings(readings); err != nil {
		return p, err
	}
	if p.asides, err = r.store.Asides(r.ctx, store.AsideFilter{Visit: visit}); err != nil {
		return p, err
	}
	newest, err := r.store.LatestDiagnoses(r.ctx, visit)
	if err != nil {
		return p, err
	}
	p.diagnoses = map[string]store.Diagnosis{}
	for _, d := range newest {
		p.diagnoses[d.Zone] = d
	}
	p.reviews, err = r.store.Reviews(r.ctx, visit)
	for i, review := range p.reviews {
		if chosen, ok := p.reading(review.Reading); ok && review.Zone == "" {
			p.reviews[i].Zone = chosen.Zone
		}
	}
	slices.SortStableFunc(p.reviews, func(a, b store.Review) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID))
	})
	return p, err
}
