-- Who had a visit before it was given to somebody else: what they recorded without signal in between still belongs to it.
CREATE TABLE visit_crews (
	visit  TEXT NOT NULL REFERENCES visits (id),
	person TEXT NOT NULL REFERENCES people (id),
	until  TEXT NOT NULL,
	PRIMARY KEY (visit, person)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER visits_crew_before AFTER UPDATE OF crew ON visits WHEN old.crew IS NOT NULL AND new.crew IS NOT old.crew BEGIN
	INSERT INTO visit_crews (visit, person, until) VALUES (old.id, old.crew, new.changed) ON CONFLICT (visit, person) DO UPDATE SET until = excluded.until;
END;
