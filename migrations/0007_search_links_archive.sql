-- What the office no longer works for is archived, never deleted: '' is at work, else the moment.
ALTER TABLE clients ADD COLUMN archived TEXT NOT NULL DEFAULT '';
ALTER TABLE properties ADD COLUMN archived TEXT NOT NULL DEFAULT '';
ALTER TABLE zones ADD COLUMN archived TEXT NOT NULL DEFAULT '';

-- An address without an account that shows a client one visit or one season.
CREATE TABLE links (
	token     BLOB PRIMARY KEY, -- SHA-256 of the token, never the token
	id        TEXT NOT NULL UNIQUE CHECK (id <> ''), -- what the desk calls it
	client    TEXT NOT NULL REFERENCES clients (id),
	visit     TEXT REFERENCES visits (id), -- NULL: the season
	year      INTEGER NOT NULL, -- 0: a visit
	by_person TEXT NOT NULL REFERENCES people (id),
	made      TEXT NOT NULL,
	expires   TEXT NOT NULL,
	revoked   TEXT NOT NULL DEFAULT '',
	opened    TEXT NOT NULL DEFAULT '', -- first
	seen      TEXT NOT NULL DEFAULT '', -- last
	times     INTEGER NOT NULL DEFAULT 0
) STRICT, WITHOUT ROWID;
CREATE INDEX links_client ON links (client);

-- Words to find things by, in finds under the number that findable gives them. kind: 'client', 'property', 'visit' or 'note'; place: the visit of a note.
CREATE TABLE findable (
	n     INTEGER PRIMARY KEY,
	kind  TEXT NOT NULL,
	id    TEXT NOT NULL,
	place TEXT NOT NULL,
	UNIQUE (kind, id)
) STRICT;
CREATE VIRTUAL TABLE finds USING fts5 (words, tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3');

INSERT INTO findable (kind, id, place) SELECT 'client', id, '' FROM clients;
INSERT INTO findable (kind, id, place) SELECT 'property', id, '' FROM properties;
INSERT INTO findable (kind, id, place) SELECT 'visit', id, id FROM visits;
INSERT INTO findable (kind, id, place) SELECT 'note', id, visit FROM readings WHERE check_id = 'note';
INSERT INTO finds (rowid, words) SELECT f.n, c.name || ' ' || c.phone || ' ' || c.email || ' ' || c.note FROM findable f JOIN clients c ON f.kind = 'client' AND c.id = f.id;
INSERT INTO finds (rowid, words) SELECT f.n, p.address || ' ' || p.region FROM findable f JOIN properties p ON f.kind = 'property' AND p.id = f.id;
INSERT INTO finds (rowid, words)
	SELECT f.n, v.day || ' ' || v.ask || ' ' || p.address FROM findable f JOIN visits v ON f.kind = 'visit' AND v.id = f.id JOIN properties p ON p.id = v.property;
INSERT INTO finds (rowid, words) SELECT f.n, r.typed FROM findable f JOIN readings r ON f.kind = 'note' AND r.id = f.id;

CREATE TRIGGER clients_find AFTER INSERT ON clients BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('client', new.id, '');
	INSERT INTO finds (rowid, words) SELECT n, new.name || ' ' || new.phone || ' ' || new.email || ' ' || new.note FROM findable WHERE kind = 'client' AND id = new.id;
END;
CREATE TRIGGER clients_find_again AFTER UPDATE OF name, phone, email, note ON clients BEGIN
	UPDATE finds SET words = new.name || ' ' || new.phone || ' ' || new.email || ' ' || new.note
	WHERE rowid = (SELECT n FROM findable WHERE kind = 'client' AND id = new.id);
END;
CREATE TRIGGER properties_find AFTER INSERT ON properties BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('property', new.id, '');
	INSERT INTO finds (rowid, words) SELECT n, new.address || ' ' || new.region FROM findable WHERE kind = 'property' AND id = new.id;
END;
CREATE TRIGGER properties_find_again AFTER UPDATE OF address, region ON properties BEGIN
	UPDATE finds SET words = new.address || ' ' || new.region WHERE rowid = (SELECT n FROM findable WHERE kind = 'property' AND id = new.id);
	UPDATE finds SET words = (SELECT v.day || ' ' || v.ask || ' ' || new.address FROM findable f JOIN visits v ON v.id = f.id WHERE f.n = finds.rowid)
	WHERE rowid IN (SELECT f.n FROM visits v JOIN findable f ON f.kind = 'visit' AND f.id = v.id WHERE v.property = new.id);
END;
CREATE TRIGGER visits_find AFTER INSERT ON visits BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('visit', new.id, new.id);
	INSERT INTO finds (rowid, words)
	SELECT f.n, new.day || ' ' || new.ask || ' ' || p.address FROM findable f JOIN properties p ON p.id = new.property WHERE f.kind = 'visit' AND f.id = new.id;
END;
CREATE TRIGGER visits_find_again AFTER UPDATE OF day, ask ON visits BEGIN
	UPDATE finds SET words = new.day || ' ' || new.ask || ' ' || (SELECT address FROM properties WHERE id = new.property)
	WHERE rowid = (SELECT n FROM findable WHERE kind = 'visit' AND id = new.id);
END;
CREATE TRIGGER notes_find AFTER INSERT ON readings WHEN new.check_id = 'note' BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('note', new.id, new.visit);
	INSERT INTO finds (rowid, words) SELECT n, new.typed FROM findable WHERE kind = 'note' AND id = new.id;
END;
