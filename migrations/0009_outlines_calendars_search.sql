-- Where a property is, NULL when nobody said, and the outline of a zone as a JSON list of [longitude, latitude], '' when none is drawn.
ALTER TABLE properties ADD COLUMN lat REAL CHECK (lat BETWEEN -90 AND 90);
ALTER TABLE properties ADD COLUMN lon REAL CHECK (lon BETWEEN -180 AND 180);
ALTER TABLE zones ADD COLUMN outline TEXT NOT NULL DEFAULT '' CHECK (outline = '' OR json_valid(outline));

-- An address at which a person's calendar is read without an account. One a person; making another ends the one before.
CREATE TABLE calendars (
	token  BLOB PRIMARY KEY, -- SHA-256 of the token, never the token
	person TEXT NOT NULL UNIQUE REFERENCES people (id),
	made   TEXT NOT NULL,
	seen   TEXT NOT NULL DEFAULT ''
) STRICT, WITHOUT ROWID;

-- Clients and properties are few and are found first: their words stand apart from those of visits and notes, of which the newest are found first.
DROP TRIGGER clients_find;
DROP TRIGGER clients_find_again;
DROP TRIGGER properties_find;
DROP TRIGGER properties_find_again;
CREATE VIRTUAL TABLE finds_who USING fts5 (words, tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3');
INSERT INTO finds_who (rowid, words) SELECT f.n, s.words FROM findable f JOIN finds s ON s.rowid = f.n WHERE f.kind IN ('client', 'property');
DELETE FROM finds WHERE rowid IN (SELECT n FROM findable WHERE kind IN ('client', 'property'));

CREATE TRIGGER clients_find AFTER INSERT ON clients BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('client', new.id, '');
	INSERT INTO finds_who (rowid, words) SELECT n, new.name || ' ' || new.phone || ' ' || new.email || ' ' || new.note FROM findable WHERE kind = 'client' AND id = new.id;
END;
CREATE TRIGGER clients_find_again AFTER UPDATE OF name, phone, email, note ON clients BEGIN
	UPDATE finds_who SET words = new.name || ' ' || new.phone || ' ' || new.email || ' ' || new.note
	WHERE rowid = (SELECT n FROM findable WHERE kind = 'client' AND id = new.id);
END;
CREATE TRIGGER properties_find AFTER INSERT ON properties BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('property', new.id, '');
	INSERT INTO finds_who (rowid, words) SELECT n, new.address || ' ' || new.region FROM findable WHERE kind = 'property' AND id = new.id;
END;
CREATE TRIGGER properties_find_again AFTER UPDATE OF address, region ON properties BEGIN
	UPDATE finds_who SET words = new.address || ' ' || new.region WHERE rowid = (SELECT n FROM findable WHERE kind = 'property' AND id = new.id);
	UPDATE finds SET words = (SELECT v.day || ' ' || v.ask || ' ' || new.address FROM findable f JOIN visits v ON v.id = f.id WHERE f.n = finds.rowid)
	WHERE rowid IN (SELECT f.n FROM visits v JOIN findable f ON f.kind = 'visit' AND f.id = v.id WHERE v.property = new.id);
END;
