-- What a firm puts down. A change is a further version; an application names the version it was made with.
CREATE TABLE materials (
	version   INTEGER PRIMARY KEY AUTOINCREMENT,
	id        TEXT NOT NULL CHECK (id <> ''),
	body      TEXT NOT NULL CHECK (json_valid(body)),
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL
) STRICT;
CREATE INDEX materials_id ON materials (id, version);

-- The legal record of what was put down, as it came through the log. A correction is a further row that names the first.
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
CREATE INDEX applications_property ON applications (property, day);
CREATE INDEX applications_visit ON applications (visit);
CREATE INDEX applications_corrects ON applications (corrects) WHERE corrects <> '';

-- What a manager said of a record that passed a limit or lacks an item.
CREATE TABLE application_seen (
	application TEXT PRIMARY KEY REFERENCES applications (id),
	by_person   TEXT NOT NULL REFERENCES people (id),
	why         TEXT NOT NULL CHECK (why <> ''),
	at          TEXT NOT NULL
) STRICT;

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
CREATE INDEX calibrations_equipment ON calibrations (equipment, entry);

-- One day of the firm's weather station; what the file did not say is NULL.
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
) STRICT, WITHOUT ROWID;

-- Plans as they were signed. What becomes of a step lies beside it.
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
CREATE INDEX plans_property ON plans (property, seq);

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
CREATE INDEX plan_steps_visit ON plan_steps (visit);

-- What a manager changed in a plan that is not signed yet.
CREATE TABLE plan_drafts (
	visit     TEXT PRIMARY KEY REFERENCES visits (id),
	body      TEXT NOT NULL CHECK (json_valid(body)),
	by_person TEXT NOT NULL REFERENCES people (id),
	at        TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- What the firm decided once: which state's list its records follow, its own limits.
CREATE TABLE settings (
	name  TEXT PRIMARY KEY CHECK (name <> ''),
	value TEXT NOT NULL CHECK (json_valid(value))
) STRICT, WITHOUT ROWID;

CREATE TRIGGER materials_no_update BEFORE UPDATE ON materials BEGIN SELECT RAISE(ABORT, 'versions are append-only'); END;
CREATE TRIGGER materials_no_delete BEFORE DELETE ON materials BEGIN SELECT RAISE(ABORT, 'versions are append-only'); END;
CREATE TRIGGER applications_no_update BEFORE UPDATE ON applications BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;
CREATE TRIGGER applications_no_delete BEFORE DELETE ON applications BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;
CREATE TRIGGER application_seen_no_update BEFORE UPDATE ON application_seen BEGIN SELECT RAISE(ABORT, 'decisions are append-only'); END;
CREATE TRIGGER application_seen_no_delete BEFORE DELETE ON application_seen BEGIN SELECT RAISE(ABORT, 'decisions are append-only'); END;
CREATE TRIGGER calibrations_no_update BEFORE UPDATE ON calibrations BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;
CREATE TRIGGER calibrations_no_delete BEFORE DELETE ON calibrations BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;
CREATE TRIGGER plans_no_update BEFORE UPDATE ON plans BEGIN SELECT RAISE(ABORT, 'signed plans are append-only'); END;
CREATE TRIGGER plans_no_delete BEFORE DELETE ON plans BEGIN SELECT RAISE(ABORT, 'signed plans are append-only'); END;
