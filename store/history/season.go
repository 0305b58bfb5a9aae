package history

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// Store is what the window needs of the database.
type Store interface {
	Firm(ctx context.Context) (store.Firm, error)
	Client(ctx context.Context, id string) (store.Client, error)
	Properties(ctx context.Context, client string) ([]store.Property, error)
	Property(ctx context.Context, id string) (store.Property, error)
	Zones(ctx context.Context, property string) ([]store.Zone, error)
	Visits(ctx context.Context, f store.VisitFilter) ([]store.Visit, error)
	Readings(ctx context.Context, visit string) ([]store.Reading, error)
	Asides(ctx context.Context, f store.AsideFilter) ([]store.Aside, error)
	LatestDiagnoses(ctx context.Context, visit string) ([]store.Diagnosis, error)
	Reviews(ctx context.Context, visit string) ([]store.Review, error)
	Person(ctx context.Context, id string) (store.Person, error)
	Applications(ctx context.Context, f store.ApplicationFilter) ([]store.Application, error)
	MaterialVersions(ctx context.Context) ([]store.Material, error)
	Plans(ctx context.Context, property string) ([]store.Plan, error)
	Setting(ctx context.Context, name string, v any) error
}

// Season reads everything about one client in one year. A client without visits has a record without rows.
func Season(ctx context.Context, s Store, know *knowledge.Loaded, client string, year int) (Record, error) {
	c, err := s.Client(ctx, client)
	if err != nil {
		return Record{}, err
	}
	properties, err := s.Properties(ctx, client)
	if err != nil {
		return Record{}, err
	}
	slices.SortFunc(properties, func(a, b store.Property) int {
		return cmp.Or(cmp.Compare(a.Address, b.Address), cmp.Compare(a.ID, b.ID))
	})
	firm, err := s.Firm(ctx)
	if err != nil {
		return Record{}, err
	}
	rec := Record{Client: c, Year: year, Metric: firm.Units == Metric}
	r := newReader(ctx, s, know)
	for _, p := range properties {
		pr, err := r.property(p, fmt.Sprintf("%04d-01-01", year), fmt.Sprintf("%04d-12-31", year))
		if err != nil {
			return Record{}, err
		}
		if !c.Photos.Shown() {
			pr.Pairs = nil
		}
		rec.Properties = append(rec.Properties, pr)
	}
	return rec, nil
}
