-- How many years photos and the data of former clients are kept; 0 keeps them for always.
CREATE TABLE retention (
	one          INTEGER PRIMARY KEY CHECK (one = 1),
	photo_years  INTEGER NOT NULL CHECK (photo_years BETWEEN 0 AND 99),
	client_years INTEGER NOT NULL CHECK (client_years BETWEEN 0 AND 99)
) STRICT;

-- Photos whose time was over. Their readings stay and say that there was one.
CREATE TABLE let_go (
	sha TEXT PRIMARY KEY CHECK (length(sha) = 64),
	at  TEXT NOT NULL
) STRICT, WITHOUT ROWID;
