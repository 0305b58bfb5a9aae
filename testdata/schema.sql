CREATE INDEX applications_corrects ON applications (corrects) WHERE corrects <> '';

CREATE INDEX applications_property ON applications (property, day);

CREATE INDEX applications_visit ON applications (visit);

CREATE INDEX audit_about ON audit (about, seq);

CREATE INDEX audit_person ON audit (by_person, seq);

CREATE INDEX audit_what ON audit (what, seq);

CREATE INDEX calibrations_equipment ON calibrations (equipment, entry);

CREATE INDEX clashes_op ON clashes (op);

CREATE INDEX diagnoses_visit ON diagnoses (visit, zone, seq);

CREATE INDEX erased_ops_after ON erased_ops (after);

CREATE INDEX links_client ON links (client);

CREATE INDEX materials_id ON materials (id, version);

CREATE INDEX ops_aside ON ops (seq) WHERE aside <> '';

CREATE INDEX ops_author ON ops (author, seq) WHERE aside <> '';

CREATE INDEX ops_notes ON ops (seq) WHERE check_id = 'note' AND kind = 'reading' AND aside = '';

CREATE INDEX ops_visit ON ops (visit, seq);

CREATE UNIQUE INDEX people_name ON people (fold) WHERE active = 1;

CREATE INDEX photos_missing ON photos (sha) WHERE complete = 0;

CREATE INDEX plan_steps_visit ON plan_steps (visit);

CREATE INDEX plans_property ON plans (property, seq);

CREATE INDEX properties_client ON properties (client);

CREATE INDEX recovery_codes_person ON recovery_codes (person);

CREATE INDEX reviews_visit ON reviews (visit, seq);

CREATE INDEX sessions_person ON sessions (person);

CREATE INDEX taken_readings_visit ON taken_readings (visit, seq);

CREATE INDEX visits_crew ON visits (crew, day);

CREATE INDEX visits_day ON visits (day);

CREATE INDEX visits_property ON visits (property, day);

CREATE INDEX visits_state ON visits (state, day);

CREATE INDEX zones_property ON zones (property);

CREATE TABLE application_seen (
	application TEXT PRIMARY KEY REFERENCES applications (id),
	by_person   TEXT NOT NULL REFERENCES people (id),
	why         TEXT NOT NULL CHECK (why <> ''),
	at          TEXT NOT NULL
) STRICT;

CREATE TABLE applications (
	entry    INTEGER PRIMARY KEY AUTOINCREMENT,
	id       TEXT NOT NULL UNIQUE CHECK (id <> ''),
	seq      INTEGER NOT NULL,
	visit    TEXT NOT NULL REFERENCES visits (id),
	property TEXT NOT NULL REFERENCES properties (id),
	day      TEXT NOT NULL, -- the local day it began
	material TEXT NOT NULL, -- '' when the phone's list did not hold it
	version  INTEGER NOT NULL,
	corrects TEXT NOT NULL,
	author   TEXT NOT NULL,
	device   TEXT NOT NULL,
	n        INTEGER NOT NULL,
	at       TEXT NOT NULL,
	stamp    TEXT NOT NULL,
	body     TEXT NOT NULL CHECK (json_valid(body)),
	missing  TEXT NOT NULL CHECK (json_valid(missing)), -- items that were missing when it came
	flags    TEXT NOT NULL CHECK (json_valid(flags))    -- limits it passed when it came
) STRICT;

CREATE TABLE audit (
	seq       INTEGER PRIMARY KEY AUTOINCREMENT,
	at        TEXT NOT NULL,
	by_person TEXT NOT NULL,
	what      TEXT NOT NULL CHECK (what <> ''), -- such as 'person.added'
	about     TEXT NOT NULL,                    -- id of what was changed, '' for the firm itself
	detail    TEXT NOT NULL                     -- in a few words: what it is now
) STRICT;

CREATE TABLE calendars (
	token  BLOB PRIMARY KEY, -- SHA-256 of the token, never the token
	person TEXT NOT NULL UNIQUE REFERENCES people (id),
	made   TEXT NOT NULL,
	seen   TEXT NOT NULL DEFAULT ''
) STRICT, WITHOUT ROWID;

CREATE TABLE calibrations (
	entry     INTEGER PRIMARY KEY AUTOINCREMENT,
	id        TEXT NOT NULL UNIQUE CHECK (id <> ''),
	seq       INTEGER NOT NULL,
	equipment TEXT NOT NULL,
	author    TEXT NOT NULL,
	device    TEXT NOT NULL,
	n         INTEGER NOT NULL,
	at        TEXT NOT NULL,
	stamp     TEXT NOT NULL,
	body      TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TABLE clashes (
	id       TEXT PRIMARY KEY, -- the id, '~' and a count
	op       TEXT NOT NULL REFERENCES ops (id),
	device   TEXT NOT NULL,
	n        INTEGER NOT NULL,
	kind     TEXT NOT NULL,
	entity   TEXT NOT NULL,
	base     INTEGER NOT NULL,
	edition  TEXT NOT NULL,
	author   TEXT NOT NULL,
	hlc      TEXT NOT NULL,
	at       TEXT NOT NULL,
	raw      BLOB NOT NULL,
	sent_by  TEXT NOT NULL,
	received TEXT NOT NULL,
	stamp    TEXT NOT NULL,
	aside    TEXT NOT NULL,
	detail   TEXT NOT NULL,
	visit    TEXT NOT NULL,
	zone     TEXT NOT NULL,
	check_id TEXT NOT NULL,
	typed    TEXT NOT NULL
) STRICT;

CREATE TABLE clients (
	id      TEXT PRIMARY KEY CHECK (id <> ''),
	name    TEXT NOT NULL CHECK (name <> ''),
	phone   TEXT NOT NULL,
	email   TEXT NOT NULL,
	note    TEXT NOT NULL,
	created TEXT NOT NULL
, archived TEXT NOT NULL DEFAULT '', photos TEXT NOT NULL DEFAULT '' CHECK (photos IN ('', 'yes', 'firm', 'no'))) STRICT;

CREATE TABLE codes (
	code    BLOB PRIMARY KEY, -- SHA-256 of the code, never the code
	person  TEXT NOT NULL REFERENCES people (id),
	expires TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE device_people (
	device     TEXT NOT NULL REFERENCES devices (id),
	person     TEXT NOT NULL REFERENCES people (id),
	first_seen TEXT NOT NULL,
	last_seen  TEXT NOT NULL,
	PRIMARY KEY (device, person)
) STRICT, WITHOUT ROWID;

CREATE TABLE devices (
	id         TEXT PRIMARY KEY CHECK (id <> ''),
	through    INTEGER NOT NULL,
	first_seen TEXT NOT NULL,
	last_seen  TEXT NOT NULL,
	agent      TEXT NOT NULL,
	app        TEXT NOT NULL,
	skew_ms    INTEGER NOT NULL -- our clock less the phone's, at the last push
, unsent INTEGER NOT NULL DEFAULT 0, given_up TEXT NOT NULL DEFAULT '', withdrawn TEXT NOT NULL DEFAULT '') STRICT;

CREATE TABLE diagnoses (
	seq        INTEGER PRIMARY KEY AUTOINCREMENT,
	id         TEXT NOT NULL UNIQUE CHECK (id <> ''),
	visit      TEXT NOT NULL REFERENCES visits (id),
	zone       TEXT NOT NULL,
	edition    TEXT NOT NULL,
	input_hash TEXT NOT NULL,
	made       TEXT NOT NULL,
	answer     BLOB NOT NULL
) STRICT;

CREATE TABLE erased (
	client    TEXT PRIMARY KEY REFERENCES clients (id),
	by_person TEXT NOT NULL,
	at        TEXT NOT NULL,
	held      TEXT NOT NULL -- the last day, such as "2028-08-27"
) STRICT, WITHOUT ROWID;

CREATE TABLE erased_ops (
	seq   INTEGER PRIMARY KEY,
	after INTEGER NOT NULL
) STRICT;

CREATE TABLE erased_photos (sha TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;

CREATE TABLE erasing (one INTEGER PRIMARY KEY CHECK (one = 1)) STRICT;

CREATE TABLE factors (
	person TEXT PRIMARY KEY REFERENCES people (id),
	secret BLOB NOT NULL,
	since  TEXT NOT NULL,
	step   INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE findable (
	n     INTEGER PRIMARY KEY,
	kind  TEXT NOT NULL,
	id    TEXT NOT NULL,
	place TEXT NOT NULL,
	UNIQUE (kind, id)
) STRICT;

CREATE VIRTUAL TABLE finds USING fts5 (words, tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3');

CREATE TABLE 'finds_config'(k PRIMARY KEY, v) WITHOUT ROWID;

CREATE TABLE 'finds_content'(id INTEGER PRIMARY KEY, c0);

CREATE TABLE 'finds_data'(id INTEGER PRIMARY KEY, block BLOB);

CREATE TABLE 'finds_docsize'(id INTEGER PRIMARY KEY, sz BLOB);

CREATE TABLE 'finds_idx'(segid, term, pgno, PRIMARY KEY(segid, term)) WITHOUT ROWID;

CREATE VIRTUAL TABLE finds_who USING fts5 (words, tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3');

CREATE TABLE 'finds_who_config'(k PRIMARY KEY, v) WITHOUT ROWID;

CREATE TABLE 'finds_who_content'(id INTEGER PRIMARY KEY, c0);

CREATE TABLE 'finds_who_data'(id INTEGER PRIMARY KEY, block BLOB);

CREATE TABLE 'finds_who_docsize'(id INTEGER PRIMARY KEY, sz BLOB);

CREATE TABLE 'finds_who_idx'(segid, term, pgno, PRIMARY KEY(segid, term)) WITHOUT ROWID;

CREATE TABLE firm (
	one   INTEGER PRIMARY KEY CHECK (one = 1),
	name  TEXT NOT NULL CHECK (name <> ''),
	units TEXT NOT NULL CHECK (units IN ('us', 'metric')),
	zone  TEXT NOT NULL
) STRICT;

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

CREATE TABLE let_go (
	sha TEXT PRIMARY KEY CHECK (length(sha) = 64),
	at  TEXT NOT NULL
) STRICT, WITHOUT ROWID;

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

CREATE TABLE materials (
	version   INTEGER PRIMARY KEY AUTOINCREMENT,
	id        TEXT NOT NULL CHECK (id <> ''),
	body      TEXT NOT NULL CHECK (json_valid(body)),
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL
) STRICT;

CREATE TABLE meta (
	one   INTEGER PRIMARY KEY CHECK (one = 1),
	epoch TEXT NOT NULL -- changed by every restore: phones compare it
) STRICT;

CREATE TABLE migrations (
	number  INTEGER PRIMARY KEY,
	name    TEXT NOT NULL,
	sha256  TEXT NOT NULL,
	applied TEXT NOT NULL
) STRICT;

CREATE TABLE noted (one INTEGER PRIMARY KEY CHECK (one = 1), seq INTEGER NOT NULL) STRICT;

CREATE TABLE ops (
	seq      INTEGER PRIMARY KEY AUTOINCREMENT,
	id       TEXT NOT NULL UNIQUE CHECK (id <> ''),
	device   TEXT NOT NULL,
	n        INTEGER NOT NULL CHECK (n > 0),
	kind     TEXT NOT NULL,
	entity   TEXT NOT NULL,
	base     INTEGER NOT NULL,
	edition  TEXT NOT NULL,
	author   TEXT NOT NULL,
	hlc      TEXT NOT NULL,
	at       TEXT NOT NULL,
	raw      BLOB NOT NULL,
	sent_by  TEXT NOT NULL,
	received TEXT NOT NULL,
	stamp    TEXT NOT NULL,
	aside    TEXT NOT NULL, -- why it was not taken in, '' when it was
	detail   TEXT NOT NULL,
	visit    TEXT NOT NULL, -- what it speaks of, as far as it could be read
	zone     TEXT NOT NULL,
	check_id TEXT NOT NULL,
	typed    TEXT NOT NULL,
	UNIQUE (device, n)
) STRICT;

CREATE TABLE people (
	id     TEXT PRIMARY KEY CHECK (id <> ''),
	name   TEXT NOT NULL CHECK (name <> ''),
	fold   TEXT NOT NULL, -- the name without case, made by the program: SQLite folds ASCII only
	role   TEXT NOT NULL CHECK (role IN ('crew', 'manager', 'owner')),
	lang   TEXT NOT NULL,
	hash   TEXT NOT NULL,
	active INTEGER NOT NULL CHECK (active IN (0, 1))
) STRICT;

CREATE TABLE photo_wants (
	sha    TEXT NOT NULL REFERENCES photos (sha),
	device TEXT NOT NULL,
	n      INTEGER NOT NULL, -- the first number of the device that names it
	PRIMARY KEY (sha, device)
) STRICT, WITHOUT ROWID;

CREATE TABLE photos (
	sha      TEXT PRIMARY KEY CHECK (length(sha) = 64),
	size     INTEGER NOT NULL,
	type     TEXT NOT NULL,
	complete INTEGER NOT NULL CHECK (complete IN (0, 1))
) STRICT;

CREATE TABLE plan_drafts (
	visit     TEXT PRIMARY KEY REFERENCES visits (id),
	body      TEXT NOT NULL CHECK (json_valid(body)),
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE plan_steps (
	plan    TEXT NOT NULL REFERENCES plans (id),
	n       INTEGER NOT NULL,
	day     TEXT NOT NULL, -- when it is to be done, '' for a step without a day
	visit   TEXT REFERENCES visits (id), -- the visit it turned into
	state   TEXT NOT NULL CHECK (state IN ('planned', 'done', 'dropped')),
	why     TEXT NOT NULL,
	changed TEXT NOT NULL,
	PRIMARY KEY (plan, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE plans (
	seq       INTEGER PRIMARY KEY AUTOINCREMENT,
	id        TEXT NOT NULL UNIQUE CHECK (id <> ''),
	property  TEXT NOT NULL REFERENCES properties (id),
	visit     TEXT NOT NULL REFERENCES visits (id), -- whose findings it rests on
	edition   TEXT NOT NULL,
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL,
	body      TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TABLE properties (
	id       TEXT PRIMARY KEY CHECK (id <> ''),
	client   TEXT NOT NULL REFERENCES clients (id),
	address  TEXT NOT NULL CHECK (address <> ''),
	system   TEXT NOT NULL CHECK (system IN ('present', 'none', '')),
	region   TEXT NOT NULL,
	cautions TEXT NOT NULL CHECK (json_valid(cautions)), -- a list of sentences
	created  TEXT NOT NULL
, archived TEXT NOT NULL DEFAULT '', lat REAL CHECK (lat BETWEEN -90 AND 90), lon REAL CHECK (lon BETWEEN -180 AND 180)) STRICT;

CREATE TABLE recovery_codes (
	code   BLOB PRIMARY KEY, -- SHA-256 of the code, never the code
	person TEXT NOT NULL REFERENCES people (id)
) STRICT, WITHOUT ROWID;

CREATE TABLE repeats (
	device TEXT NOT NULL,
	n      INTEGER NOT NULL,
	id     TEXT NOT NULL REFERENCES ops (id),
	PRIMARY KEY (device, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE retention (
	one          INTEGER PRIMARY KEY CHECK (one = 1),
	photo_years  INTEGER NOT NULL CHECK (photo_years BETWEEN 0 AND 99),
	client_years INTEGER NOT NULL CHECK (client_years BETWEEN 0 AND 99)
) STRICT;

CREATE TABLE reviews (
	seq       INTEGER PRIMARY KEY AUTOINCREMENT,
	id        TEXT NOT NULL UNIQUE CHECK (id <> ''),
	visit     TEXT NOT NULL REFERENCES visits (id),
	zone      TEXT NOT NULL,
	kind      TEXT NOT NULL CHECK (kind IN ('overrule', 'sign off', 'send back', 'choose')),
	cause     TEXT NOT NULL,
	judgement TEXT NOT NULL,
	reading   TEXT NOT NULL,
	reason    TEXT NOT NULL,
	diagnosis TEXT NOT NULL,
	engine    REAL NOT NULL,
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL,
	known     INTEGER NOT NULL -- newest entry of the readings then
) STRICT;

CREATE TABLE sessions (
	token   BLOB PRIMARY KEY, -- SHA-256 of the token, never the token
	person  TEXT NOT NULL REFERENCES people (id),
	agent   TEXT NOT NULL,
	started TEXT NOT NULL,
	seen    TEXT NOT NULL,
	expires TEXT NOT NULL
) STRICT;

CREATE TABLE settings (
	name  TEXT PRIMARY KEY CHECK (name <> ''),
	value TEXT NOT NULL CHECK (json_valid(value))
) STRICT, WITHOUT ROWID;

CREATE TABLE settled (
	op        TEXT PRIMARY KEY,
	how       TEXT NOT NULL CHECK (how IN ('taken', 'left')),
	by_person TEXT NOT NULL REFERENCES people (id),
	why       TEXT NOT NULL,
	at        TEXT NOT NULL
) STRICT;

CREATE TABLE taken_readings (
	entry    INTEGER PRIMARY KEY,
	id       TEXT NOT NULL UNIQUE,
	seq      INTEGER NOT NULL,
	visit    TEXT NOT NULL REFERENCES visits (id),
	zone     TEXT NOT NULL, -- '' is the whole visit
	check_id TEXT NOT NULL,
	typed    TEXT NOT NULL,
	edition  TEXT NOT NULL,
	author   TEXT NOT NULL,
	device   TEXT NOT NULL,
	n        INTEGER NOT NULL,
	at       TEXT NOT NULL,
	stamp    TEXT NOT NULL,
	base     INTEGER NOT NULL
) STRICT;

CREATE TABLE visit_crews (
	visit  TEXT NOT NULL REFERENCES visits (id),
	person TEXT NOT NULL REFERENCES people (id),
	until  TEXT NOT NULL,
	PRIMARY KEY (visit, person)
) STRICT, WITHOUT ROWID;

CREATE TABLE visits (
	id        TEXT PRIMARY KEY CHECK (id <> ''),
	property  TEXT NOT NULL REFERENCES properties (id),
	crew      TEXT REFERENCES people (id), -- NULL is not assigned
	day       TEXT NOT NULL,
	place     INTEGER NOT NULL,
	why       TEXT NOT NULL,
	ask       TEXT NOT NULL,
	state     TEXT NOT NULL CHECK (state IN ('planned', 'under way', 'handed in', 'sent back', 'signed off')),
	sent_why  TEXT NOT NULL,
	handed_in TEXT NOT NULL,
	changed   TEXT NOT NULL
) STRICT;

CREATE TABLE weather (
	day      TEXT PRIMARY KEY CHECK (day <> ''),
	tmin_c   REAL,
	tmax_c   REAL,
	rain_mm  REAL,
	wind_ms  REAL,
	humidity REAL,
	sun_h    REAL,
	solar_mj REAL,
	imported TEXT NOT NULL
, soil_c REAL) STRICT, WITHOUT ROWID;

CREATE TABLE zones (
	id        TEXT PRIMARY KEY CHECK (id <> ''),
	property  TEXT NOT NULL REFERENCES properties (id),
	name      TEXT NOT NULL CHECK (name <> ''),
	area_sqft REAL NOT NULL, -- 0 is not known
	made      TEXT NOT NULL, -- the operation that made it, '' when the office did
	created   TEXT NOT NULL
, archived TEXT NOT NULL DEFAULT '', outline TEXT NOT NULL DEFAULT '' CHECK (outline = '' OR json_valid(outline))) STRICT;

CREATE TRIGGER application_seen_no_delete BEFORE DELETE ON application_seen BEGIN SELECT RAISE(ABORT, 'decisions are append-only'); END;

CREATE TRIGGER application_seen_no_update BEFORE UPDATE ON application_seen BEGIN SELECT RAISE(ABORT, 'decisions are append-only'); END;

CREATE TRIGGER applications_no_delete BEFORE DELETE ON applications BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;

CREATE TRIGGER applications_no_update BEFORE UPDATE ON applications BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;

CREATE TRIGGER audit_no_delete BEFORE DELETE ON audit BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END;

CREATE TRIGGER audit_no_update BEFORE UPDATE ON audit WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END;

CREATE TRIGGER calibrations_no_delete BEFORE DELETE ON calibrations BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;

CREATE TRIGGER calibrations_no_update BEFORE UPDATE ON calibrations BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;

CREATE TRIGGER clashes_no_delete BEFORE DELETE ON clashes BEGIN SELECT RAISE(ABORT, 'clashes are append-only'); END;

CREATE TRIGGER clashes_no_update BEFORE UPDATE ON clashes WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'clashes are append-only'); END;

CREATE TRIGGER clients_find AFTER INSERT ON clients BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('client', new.id, '');
	INSERT INTO finds_who (rowid, words) SELECT n, new.name || ' ' || new.phone || ' ' || new.email || ' ' || new.note FROM findable WHERE kind = 'client' AND id = new.id;
END;

CREATE TRIGGER clients_find_again AFTER UPDATE OF name, phone, email, note ON clients BEGIN
	UPDATE finds_who SET words = new.name || ' ' || new.phone || ' ' || new.email || ' ' || new.note
	WHERE rowid = (SELECT n FROM findable WHERE kind = 'client' AND id = new.id);
END;

CREATE TRIGGER diagnoses_no_delete BEFORE DELETE ON diagnoses BEGIN SELECT RAISE(ABORT, 'diagnoses are append-only'); END;

CREATE TRIGGER diagnoses_no_update BEFORE UPDATE ON diagnoses BEGIN SELECT RAISE(ABORT, 'diagnoses are append-only'); END;

CREATE TRIGGER learned_no_delete BEFORE DELETE ON learned BEGIN SELECT RAISE(ABORT, 'what was accepted is append-only'); END;

CREATE TRIGGER learned_no_update BEFORE UPDATE ON learned BEGIN SELECT RAISE(ABORT, 'what was accepted is append-only'); END;

CREATE TRIGGER learned_undone_no_delete BEFORE DELETE ON learned_undone BEGIN SELECT RAISE(ABORT, 'what was undone is append-only'); END;

CREATE TRIGGER learned_undone_no_update BEFORE UPDATE ON learned_undone BEGIN SELECT RAISE(ABORT, 'what was undone is append-only'); END;

CREATE TRIGGER materials_no_delete BEFORE DELETE ON materials BEGIN SELECT RAISE(ABORT, 'versions are append-only'); END;

CREATE TRIGGER materials_no_update BEFORE UPDATE ON materials BEGIN SELECT RAISE(ABORT, 'versions are append-only'); END;

CREATE TRIGGER ops_no_delete BEFORE DELETE ON ops BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;

CREATE TRIGGER ops_no_update BEFORE UPDATE ON ops WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;

CREATE TRIGGER plans_no_delete BEFORE DELETE ON plans BEGIN SELECT RAISE(ABORT, 'signed plans are append-only'); END;

CREATE TRIGGER plans_no_update BEFORE UPDATE ON plans WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'signed plans are append-only'); END;

CREATE TRIGGER properties_find AFTER INSERT ON properties BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('property', new.id, '');
	INSERT INTO finds_who (rowid, words) SELECT n, new.address || ' ' || new.region FROM findable WHERE kind = 'property' AND id = new.id;
END;

CREATE TRIGGER properties_find_again AFTER UPDATE OF address, region ON properties BEGIN
	UPDATE finds_who SET words = new.address || ' ' || new.region WHERE rowid = (SELECT n FROM findable WHERE kind = 'property' AND id = new.id);
	UPDATE finds SET words = (SELECT v.day || ' ' || v.ask || ' ' || new.address FROM findable f JOIN visits v ON v.id = f.id WHERE f.n = finds.rowid)
	WHERE rowid IN (SELECT f.n FROM visits v JOIN findable f ON f.kind = 'visit' AND f.id = v.id WHERE v.property = new.id);
END;

CREATE TRIGGER repeats_no_delete BEFORE DELETE ON repeats BEGIN SELECT RAISE(ABORT, 'repeats are append-only'); END;

CREATE TRIGGER repeats_no_update BEFORE UPDATE ON repeats BEGIN SELECT RAISE(ABORT, 'repeats are append-only'); END;

CREATE TRIGGER reviews_no_delete BEFORE DELETE ON reviews BEGIN SELECT RAISE(ABORT, 'reviews are append-only'); END;

CREATE TRIGGER reviews_no_update BEFORE UPDATE ON reviews WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'reviews are append-only'); END;

CREATE TRIGGER settled_no_delete BEFORE DELETE ON settled BEGIN SELECT RAISE(ABORT, 'decisions are append-only'); END;

CREATE TRIGGER settled_no_update BEFORE UPDATE ON settled WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'decisions are append-only'); END;

CREATE TRIGGER taken_notes_find AFTER INSERT ON taken_readings WHEN new.check_id = 'note' BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('note', new.id, new.visit);
	INSERT INTO finds (rowid, words) SELECT n, new.typed FROM findable WHERE kind = 'note' AND id = new.id;
END;

CREATE TRIGGER visits_crew_before AFTER UPDATE OF crew ON visits WHEN old.crew IS NOT NULL AND new.crew IS NOT old.crew BEGIN
	INSERT INTO visit_crews (visit, person, until) VALUES (old.id, old.crew, new.changed) ON CONFLICT (visit, person) DO UPDATE SET until = excluded.until;
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

CREATE VIEW notes AS SELECT seq, id, visit, typed FROM ops WHERE check_id = 'note' AND kind = 'reading' AND aside = '';

CREATE VIEW numbers AS
	SELECT device, n, id FROM ops
	UNION ALL
	SELECT device, n, id FROM repeats;

CREATE VIEW readings AS
	SELECT seq * 1048576 AS entry, id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base
	FROM ops WHERE kind = 'reading' AND aside = ''
	UNION ALL
	SELECT entry, id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base FROM taken_readings;
