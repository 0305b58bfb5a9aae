-- Who changed what: written in the transaction of the change, never altered. by_person '' is a command at the server itself.
CREATE TABLE audit (
	seq       INTEGER PRIMARY KEY AUTOINCREMENT,
	at        TEXT NOT NULL,
	by_person TEXT NOT NULL,
	what      TEXT NOT NULL CHECK (what <> ''), -- such as 'person.added'
	about     TEXT NOT NULL,                    -- id of what was changed, '' for the firm itself
	detail    TEXT NOT NULL                     -- in a few words: what it is now
) STRICT;
CREATE INDEX audit_what ON audit (what, seq);
CREATE INDEX audit_person ON audit (by_person, seq);
CREATE INDEX audit_about ON audit (about, seq);
CREATE TRIGGER audit_no_update BEFORE UPDATE ON audit BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END;
CREATE TRIGGER audit_no_delete BEFORE DELETE ON audit BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END;

-- One sign-in without a passcode, for a new phone.
CREATE TABLE codes (
	code    BLOB PRIMARY KEY, -- SHA-256 of the code, never the code
	person  TEXT NOT NULL REFERENCES people (id),
	expires TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- When a phone was withdrawn, '' when it is not: what it sends over the network is not taken any more.
ALTER TABLE devices ADD COLUMN withdrawn TEXT NOT NULL DEFAULT '';
