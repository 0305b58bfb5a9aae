-- What a manager let the firm's own cases change in the knowledge. The newest that is not undone is laid over our files at the start;
-- each holds all that is laid over, so undoing one leaves the one before it in force.
CREATE TABLE learned (
	seq       INTEGER PRIMARY KEY AUTOINCREMENT,
	id        TEXT NOT NULL UNIQUE CHECK (id <> ''),
	base      TEXT NOT NULL, -- edition of the knowledge it was laid over
	edition   TEXT NOT NULL, -- edition of what came of it
	overlay   TEXT NOT NULL CHECK (json_valid(overlay)), -- file → text
	report    TEXT NOT NULL CHECK (json_valid(report)),
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL
) STRICT;

CREATE TABLE learned_undone (
	learned   TEXT PRIMARY KEY REFERENCES learned (id),
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TRIGGER learned_no_update BEFORE UPDATE ON learned BEGIN SELECT RAISE(ABORT, 'what was accepted is append-only'); END;
CREATE TRIGGER learned_no_delete BEFORE DELETE ON learned BEGIN SELECT RAISE(ABORT, 'what was accepted is append-only'); END;
CREATE TRIGGER learned_undone_no_update BEFORE UPDATE ON learned_undone BEGIN SELECT RAISE(ABORT, 'what was undone is append-only'); END;
CREATE TRIGGER learned_undone_no_delete BEFORE DELETE ON learned_undone BEGIN SELECT RAISE(ABORT, 'what was undone is append-only'); END;
