package sqlite

import "context"

// LastDays is the newest day of a visit that has begun, by property.
func (db *DB) LastDays(ctx context.Context) (last map[string]string, err error) {
	defer wrap(&err, "LastDays")
	last = map[string]string{}
	err = db.read(ctx, func(t *tx) error {
		rows, err := t.QueryContext(t.ctx, `SELECT property, max(day) FROM visits WHERE state <> 'planned' GROUP BY property`)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var property, day string
			if err := rows.Scan(&property, &day); err != nil {
				return err
			}
			last[property] = day
		}
		return rows.Err()
	})
	return last, err
}
