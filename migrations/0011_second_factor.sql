-- What a person's authenticator shares with the office. since '': being set up. step: the last half minute whose code was used; neither it nor an earlier one
-- counts again.
CREATE TABLE factors (
	person TEXT PRIMARY KEY REFERENCES people (id),
	secret BLOB NOT NULL,
	since  TEXT NOT NULL,
	step   INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- For the day the authenticator is lost, each once.
CREATE TABLE recovery_codes (
	code   BLOB PRIMARY KEY, -- SHA-256 of the code, never the code
	person TEXT NOT NULL REFERENCES people (id)
) STRICT, WITHOUT ROWID;
CREATE INDEX recovery_codes_person ON recovery_codes (person);
