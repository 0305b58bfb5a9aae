package sqlite

import (
	"context"
	"database/sql"
	"fmt"
)

// kept are statements that every push or page asks for, read by SQLite once for each connection and not each time. The texts
// are those of the methods; one that is not here is read anew and no less right. They end with their handle.
type kept map[string]*sql.Stmt

func (k kept) prepare(ctx context.Context, handle *sql.DB, texts ...string) error {
	for _, text := range texts {
		s, err := handle.PrepareContext(ctx, text)
		if err != nil {
			return fmt.Errorf("preparing %s: %w", text, err)
		}
		k[text] = s
	}
	return nil
}

// keep prepares what is asked for most.
func (db *DB) keep(ctx context.Context) error {
	db.keptWriter, db.keptReader = kept{}, kept{}
	err := db.keptWriter.prepare(ctx, db.writer, selectWithdrawn, beginBatch, undoBatch, endBatch, selectEpoch, selectSeq, selectLacking, oneVisit, propertyThere, zoneThere, ours, repeat, moreContent, forked)
	if err != nil {
		return err
	}
	return db.keptReader.prepare(ctx, db.reader, oneSession, onePerson, oneVisit, oneZone, oneProperty, selectEpoch, selectSeq)
}
